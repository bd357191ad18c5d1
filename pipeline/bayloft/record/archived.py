"""What an archive of a board is made of: the names of its members, and its manifest."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from hashlib import sha256

README, MANIFEST, REPORT, SURFACE, OFFSETS = "README.txt", "manifest.txt", "report.json", "surface.txt", "offsets.txt"
SPEC = "spec/"
"""Folder of the board's file and of those that it names, as they lay beside one another."""


def manifest(members: Mapping[str, bytes]) -> bytes:
    """Return the manifest of the members of an archive."""
    rows = [f"{sha256(members[name]).hexdigest()}  {name}" for name in sorted(members)]
    return "\n".join([*rows, ""]).encode()


def listed(data: bytes) -> dict[str, str]:
    """Return the SHA-256 of each member that a manifest lists."""
    rows = [row.split("  ", 1) for row in data.decode("utf-8", "replace").split("\n") if row]
    return {row[1]: row[0] for row in rows if len(row) == 2}


def changed(members: Mapping[str, bytes], digests: Mapping[str, str]) -> Iterator[str]:
    """Yield the members that are not as they were written."""
    for name, digest in digests.items():
        if sha256(members.get(name, b"")).hexdigest() != digest:
            yield name
