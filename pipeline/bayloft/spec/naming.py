"""What a board or a fin may be called, and the folder name made from it."""

from __future__ import annotations

import re
import unicodedata

from bayloft.spec.measures import Refused

LONGEST_NAME = 60
"""Characters. Longer names fit neither a title block nor a folder name."""

_MARKS = frozenset(" -'’.,()")
_DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))})
_ALLOWED = "letters (accents too), digits, spaces and - ' . , ( ), with a letter a to z or a digit among them"


def checked_name(typed: object) -> str:
    """Return a name in composed Unicode (NFC), so that the same name typed on any keyboard is the same text.

    Raises
    ------
    Refused : the name is no text, empty or too long, holds a character that a folder, a title block or a web page
        could stumble over, or is one that Windows keeps for a device.
    """
    if not isinstance(typed, str):
        raise Refused("a name is a text in quotes", allowed=_ALLOWED)
    name = unicodedata.normalize("NFC", typed)
    if not 1 <= len(name) <= LONGEST_NAME:
        raise Refused(
            f"a name of {len(name)} characters" if name else "an empty name", allowed=f"1 to {LONGEST_NAME} characters"
        )
    if strange := sorted({letter for letter in name if not _goes(letter)}):
        raise Refused(f"{', '.join(map(_described, strange))} cannot stand in a name", allowed=_ALLOWED)
    if name != name.strip():
        raise Refused("blanks around the name", hint=f'"{name.strip()}"')
    if name.startswith("."):
        raise Refused("a leading dot, which hides a folder", hint=f'"{name.lstrip(". ")}"')
    slug = slug_of(name)
    if not slug:
        raise Refused("no folder name can be made from it", allowed=_ALLOWED)
    if slug in _DEVICES:
        raise Refused("Windows keeps this name for a device, so no folder can have it", hint=f'"{name} 1"')
    return name


def slug_of(name: str) -> str:
    """Return the name in lower-case ASCII letters, digits and single hyphens: ``Écluse No. 2`` as ``ecluse-no-2``."""
    ascii_only = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub("[^a-z0-9]+", "-", ascii_only.replace("'", "")).strip("-")


def _goes(letter: str) -> bool:
    return letter in _MARKS or unicodedata.category(letter)[0] in "LM" or letter in "0123456789"


def _described(letter: str) -> str:
    """Return a character as a message can show it: itself where it prints, its code point where it does not."""
    return letter if letter.isprintable() else f"the invisible character U+{ord(letter):04X}"
