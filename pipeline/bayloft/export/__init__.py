"""One module per file format, and nothing but the format."""
