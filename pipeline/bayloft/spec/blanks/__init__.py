"""Blanks: blocks of foam that boards are cut from."""
