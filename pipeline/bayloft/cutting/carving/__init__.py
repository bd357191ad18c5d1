"""A board carved out of a block on a gantry: set-ups, roughing, finishing passes, and the proof of what is written."""
