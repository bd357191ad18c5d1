"""Areas and girths of a board's faces: of a whole face, of what lies within a line on it, and round it at a station."""

from __future__ import annotations

import itertools

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from bayloft.arithmetic import lengths
from bayloft.solid.body import Body
from bayloft.solid.integrals import parameter_at, reached
from bayloft.solid.laps import Face, bounds_of

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
    share = np.linspace(0.0, 1.0, CELLS_U + 1)
    pieces = [np.linspace(a, b, CELLS_A_PIECE + 1)[:-1] for a, b in itertools.pairwise(joints)]
    return share * share * (3.0 - 2.0 * share), np.concatenate([*pieces, joints[-1:]])


def _cell_areas(body: Body, u: Array, v: Array) -> Array:
    at, weights = np.polynomial.legendre.leggauss(NODES)

    def spread(breaks: Array) -> tuple[Array, Array]:
        half = np.diff(breaks) / 2.0
        return ((breaks[1:] + breaks[:-1])[:, None] / 2.0 + half[:, None] * at).ravel(), (
            half[:, None] * weights
        ).ravel()

    (places_u, wu), (places_v, wv) = spread(u), spread(v)
    across = np.cross(body.port.grid(places_u, places_v, 1, 0), body.port.grid(places_u, places_v, 0, 1))
    size = lengths(across) * wu[:, None] * wv
    return np.asarray(size.reshape(len(u) - 1, NODES, len(v) - 1, NODES).sum(axis=(1, 3)), dtype=np.float64)


def girths_mm(body: Body, face: Face, x_mm: ArrayLike) -> Array:
    """Return how long a tape round a face is at stations (n,), from rail to rail; without a tail's notch."""
    found = []
    for x in np.atleast_1d(np.asarray(x_mm, dtype=np.float64)).tolist():
        line = half_section(body, face, x)
        found.append(2.0 * float(lengths(np.diff(line, axis=0)).sum()))
    return np.array(found)


def half_section(body: Body, face: Face, x_mm: float) -> Array:
    """Return the port half of a face's section at a station: points (n, 2) as (y, z), from the stringer, or from a
    notch, to the rail.
    """
    low, high = bounds_of(face)
    stretches = [(max(a, low), min(b, high)) for a, b in reached(body.port, x_mm) if b > low and a < high]
    v = np.concatenate([np.linspace(a, b, SECTION_STEPS + 1) for a, b in stretches])
    points = body.port.at(parameter_at(body.port, np.full_like(v, x_mm), v), v)[:, 1:]
    return np.asarray(points[::-1] if face == "deck" else points, dtype=np.float64)


def profile_mm(body: Body, face: Face) -> float:
    """Return how long a tape along the stringer of a face is, from end to end."""
    v = 1.0 if face == "deck" else 0.0
    share = np.linspace(0.0, 1.0, 4001)
    line = body.port.grid(share * share * (3.0 - 2.0 * share), [min(v, float(np.nextafter(1.0, 0.0)))])[:, 0]
    return float(lengths(np.diff(line, axis=0)).sum())


def face_middle_mm(body: Body, face: Face) -> float:
    """Return the station of the centroid of a face's area, mm from the tail end."""
    u, v = _cells(body, face)
    areas = _cell_areas(body, u, v)
    x = body.port.grid((u[1:] + u[:-1]) / 2.0, (v[1:] + v[:-1]) / 2.0)[..., 0]
    return float((areas * x).sum() / areas.sum())
