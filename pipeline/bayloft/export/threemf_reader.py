"""3MF (3D Manufacturing Format, core specification 1): what its build places, in the unit that it states.

The package is read as a stream: no more is unpacked than a mesh may have, no document type or entity is taken, and
nothing outside of it is opened.
"""

from __future__ import annotations

import zipfile
import zlib
from array import array
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO
from xml.parsers import expat

import numpy as np

from bayloft.export.mesh_limits import (
    CAPS_SAID,
    MOST_MESH_BYTES,
    Array,
    Indices,
    MeshFileError,
    MeshRead,
    refuse_counts,
    whole,
)
from bayloft.export.zipped import small_directory

RELATIONS, MODEL, MODEL_TYPE = "_rels/.rels", "3D/3dmodel.model", "/3dmodel"
MOST_DEEP, MOST_OBJECTS = 16, 1000
"""Objects inside one another; objects, and places where they are put, in all."""
MOST_RELATION_BYTES, CHUNK_BYTES = 2**20, 2**18
UNITS = {"micron": "micron", "millimeter": "mm", "centimeter": "cm", "meter": "m", "inch": "in", "foot": "ft"}
"""The format's words for units, and ours; where it states none it means millimetres (core specification, 3.4)."""
PARTS = ("vertices", "triangles")


@dataclass(slots=True, kw_only=True)
class _Part:
    """An object while it is read: its places, corners, and the objects that it is put together from."""

    places: array[float] = field(default_factory=lambda: array("d"))
    corners: array[int] = field(default_factory=lambda: array("q"))
    components: list[tuple[str, Array]] = field(default_factory=list)


class _Model:
    """What a model says, element by element."""

    def __init__(self, file: Path) -> None:
        self._file = file
        self.unit, self.objects, self.build = "mm", dict[str, _Part](), list[tuple[str, Array]]()
        self._now: _Part | None = None
        self._vertices = self._facets = self._named = 0

    def start(self, name: str, said: dict[str, str]) -> None:
        """Take an element."""
        bare = name.rpartition("|")[2]
        take: Mapping[str, Callable[[dict[str, str]], None]] = {
            "model": self._take_model,
            "object": self._take_object,
            "vertex": self._take_vertex,
            "triangle": self._take_triangle,
            "component": self._take_component,
            "item": self._take_item,
        }
        if bare in take:
            try:
                take[bare](said)
            except (KeyError, ValueError, OverflowError):
                raise MeshFileError(
                    self._file, f"an element <{bare}> of its model is not as the format has it"
                ) from None

    def _take_model(self, said: dict[str, str]) -> None:
        unit = said.get("unit", "millimeter")
        if unit not in UNITS:
            raise MeshFileError(self._file, f"its unit, {unit[:40]!r}, is none of the format's")
        self.unit = UNITS[unit]

    def _take_object(self, said: dict[str, str]) -> None:
        self._count_named()
        self._now = self.objects[said["id"]] = _Part()

    def _count_named(self) -> None:
        self._named += 1
        if self._named > MOST_OBJECTS:
            raise MeshFileError(self._file, f"more than {MOST_OBJECTS:,} objects; a board with its fins has a few")

    def _inside(self) -> _Part:
        if self._now is None:
            raise ValueError
        return self._now

    def _take_vertex(self, said: dict[str, str]) -> None:
        self._inside().places.extend(float(said[axis]) for axis in ("x", "y", "z"))
        self._vertices += 1
        refuse_counts(self._file, 0, self._vertices)

    def _take_triangle(self, said: dict[str, str]) -> None:
        self._inside().corners.extend(int(said[corner]) for corner in ("v1", "v2", "v3"))
        self._facets += 1
        refuse_counts(self._file, self._facets)

    def _take_component(self, said: dict[str, str]) -> None:
        self._refuse_elsewhere(said)
        self._inside().components.append((said["objectid"], _transform(said)))

    def _take_item(self, said: dict[str, str]) -> None:
        self._refuse_elsewhere(said)
        self.build.append((said["objectid"], _transform(said)))

    def _refuse_elsewhere(self, said: dict[str, str]) -> None:
        self._count_named()
        if any(key.rpartition("|")[2] == "path" for key in said):
            raise MeshFileError(
                self._file, "its objects lie in several models of the package", "the board saved alone, or as an STL"
            )


def _transform(said: dict[str, str]) -> Array:
    """Return a transform (4, 3): a place as a row (x, y, z, 1), times it, is where it is put."""
    typed = said.get("transform")
    if typed is None:
        return np.vstack([np.eye(3), np.zeros(3)])
    return np.array([float(word) for word in typed.split()], dtype=np.float64).reshape(4, 3)


def read_3mf(file: Path, opened: BinaryIO, _size: int) -> MeshRead:
    """Return all that a package's build places, together. Raises MeshFileError for what is none or must not be read."""
    if not small_directory(opened):
        raise MeshFileError(file, "no 3MF: no zip, or one of more files than a mesh comes in")
    try:
        with zipfile.ZipFile(opened) as package:
            model = _Model(file)
            _parsed(file, package, _model_name(file, package), MOST_MESH_BYTES, model.start)
    except (zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, RuntimeError, EOFError, zlib.error) as error:
        raise MeshFileError(file, f"no 3MF, which is a zip, or damaged: {error}") from error
    placed: list[tuple[Array, Indices]] = []
    steps = [0]
    for name, where in model.build:
        _place(file, model, name, [where], placed, steps)
    if not placed:
        raise MeshFileError(file, "its build places no mesh")
    counts = np.cumsum([0, *(len(places) for places, _ in placed)]).tolist()
    triangles = np.concatenate([own + count for (_, own), count in zip(placed, counts, strict=False)])
    return whole(file, np.concatenate([places for places, _ in placed]), triangles, model.unit)


def _place(
    file: Path, model: _Model, name: str, where: list[Array], placed: list[tuple[Array, Indices]], steps: list[int]
) -> None:
    """Add an object, and those that it is put together from, where they go."""
    steps[0] += 1
    if name not in model.objects:
        raise MeshFileError(file, f"its build names the object {name[:40]!r}, which is not in it")
    if len(where) > MOST_DEEP or steps[0] > MOST_OBJECTS:
        raise MeshFileError(file, "its objects lie in one another without end, or more often than a board's do")
    own = model.objects[name]
    if own.corners:
        places = np.array(own.places, dtype=np.float64).reshape(-1, 3)
        corners = np.array(own.corners, dtype=np.int64).reshape(-1, 3)
        whole(file, places, corners, None)
        for matrix in reversed(where):
            x, y, z = places.T[..., None]
            places = x * matrix[0] + y * matrix[1] + z * matrix[2] + matrix[3]
            if _mirrors(matrix):
                corners = corners[:, ::-1]
        placed.append((places, corners))
        refuse_counts(file, sum(len(each) for _, each in placed), sum(len(each) for each, _ in placed))
    for inner, transform in own.components:
        _place(file, model, inner, [*where, transform], placed, steps)


def _mirrors(matrix: Array) -> bool:
    (a, b, c), (d, e, f), (g, h, i) = matrix[:3].tolist()
    return bool(a * (e * i - f * h) - b * (d * i - f * g) + c * (d * h - e * g) < 0.0)


def _model_name(file: Path, package: zipfile.ZipFile) -> str:
    """Return the member of a package that its relations name as the model."""
    found: list[str] = []

    def start(_name: str, said: dict[str, str]) -> None:
        if said.get("Type", "").endswith(MODEL_TYPE):
            found.append(said.get("Target", "").lstrip("/"))

    names = package.namelist()
    if RELATIONS in names:
        _parsed(file, package, RELATIONS, MOST_RELATION_BYTES, start)
    name = found[0] if found else MODEL
    if name not in names:
        raise MeshFileError(file, "no 3MF: no model is in it")
    return name


def _parsed(
    file: Path, package: zipfile.ZipFile, name: str, most: int, start: Callable[[str, dict[str, str]], None]
) -> None:
    """Read a member as XML, element by element, no more than so many bytes of it."""

    def refuse(*_: object) -> None:
        raise MeshFileError(file, "it declares a document type or entities, which a 3MF may not")

    parser = expat.ParserCreate(namespace_separator="|")
    parser.StartElementHandler = start
    parser.StartDoctypeDeclHandler = parser.EntityDeclHandler = refuse
    read = 0
    try:
        with package.open(name) as opened:
            while chunk := opened.read(CHUNK_BYTES):
                read += len(chunk)
                if read > most:
                    raise MeshFileError(file, f"it unpacks to more than {most // 2**20} MB; read are {CAPS_SAID}")
                parser.Parse(chunk, False)
        parser.Parse(b"", True)
    except expat.ExpatError as error:
        raise MeshFileError(file, f"its {name[:40]!r} is no XML: {expat.ErrorString(error.code)}") from error
