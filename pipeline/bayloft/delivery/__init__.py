"""Which drawing goes to which file, in which format."""
