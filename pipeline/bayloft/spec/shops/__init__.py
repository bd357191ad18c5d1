"""Shops as trusted values."""
