"""From points of a contour gauge to the numbers of the rail that passes nearest to them."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

from bayloft.lines.section import EDGE_SHARES, SOFTEST, SectionNumbers, Traits, over, under
from bayloft.lines.section_lines import edge_radius, stringer_thickness
from bayloft.spec.boards.quantities import RAIL, RAIL_KINDS, RailKind
from bayloft.spec.readings.gauging import FittedRail, GaugedRail

Array = NDArray[np.float64]

LOW = np.array([0.1, 0.04, 0.3, 0.0, 0.04, 0.02, -0.15])
HIGH = np.array([0.8, 0.5, 1.0, 0.7, 3.0, 0.95 * SOFTEST, 0.25])
"""Bounds of apex, radius, shoulder, dome, tuck (shares of the depth), softness of the edge that a rail may have, and of
how far the bottom falls away to it, or rises (less than 0)."""

MOST_TUCK = 0.9 * EDGE_SHARES[0]
"""Share of the inset at the stringer at which an edge may lie at most: on the board, whose outline leans, that is a
little more.
"""

EDGE, SAME = RAIL.index("edge"), 1e-3
"""Place of the edge's softness among these numbers, and how near two of them are the same."""
SOFT_MM = 6.0
"""mm, radius of an edge from which it is none that a gauge would tell (common practice, no source)."""

FILLINGS = 3
"""Steps in which the depth of the section is brought to its thickness at the stringer."""
PLACES = 161
"""Places on either face at which the rail is drawn to hold the points against."""
MOST_TRIALS = 60
"""Rounds of the search from one start; it takes ten to forty where the points are of a rail."""
STIFF = 0.02
"""How strongly, in mm, numbers that the points leave open are held where they began: far less than any gauge reads."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RailCurve:
    """A rail as a curve (n, 2) from the deck round to the bottom: mm inside the widest point, mm above the bottom at
    the stringer.
    """

    points: Array

    def off(self, inside_mm: Array, height_mm: Array) -> Array:
        """Return how far points (m,) lie off the curve in mm, outward positive."""
        start, step = self.points[:-1], np.diff(self.points, axis=0)
        apart = np.column_stack([inside_mm, height_mm])[:, None, :] - start
        square = (step * step).sum(axis=1)
        along = np.clip((apart * step).sum(axis=2) / square, 0.0, 1.0)
        gap = apart - along[..., None] * step
        distance = np.sqrt((gap * gap).sum(axis=2))
        nearest = np.argmin(distance, axis=1)
        row = np.arange(len(nearest))
        side = step[nearest, 0] * gap[row, nearest, 1] - step[nearest, 1] * gap[row, nearest, 0]
        return np.asarray(np.where(side >= 0.0, -1.0, 1.0) * distance[row, nearest], dtype=np.float64)


def _numbers(rail: GaugedRail, shares: Array) -> SectionNumbers:
    """Return the section of a board of this width and thickness that has a rail of these numbers."""
    apex, radius, shoulder, dome, tuck, edge, roll = (np.array([share]) for share in shares)
    half, none = rail.width_mm / 2.0, np.zeros(1)
    depth = np.array([rail.thickness_mm])
    for _ in range(FILLINGS):
        n = SectionNumbers(
            x_mm=np.array([rail.x_mm]),
            half_width=np.array([half]),
            inset=np.array([half / 2.0]),
            depth=depth,
            apex=apex,
            radius=radius * depth,
            shoulder=shoulder,
            dome=dome * depth,
            deck_flat=none,
            deck_chine=none,
            deck_chine_width=none,
            tuck=tuck * depth,
            edge=edge,
            roll=roll * depth,
            roll_flat=none,
            vee=none,
            concave=none,
            concave_width=np.ones(1),
            double_concave=none,
            chine=none,
            chine_width=none,
            traits=Traits(),
        )
        depth = depth * rail.thickness_mm / stringer_thickness(n)
    return n


def _curve(n: SectionNumbers) -> RailCurve:
    share = np.linspace(0.0, 1.0, PLACES)
    inset = n.inset * share * share * share
    inside = n.half_width * (1.0 - np.sqrt(1.0 - inset / n.inset))
    apex = under(n, n.inset)
    deck = np.column_stack([inside, apex + over(n, inset)])[::-1]
    bottom = np.column_stack([inside, apex - under(n, inset)])
    return RailCurve(points=np.vstack([deck, bottom[1:]]))


def _least(rail: GaugedRail, edge: float | None) -> Array:
    """Return the shares of the rail with the least squares of its distances from the points, begun from the likeliest
    kinds; with an edge of this softness, or the one that is nearest.
    """
    inside, height = _points(rail)
    most_tuck = MOST_TUCK * rail.width_mm / 4.0 / rail.thickness_mm
    low, high = LOW.copy(), np.minimum(HIGH, [*HIGH[:4], max(most_tuck, 2.0 * LOW[4]), *HIGH[5:]])
    if edge is not None:
        low[EDGE], high[EDGE] = edge - SAME, edge + SAME

    def off(shares: Array, start: Array) -> Array:
        held = STIFF * (shares - start) / (HIGH - LOW)
        return np.concatenate([_curve(_numbers(rail, shares)).off(inside, height), held])

    starts = [np.clip([*kind, 0.0], low + SAME / 2.0, high - SAME / 2.0) for kind in RAIL_KINDS.values()]
    # A poor start costs as much as a good one.
    starts = sorted(starts, key=lambda start: float(np.square(off(start, start)).sum()))[:3]
    results = (least_squares(off, start, bounds=(low, high), args=(start,), max_nfev=MOST_TRIALS) for start in starts)
    return np.asarray(min(results, key=lambda result: float(result.cost)).x, dtype=np.float64)


def _points(rail: GaugedRail) -> tuple[Array, Array]:
    points = np.array([(point.inside_mm, point.height_mm) for point in rail.points])
    return points[:, 0], points[:, 1]


def fitted_rail(rail: GaugedRail) -> tuple[FittedRail, RailCurve]:
    """Return the numbers of the rail that passes nearest to its points, and the rail itself. The section is taken
    square to an outline that runs along the board.

    An edge too soft to have a radius is that of the kind of rail with the nearest one.
    """
    shares = _least(rail, None)
    kind: RailKind | None = None
    if float(edge_radius(_numbers(rail, shares))[0]) > SOFT_MM:
        kind, preset = min(RAIL_KINDS.items(), key=lambda item: abs(item[1][EDGE] - float(shares[EDGE])))
        shares = _least(rail, preset[EDGE])
    n = _numbers(rail, shares)
    curve = _curve(n)
    over_apex = [point for point in rail.points if point.height_mm > float(under(n, n.inset)[0])]
    deepest = max(over_apex, key=lambda point: point.inside_mm, default=rail.points[-1])
    deck = curve.points[:PLACES][::-1]
    tuck = float(np.sqrt(1.0 - min(float((n.tuck / n.inset)[0]), 1.0)))
    fitted = FittedRail(
        apex=float((under(n, n.inset) / stringer_thickness(n))[0]),
        radius_mm=float(n.radius[0]),
        shoulder=float(n.shoulder[0]),
        tuck_mm=rail.width_mm / 2.0 * (1.0 - tuck),
        edge_radius_mm=None if kind else float(edge_radius(n)[0]),
        kind=kind,
        inside_mm=deepest.inside_mm,
        down_mm=rail.thickness_mm - float(np.interp(deepest.inside_mm, deck[:, 0], deck[:, 1])),
        fall_mm=float(n.roll[0]),
        off_mm=tuple(np.abs(curve.off(*_points(rail))).tolist()),
    )
    return fitted, curve


LIKELY_WRONG = 3
"""How many of the points that are furthest off are tried as the one that is wrong."""


def misgauged(rail: GaugedRail, fitted: FittedRail, play_mm: float) -> tuple[int, float] | None:
    """Return the point of a rail without which all others lie within what they may be off, and how far off it then is,
    mm; None where there is no such point.
    """
    found: list[tuple[float, int, float]] = []
    for place in np.argsort(-np.array(fitted.off_mm))[:LIKELY_WRONG].tolist():
        others = tuple(point for i, point in enumerate(rail.points) if i != place)
        fit, curve = fitted_rail(replace(rail, points=others))
        if max(fit.off_mm) <= play_mm:
            point = rail.points[place]
            off = abs(float(curve.off(np.array([point.inside_mm]), np.array([point.height_mm]))[0]))
            found.append((max(fit.off_mm), place, off))
    return min(found)[1:] if found else None
