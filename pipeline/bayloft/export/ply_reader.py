"""PLY, in text and binary: vertices and faces; what its header promises is held against the file's length first."""

from __future__ import annotations

from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

import numpy as np

from bayloft.export.mesh_limits import (
    Array,
    Indices,
    MeshFileError,
    MeshRead,
    fan,
    numbers,
    refuse_counts,
    shown,
    text_lines,
    whole,
)

MOST_HEADER_LINES, MOST_CORNERS = 500, 10_000
FACES = ("vertex_indices", "vertex_index")
_KINDS = {
    **dict.fromkeys(("char", "int8"), "i1"),
    **dict.fromkeys(("uchar", "uint8"), "u1"),
    **dict.fromkeys(("short", "int16"), "i2"),
    **dict.fromkeys(("ushort", "uint16"), "u2"),
    **dict.fromkeys(("int", "int32"), "i4"),
    **dict.fromkeys(("uint", "uint32"), "u4"),
    **dict.fromkeys(("float", "float32"), "f4"),
    **dict.fromkeys(("double", "float64"), "f8"),
}
_ORDERS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}


@dataclass(frozen=True, slots=True, kw_only=True)
class _Property:
    """A property: its name, numpy's word for its numbers, and for how many there are where it is a list."""

    name: str
    kind: str
    counted: str = ""


@dataclass(slots=True, kw_only=True)
class _Element:
    name: str
    count: int
    properties: list[_Property]

    @property
    def lists(self) -> bool:
        return any(each.counted for each in self.properties)

    def least_bytes(self, order: str) -> int:
        """Return how many bytes a row has at least: in text two for each number."""
        if not order:
            return 2 * len(self.properties)
        return sum(np.dtype(each.counted or each.kind).itemsize for each in self.properties)


def read_ply(file: Path, opened: BinaryIO, size: int) -> MeshRead:
    """Return a PLY. Raises MeshFileError for what is none, cut short or larger than is read."""
    order, elements = _header(file, opened)
    named = {element.name: element for element in elements}
    for name in ("vertex", "face"):
        if name not in named:
            raise MeshFileError(file, f"its header names no element {name}", "a surface, not points alone")
    left = size - opened.tell()
    for element in elements:
        # Text may end without the last line's break.
        if element.count * element.least_bytes(order) > left + 1:
            raise MeshFileError(
                file,
                f"its header promises {element.count:,} of {element.name}; the {left:,} bytes behind it hold no more "
                f"than {left // max(element.least_bytes(order), 1):,}: cut short, or made to do harm",
            )
    refuse_counts(file, named["face"].count, named["vertex"].count)
    rows = _BinaryRows(file, opened, order) if order else _TextRows(file, opened)
    vertices, triangles = np.zeros((0, 3)), np.zeros((0, 3), dtype=np.int64)
    for element in elements:
        if element.name == "vertex":
            vertices = rows.places(element)
        elif element.name == "face":
            triangles = rows.facets(element)
        else:
            rows.passed_over(element)
        if len(vertices) and len(triangles):
            break
    return whole(file, vertices, triangles, None)


def _header(file: Path, opened: BinaryIO) -> tuple[str, list[_Element]]:
    """Return the byte order, empty for text, and the elements, of a header that is read to its end."""
    order, elements = None, []
    for number, words in text_lines(file, opened):
        said = [word.decode("latin-1") for word in words]
        if number == 1 and said != ["ply"]:
            break
        match said:
            case ["format", name, _] if name in _ORDERS:
                order = _ORDERS[name]
            case ["element", name, count] if count.isdecimal() and len(count) < 20:
                elements.append(_Element(name=name, count=int(count), properties=[]))
            case ["property", "list", counted, kind, name] if elements and {counted, kind} <= set(_KINDS):
                elements[-1].properties.append(_Property(name=name, kind=_KINDS[kind], counted=_KINDS[counted]))
            case ["property", kind, name] if elements and kind in _KINDS:
                elements[-1].properties.append(_Property(name=name, kind=_KINDS[kind]))
            case ["end_header"] if order is not None:
                return order, elements
            case ["ply"] | ["comment", *_] | ["obj_info", *_] | []:
                pass
            case _:
                raise MeshFileError(file, f"line {number} of its header, {shown(b' '.join(words))}, is not of a PLY")
        if number > MOST_HEADER_LINES:
            break
    raise MeshFileError(file, "no PLY, or its header is cut short")


def _columns(file: Path, element: _Element) -> list[int]:
    """Return which properties of the vertices are x, y and z."""
    names = [each.name for each in element.properties]
    if element.lists or not {"x", "y", "z"} <= set(names):
        raise MeshFileError(file, "its vertices have no x, y and z")
    return [names.index(axis) for axis in ("x", "y", "z")]


def _corners_at(file: Path, element: _Element) -> int:
    """Return which property of the faces lists their corners."""
    for n, each in enumerate(element.properties):
        if each.counted and each.name in FACES:
            return n
    raise MeshFileError(file, "its faces name no vertices")


class _TextRows:
    """The rows of a PLY in text, element after element."""

    def __init__(self, file: Path, opened: BinaryIO) -> None:
        self._file = file
        self._rows = ((n, words) for n, words in text_lines(file, opened) if words)

    def _next(self, element: _Element) -> tuple[int, list[bytes]]:
        row = next(self._rows, None)
        if row is None:
            raise MeshFileError(self._file, f"ends before its {element.count:,} of {element.name}: cut short")
        return row

    def places(self, element: _Element) -> Array:
        """Return the vertices (n, 3)."""
        columns, found = _columns(self._file, element), array("d")
        for _ in range(element.count):
            line, words = self._next(element)
            if len(words) != len(element.properties):
                raise MeshFileError(self._file, f"line {line} behind the header: {len(words)} numbers of a vertex")
            found.extend(numbers(self._file, line, [words[at] for at in columns]))
        return np.array(found, dtype=np.float64).reshape(-1, 3)

    def facets(self, element: _Element) -> Indices:
        """Return the triangles (m, 3)."""
        at, found = _corners_at(self._file, element), array("q")
        for _ in range(element.count):
            line, words = self._next(element)
            try:
                for n, each in enumerate(element.properties):
                    taken = int(words[0]) + 1 if each.counted else 1
                    if n == at:
                        corners = [int(word) for word in words[1:taken]]
                        if not 3 <= taken - 1 == len(corners):
                            raise ValueError
                        for triangle in fan(corners):
                            found.extend(triangle)
                    words = words[max(taken, 1) :]
            except (ValueError, IndexError, OverflowError):
                raise MeshFileError(self._file, f"line {line} behind the header is no face") from None
            refuse_counts(self._file, len(found) // 3)
        return np.array(found, dtype=np.int64).reshape(-1, 3)

    def passed_over(self, element: _Element) -> None:
        """Read over the rows of another element."""
        for _ in range(element.count):
            self._next(element)


class _BinaryRows:
    """The rows of a binary PLY, element after element."""

    def __init__(self, file: Path, opened: BinaryIO, order: str) -> None:
        self._file, self._opened, self._order = file, opened, order

    def _read(self, element: _Element, size: int) -> bytes:
        data = self._opened.read(size)
        if len(data) < size:
            raise MeshFileError(self._file, f"ends before its {element.count:,} of {element.name}: cut short")
        return data

    def _row(self, properties: list[_Property]) -> np.dtype[np.void]:
        return np.dtype([(str(n), f"{self._order}{each.kind}") for n, each in enumerate(properties)])

    def places(self, element: _Element) -> Array:
        """Return the vertices (n, 3)."""
        columns, kind = _columns(self._file, element), self._row(element.properties)
        rows = np.frombuffer(self._read(element, element.count * kind.itemsize), dtype=kind)
        return np.column_stack([rows[str(at)].astype(np.float64) for at in columns])

    def facets(self, element: _Element) -> Indices:
        """Return the triangles (m, 3): all at once where all faces have as many corners as the first."""
        at, start = _corners_at(self._file, element), self._opened.tell()
        if sum(bool(each.counted) for each in element.properties) == 1 and element.count:
            found = self._alike(element, at)
            if found is not None:
                return found
            self._opened.seek(start)
        triangles = array("q")
        for _ in range(element.count):
            for n, values in enumerate(self._values(element)):
                if n != at:
                    continue
                if len(values) < 3:
                    raise MeshFileError(self._file, f"a face of {len(values)} corners")
                for triangle in fan(values):
                    triangles.extend(triangle)
            refuse_counts(self._file, len(triangles) // 3)
        return np.array(triangles, dtype=np.int64).reshape(-1, 3)

    def _alike(self, element: _Element, at: int) -> Indices | None:
        first = self._opened.tell()
        corners = len([*self._values(element)][at])
        self._opened.seek(first)
        fields: list[tuple[str, str, tuple[int, ...]]] = []
        for n, each in enumerate(element.properties):
            if each.counted:
                fields.append(("corners", f"{self._order}{each.counted}", ()))
            fields.append((str(n), f"{self._order}{each.kind}", (corners,) if each.counted else ()))
        kind = np.dtype(fields)
        data = self._opened.read(element.count * kind.itemsize)
        if corners < 3 or len(data) < element.count * kind.itemsize:
            return None
        rows = np.frombuffer(data, dtype=kind)
        if (rows["corners"] != corners).any():
            return None
        named = rows[str(at)].astype(np.int64)
        refuse_counts(self._file, len(named) * (corners - 2))
        return np.concatenate([named[:, [0, n, n + 1]] for n in range(1, corners - 1)])

    def _values(self, element: _Element) -> Iterator[list[int]]:
        """Yield the values of a row's properties; of those that are no list, one each."""
        for each in element.properties:
            count = 1
            if each.counted:
                kind = np.dtype(f"{self._order}{each.counted}")
                count = int(np.frombuffer(self._read(element, kind.itemsize), dtype=kind)[0])
                if not 0 <= count <= MOST_CORNERS:
                    raise MeshFileError(self._file, f"a list of {count:,} in a row of {element.name}")
            kind = np.dtype(f"{self._order}{each.kind}")
            values = np.frombuffer(self._read(element, count * kind.itemsize), dtype=kind)
            yield [int(value) for value in values] if each.counted else []

    def passed_over(self, element: _Element) -> None:
        """Read over the rows of another element."""
        if not element.lists:
            self._read(element, element.count * self._row(element.properties).itemsize)
            return
        for _ in range(element.count):
            for _ in self._values(element):
                pass
