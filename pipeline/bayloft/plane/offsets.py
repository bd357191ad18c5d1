"""Parallels of a contour: lines stay lines, arcs stay arcs of the same centre."""

from __future__ import annotations

import cmath
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import sqrt, tan
from operator import itemgetter

import numpy as np
from numpy.typing import NDArray

from bayloft.plane.contour import Contour
from bayloft.plane.segments import SAME_POINT_MM, Segment, Segments
from bayloft.plane.track import segments_of

Array = NDArray[np.float64]

_TRUE_MM = 1e-6
"""mm by which a point of a parallel may stand nearer than asked: rounding of arcs of a kilometre's radius, and room."""

_SHORTEST_MM = 0.005
"""mm, shortest segment kept, half a step of a hobby router. Shorter ones are what is left where segments all but join
smoothly (biarcs do to 1e-4 rad), and stand off by less than `_TRUE_MM` without belonging to the parallel."""

_BLURRED_MM = 0.002
"""mm from an end within which a crossing is that end: where arcs join smoothly, rounding blurs their crossing by a
fifth of this, and differently on each machine."""

_NOISE_MM = 4e-11
"""mm by which rounding moves arcs of many metres' radius against one another."""

_CHAIN_MM = 0.04
"""mm across which ends are chained: a few segments shorter than `_SHORTEST_MM` may be missing between them."""


def parallels(contour: Contour, distance_mm: float) -> tuple[Contour, ...]:
    """Return the closed contours at a distance from a closed contour, to the right of its direction if above 0.

    Exact: every segment is a parallel of a segment of the contour or, round a corner, an arc about the corner; where
    the contour bends or closes in more than the distance allows, the parallel is cut off at its own crossings. They run
    as the contour runs. None where nothing is that far away.

    Raw parallels of all segments are cut at all their crossings, and what is as far from the contour as asked is kept
    (common practice, no source).

    Raises ValueError for an open contour, a distance of 0, and a contour that crosses itself where segments do not
    close.
    """
    if not contour.closed or distance_mm == 0.0:
        raise ValueError("a closed contour has parallels, at a distance other than 0")
    segments = segments_of(contour)
    raw = _raw(segments, distance_mm)
    if not raw:
        return ()
    kept = [*_parted(raw)]
    middles = np.array([(point.real, point.imag) for point in (segment.at(0.5) for segment in kept)])
    far = Segments.of(segments).distances(middles).min(axis=0) >= abs(distance_mm) - _TRUE_MM
    return tuple(_chained([segment for segment, true in zip(kept, far, strict=True) if true]))


def _raw(segments: Sequence[Segment], distance: float) -> list[Segment]:
    """Return the parallels of all segments and the arcs round corners; segments that bend too far have none."""
    raw = []
    for segment, after in zip(segments, [*segments[1:], segments[0]], strict=True):
        (leaving, arriving), next_leaving = segment.headings, after.headings[0]
        inverted = segment.bulge * distance < 0.0 and segment.radius <= abs(distance)
        start, end = segment.start - 1j * distance * leaving, segment.end - 1j * distance * arriving
        if not inverted and abs(end - start) > SAME_POINT_MM:
            raw.append(Segment(start=start, end=end, bulge=segment.bulge))
        turn = cmath.phase(next_leaving / arriving)
        if turn * distance > _SHORTEST_MM:
            raw.append(Segment(start=end, end=segment.end - 1j * distance * next_leaving, bulge=tan(turn / 4)))
    return raw


def _parted(raw: Sequence[Segment]) -> Iterator[Segment]:
    """Yield the segments cut at all their crossings."""
    crossed: list[list[tuple[float, complex]]] = [[] for _ in raw]
    for i, j in _neighbours(raw):
        for point in _crossings(raw[i], raw[j]):
            shares = raw[i].share(point), raw[j].share(point)
            slack = [_CHAIN_MM / raw[k].length for k in (i, j)]
            if all(-much <= share <= 1 + much for share, much in zip(shares, slack, strict=True)):
                blurred_mm = _blurred_mm(raw[i], raw[j])
                for k, share in zip((i, j), shares, strict=True):
                    if blurred_mm < share * raw[k].length < raw[k].length - blurred_mm:
                        crossed[k].append((share, point))
    for segment, points in zip(raw, crossed, strict=True):
        ends = (0.0, segment.start), (1.0, segment.end)
        for one, other in pairwise([ends[0], *sorted(points, key=itemgetter(0)), ends[1]]):
            if (other[0] - one[0]) * segment.length > _SHORTEST_MM:
                yield segment.between(one, other)


def _blurred_mm(one: Segment, other: Segment) -> float:
    """Return how near its end one of two segments is not cut by the other: less than is chained across.

    Where they touch, they are as far apart as noise over a length l of l^2 / 2 times the difference of curvature.
    """
    apart = abs(one.curvature - other.curvature)
    blurred_mm = sqrt(2.0 * _NOISE_MM / apart) if apart else _CHAIN_MM
    return min(max(_BLURRED_MM, blurred_mm), _CHAIN_MM / 2)


def _neighbours(raw: Sequence[Segment]) -> list[tuple[int, int]]:
    """Return the pairs whose boxes overlap."""
    segments = Segments.of(raw)
    # An arc of half a turn at most leaves its chord's box by its sagitta at most.
    room = segments.sagittas_mm[:, None] + _CHAIN_MM
    low, high = np.minimum(segments.starts, segments.ends) - room, np.maximum(segments.starts, segments.ends) + room
    overlap = ((low[:, None] <= high[None]) & (high[:, None] >= low[None])).all(axis=2)
    return [(int(i), int(j)) for i, j in np.argwhere(np.triu(overlap, 1))]


def _crossings(one: Segment, other: Segment) -> tuple[complex, ...]:
    """Return where the whole lines or circles of two segments cross."""
    if one.bulge and other.bulge:
        return _circles(one, other)
    if one.bulge or other.bulge:
        line, arc = (other, one) if one.bulge else (one, other)
        along = (line.end - line.start) / abs(line.end - line.start)
        foot = line.start + along * ((arc.centre - line.start) * along.conjugate()).real
        off = abs(foot - arc.centre)
        if off > arc.radius:
            return ()
        half = sqrt((arc.radius - off) * (arc.radius + off))
        return foot + half * along, foot - half * along
    first, second = one.end - one.start, other.end - other.start
    across = (first.conjugate() * second).imag
    if abs(across) < 1e-12 * abs(first) * abs(second):
        return ()
    return (one.start + first * ((other.start - one.start).conjugate() * second).imag / across,)


def _circles(one: Segment, other: Segment) -> tuple[complex, ...]:
    axis = other.centre - one.centre
    apart = abs(axis)
    if apart < SAME_POINT_MM:
        return ()
    along = (apart + (one.radius - other.radius) * (one.radius + other.radius) / apart) / 2
    squared = (one.radius - along) * (one.radius + along)
    if squared < 0.0:
        return ()
    foot = one.centre + axis / apart * along
    reach = 1j * axis / apart * sqrt(squared)
    return foot + reach, foot - reach


def _chained(segments: Sequence[Segment]) -> Iterator[Contour]:
    """Yield closed contours of segments chained end to nearest start."""
    starts = np.array([segment.start for segment in segments])
    free = np.ones(len(segments), dtype=bool)
    while free.any():
        first = place = int(np.argmax(free))
        chain: list[Segment] = []
        while free[place]:
            free[place] = False
            chain.append(segments[place])
            gaps = np.where(free, np.abs(starts - chain[-1].end), np.inf)
            gaps[first] = abs(starts[first] - chain[-1].end)
            place = int(np.argmin(gaps))
            if gaps[place] > _CHAIN_MM:
                where = chain[-1].end
                raise ValueError(f"a parallel does not close at ({where.real:.3f}, {where.imag:.3f})")
        if len(chain) > 1:
            found = Segments.of(chain)
            yield Contour(points=found.starts, bulges=found.bulges, closed=True)
