"""Planks: boards of wood that stringers are cut from."""
