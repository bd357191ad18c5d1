"""Curves of a lofted board or fin, on which templates and sheets are drawn."""
