"""The ground that a cutter goes over: unions of lines and arcs as wide as the cutter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import acos, ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.moves import Motion
from bayloft.cutting.track import Piece
from bayloft.tolerances import CUT_TRUE_MM, SWEEP_FLATTENING_MM

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

_KEY_DECIMALS = 4
"""Decimals (mm) by which two ways over the same ground are told apart: those of the file."""

_BETWEEN_MM = 1.0
"""mm between the points of ground whose distance is asked: the furthest point of a sliver may lie within a side."""


def swept(motions: Iterable[Motion], level_mm: float, radius_mm: float) -> BaseGeometry:
    """Return the ground in plan over which a cutter's tip goes at or below a level, within `SWEEP_FLATTENING_MM`.

    Built from one shape per motion rather than as a parallel of the whole way: the offset curves of general geometry
    libraries thin out their input, and one of them strayed by 1.4 mm on finely flattened hollow arcs.
    """
    from shapely import union_all  # noqa: PLC0415

    shapes: dict[tuple[float, ...], BaseGeometry] = {}
    for motion in motions:
        within = motion.within(level_mm)
        if within is None:
            continue
        piece = motion.plan(*within)
        ends = (piece.start.real, piece.start.imag, piece.end.real, piece.end.imag, piece.bulge)
        key = tuple(round(number, _KEY_DECIMALS) for number in ends)
        if key not in shapes:
            shapes[key] = covered(piece, radius_mm)
    return union_all([*shapes.values()])


def covered(piece: Piece, radius_mm: float) -> BaseGeometry:
    """Return the ground that a disc covers whose centre goes along a line or arc."""
    from shapely import LineString, Point, union_all  # noqa: PLC0415

    quadrant = _quadrant(radius_mm)
    ends = [(piece.start.real, piece.start.imag), (piece.end.real, piece.end.imag)]
    if ends[0] == ends[1]:
        return Point(ends[0]).buffer(radius_mm, quad_segs=quadrant)
    if not piece.bulge:
        return LineString(ends).buffer(radius_mm, quad_segs=quadrant)
    caps = [Point(end).buffer(radius_mm, quad_segs=quadrant) for end in ends]
    if piece.radius > radius_mm + CUT_TRUE_MM:
        return union_all([_ring_sector(piece, radius_mm), *caps])
    step = 2 * acos(1 - min(SWEEP_FLATTENING_MM / (2 * piece.radius), 1.0))
    places = _along(piece, max(1, ceil(abs(piece.sweep) / step)))
    return union_all(
        [LineString(places[i : i + 2]).buffer(radius_mm, quad_segs=quadrant) for i in range(len(places) - 1)]
    )


def _ring_sector(piece: Piece, radius_mm: float) -> Polygon:
    """Return the part of a ring between the two ends of an arc; the ring's inner radius must be clear of 0, or its
    rounding makes the polygon cross itself.
    """
    from shapely import Polygon  # noqa: PLC0415

    outer = piece.radius + radius_mm
    parts = max(1, ceil(abs(piece.sweep) / (2 * acos(1 - SWEEP_FLATTENING_MM / (2 * outer)))))
    middle = _along(piece, parts)
    centre = np.array([piece.centre.real, piece.centre.imag])
    away = (middle - centre) / piece.radius
    return Polygon(np.vstack([middle + radius_mm * away, (middle - radius_mm * away)[::-1]]))


def _along(piece: Piece, parts: int) -> Array:
    places = [piece.at(k / parts) for k in range(parts + 1)]
    return np.array([(place.real, place.imag) for place in places])


def _quadrant(radius_mm: float) -> int:
    """Return the straight lines in a quarter of a disc's rim that leave it by half of `SWEEP_FLATTENING_MM` at most."""
    return max(4, ceil(np.pi / 2 / (2 * acos(1 - min(SWEEP_FLATTENING_MM / (2 * radius_mm), 1.0)))))


def strayed(outside: BaseGeometry, home: Sequence[BaseGeometry]) -> tuple[float, tuple[float, float]]:
    """Return how far the furthest point of a piece of ground lies from the nearest of others in mm, and where.

    0 where there is no such ground, infinite where there are no others.
    """
    from shapely import distance, get_coordinates, points, segmentize  # noqa: PLC0415

    places = get_coordinates(segmentize(outside, _BETWEEN_MM))
    if not len(places):
        return 0.0, (0.0, 0.0)
    far = np.full(len(places), np.inf)
    for ground in home:
        if not ground.is_empty:
            far = np.minimum(far, distance(points(places), ground))
    furthest = int(np.argmax(far))
    x, y = places[furthest].tolist()
    return float(far[furthest]), (x, y)
