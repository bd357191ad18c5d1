"""How a board lies in the water under a load."""
