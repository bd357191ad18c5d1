"""Zip files that are the same bytes on every machine: stored, sorted, undated."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping

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
