"""How letters and line ends stand in a file: what an editor saved otherwise than bayloft reads it, named as such."""

from __future__ import annotations

import re

SAVE_AS_UTF_8 = 'save the file as UTF-8: in the editor, "save as", under "encoding"'
SAVE_WITH_LF = 'save the file with line ends LF or CR LF: in the editor, "save as", under "line ends"'
NOT_ONE_BYTE = "UTF-16 or UTF-32, two bytes or more a letter"

_UTF_16_MARKS = (b"\xff\xfe", b"\xfe\xff")


def two_bytes_a_letter(data: bytes) -> bool:
    """Return whether a file is UTF-16: by its mark, or because one of the first two bytes is 0, the other a letter."""
    return data.startswith(_UTF_16_MARKS) or bool(re.match(rb"\0[\s!-~]|[\s!-~]\0", data))


def bare_cr(text: str) -> int | None:
    """Return where a line ends with CR alone, as no TOML line may; None where none does."""
    found = re.search(r"\r(?!\n)", text)
    return found.start() if found else None
