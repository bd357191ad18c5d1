"""Readings taken off a board that exists: a sheet of them, and what it says."""
