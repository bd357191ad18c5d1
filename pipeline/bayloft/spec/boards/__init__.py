"""Boards as trusted values."""
