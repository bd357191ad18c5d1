"""A fin's planform: leading and trailing edge as fair splines through its shape numbers or its measured points."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

from bayloft.arithmetic import product
from bayloft.errors import Fault, SpecError
from bayloft.lines.fairest import Basis, Conditions, NoFairLineError, least, nearest
from bayloft.lines.readings import Measured, bending, slips
from bayloft.spec.fins.fin import EdgePoint, Fin
from bayloft.units import at_least, both

Array = NDArray[np.float64]

DEGREE = 5
SPANS = 8
SIGN_PLACES = 60

NEAR_KNOTS = 0.02
"""Least distance in u of a knot at a measured point from the even ones, which give way to it."""

HALF_DEPTH_U = 1.0 - np.sqrt(0.5)
"""Parameter of half the depth."""

TIP_WIDTH_AT = 0.9
"""Share of the depth at which the tip's width is told (common practice, no source)."""

HOLLOW_BELOW = np.linspace(0.0, 0.95, 20)
"""Parameters tried for the place below which an edge may be hollow; from there to the tip it bulges outward."""

TIP_RADII = np.geomspace(0.015, 0.6, 28)
"""Tip radii tried, as shares of the depth, where measured points leave it open."""

FILLET_HEIGHT = 3.0
"""Height of a base fillet over its length: it meets the board at about thirty degrees (common practice, no source)."""

LEAST_CHORD_SHARE = 0.1
"""Least chord, as a share of the one a tip of this radius alone would have there: with less the edges all but cross."""

MOST_TIP_WIDTH = 3.0
"""Greatest width of a tip over that of a parabola of its radius: a wider one is a flat top with a nub (common practice,
no source)."""

LEAST_TOLD, TRIED_RADII = 4, 4
"""Points of an edge from which one that is wrong is told from the others; of TIP_RADII every fourth is tried for it."""

NAMED_MOVE_MM, NAMED_SHARE = 0.1, 0.2
"""mm, and share of the largest move: a point that would have to move by less than either only gives way to one that is
named."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Planform:
    """The edges of a fin as x in mm over u: height = depth (2 u - u^2), u from 0 (base) to 1 (tip). `fillet_u` is the
    parameter up to which the edges flare out at the base, 0 without a fillet; each has a knot there.
    """

    leading: BSpline[np.float64]
    trailing: BSpline[np.float64]
    fillet_u: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Edge:
    """The program of one edge: `outward` +1 (leading) or -1, ends in mm, its points (u, x) and what each may be off,
    and whether it must bulge from the base up.
    """

    outward: float
    base_x: float
    tip_x: float
    at: Array
    x: Array
    plays: Array
    bulging: bool

    @property
    def basis(self) -> Basis:
        """The basis: even knots, and one at each point but the half depth's, so that points stay independent."""
        even = np.linspace(0.0, 1.0, SPANS + 1)
        own = self.at if len(self.at) > 1 else self.at[:0]
        apart = [knot for knot in even[1:-1] if not len(own) or np.abs(own - knot).min() > NEAR_KNOTS]
        return Basis.over(np.unique(np.concatenate([[0.0, 1.0], apart, own])), DEGREE)

    def fixed(self, basis: Basis, tip_slope: float) -> Conditions:
        ends = basis.meets([0.0, 1.0], [self.base_x, self.tip_x])
        return ends.joined(basis.meets(1.0, -self.outward * tip_slope, 1))

    def points(self, basis: Basis) -> Conditions:
        """Return the points, each met to within what it may be off."""
        return basis.meets(self.at, self.x).within(self.plays)

    def turning(self, basis: Basis, u: Array) -> Array:
        """Return the rows whose product with the coefficients has the sign of the bulge outward at u."""
        return self.outward * (-basis.rows(u, 1) - (1.0 - u)[:, None] * basis.rows(u, 2))

    def signs(self, basis: Basis, hollow_below: float) -> Conditions:
        u = np.linspace(0.0, 1.0, SIGN_PLACES)
        rows = self.turning(basis, u) * np.where(u < hollow_below, -1.0, 1.0)[:, None]
        return Conditions(rows=rows, values=np.zeros(SIGN_PLACES))

    def _turns_once(self, basis: Basis, found: Array) -> bool:
        """Whether the edge is nowhere hollow above a place where it bulges."""
        bulge = product(self.turning(basis, np.linspace(0.0, 1.0, SIGN_PLACES)), found)
        return not np.any(np.diff(np.sign(bulge + 1e-6 * np.abs(bulge).max())) < 0)

    def fairest(self, tip_slope: float) -> tuple[BSpline[np.float64], float]:
        """Return the edge least in third derivative that bulges, or is hollow below one place only, and its energy.

        Raises NoFairLineError.
        """
        basis = self.basis
        energy, equal = basis.energy(3), self.fixed(basis, tip_slope).joined(self.points(basis))
        if not self.bulging:
            found, cost = least(energy, equal=equal, at_least=Conditions.none(basis.size))
            if self._turns_once(basis, found):
                return basis.spline(found), cost
        best: tuple[Array, float] | None = None
        for hollow_below in HOLLOW_BELOW[:1] if self.bulging else HOLLOW_BELOW:
            try:
                found, cost = least(energy, equal=equal, at_least=self.signs(basis, float(hollow_below)))
            except NoFairLineError:
                continue
            if best is None or cost < best[1]:
                best = found, cost
        if best is None:
            raise NoFairLineError
        return basis.spline(best[0]), best[1]

    def nearest(self, tip_slope: float) -> Array:
        """Return the x in mm nearest to the points' own for which there is a fair edge. Raises NoFairLineError."""
        basis = self.basis
        energy, equal, given = basis.energy(3), self.fixed(basis, tip_slope), basis.meets(self.at, self.x)
        found = []
        for hollow_below in HOLLOW_BELOW:
            try:
                signs = self.signs(basis, float(hollow_below))
                found.append(nearest(energy, equal=equal, given=given, at_least=signs))
            except NoFairLineError:
                continue
        if not found:
            raise NoFairLineError
        return min(found, key=lambda x: float(((x - self.x) ** 2).sum()))


def _parameter(fin: Fin, height_mm: ArrayLike) -> Array:
    return np.asarray(1.0 - np.sqrt(1.0 - np.asarray(height_mm, dtype=np.float64) / fin.depth_mm), dtype=np.float64)


def _fillet_u(fin: Fin) -> float:
    return float(_parameter(fin, min(FILLET_HEIGHT * fin.base_fillet_mm / fin.depth_mm, 0.5) * fin.depth_mm))


def _flare(u: Array, fillet_u: float) -> Array:
    return np.asarray(np.maximum(1.0 - u / fillet_u, 0.0) ** DEGREE if fillet_u else 0.0 * u, dtype=np.float64)


def _flared(edge: BSpline[np.float64], length_mm: float, fillet_u: float) -> BSpline[np.float64]:
    """Return the edge with `length_mm` (1 - u / fillet_u)^5 added below `fillet_u`, exactly, as a spline of its degree:
    the coefficients of a truncated power are products of its distances from the knots (Marsden's identity).
    """
    if not fillet_u:
        return edge
    if np.abs(edge.t - fillet_u).min() > 0.0:
        edge = edge.insert_knot(fillet_u)
    inner = np.lib.stride_tricks.sliding_window_view(edge.t[1:-1], DEGREE)
    flare = np.prod(np.maximum(1.0 - inner / fillet_u, 0.0), axis=1)
    return BSpline(edge.t, edge.c[: len(flare)] + length_mm * flare, DEGREE)


def _edge(fin: Fin, outward: float, points: tuple[EdgePoint, ...], bow: float) -> _Edge:
    """Return the program of an edge before it is flared, from its points or else from its bow at half depth."""
    tip_x = fin.base_mm / 2 - fin.rake_mm
    base_x = (fin.base_mm if outward > 0 else 0.0) - outward * fin.base_fillet_mm
    if points:
        at = _parameter(fin, [point.height_mm for point in points])
        x = np.array([point.x_mm for point in points]) - outward * fin.base_fillet_mm * _flare(at, _fillet_u(fin))
    else:
        at, x = np.array([HALF_DEPTH_U]), np.array([(base_x + tip_x) / 2 + bow * fin.depth_mm])
    bulging = outward > 0 and not points and bow > 0.0
    plays = np.array([point.play_mm for point in points]) if points else np.zeros(1)
    return _Edge(outward=outward, base_x=base_x, tip_x=tip_x, at=at, x=x, plays=plays, bulging=bulging)


def _slope(fin: Fin, radius_mm: float) -> float:
    """Return |dx/du| at a tip of this radius in plan."""
    return float(np.sqrt(2.0 * fin.depth_mm * radius_mm))


def _trailing(fin: Fin, leading: BSpline[np.float64]) -> _Edge:
    """Return the program of the trailing edge; a tip's width is measured from the leading edge."""
    edge = _edge(fin, -1.0, fin.trailing, fin.trailing_hollow)
    if fin.tip_width_mm is None or fin.trailing:
        return edge
    at = _parameter(fin, TIP_WIDTH_AT * fin.depth_mm)
    x, plays = np.append(edge.x, leading(at) - fin.tip_width_mm), np.append(edge.plays, 0.0)
    return replace(edge, at=np.append(edge.at, at), x=x, plays=plays)


def _tip_slope(fin: Fin) -> float:
    """Return |dx/du| at the tip: of its radius as given, or of the one with which both edges together are fairest."""
    if fin.tip_radius_mm is not None:
        return _slope(fin, fin.tip_radius_mm)
    slopes = [_slope(fin, float(share) * fin.depth_mm) for share in TIP_RADII]
    costs = []
    for slope in slopes:
        try:
            leading, cost = _edge(fin, 1.0, fin.leading, fin.leading_fullness).fairest(slope)
            costs.append(cost + _trailing(fin, leading).fairest(slope)[1])
        except NoFairLineError:
            costs.append(np.inf)
    return slopes[int(np.argmin(costs))]


def _number_fault(fin: Fin, edge: _Edge, tip_slope: float, problem: str) -> Fault:
    """Return the fault of an edge whose shape numbers make no fair line."""
    if edge.outward > 0:
        hint = "more fullness, or a smaller tip radius"
        return fin.source.fault(("planform", "leading_fullness"), f"{fin.leading_fullness:g}", problem, hint=hint)
    if fin.tip_width_mm is None:
        hint = "less hollow, or a smaller tip radius"
        return fin.source.fault(("planform", "trailing_hollow"), f"{fin.trailing_hollow:g}", problem, hint=hint)
    try:
        near = fin.tip_width_mm + float(edge.x[-1] - edge.nearest(tip_slope)[-1])
        allowed = f"about {both(near)} with these numbers"
    except NoFairLineError:
        allowed = ""
    hint = "another width, tip radius or hollow"
    return fin.source.fault(("planform", "tip_width"), both(fin.tip_width_mm), problem, allowed, hint)


def _misread(fin: Fin, edge: _Edge, points: tuple[EdgePoint, ...], tip_slope: float) -> dict[int, float]:
    """Return each point without which the edge is fair, and the x in mm that it has there then; of several those
    through which it would have to bend most. Where the tip's radius is open, a few are tried.
    """
    slopes = [tip_slope]
    if fin.tip_radius_mm is None:
        slopes = [_slope(fin, float(share) * fin.depth_mm) for share in TIP_RADII[::TRIED_RADII]]

    def without(tried: Sequence[Measured]) -> tuple[BSpline[np.float64], float]:
        at, x, plays = np.array(tried, dtype=np.float64).T
        found = []
        for slope in slopes:
            with suppress(NoFairLineError):
                found.append(replace(edge, at=at, x=x, plays=plays).fairest(slope))
        if not found:
            raise NoFairLineError
        return min(found, key=lambda each: each[1])

    def no_price(_price: float) -> Array:
        raise NoFairLineError

    readings = [Measured(*each) for each in zip(edge.at.tolist(), edge.x.tolist(), edge.plays.tolist(), strict=True)]
    if len(readings) < LEAST_TOLD or len(readings) != len(points):
        return {}
    found = {}
    for (place,) in slips(readings, lambda tried: bending(without(tried)[0]), no_price):
        line, _ = without([reading for i, reading in enumerate(readings) if i != place])
        found[place] = float(line(readings[place].x_mm))
    return found


def _wiggle(fin: Fin, edge: _Edge, points: tuple[EdgePoint, ...], tip_slope: float) -> list[Fault]:
    """Return the faults of an edge that cannot be fair: its points that must move, most first, or its number."""
    name = "leading" if edge.outward > 0 else "trailing"
    problem = f"the {name} edge would have to wiggle"
    if not points:
        return [_number_fault(fin, edge, tip_slope, problem)]
    if misread := _misread(fin, edge, points, tip_slope):
        return [
            fin.source.fault(
                (*points[i].path, "x"),
                both(points[i].x_mm),
                f"{problem} to pass through this point, {both(points[i].height_mm)} above the base; it is off by about "
                f"{both(abs(x - points[i].x_mm))}",
                allowed=f"about {both(x)}, the others as they are",
                hint="measure again",
            )
            for i, x in misread.items()
        ]
    try:
        near = edge.nearest(tip_slope)
    except NoFairLineError:
        hint = "check base, depth, rake and tip radius against the points"
        return [fin.source.fault(("planform", name), "", problem, hint=hint)]
    moves = np.abs(near - edge.x)
    lowest = max(NAMED_MOVE_MM, NAMED_SHARE * float(moves.max()))
    faults = [
        fin.source.fault(
            (*points[i].path, "x"),
            both(points[i].x_mm),
            f"{problem} to pass through this point, {both(points[i].height_mm)} above the base",
            allowed=f"about {both(points[i].x_mm + float(near[i] - edge.x[i]))}, the others as near as they can stay",
            hint="measure again, or move a neighbouring point a little",
        )
        for i in np.argsort(-moves, kind="stable")
        if moves[i] >= max(lowest, edge.plays[i])
    ]
    if faults:
        return faults
    return [fin.source.fault(("planform", name), "", problem, hint="a smaller tip radius, or points farther apart")]


def _crossing(fin: Fin, chord: Array, u: Array, tip_slope: float) -> list[Fault]:
    """Return the fault of edges that cross or nearly meet below the tip, at the number or point to look at."""
    narrow = int(np.argmin(chord / (1.0 - u)))
    if chord[narrow] / (1.0 - u[narrow]) > LEAST_CHORD_SHARE * tip_slope:
        return []
    height = float(fin.depth_mm * u[narrow] * (2.0 - u[narrow]))
    problem = f"leading and trailing edge cross or nearly meet {both(height)} above the base"
    points = (*fin.trailing, *fin.leading)
    if not points:
        hint = "less hollow, more leading-edge fullness, or a longer base"
        return [fin.source.fault(("planform", "trailing_hollow"), f"{fin.trailing_hollow:g}", problem, hint=hint)]
    point = min(points, key=lambda each: abs(each.height_mm - height))
    hint = "check this point and the one across from it; x runs forward from the rear end of the base"
    return [fin.source.fault((*point.path, "x"), both(point.x_mm), problem, hint=hint)]


def _folded_tip(fin: Fin, leading: BSpline[np.float64], trailing: BSpline[np.float64]) -> list[Fault]:
    """Return the fault of a tip far too wide for its radius."""
    if fin.tip_radius_mm is None:
        return []
    at = _parameter(fin, TIP_WIDTH_AT * fin.depth_mm)
    width = float(leading(at) - trailing(at))
    below = (1.0 - TIP_WIDTH_AT) * fin.depth_mm
    most = MOST_TIP_WIDTH * 2.0 * float(np.sqrt(2.0 * fin.tip_radius_mm * below))
    if width <= most:
        return []
    problem = "the tip would fold: far too wide for its radius"
    if fin.tip_width_mm is not None:
        path, value, allowed = "tip_width", fin.tip_width_mm, f"up to {both(most)} with this tip radius"
    else:
        least_mm = (width / MOST_TIP_WIDTH / 2.0) ** 2 / below / 2.0
        path, value, allowed = "tip_radius", fin.tip_radius_mm, f"at least {at_least(least_mm)} with the other numbers"
    return [fin.source.fault(("planform", path), both(value), problem, allowed, "a narrower or a rounder tip")]


def planform(fin: Fin) -> Planform:
    """Return the fair edges of a fin.

    Each is the spline of least third derivative in u through its ends, with the tip's radius, and through its bow at
    half depth or its measured points, under this sign of its curvature in plan: it bulges outward all the way up, or
    it is hollow from the base to one place and bulges from there to the tip.

    Raises
    ------
    SpecError
        If an edge would wiggle (with each measured point that must move), the edges cross, or the tip would fold.
    """
    tip_slope = _tip_slope(fin)
    fillet_u = _fillet_u(fin)
    edge = _edge(fin, 1.0, fin.leading, fin.leading_fullness)
    try:
        leading = edge.fairest(tip_slope)[0]
    except NoFairLineError:
        raise SpecError(tuple(_wiggle(fin, edge, fin.leading, tip_slope))) from None
    edge = _trailing(fin, leading)
    try:
        trailing = edge.fairest(tip_slope)[0]
    except NoFairLineError:
        raise SpecError(tuple(_wiggle(fin, edge, fin.trailing, tip_slope))) from None
    u = np.linspace(0.0, 1.0, 400)[:-1]
    faults = _crossing(fin, np.asarray(leading(u) - trailing(u)), u, tip_slope) or _folded_tip(fin, leading, trailing)
    if faults:
        raise SpecError(tuple(faults))
    return Planform(
        leading=_flared(leading, fin.base_fillet_mm, fillet_u),
        trailing=_flared(trailing, -fin.base_fillet_mm, fillet_u),
        fillet_u=fillet_u,
    )
