"""A mesh from elsewhere laid as a board lies here: turned as it is told, its tail end, stringer and lowest place at 0.

How it lies is never guessed: its box only tells whether what was told, or the usual, can be.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from bayloft.solid.compared import ComparedShape, LongLines
from bayloft.solid.mesh import Indices, Mesh

Array = NDArray[np.float64]

Way = Literal["x", "-x", "y", "-y", "z", "-z"]
"""A direction along an axis of a file."""

WAYS: tuple[Way, ...] = get_args(Way)
INNER = slice(12, -12)
"""Of the stations of the long lines, those that a board's middle line is judged by: an end says little of it."""
STEP_MM, THICKER = 20.0, 1.3
"""mm by which a board is thicker from one station to the next, and times its usual thickness, where a fin stands on it:
no foil is so steep, away from the ends.
"""
LONG_SHARE = 0.5
"""Share of the longest body's length from which on another is no fin or speck."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lying:
    """How a mesh lies once it is turned and settled, lengths in mm: by how much its middle line leaves its stringer at
    most; the share of its length at which its bottom is lowest; where something stands out of its bottom at the
    stringer, such as a fin, from its tail end, or None; whether its facets had to be turned outside.
    """

    off_middle_mm: float
    lowest_share: float
    fin_at_mm: float | None
    was_inside_out: bool


def box_sides(mesh: Mesh) -> tuple[str, str, str]:
    """Return the axes of a mesh's file, the one along which it is longest first."""
    sides = np.ptp(mesh.vertices, axis=0)
    order = sorted(range(3), key=lambda axis: (-float(sides[axis]), axis))
    return "xyz"[order[0]], "xyz"[order[1]], "xyz"[order[2]]


def turned(mesh: Mesh, nose: Way, up: Way) -> Mesh:
    """Return a mesh with x where `nose` leads in its own axes and z where `up` does, never mirrored.

    Raises ValueError where both lead along one axis.
    """
    ahead, above = _unit(nose), _unit(up)
    if nose[-1] == up[-1]:
        raise ValueError(f"nose and up both lead along {nose[-1]}")
    aside = np.cross(above, ahead)
    axes = [np.flatnonzero(way)[0] for way in (ahead, aside, above)]
    signs = np.array([float(way.sum()) for way in (ahead, aside, above)])
    return replace(mesh, vertices=mesh.vertices[:, axes] * signs + 0.0)


def _unit(way: Way) -> Array:
    unit = np.zeros(3)
    unit["xyz".index(way[-1])] = -1.0 if way.startswith("-") else 1.0
    return unit


def settled(mesh: Mesh) -> tuple[ComparedShape, Lying]:
    """Return a turned mesh as a shape to be compared, and how it lies: moved along to its tail end, aside to the middle
    of its widths, down to its lowest bottom at the stringer; nothing is tilted.
    """
    inside_out = mesh.volume_mm3 < 0.0
    if inside_out:
        mesh = replace(mesh, triangles=mesh.triangles[:, ::-1])
    x, y, z = mesh.vertices.T
    first = (float(x.min()), (float(y.min()) + float(y.max())) / 2.0, float(z.min()))
    rough = ComparedShape(_moved(mesh, first)).lines
    middles = (rough.port_mm[:, 1] - rough.starboard_mm[:, 1])[INNER] / 2.0
    aside = float(np.median(middles[np.isfinite(middles)])) if np.isfinite(middles).any() else 0.0
    mesh = _moved(mesh, (first[0], first[1] + aside, first[2]))
    cut = ComparedShape(mesh).lines
    there = np.isfinite(cut.bottom_mm)
    lowest = float(cut.bottom_mm[there].min()) if there.any() else 0.0
    shape = ComparedShape(_moved(mesh, (0.0, 0.0, lowest)))
    middle = ((cut.port_mm[:, 1] - cut.starboard_mm[:, 1]) / 2.0)[INNER]
    return shape, Lying(
        off_middle_mm=float(np.nanmax(np.abs(middle), initial=0.0)),
        lowest_share=float(cut.x_mm[np.nanargmin(cut.bottom_mm)] / shape.length_mm) if there.any() else 0.5,
        fin_at_mm=_fin_at_mm(cut),
        was_inside_out=inside_out,
    )


def _fin_at_mm(cut: LongLines) -> float | None:
    """Return the first station at which a board is suddenly, and by far, thicker at the stringer."""
    thick = (cut.deck_mm - cut.bottom_mm)[INNER]
    if not np.isfinite(thick).any():
        return None
    with np.errstate(invalid="ignore"):
        sudden = (np.diff(thick) > STEP_MM) & (thick[1:] > THICKER * float(np.nanmedian(thick)))
    return float(cut.x_mm[INNER][1:][np.argmax(sudden)]) if sudden.any() else None


def _moved(mesh: Mesh, back: tuple[float, float, float]) -> Mesh:
    return replace(mesh, vertices=mesh.vertices - np.array(back))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bodies:
    """The connected bodies of a mesh that are as long as a board in it, together; how many of them are closed, and how
    many shorter ones were left out.
    """

    mesh: Mesh
    closed: int
    left_out: int


def long_bodies(mesh: Mesh) -> Bodies:
    """Return what of a welded mesh is a board: its longest connected body, and others half as long or more."""
    start, stop = mesh.triangles.ravel(), np.roll(mesh.triangles, -1, axis=1).ravel()
    count = len(mesh.vertices)
    edges = coo_array((np.ones(len(start), dtype=np.int8), (start, stop)), shape=(count, count))
    bodies, label = connected_components(edges, directed=False)
    # Fins, specks: by the longest side of each one's box.
    low, high = np.full((bodies, 3), np.inf), np.full((bodies, 3), -np.inf)
    np.minimum.at(low, label, mesh.vertices)
    np.maximum.at(high, label, mesh.vertices)
    sides = (high - low).max(axis=1)
    long = sides >= LONG_SHARE * float(sides.max())
    of_facet = label[mesh.triangles[:, 0]]
    closed = sum(_alone(mesh, of_facet == one).unpaired_edges() == 0 for one in np.flatnonzero(long)[:MOST_LONG])
    return Bodies(mesh=_alone(mesh, long[of_facet]), closed=closed, left_out=int(bodies - long.sum()))


MOST_LONG = 50
"""Long bodies that are looked at: one of more is told as many."""


def _alone(mesh: Mesh, kept: NDArray[np.bool_]) -> Mesh:
    """Return some triangles of a mesh, and the vertices that they use."""
    triangles: Indices = mesh.triangles[kept]
    used, numbered = np.unique(triangles, return_inverse=True)
    return Mesh(vertices=mesh.vertices[used], triangles=numbered.reshape(-1, 3))
