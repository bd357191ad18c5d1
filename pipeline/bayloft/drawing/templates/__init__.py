"""Full-size drawings to cut wood, ply and foam by."""
