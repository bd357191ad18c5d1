"""Zip files that are the same bytes on every machine: stored, sorted, undated; the size of the list in one from
elsewhere.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from typing import BinaryIO

EPOCH = (1980, 1, 1, 0, 0, 0)
"""The first day that a zip can tell."""

UNIX, READABLE = 3, 0o100644 << 16


def stored(members: Mapping[str, bytes]) -> bytes:
    """Return a zip of members by their names, in the order of these: not compressed, for what a compressor makes of
    the same bytes changes with its version.
    """
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", zipfile.ZIP_STORED) as archive:
        for name in sorted(members):
            entry = zipfile.ZipInfo(name, EPOCH)
            entry.create_system, entry.external_attr = UNIX, READABLE
            archive.writestr(entry, members[name])
    return made.getvalue()


_END, _END_BYTES, _LOCATOR, _LOCATOR_BYTES, _COMMENT_BYTES = b"PK\x05\x06", 22, b"PK\x06\x07", 20, 2**16
MOST_LIST_BYTES = 2**20
"""Bytes of a zip's list of members: some thousands, where a board's archive has twenty. All of it is read at once."""


def small_directory(opened: BinaryIO) -> bool:
    """Return whether a file ends as a zip does whose list of members is no longer than MOST_LIST_BYTES; the file is
    then at its beginning. Longer ones, which the format has an extension for, are not.
    """
    size = opened.seek(0, io.SEEK_END)
    opened.seek(max(size - _COMMENT_BYTES - _END_BYTES - _LOCATOR_BYTES, 0))
    tail = opened.read()
    opened.seek(0)
    found, at = False, tail.find(_END)
    while at >= 0:
        listed = tail[at + 12 : at + 16]
        if len(tail) - at >= _END_BYTES:
            found = True
            extended = tail[max(at - _LOCATOR_BYTES, 0) : at].startswith(_LOCATOR)
            if extended or int.from_bytes(listed, "little") > MOST_LIST_BYTES:
                return False
        at = tail.find(_END, at + 1)
    return found
