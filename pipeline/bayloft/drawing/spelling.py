"""Letters that a face or a format lacks, spelled in ASCII."""

from __future__ import annotations

import unicodedata

_ASCII = str.maketrans(
    {"°": " deg", "×": "x", "·": ".", "⁄": "/", "ß": "ss", "ı": "i"}
    | {"ø": "o", "Ø": "O", "æ": "ae", "Æ": "AE", "œ": "oe", "Œ": "OE", "ł": "l", "Ł": "L"}
    | {"đ": "d", "Đ": "D", "ð": "d", "Ð": "D", "þ": "th", "Þ": "TH"}
    | dict.fromkeys("–—−", "-")
    | dict.fromkeys("‘’′", "'")
    | dict.fromkeys("“”″", '"')
)
"""What a maker writes that no accent taken off turns into ASCII."""


def spelled(character: str) -> str:
    """Return a character in ASCII, or itself where it has no such spelling."""
    parts = unicodedata.normalize("NFKD", character.translate(_ASCII)).translate(_ASCII)
    plain = "".join(part for part in parts if not unicodedata.combining(part))
    # A fraction must not run into the whole number before it: 5⅜ is 5 3/8.
    plain = f" {plain}" if "/" in plain else plain
    return plain if plain.isascii() else character
