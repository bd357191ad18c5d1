"""Full-size drawings on pages of a printer's paper."""
