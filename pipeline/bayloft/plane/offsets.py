"""Parallels of a contour: lines stay lines, arcs stay arcs of the same centre."""

from __future__ import annotations

import cmath
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import sqrt, tan

import numpy as np
from numpy.typing import NDArray

from bayloft.plane.contour import Contour
from bayloft.plane.track import SAME_POINT_MM, Segment, segments_of

Array = NDArray[np.float64]

_TRUE_MM = 1e-6
"""mm by which a point of a parallel may stand nearer than asked: rounding of arcs of a kilometre's radius, and room."""

_SHORTEST_MM = 0.005
"""mm, shortest piece kept, half a step of a hobby router. Shorter ones are what is left where pieces all but join
smoothly (biarcs do to 1e-4 rad), and stand off by less than `_TRUE_MM` without belonging to the parallel."""

_CHAIN_MM = 0.02
"""mm across which ends are chained: a few pieces shorter than `_SHORTEST_MM` may be missing between them."""


def parallels(contour: Contour, distance_mm: float) -> tuple[Contour, ...]:
    """Return the closed contours at a distance from a closed contour, to the right of its direction if above 0.

    Exact: every piece is a parallel of a piece of the contour or, round a corner, an arc about the corner; where the
    contour bends or closes in more than the distance allows, the parallel is cut off at its own crossings. They run as
    the contour runs. None where nothing is that far away.

    Raw parallels of all pieces are cut at all their crossings, and what is as far from the contour as asked is kept
    (common practice, no source).

    Raises ValueError for an open contour, a distance of 0, and a contour that crosses itself where pieces do not close.
    """
    if not contour.closed or distance_mm == 0.0:
        raise ValueError("a closed contour has parallels, at a distance other than 0")
    pieces = segments_of(contour)
    raw = _raw(pieces, distance_mm)
    if not raw:
        return ()
    kept = [*_cut(raw)]
    far = _distances([piece.at(0.5) for piece in kept], pieces) >= abs(distance_mm) - _TRUE_MM
    return tuple(_chained([piece for piece, true in zip(kept, far, strict=True) if true]))


def _raw(pieces: Sequence[Segment], distance: float) -> list[Segment]:
    """Return the parallels of all pieces and the arcs round corners; pieces that bend too far have none."""
    raw = []
    for piece, after in zip(pieces, [*pieces[1:], pieces[0]], strict=True):
        (leaving, arriving), next_leaving = piece.headings, after.headings[0]
        inverted = piece.bulge * distance < 0.0 and piece.radius <= abs(distance)
        start, end = piece.start - 1j * distance * leaving, piece.end - 1j * distance * arriving
        if not inverted and abs(end - start) > SAME_POINT_MM:
            raw.append(Segment(start=start, end=end, bulge=piece.bulge))
        turn = cmath.phase(next_leaving / arriving)
        if turn * distance > _SHORTEST_MM:
            raw.append(Segment(start=end, end=piece.end - 1j * distance * next_leaving, bulge=tan(turn / 4)))
    return raw


def _cut(raw: Sequence[Segment]) -> Iterator[Segment]:
    """Yield the pieces cut at all their crossings."""
    cuts: list[list[tuple[float, complex]]] = [[] for _ in raw]
    for i, j in _neighbours(raw):
        for point in _crossings(raw[i], raw[j]):
            shares = raw[i].share(point), raw[j].share(point)
            slack = [_CHAIN_MM / raw[k].length for k in (i, j)]
            if all(-much <= share <= 1 + much for share, much in zip(shares, slack, strict=True)):
                cuts[i].append((shares[0], point))
                cuts[j].append((shares[1], point))
    for piece, places in zip(raw, cuts, strict=True):
        inner = sorted(((share, point) for share, point in places if 0.0 < share < 1.0), key=lambda place: place[0])
        for one, other in pairwise([(0.0, piece.start), *inner, (1.0, piece.end)]):
            if (other[0] - one[0]) * piece.length > _SHORTEST_MM:
                yield piece.between(one, other)


def _neighbours(raw: Sequence[Segment]) -> list[tuple[int, int]]:
    """Return the pairs whose boxes overlap."""
    ends = np.array([[(p.start.real, p.start.imag), (p.end.real, p.end.imag)] for p in raw])
    # An arc of half a turn at most leaves its chord's box by its sagitta at most.
    room = np.array([abs(p.bulge) * abs(p.end - p.start) / 2 for p in raw])[:, None] + _CHAIN_MM
    low, high = ends.min(axis=1) - room, ends.max(axis=1) + room
    overlap = ((low[:, None] <= high[None]) & (high[:, None] >= low[None])).all(axis=2)
    return [(int(i), int(j)) for i, j in np.argwhere(np.triu(overlap, 1))]


def _crossings(one: Segment, other: Segment) -> tuple[complex, ...]:
    """Return where the whole lines or circles of two pieces cross."""
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


def _distances(points: Sequence[complex], pieces: Sequence[Segment]) -> Array:
    """Return each point's distance from the nearest piece in mm (n,)."""
    where = np.array(points)[:, None]
    least = np.full(len(points), np.inf)
    lines = [piece for piece in pieces if not piece.bulge]
    arcs = [piece for piece in pieces if piece.bulge]
    if lines:
        starts = np.array([piece.start for piece in lines])
        chords = np.array([piece.end - piece.start for piece in lines])
        shares = np.clip(((where - starts) * chords.conj()).real / np.abs(chords) ** 2, 0.0, 1.0)
        least = np.minimum(least, np.abs(where - starts - shares * chords).min(axis=1))
    if arcs:
        centres, radii = np.array([arc.centre for arc in arcs]), np.array([arc.radius for arc in arcs])
        middles = np.array([arc.at(0.5) for arc in arcs]) - centres
        beside = np.abs(np.angle((where - centres) / middles)) <= np.array([abs(arc.sweep) / 2 for arc in arcs])
        ends = np.minimum(
            np.abs(where - np.array([arc.start for arc in arcs])), np.abs(where - np.array([arc.end for arc in arcs]))
        )
        least = np.minimum(least, np.where(beside, np.abs(np.abs(where - centres) - radii), ends).min(axis=1))
    return least


def _chained(pieces: Sequence[Segment]) -> Iterator[Contour]:
    """Yield closed contours of pieces chained end to nearest start."""
    starts = np.array([piece.start for piece in pieces])
    free = np.ones(len(pieces), dtype=bool)
    while free.any():
        first = place = int(np.argmax(free))
        chain: list[Segment] = []
        while free[place]:
            free[place] = False
            chain.append(pieces[place])
            gaps = np.where(free, np.abs(starts - chain[-1].end), np.inf)
            gaps[first] = abs(starts[first] - chain[-1].end)
            place = int(np.argmin(gaps))
            if gaps[place] > _CHAIN_MM:
                where = chain[-1].end
                raise ValueError(f"a parallel does not close at ({where.real:.3f}, {where.imag:.3f})")
        if len(chain) > 1:
            points = np.array([(piece.start.real, piece.start.imag) for piece in chain])
            yield Contour(points=points, bulges=np.array([piece.bulge for piece in chain]), closed=True)
