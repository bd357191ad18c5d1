"""Fair curves and section shapes through the maker's numbers."""
