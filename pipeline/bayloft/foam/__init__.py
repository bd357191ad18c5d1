"""What a board is cut from: how it lies in a blank."""
