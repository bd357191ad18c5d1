"""Smooth curves as chains of circular arcs: biarcs through points and tangents, as few as a tolerance allows."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import ceil

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PPoly

from bayloft.plane.contour import Contour
from bayloft.plane.segments import Segments, cross, dot
from bayloft.tolerances import SHORTEST_CUT_MM

Array = NDArray[np.float64]

Curve = Callable[[Array], tuple[Array, Array]]
"""Parameters (n,) to points (n, 2) in mm and tangents (n, 2) of any length above 0."""

Stretch = tuple[Curve, float, float]
"""A curve that is smooth from one parameter up to another. At these two it gives its own one-sided limits: a curve
with corners is one stretch per smooth piece, and where the derivative vanishes the tangent is the limit of its
direction (the direction of the chord to a neighbour as that one closes in), which only the curve's maker knows."""

_PIECES = 12
"""Parts into which an interval is cut to measure it: a multiple of 3, because the deviation of a biarc from a curve of
steadily changing curvature crests at 1/3 and 2/3."""

_CREST = 0.95
"""Share of the tolerance that the samples may use: between samples 1/12 apart a crest stands at most 4.7 % higher."""

_STRAIGHT = 0.01
"""Share of the tolerance below which the sagitta of an arc makes it a straight line: such an arc has a radius of some
hundred metres, which controllers compute badly. What the line does to the deviation is measured with the rest."""

_LARGEST_BULGE = np.tan(np.pi / 8)
"""tan(sweep / 4) of a quarter turn. Longer arcs would let a wide interval pass that misses a loop of the curve."""

_DEEPEST = 40
"""Halvings after which an interval has shrunk to rounding and a curve that still is not met cannot be."""

_LEAST_LEG_MM = 2.0 * SHORTEST_CUT_MM
"""mm, chord below which an arc or line of a fit is merged with what is beside it: a file that has no arcs of a quarter
turn cuts each into two."""

_JUDGED_STEPS = 4
"""Steps over which the points inside a biarc see 84 % of its crests at a third and two thirds, if they are even."""

_MOST = 4096
"""Intervals in hand at once beyond which tangents and points cannot belong together: a drawn line takes some fifty."""


def fitted(stretches: Sequence[Stretch], tolerance_mm: float) -> Contour:
    """Return an open contour of arcs and lines within `tolerance_mm` of a chain of curve stretches.

    Every break lies on the curve; inside a stretch the chain is tangent-continuous (to 1e-4 rad where an arc is so flat
    that it became a line), and corners stay where stretches meet. Intervals are halved until their biarcs are
    within tolerance, then spread again so that all use it alike; a biarc's error falls with the cube of its length.
    Where the curve turns so sharply that arcs would be too short to be cut, one arc goes across and leaves a corner
    that lies within tolerance.

    Raises ValueError unless the tolerance is above 0, for stretches that run backwards or do not meet, for points that
    are not finite, tangents without a direction, and a curve that no arcs can follow because it jumps.

    Source: D. S. Meek, D. J. Walton, "Approximating smooth planar curves by arc splines", J. Comput. Appl. Math. 59
    (1995), the scheme and its order; the equal-distance choice of the joint is common practice.
    """
    if not tolerance_mm > 0.0:
        raise ValueError(f"a fit needs a tolerance above 0, not {tolerance_mm} mm")
    if not all(start < end for _, start, end in stretches):
        raise ValueError("a stretch runs from a parameter up to a greater one")
    return Contour.joined(*(_fitted_stretch(*stretch, tolerance_mm) for stretch in stretches), closed=False)


def graph(spline: PPoly[np.float64], start: float, end: float) -> Stretch:
    """Return a height over a length, both in mm, as a stretch from one length up to another."""
    slope = spline.derivative()

    def curve(x: Array) -> tuple[Array, Array]:
        return np.column_stack([x, spline(x)]), np.column_stack([np.ones_like(x), slope(x)])

    return curve, start, end


def chained(points: Array, tangents: Array, tolerance_mm: float) -> Contour | None:
    """Return an open contour of biarcs from the first to the last of points (n, 2) on a curve, along its unit tangents
    (n, 2) there, by few enough of the points to leave all others within `tolerance_mm`; None where the points lie too
    far apart to tell: between neighbours the arcs bow out by more.

    A biarc over four steps or more is judged by the points inside it, one over fewer steps by its sagittas: it crests
    at a third and two thirds, where the one point half-way sees nothing.
    """
    breaks, ends = np.array([0]), np.array([len(points) - 1])
    kept: list[Array] = []
    while len(breaks):
        joints, bulges = biarcs(points[breaks], tangents[breaks], points[ends], tangents[ends])
        inner, owner = _between(breaks, ends)
        legs = _legs(points[breaks], joints, points[ends], bulges)
        near = [leg.taken(owner).distances(points[inner, None])[:, 0] for leg in legs]
        worst = np.zeros(len(breaks))
        np.maximum.at(worst, owner, np.minimum(*near))
        flat = np.maximum(*(leg.sagittas_mm for leg in legs)) <= tolerance_mm
        if (~flat & (ends - breaks == 1)).any():
            return None
        turns_little = (np.abs(bulges) <= _LARGEST_BULGE).all(axis=1)
        good = (worst <= tolerance_mm) & turns_little & (flat | (ends - breaks >= _JUDGED_STEPS))
        kept.append(np.column_stack([breaks, ends])[good])
        low, high = breaks[~good], ends[~good]
        middle = (low + high) // 2
        breaks, ends = np.concatenate([low, middle]), np.concatenate([middle, high])
    pairs = np.concatenate(kept)
    chosen = np.append(np.sort(pairs[:, 0]), len(points) - 1)
    joints, bulges = biarcs(points[chosen[:-1]], tangents[chosen[:-1]], points[chosen[1:]], tangents[chosen[1:]])
    chain = np.stack([points[chosen[:-1]], joints], axis=1).reshape(-1, 2)
    return Contour(points=np.vstack([chain, points[-1]]), bulges=np.append(bulges.ravel(), 0.0), closed=False)


def _between(starts: NDArray[np.int64], ends: NDArray[np.int64]) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """Return every index that lies between a start and its end, and which pair that is."""
    counts = ends - starts - 1
    owner = np.repeat(np.arange(len(starts)), counts)
    first = np.repeat(starts + 1 - (np.cumsum(counts) - counts), counts)
    return first + np.arange(counts.sum()), owner


def biarcs(starts: Array, start_tangents: Array, ends: Array, end_tangents: Array) -> tuple[Array, Array]:
    """Return the joints (n, 2) of biarcs from starts to ends (n, 2) along unit tangents (n, 2), and bulges (n, 2).

    The joint has equal tangent lengths d on both sides: |p1 - d t1 - (p0 + d t0)| = 2 d. There is one such d > 0 unless
    start and end coincide; then the bulges are not finite.
    """
    chord, turn = ends - starts, start_tangents + end_tangents
    along, squared = dot(chord, turn), dot(chord, chord)
    with np.errstate(divide="ignore", invalid="ignore"):
        reach = squared / (along + np.sqrt(along**2 + 2 * (1 - dot(start_tangents, end_tangents)) * squared))
        joints = (starts + ends + reach[:, None] * (start_tangents - end_tangents)) / 2
        first, second = joints - starts, ends - joints
        bulges = [
            cross(start_tangents, first) / (np.sqrt(dot(first, first)) + dot(start_tangents, first)),
            cross(second, end_tangents) / (np.sqrt(dot(second, second)) + dot(second, end_tangents)),
        ]
    return joints, np.column_stack(bulges)


def _fitted_stretch(curve: Curve, start: float, end: float, tolerance_mm: float) -> Contour:
    breaks, deviations = _halved(curve, start, end, tolerance_mm)
    breaks = _spread(curve, breaks, deviations, tolerance_mm)
    whole = _chain(curve, breaks, np.zeros(len(breaks) - 1, dtype=bool), tolerance_mm)
    return whole if _shortest_mm(whole) >= _LEAST_LEG_MM else _lengthened(curve, breaks, whole, tolerance_mm)


def _chain(curve: Curve, breaks: Array, single: NDArray[np.bool_], tolerance_mm: float) -> Contour:
    """Return the contour of a biarc for each interval, or of one arc where it is `single`."""
    points, tangents = _evaluated(curve, breaks)
    joints, bulges = _links(points[:-1], tangents[:-1], points[1:], tangents[1:], tolerance_mm)
    for i in np.flatnonzero(single):
        bulges[i] = _single(curve, breaks[i], breaks[i + 1], tolerance_mm)[0]
    chain = np.stack([points[:-1], joints], axis=1).reshape(-1, 2)
    # A joint between two straight halves lies on their common chord and says nothing.
    needed = np.column_stack([np.ones(len(joints), dtype=bool), bulges.any(axis=1) & ~single]).ravel()
    points = np.vstack([chain[needed], points[-1]])
    return Contour(points=points, bulges=np.append(bulges.ravel()[needed], 0.0), closed=False)


def _shortest_mm(contour: Contour) -> float:
    return float(np.hypot(*np.diff(contour.points, axis=0).T).min())


def _lengthened(curve: Curve, breaks: Array, whole: Contour, tolerance_mm: float) -> Contour:
    """Return the contour with its too short legs merged: into a biarc over two intervals, or into one arc over up to
    three, whatever stays within tolerance first; `whole` as far as nothing does.
    """
    single, index = np.zeros(len(breaks) - 1, dtype=bool), 0
    while index < len(single):
        here = _chain(curve, breaks[index : index + 2], single[index : index + 1], tolerance_mm)
        if _shortest_mm(here) < _LEAST_LEG_MM:
            merged = _merged(curve, breaks, single, index, tolerance_mm)
            if merged:
                breaks, single = merged
                whole, index = _chain(curve, breaks, single, tolerance_mm), max(index - 2, 0)
                continue
        index += 1
    return whole


def _merged(
    curve: Curve, breaks: Array, single: NDArray[np.bool_], index: int, tolerance_mm: float
) -> tuple[Array, NDArray[np.bool_]] | None:
    """Return breaks, and which intervals are single arcs, with the interval at `index` made long enough; or None."""
    two, three = ((1, 0), (0, 1)), ((1, 1), (2, 0), (0, 2))
    ways = [*((reach, False) for reach in two), *((reach, True) for reach in ((0, 0), *two, *three))]
    for (back, on), one_arc in ways:
        first, last = index - back, index + on + 1
        if first < 0 or last >= len(breaks):
            continue
        ends = breaks[[first, last]]
        if one_arc:
            deviation_mm = _single(curve, ends[0], ends[1], tolerance_mm)[1]
        else:
            deviation_mm = float(_deviations(curve, ends[:1], ends[1:], tolerance_mm)[0])
        if deviation_mm > _CREST * tolerance_mm:
            continue
        kind = np.array([one_arc])
        if _shortest_mm(_chain(curve, ends, kind, tolerance_mm)) >= _LEAST_LEG_MM:
            return np.delete(breaks, range(first + 1, last)), np.concatenate([single[:first], kind, single[last:]])
    return None


def _single(curve: Curve, low: float, high: float, tolerance_mm: float) -> tuple[float, float]:
    """Return the bulge of the arc over an interval through its point furthest from the chord, and its deviation in mm:
    infinite if it winds far.
    """
    points, _ = _evaluated(curve, np.linspace(low, high, 2 * _PIECES + 1))
    start, inner, end = points[:1], points[1:-1], points[-1:]
    before, after = inner - start, end - inner
    furthest = int(np.argmax(np.abs(cross(end - start, before))))
    across, along = cross(before, after)[furthest], dot(before, after)[furthest]
    bulge = float(across / (np.hypot(*before[furthest]) * np.hypot(*after[furthest]) + along))
    arc = Segments(starts=start, ends=end, bulges=np.array([bulge]))
    if arc.sagittas_mm[0] < _STRAIGHT * tolerance_mm:
        arc = Segments(starts=start, ends=end, bulges=np.zeros(1))
    if not abs(arc.bulges[0]) <= _LARGEST_BULGE:
        return float(arc.bulges[0]), np.inf
    return float(arc.bulges[0]), float(arc.distances(inner).max())


def _halved(curve: Curve, start: float, end: float, tolerance_mm: float) -> tuple[Array, Array]:
    """Return break parameters (n + 1,) whose n intervals are within tolerance, and their deviations (n,) in mm."""
    lows, highs = np.array([float(start)]), np.array([float(end)])
    done: list[Array] = []
    for _ in range(_DEEPEST):
        deviations = _deviations(curve, lows, highs, tolerance_mm)
        good = deviations <= _CREST * tolerance_mm
        done.append(np.column_stack([lows, highs, deviations])[good])
        lows, highs = lows[~good], highs[~good]
        if len(lows) == 0:
            intervals = np.concatenate(done)
            intervals = intervals[np.argsort(intervals[:, 0])]
            return np.append(intervals[:, 0], end), intervals[:, 2]
        middles = (lows + highs) / 2
        lows, highs = np.concatenate([lows, middles]), np.concatenate([middles, highs])
        if len(lows) > _MOST:
            break
    raise ValueError(f"no arcs follow the curve near parameter {lows[0]:.12g}: it jumps or its tangents are false")


def _spread(curve: Curve, breaks: Array, deviations: Array, tolerance_mm: float) -> Array:
    """Return fewer breaks of the same stretch, still within tolerance, or the given ones where there are none.

    By the cube law an interval holds (deviation / tolerance)^(1/3) intervals that just use the tolerance; laying their
    sum out evenly makes all deviations alike.
    """
    given, spare = breaks, 0
    while True:
        # Rounded, because a deviation's last digits are the noise of one machine and would move every break.
        demands = np.maximum(np.cbrt(deviations / (_CREST * tolerance_mm)).round(3), 1.0 / _PIECES)
        total = np.append(0.0, np.cumsum(demands))
        if not total[-1] + spare < len(given) - 2:
            return given
        count = ceil(total[-1]) + spare
        breaks = np.interp(np.linspace(0.0, total[-1], count + 1), total, breaks)
        deviations = _deviations(curve, breaks[:-1], breaks[1:], tolerance_mm)
        if (deviations <= _CREST * tolerance_mm).all():
            return breaks
        spare += 1 + count // 50


def _deviations(curve: Curve, lows: Array, highs: Array, tolerance_mm: float) -> Array:
    """Return the greatest distance (n,) in mm of each interval's curve from its biarc; infinite if that winds far."""
    shares = np.arange(_PIECES + 1) / _PIECES
    grid = lows[:, None] * (1 - shares) + highs[:, None] * shares
    points, tangents = _evaluated(curve, grid.ravel())
    points, tangents = points.reshape(*grid.shape, 2), tangents.reshape(*grid.shape, 2)
    starts, ends, inner = points[:, 0], points[:, -1], points[:, 1:-1]
    joints, bulges = _links(starts, tangents[:, 0], ends, tangents[:, -1], tolerance_mm)
    near = [leg.distances(inner) for leg in _legs(starts, joints, ends, bulges)]
    followed = (np.abs(bulges) <= _LARGEST_BULGE).all(axis=1)
    return np.where(followed, np.minimum(*near).max(axis=1), np.inf)


def _evaluated(curve: Curve, parameters: Array) -> tuple[Array, Array]:
    """Return points (n, 2) in mm and unit tangents (n, 2)."""
    points, tangents = curve(parameters)
    lengths = np.hypot(tangents[:, 0], tangents[:, 1])
    sound = np.isfinite(points).all(axis=1) & np.isfinite(lengths) & (lengths > 0.0)
    if not sound.all():
        where = parameters[~sound][0]
        raise ValueError(f"the curve has no finite point or no direction at parameter {where:.17g}")
    return points, tangents / lengths[:, None]


def _legs(starts: Array, joints: Array, ends: Array, bulges: Array) -> tuple[Segments, Segments]:
    """Return the first and the second arcs of biarcs."""
    return (
        Segments(starts=starts, ends=joints, bulges=bulges[:, 0]),
        Segments(starts=joints, ends=ends, bulges=bulges[:, 1]),
    )


def _links(
    starts: Array, start_tangents: Array, ends: Array, end_tangents: Array, tolerance_mm: float
) -> tuple[Array, Array]:
    """Return joints (n, 2) and bulges (n, 2) of biarcs with near-straight arcs made lines (bulge 0)."""
    joints, bulges = biarcs(starts, start_tangents, ends, end_tangents)
    sagittas = np.column_stack([leg.sagittas_mm for leg in _legs(starts, joints, ends, bulges)])
    bulges = np.where(sagittas < _STRAIGHT * tolerance_mm, 0.0, bulges)
    straight = np.all(bulges == 0.0, axis=1)
    return np.where(straight[:, None], (starts + ends) / 2, joints), bulges
