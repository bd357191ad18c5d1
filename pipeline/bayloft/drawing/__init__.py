"""Format-free drawings: contours of lines and arcs, labels, layers."""
