"""Drawings to read: sheets of a board and its fins, and the picture."""
