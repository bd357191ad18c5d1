"""The moves of a cutter over a sheet, and the proof of a program."""
