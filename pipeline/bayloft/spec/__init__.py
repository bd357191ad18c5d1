"""Text to trusted values: models, lengths, the file and line of every value, and the rules they keep."""
