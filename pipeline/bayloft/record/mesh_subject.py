"""A mesh from a file as a shape that a board can be held against: its unit and how it lies are told, never guessed."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np

from bayloft.export.mesh_limits import MeshFileError, MeshRead
from bayloft.export.mesh_reader import read_mesh
from bayloft.solid.compared import ComparedShape
from bayloft.solid.mesh import Mesh, all_welded
from bayloft.solid.righting import Lying, Way, box_sides, long_bodies, settled, turned
from bayloft.tape import along, fine
from bayloft.units import METRIC_UNITS, MM_PER_UNIT, feet_inches

SHORTEST_MM, LONGEST_MM = 200.0, 10_000.0
"""mm between which a mesh is of something that is ridden: from a hand plane to a rescue board."""
USUAL_MM = (1200.0, 4000.0)
"""mm between which most boards are (common practice, no source)."""
UNIT_SAID = {"m": "metres", "in": "inches", "ft": "feet", "micron": "microns"}
UNIT_MM = MM_PER_UNIT | {"micron": Fraction(1, 1000)}
OFF_MIDDLE_MM = 3.0
"""mm by which a middle line may leave the stringer before it is told: a board is truer."""
ENDS_SHARE = 0.1
"""Of the length: a bottom that is lowest so near to an end hangs down there, as a deck does that lies below."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MeshTold:
    """What is told of a mesh: its unit, which is for it alone (`own`) or for whichever states none; where its nose and
    its deck lie in its own axes.
    """

    unit: str | None = None
    own: bool = False
    nose: Way | None = None
    up: Way | None = None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MeshSubject:
    """A mesh as a shape: whether it is told in mm, what a maker should look at, and what its report says of it."""

    shape: ComparedShape
    metric: bool
    looks: tuple[str, ...]
    said: dict[str, Any]


def mesh_subject(file: Path, told: MeshTold, letter: str) -> MeshSubject:
    """Return a mesh from a file; letter: "a" or "b", by which its options are called.

    Raises
    ------
    MeshFileError
        As `read_mesh` does; for a mesh without a unit, one that is no board in it, one that does not lie as told, and
        one of several boards.
    """
    read = read_mesh(file)
    unit, looks = _unit(file, read, told, letter)
    mesh = all_welded(Mesh(vertices=read.vertices * float(UNIT_MM[unit]), triangles=read.triangles))
    if len(mesh.triangles) == 0 or mesh.area_mm2 == 0.0:
        raise MeshFileError(file, "no facet of it has an area")
    bodies = long_bodies(mesh)
    if bodies.closed > 1:
        raise MeshFileError(
            file, f"{bodies.closed} closed bodies of a board's length are in it", "a file with the one to be compared"
        )
    if bodies.left_out:
        many = "1 shorter body in it, a fin or a speck, is" if bodies.left_out == 1 else f"{bodies.left_out} shorter "
        many += "" if bodies.left_out == 1 else "bodies in it, fins or specks, are"
        looks.append(f"{many} left out")
    metric = unit in METRIC_UNITS | {"micron"}
    nose, up = _ways(file, bodies.mesh, told, letter)
    shape, lying = settled(turned(bodies.mesh, nose, up))
    if lying.fin_at_mm is not None:
        where = along(lying.fin_at_mm, metric=metric)
        problem = f"something stands out of its bottom at the stringer, {where} from its tail end, such as a fin"
        raise MeshFileError(file, problem, "the board saved without its fins: boards are compared without them")
    looks += _looks(shape, lying, told, letter, metric=metric)
    low, high = read.vertices.min(axis=0), read.vertices.max(axis=0)
    said = {
        "sha256": sha256(file.read_bytes()).hexdigest(),
        "unit": unit,
        "unit_from": "the file" if read.unit == unit and not (told.own and told.unit) else "told",
        "nose": nose,
        "up": up,
        "box_in_its_unit": [round(float(side), 6) for side in high - low],
        "triangles": len(shape.mesh.triangles),
        "closed": shape.closed,
        "bodies_left_out": bodies.left_out,
        "off_its_middle_mm": round(lying.off_middle_mm, 4),
        "was_inside_out": lying.was_inside_out,
    }
    return MeshSubject(shape=shape, metric=metric, looks=tuple(looks), said=said)


def _unit(file: Path, read: MeshRead, told: MeshTold, letter: str) -> tuple[str, list[str]]:
    """Return the unit of a mesh, and what is to be said of it."""
    longest = float(np.ptp(read.vertices, axis=0).max())
    looks = []
    if told.unit is not None and (told.own or read.unit is None):
        unit = told.unit
        if read.unit not in (None, unit):
            looks.append(f"its file says that it is in {read.unit}; it is taken in {unit}, as told")
    elif read.unit is not None:
        unit = read.unit
    else:
        raise MeshFileError(
            file, f"states no unit. {_lengths(longest)}", f"--unit-{letter} with the one that it was drawn in"
        )
    length_mm = longest * float(UNIT_MM[unit])
    if not SHORTEST_MM <= length_mm <= LONGEST_MM:
        raise MeshFileError(
            file,
            f"in {UNIT_SAID.get(unit, unit)} it is {along(length_mm, metric=True)} long, which is no board. "
            f"{_lengths(longest)}",
            f"--unit-{letter} with the one that it was drawn in",
        )
    return unit, looks


def _lengths(longest: float) -> str:
    """Return in words how long a mesh would be in each unit."""
    would = []
    for unit, size in MM_PER_UNIT.items():
        mm, said = longest * float(size), UNIT_SAID.get(unit, unit)
        if not 1.0 <= mm <= 100 * LONGEST_MM:
            continue
        length = f"{mm:,.0f} mm" if mm < LONGEST_MM else f"{mm / 1000.0:,.0f} m"
        feet = f", {feet_inches(mm)}" if USUAL_MM[0] <= mm <= USUAL_MM[1] else ""
        would.append(f"in {said} {length}{feet}")
    return f"Its longest side is {longest:,.6g}: {'; '.join(would) if would else 'no board in any unit'}"


def _ways(file: Path, mesh: Mesh, told: MeshTold, letter: str) -> tuple[Way, Way]:
    """Return where nose and deck lie: as told, or as usual where the box allows it."""
    nose, up = told.nose or "x", told.up or "z"
    longest, _, shortest = box_sides(mesh)
    sides = np.ptp(mesh.vertices, axis=0)
    if nose[-1] == up[-1]:
        raise MeshFileError(
            file, f"its nose and its deck cannot both lie along {up[-1]}", f"--nose-{letter} and --up-{letter}"
        )
    along_nose, along_up = (float(sides["xyz".index(way[-1])]) for way in (nose, up))
    fits = along_nose >= float(sides.max()) and along_up <= float(sides.min())
    if not fits and (told.nose is None or told.up is None):
        box = " x ".join(f"{side:.0f}" for side in sides.tolist())
        raise MeshFileError(
            file,
            f"its box is {box} mm along x, y and z: longest along {longest}, least along {shortest}; so its nose does "
            f"not lie along {nose[-1]} with its deck along {up[-1]}",
            f"--nose-{letter} {longest} or --nose-{letter}=-{longest}, by which end the nose is; "
            f"--up-{letter} {shortest} or --up-{letter}=-{shortest}, by which side the deck is",
        )
    return nose, up


def _looks(shape: ComparedShape, lying: Lying, told: MeshTold, letter: str, *, metric: bool) -> list[str]:
    """Return what of how a mesh lies a maker should look at."""
    found = []
    low, high = shape.mesh.vertices.min(axis=0), shape.mesh.vertices.max(axis=0)
    long, wide, thick = (high - low).tolist()
    if not long >= wide >= thick:
        found.append("as told, it is not longest towards its nose and thinnest from bottom to deck")
    if not ENDS_SHARE < lying.lowest_share < 1.0 - ENDS_SHARE:
        way = "-z" if told.up in (None, "z") else "the other way"
        found.append(f"its bottom hangs lowest at an end: if it lies deck down, --up-{letter}={way}")
    if lying.off_middle_mm > OFF_MIDDLE_MM:
        found.append(
            f"its two halves differ: their middle leaves its stringer by {fine(lying.off_middle_mm, metric=metric)}; "
            "it lies askew, or is not the same to port and to starboard"
        )
    if not shape.closed:
        found.append(
            "it is not closed: its volume and areas are not told, and which side is outside may be wrong there"
        )
    return found


def turned_about(shape: ComparedShape) -> ComparedShape:
    """Return a shape's mesh turned end for end, as it would be if nose were tail."""
    vertices = shape.mesh.vertices * np.array([-1.0, -1.0, 1.0]) + np.array([shape.length_mm, 0.0, 0.0])
    return ComparedShape(replace(shape.mesh, vertices=vertices))
