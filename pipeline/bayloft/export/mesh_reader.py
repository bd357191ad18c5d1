"""Meshes from elsewhere, STL, PLY, OBJ and 3MF, read within bounds; nothing that a file names is ever opened.

Sizes that a file promises are held against its length before anything is made for them. What is read are places and
facets alone: no colours, textures or materials.
"""

from __future__ import annotations

import re
from array import array
from collections.abc import Callable
from pathlib import Path
from typing import BinaryIO

import numpy as np

from bayloft.export.mesh_limits import (
    CAPS_SAID,
    MOST_MESH_BYTES,
    MeshFileError,
    MeshRead,
    fan,
    numbers,
    refuse_counts,
    shown,
    text_lines,
    whole,
)
from bayloft.export.ply_reader import read_ply
from bayloft.export.threemf_reader import read_3mf

HEADER_BYTES, FACET_BYTES = 84, 50
_FACET = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attributes", "<u2")])
_UNIT = re.compile(rb"UNITS?\s*=\s*(mm|cm|m|in|inch|inches|ft)\b", re.IGNORECASE)
_BYTE_ORDER_MARKS = (b"\xff\xfe", b"\xfe\xff")
LOOKED_AT_BYTES = 2048
"""Bytes at the beginning of a file in which an STL in text has its first facet."""


def read_mesh(file: Path) -> MeshRead:
    """Return a mesh from a file, by the ending of its name.

    Raises
    ------
    MeshFileError
        No such file, no format that is read, cut short, larger than is read, or what is no mesh: all with the reason.
    """
    read = READERS.get(file.suffix.lower())
    if read is None:
        raise MeshFileError(file, f"no mesh by its ending; read are {', '.join(READERS)}")
    try:
        size = file.stat().st_size
        if not file.is_file():
            raise MeshFileError(file, "no file")
        if size > MOST_MESH_BYTES:
            raise MeshFileError(file, f"{size / 2**20:,.0f} MB; read are {CAPS_SAID}", "a coarser mesh")
        if size == 0:
            raise MeshFileError(file, "empty")
        with file.open("rb") as opened:
            if opened.read(2) in _BYTE_ORDER_MARKS:
                raise MeshFileError(file, "text in UTF-16", "saved again as plain text (UTF-8)")
            opened.seek(0)
            return read(file, opened, size)
    except FileNotFoundError:
        raise MeshFileError(file, "no such file") from None
    except OSError as error:
        raise MeshFileError(file, f"cannot be read: {error.strerror or error}") from error


def _stl(file: Path, opened: BinaryIO, size: int) -> MeshRead:
    """Return an STL. Whether it is binary tells its length alone: those too may begin with "solid"."""
    start = opened.read(max(LOOKED_AT_BYTES, HEADER_BYTES))
    count = int.from_bytes(start[80:84], "little") if len(start) >= HEADER_BYTES else -1
    promised = HEADER_BYTES + FACET_BYTES * count
    opened.seek(0)
    if count >= 0 and promised == size:
        refuse_counts(file, count)
        stated = _UNIT.search(start[:80])
        rows = np.frombuffer(opened.read(size)[HEADER_BYTES:], dtype=_FACET)
        vertices = rows["corners"].reshape(-1, 3).astype(np.float64)
        return whole(file, vertices, np.arange(3 * count).reshape(-1, 3), _unit_of(stated[1]) if stated else None)
    if start.lstrip()[:5].lower() == b"solid" and (b"facet" in start.lower() or b"endsolid" in start.lower()):
        return _stl_text(file, opened)
    if count < 0:
        raise MeshFileError(file, f"{size} bytes: too short for an STL")
    raise MeshFileError(
        file,
        f"its header promises {count:,} facets, which is {promised:,} bytes; it has {size:,}: cut short, or no STL",
        "the file saved or sent again",
    )


def _unit_of(word: bytes) -> str:
    said = word.decode("ascii").lower()
    return "in" if said in ("inch", "inches") else said


def _stl_text(file: Path, opened: BinaryIO) -> MeshRead:
    """Return an STL in text. A loop has three vertices, and a file that was not cut short ends with endsolid."""
    places = array("d")
    ended, corners, line = False, 0, 0
    for line, words in text_lines(file, opened):
        key = words[0].lower() if words else b""
        if key == b"vertex":
            if len(words) != 4:
                raise MeshFileError(file, f"line {line}: a vertex has three numbers")
            places.extend(numbers(file, line, words[1:]))
            corners += 1
            refuse_counts(file, len(places) // 9)
        elif key == b"endloop":
            if corners != 3:
                raise MeshFileError(file, f"line {line}: a facet of {corners} corners; an STL has triangles")
            corners = 0
        ended = key == b"endsolid" or (ended and not words)
    if not ended or corners:
        raise MeshFileError(file, f"ends at line {line} in the middle of a solid: cut short", "the file sent again")
    vertices = np.frombuffer(places, dtype=np.float64).reshape(-1, 3).copy() if places else np.zeros((0, 3))
    return whole(file, vertices, np.arange(len(vertices)).reshape(-1, 3), None)


def _obj(file: Path, opened: BinaryIO, _size: int) -> MeshRead:
    """Return an OBJ: its v and f lines. Materials, which mtllib names, are never looked for."""
    places, facets = array("d"), array("q")
    for line, words in text_lines(file, opened):
        key = words[0] if words else b""
        if key == b"v":
            if len(words) < 4:
                raise MeshFileError(file, f"line {line}: a vertex has three numbers")
            places.extend(numbers(file, line, words[1:4]))
        elif key == b"f":
            count = len(places) // 3
            try:
                corners = [int(word.split(b"/")[0]) for word in words[1:]]
            except ValueError:
                raise MeshFileError(file, f"line {line}: {shown(b' '.join(words))} is no facet") from None
            if len(corners) < 3 or not all(0 < abs(corner) <= count for corner in corners):
                raise MeshFileError(file, f"line {line}: a facet names three vertices or more of those before it")
            for triangle in fan([corner - 1 if corner > 0 else count + corner for corner in corners]):
                facets.extend(triangle)
        refuse_counts(file, len(facets) // 3, len(places) // 3)
    vertices = np.array(places, dtype=np.float64).reshape(-1, 3)
    return whole(file, vertices, np.array(facets, dtype=np.int64).reshape(-1, 3), None)


READERS: dict[str, Callable[[Path, BinaryIO, int], MeshRead]] = {
    ".stl": _stl,
    ".ply": read_ply,
    ".obj": _obj,
    ".3mf": read_3mf,
}
