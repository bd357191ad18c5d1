"""Parts too long for the stock, in pieces that key together."""
