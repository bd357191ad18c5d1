"""Areas and girths of a board's faces: of a whole face, of what lies within a line on it, and round it at a station."""

from __future__ import annotations

import itertools

import numpy as np
import shapely
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray

from bayloft.arithmetic import lengths
from bayloft.solid.body import Body
from bayloft.solid.integrals import parameter_at, reached, spread_nodes
from bayloft.solid.laps import Face, along_stringer, bounds_of
from bayloft.solid.surface import crowded_places

Array = NDArray[np.float64]

CELLS_U, CELLS_A_PIECE, NODES = 240, 40, 4
"""Cells of a face along the board, and in each piece between two joints; Gauss-Legendre nodes in each, both ways."""

SECTION_STEPS = 400


def face_area_mm2(body: Body, face: Face) -> float:
    """Return the area of a whole face, both halves."""
    return float(2.0 * _cell_areas(body, *_cells(body, face)).sum())


def region_area_mm2(body: Body, face: Face, region: shapely.Geometry) -> float:
    """Return the area of what of a face lies over, or under, a region of the port half in plan; both halves. Cells that
    the region's border crosses count by the share of them that lies in it, as seen in plan.
    """
    u, v = _cells(body, face)
    areas = _cell_areas(body, u, v)
    corners = body.port.grid(u, v)[..., :2]
    quads = np.stack([corners[:-1, :-1], corners[1:, :-1], corners[1:, 1:], corners[:-1, 1:]], axis=2)
    cells = shapely.polygons(quads.reshape(-1, 4, 2))
    shapely.prepare(region)
    inside = shapely.covers(region, cells)
    crossed = ~inside & shapely.intersects(region, cells)
    share = inside.astype(np.float64)
    sizes = shapely.area(cells[crossed])
    met = shapely.area(shapely.intersection(shapely.make_valid(cells[crossed]), region))
    share[crossed] = np.where(sizes > 0.0, met / np.maximum(sizes, 1e-300), 0.0)
    return float(2.0 * (share.reshape(areas.shape) * areas).sum())


def _cells(body: Body, face: Face) -> tuple[Array, Array]:
    """Return the borders of a face's cells in u and v."""
    low, high = bounds_of(face)
    joints = body.port.joints
    joints = np.concatenate([[low], joints[(joints > low) & (joints < high)], [high]])
    pieces = [np.linspace(a, b, CELLS_A_PIECE + 1)[:-1] for a, b in itertools.pairwise(joints)]
    return crowded_places(CELLS_U + 1), np.concatenate([*pieces, joints[-1:]])


def _cell_areas(body: Body, u: Array, v: Array) -> Array:
    rule = leggauss(NODES)
    (places_u, wu), (places_v, wv) = (spread_nodes(breaks, *rule) for breaks in (u, v))
    across = np.cross(body.port.grid(places_u, places_v, 1, 0), body.port.grid(places_u, places_v, 0, 1))
    size = lengths(across) * wu[:, None] * wv
    return np.asarray(size.reshape(len(u) - 1, NODES, len(v) - 1, NODES).sum(axis=(1, 3)), dtype=np.float64)


def girths_mm(body: Body, face: Face, x_mm: ArrayLike) -> Array:
    """Return how long a tape round a face is at stations (n,), from rail to rail; without a tail's notch."""
    stations = np.atleast_1d(np.asarray(x_mm, dtype=np.float64)).tolist()
    tapes = [across_face(body, face, x)[1] for x in stations]
    return np.array([2.0 * float(tape[-1] - tape[0]) for tape in tapes])


def across_face(body: Body, face: Face, x_mm: float) -> tuple[Array, Array]:
    """Return places of the port half of a face at a station, from the stringer, or from a notch, to the rail: how far
    off the stringer they are, and how far along the face a tape across it has come from there.
    """
    low, high = bounds_of(face)
    stretches = [(max(a, low), min(b, high)) for a, b in reached(body.port, x_mm) if b > low and a < high]
    v = np.concatenate([np.linspace(a, b, SECTION_STEPS + 1) for a, b in stretches])
    points = body.port.at(parameter_at(body.port, np.full_like(v, x_mm), v), v)[:, 1:]
    points = points[::-1] if face == "deck" else points
    tape = np.concatenate([[0.0], np.cumsum(lengths(np.diff(points, axis=0)))])
    return np.asarray(points[:, 0], dtype=np.float64), np.asarray(points[0, 0] + tape, dtype=np.float64)


def profile_mm(body: Body, face: Face) -> float:
    """Return how long a tape along the stringer of a face is, from end to end."""
    return float(along_stringer(body, face)[1][-1])


def face_middle_mm(body: Body, face: Face) -> float:
    """Return the station of the centroid of a face's area, mm from the tail end."""
    u, v = _cells(body, face)
    areas = _cell_areas(body, u, v)
    x = body.port.grid((u[1:] + u[:-1]) / 2.0, (v[1:] + v[:-1]) / 2.0)[..., 0]
    return float((areas * x).sum() / areas.sum())
