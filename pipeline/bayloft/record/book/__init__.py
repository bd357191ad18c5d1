"""A book of past boards: what lies in a folder, what of it is known, and what of that is wanted."""
