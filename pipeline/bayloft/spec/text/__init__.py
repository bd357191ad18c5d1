"""Text to values: reading, units, stations, and the messages for what is wrong."""
