"""Lines and arcs in the plane: contours, biarcs, parting, tracks and offsets."""
