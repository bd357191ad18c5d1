"""What the bench is told of a board, beyond its shape: the block that it comes out of, and how that is worked."""
