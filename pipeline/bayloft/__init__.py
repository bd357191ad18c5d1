"""bayloft: from a board maker's numbers to one exact surface and everything cut from it."""
