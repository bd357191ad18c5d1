"""Parts on sheets of stock."""
