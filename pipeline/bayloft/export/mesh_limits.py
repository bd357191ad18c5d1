"""What a mesh from elsewhere may be, how large and of how many facets; what is read of it; why it is not."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import BayloftError

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

MOST_MESH_BYTES = 256 * 2**20
"""Bytes of a file, and of what is unpacked from one: five times a scan of a board to half a millimetre."""
MOST_FACETS, MOST_VERTICES = 1_500_000, 4_500_000
"""A board within 0.01 mm has 400,000 facets; more than these fill a computer's memory and show nothing more."""
MOST_LINE_BYTES = 100_000
"""Bytes of a line of text: a facet of ten thousand corners."""

CAPS_SAID = f"{MOST_MESH_BYTES // 2**20} MB and {MOST_FACETS:,} facets at most"


class MeshFileError(BayloftError):
    """A mesh that cannot be read or must not be: the file, why, and what would do."""

    def __init__(self, file: Path, problem: str, hint: str = "") -> None:
        self.file, self.problem, self.hint = file, problem, hint
        super().__init__(f"{file}: {problem}" + (f"\n    try:     {hint}" if hint else ""))

    def __reduce__(self) -> tuple[type[MeshFileError], tuple[Path, str, str]]:
        return MeshFileError, (self.file, self.problem, self.hint)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeshRead:
    """A mesh as its file has it: vertices (n, 3) and triangles (m, 3) in the file's own unit and axes; the unit that
    the file itself states, a key of `units.MM_PER_UNIT` or "micron", or None where it states none.
    """

    vertices: Array
    triangles: Indices
    unit: str | None


def refuse_counts(file: Path, facets: int, vertices: int = 0) -> None:
    """Raise MeshFileError where there are more facets or vertices than are read."""
    if facets > MOST_FACETS or vertices > MOST_VERTICES:
        what = f"{facets:,} facets" if facets > MOST_FACETS else f"{vertices:,} vertices"
        raise MeshFileError(
            file, f"{what}: read are {CAPS_SAID}", "a coarser mesh: one within 0.1 mm shows all that can be seen here"
        )


def text_lines(file: Path, opened: BinaryIO) -> Iterator[tuple[int, list[bytes]]]:
    """Yield the words of each line with its number. Raises MeshFileError for a line that no mesh has."""
    number = 0
    while line := opened.readline(MOST_LINE_BYTES):
        number += 1
        if len(line) == MOST_LINE_BYTES:
            raise MeshFileError(file, f"line {number} is longer than any of a mesh in text")
        yield number, line.split()


def numbers(file: Path, line: int, words: list[bytes]) -> list[float]:
    """Return words as numbers; raise MeshFileError with the line where one is none."""
    try:
        return [float(word) for word in words]
    except ValueError:
        raise MeshFileError(file, f"line {line}: {shown(b' '.join(words))} are not all numbers") from None


def shown(text: bytes) -> str:
    """Return some bytes of a file as a message can show them."""
    return repr(re.sub(r"[^ -~]", "?", text[:40].decode("latin-1")))


def fan(corners: list[int]) -> Iterator[tuple[int, int, int]]:
    """Yield the triangles of a facet of three corners or more, from its first."""
    for n in range(1, len(corners) - 1):
        yield corners[0], corners[n], corners[n + 1]


def whole(file: Path, vertices: Array, triangles: Indices, unit: str | None) -> MeshRead:
    """Return what was read, or raise MeshFileError where it is no mesh."""
    refuse_counts(file, len(triangles), len(vertices))
    if len(triangles) == 0:
        raise MeshFileError(file, "no facets are in it", "a file with the surface of a board, not its lines or points")
    if not np.isfinite(vertices).all():
        bad = int((~np.isfinite(vertices).all(axis=1)).sum())
        raise MeshFileError(file, f"{bad:,} of {len(vertices):,} vertices have coordinates that are no finite numbers")
    low, high = int(triangles.min()), int(triangles.max())
    if low < 0 or high >= len(vertices):
        raise MeshFileError(file, f"a facet names vertex {low if low < 0 else high}; there are {len(vertices):,}")
    return MeshRead(vertices=vertices, triangles=triangles, unit=unit)
