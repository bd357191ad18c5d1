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


_END, _END_BYTES, _LARGE_END, _LARGE_END_BYTES, _LOCATOR_BYTES = b"PK\x05\x06", 22, b"PK\x06\x06", 56, 20
_COMMENT_BYTES, _ELSEWHERE = 2**16, 2**32 - 1
MOST_LIST_BYTES = 2**20
"""Bytes of a zip's list of members: some thousands, where a board's archive has twenty. All of it is read at once."""


def small_directory(opened: BinaryIO) -> bool:
    """Return whether a file ends as a zip does whose list of members is no longer than MOST_LIST_BYTES, by every record
    at its end that tells its length; the file is then at its beginning.
    """
    size = opened.seek(0, io.SEEK_END)
    opened.seek(max(size - _COMMENT_BYTES - _END_BYTES - _LOCATOR_BYTES - _LARGE_END_BYTES, 0))
    tail = opened.read()
    opened.seek(0)
    ends = _told(tail, _END, _END_BYTES, slice(12, 16))
    large = _told(tail, _LARGE_END, _LARGE_END_BYTES, slice(40, 48))
    lengths = [length for length in ends if not (length == _ELSEWHERE and large)] + large
    return bool(ends) and max(lengths) <= MOST_LIST_BYTES


def _told(tail: bytes, mark: bytes, size: int, where: slice) -> list[int]:
    """Return the numbers that stand in the records of a mark."""
    found, at = [], tail.find(mark)
    while at >= 0:
        record = tail[at : at + size]
        found += [int.from_bytes(record[where], "little")] if len(record) == size else []
        at = tail.find(mark, at + 1)
    return found
