"""The ground that a cutter goes over: unions of lines and arcs as wide as the cutter."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import acos, ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.routing.moves import Motion
from bayloft.plane.segments import Segment
from bayloft.tolerances import CUT_TRUE_MM, SWEEP_FLATTENING_MM

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

_KEY_DECIMALS = 4
"""Decimals (mm) by which two segments over the same ground are told apart: those of the file."""

_BETWEEN_MM = 1.0
"""mm between the points of ground whose distance is asked: the furthest point of a sliver may lie within a side."""


def swept(motions: Sequence[Motion], levels_mm: Sequence[float], radius_mm: float) -> tuple[BaseGeometry, ...]:
    """Return the ground in plan over which a cutter's tip goes at or below each of some levels, within
    `SWEEP_FLATTENING_MM`.

    Built from one shape per motion rather than as a parallel of the whole path: the offset curves of general geometry
    libraries thin out their input, and one of them strayed by 1.4 mm on finely flattened hollow arcs.
    """
    from shapely import union_all  # noqa: PLC0415

    keyed = [_by_ground(motions, level) for level in levels_mm]
    # Passes follow one another: most of the ground is the same at all levels, and united once.
    shared = [segment for key, segment in keyed[0].items() if all(key in each for each in keyed)]
    same = union_all([shape for segment in shared for shape in covered(segment, radius_mm)])
    known = {ground_key(segment) for segment in shared}
    rest = ([segment for key, segment in each.items() if key not in known] for each in keyed)
    return tuple(
        union_all([same, *(s for segment in segments for s in covered(segment, radius_mm))]) for segments in rest
    )


def _by_ground(motions: Sequence[Motion], level_mm: float) -> dict[tuple[float, ...], Segment]:
    """Return the segments of motions in plan where they are at or below a level, by their ground."""
    segments = (motion.plan(*within) for motion in motions if (within := motion.within(level_mm)) is not None)
    return {ground_key(segment): segment for segment in segments}


def ground_key(segment: Segment) -> tuple[float, ...]:
    """Return numbers that are the same for lines and arcs over the same ground: their ends and bulge as in a file."""
    ends = (segment.start.real, segment.start.imag, segment.end.real, segment.end.imag, segment.bulge)
    return tuple(round(number, _KEY_DECIMALS) for number in ends)


@lru_cache(maxsize=2**15)
def covered(segment: Segment, radius_mm: float) -> tuple[BaseGeometry, ...]:
    """Return shapes that together are the ground that a disc covers whose centre goes along a line or arc."""
    from shapely import LineString, Point  # noqa: PLC0415

    quadrant = _quadrant(radius_mm)
    ends = [(segment.start.real, segment.start.imag), (segment.end.real, segment.end.imag)]
    if ends[0] == ends[1]:
        return (Point(ends[0]).buffer(radius_mm, quad_segs=quadrant),)
    if not segment.bulge:
        return (LineString(ends).buffer(radius_mm, quad_segs=quadrant),)
    caps = [Point(end).buffer(radius_mm, quad_segs=quadrant) for end in ends]
    if segment.radius > radius_mm + CUT_TRUE_MM:
        return (_ring_sector(segment, radius_mm), *caps)
    step = 2 * acos(1 - min(SWEEP_FLATTENING_MM / (2 * segment.radius), 1.0))
    places = _along(segment, max(1, ceil(abs(segment.sweep) / step)))
    steps = (places[i : i + 2] for i in range(len(places) - 1))
    return tuple(LineString(step).buffer(radius_mm, quad_segs=quadrant) for step in steps)


def _ring_sector(segment: Segment, radius_mm: float) -> Polygon:
    """Return the part of a ring between the two ends of an arc; the ring's inner radius must be clear of 0, or its
    rounding makes the polygon cross itself.
    """
    from shapely import Polygon  # noqa: PLC0415

    outer = segment.radius + radius_mm
    parts = max(1, ceil(abs(segment.sweep) / (2 * acos(1 - SWEEP_FLATTENING_MM / (2 * outer)))))
    middle = _along(segment, parts)
    centre = np.array([segment.centre.real, segment.centre.imag])
    away = (middle - centre) / segment.radius
    return Polygon(np.vstack([middle + radius_mm * away, (middle - radius_mm * away)[::-1]]))


def _along(segment: Segment, parts: int) -> Array:
    """Return the ends (parts + 1, 2) of equal parts of an arc."""
    turned = np.exp(1j * segment.sweep * np.arange(parts + 1) / parts)
    places = segment.centre + (segment.start - segment.centre) * turned
    return np.column_stack([places.real, places.imag])


def _quadrant(radius_mm: float) -> int:
    """Return the straight lines in a quarter of a disc's rim that leave it by half of `SWEEP_FLATTENING_MM` at most."""
    return max(4, ceil(np.pi / 2 / (2 * acos(1 - min(SWEEP_FLATTENING_MM / (2 * radius_mm), 1.0)))))


def strayed(outside: BaseGeometry, home: Sequence[BaseGeometry]) -> tuple[float, tuple[float, float]]:
    """Return how far the furthest point of some ground lies from the nearest of others in mm, and where. None of
    these may overlap it.

    0 where there is no such ground, infinite where there are no others.
    """
    from shapely import STRtree, get_coordinates, points, segmentize  # noqa: PLC0415

    places = get_coordinates(segmentize(outside, _BETWEEN_MM))
    if not len(places):
        return 0.0, (0.0, 0.0)
    far = np.full(len(places), np.inf)
    for ground in home:
        if not ground.is_empty:
            _, found = STRtree(_rims(ground)).query_nearest(points(places), return_distance=True, all_matches=False)
            far = np.minimum(far, found)
    furthest = int(np.argmax(far))
    x, y = places[furthest].tolist()
    return float(far[furthest]), (x, y)


def _rims(ground: BaseGeometry) -> NDArray[np.object_]:
    """Return the straight lines that bound ground, or that lines consist of."""
    from shapely import get_coordinates, get_dimensions, get_parts, linestrings  # noqa: PLC0415

    rims = get_parts(ground.boundary if get_dimensions(ground) == 2 else ground)
    coordinates, of_rim = get_coordinates(rims, return_index=True)
    along = of_rim[1:] == of_rim[:-1]
    lines: NDArray[np.object_] = linestrings(np.stack([coordinates[:-1][along], coordinates[1:][along]], axis=1))
    return lines
