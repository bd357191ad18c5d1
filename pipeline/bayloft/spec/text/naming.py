"""What a board or a fin may be called, and the folder name made from it."""

from __future__ import annotations

import unicodedata

from bayloft.spec.text.measures import Refused

LONGEST_NAME = 60
"""Characters. Longer names fit neither a title block nor a folder name."""

LONGEST_FOLDER_BYTES = 180
"""As UTF-8: file systems take 255 for a name, and names of files have up to 21 more behind the folder's."""

_MARKS = frozenset(" -'’.,()")
_APOSTROPHES = frozenset("'’")
_DIGITS = frozenset("0123456789")
_DEVICES = frozenset({"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in range(10))})
_ALLOWED = "letters of any script, digits 0 to 9, spaces and - ' . , ( ), with a letter or a digit among them"


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
    if not any(unicodedata.category(letter)[0] == "L" or letter in _DIGITS for letter in name):
        raise Refused("a name without a letter or a digit", allowed=_ALLOWED)
    if name != name.strip():
        raise Refused("blanks around the name", hint=f'"{name.strip()}"')
    if name.startswith("."):
        raise Refused("a leading dot, which hides a folder", hint=f'"{name.lstrip(". ")}"')
    slug = slug_of(name)
    if (size := len(slug.encode())) > LONGEST_FOLDER_BYTES:
        raise Refused(
            f"too long for the name of a folder, {size} bytes", allowed=f"up to {LONGEST_FOLDER_BYTES} bytes in UTF-8"
        )
    if slug in _DEVICES:
        raise Refused("Windows keeps this name for a device, so no folder can have it", hint=f'"{name} 1"')
    return name


def slug_of(name: str) -> str:
    """Return what a name is called on disk: its letters in small form, digits and single hyphens: ``Écluse No. 2`` as
    ``écluse-no-2``.

    Letters of all scripts stay what they are, composed (NFC) and without case, so that two names that differ have
    different folders, also where a disk or Windows takes capital and small letters for one.
    """
    folded = unicodedata.normalize("NFC", unicodedata.normalize("NFC", name).casefold())
    kept = "".join(letter if _is_lettered(letter) else " " for letter in folded if letter not in _APOSTROPHES)
    return "-".join(kept.split())


def _is_lettered(letter: str) -> bool:
    """Whether a character is a letter, a mark that belongs to one, or a digit."""
    return unicodedata.category(letter)[0] in "LM" or letter in _DIGITS


def _goes(letter: str) -> bool:
    return letter in _MARKS or _is_lettered(letter)


def _described(letter: str) -> str:
    """Return a character as a message can show it: itself where it prints, its code point where it does not."""
    return letter if letter.isprintable() else f"the invisible character U+{ord(letter):04X}"
