"""What the maker works out from a solid: plies and panels, weights."""
