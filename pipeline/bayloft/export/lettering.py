"""Text as a file may carry it: one printable line, and names that every reader takes."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

from bayloft.drawing.spelling import spelled

LONGEST = 250
"""Characters kept of a line of text: R12 readers hold 255 bytes in a string."""

_JOINERS = "\u200c\u200d"
"""Zero-width joiners shape letters and emoji; every other format character only changes what a reader sees."""


@lru_cache(maxsize=1024)
def single_line(text: str) -> str:
    """Return the text on one line: white space as single blanks, no control, format or private characters.

    A line longer than `LONGEST` characters is cut and ends in three dots.
    """
    line = " ".join("".join(character for character in text if character.isspace() or _is_printable(character)).split())
    return line if len(line) <= LONGEST else line[: LONGEST - 3] + "..."


def western(text: str) -> str:
    """Return the text on one line in the letters of code page 1252, which every viewer has: others are spelled in ASCII
    where that can be done, and are "?" where it cannot.
    """
    line = single_line(text)
    line = "".join(part if part.encode("cp1252", "ignore") else spelled(part) for part in line)
    return single_line(line.encode("cp1252", "replace").decode("cp1252"))


def identifier(name: str) -> str:
    """Return a name in capitals A-Z, digits, _ and -, of 31 characters at most: what R12 allows for a layer."""
    return re.sub(r"[^A-Z0-9_-]", "_", name.upper())[:31]


def _is_printable(character: str) -> bool:
    not_a_character = ord(character) & 0xFFFE == 0xFFFE
    return character in _JOINERS or not (not_a_character or unicodedata.category(character) in {"Cc", "Cf", "Cs", "Co"})
