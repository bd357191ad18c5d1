"""Fins and their layup as trusted values."""
