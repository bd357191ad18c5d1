"""The outline: half-width along the board as the fairest parametric curve through the maker's widths."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline
from scipy.optimize import brentq

from bayloft.lines.fairest import Basis, Conditions, fairest_station, least, misfits
from bayloft.lines.readings import Measured, conditions
from bayloft.lines.turns import outside, turning_breaks
from bayloft.spec.boards.board import Turn

Array = NDArray[np.float64]

DEGREE = 5
SIGN_PLACES = 80

NEWTON_STEPS = 5
"""Steps from a station to its parameter: each doubles the digits, the first has one."""

WIDE_PLACES = 26
"""Places at which the wide point is tried where nothing is known of it but the widths around it."""

LEVEL_PLACES = 201
"""Places between which the wide point is looked for where its station is free, before Newton's method finds it."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Outline:
    """The port half of the plan shape: station x(u) and half-width w(u), u from 0 (tail) to 1 (nose), mm.

    x(u) is a cubic whose derivative is proportional to (u + a)(1 - u), with a = 0 at a closed tail. At a closed end x
    runs like the square of the distance in u while w runs straight, so the tip is round with a finite radius.
    """

    length_mm: float
    station: Polynomial
    half_width: BSpline[np.float64]
    wide_u: float

    def parameter(self, x_mm: ArrayLike) -> Array:
        """Return u where the station is `x_mm` (any shape, 0 <= x_mm <= length)."""
        x = np.asarray(x_mm, dtype=np.float64)
        # From where it turns, at u = 1 and u = -a, the cubic leaves like scale (d^2 - d^3 / 3), u being `half` d away:
        # the root of it runs nearly straight, and Newton's method on it is exact after a few steps.
        _, slope, _, cubic = map(float, self.station.coef)
        spread = slope / (-3.0 * cubic)
        half = (1.0 + spread) / 2.0
        scale = -3.0 * cubic * half * half * half
        from_nose, from_tail = self.length_mm - x, x - self.station(-spread)
        root = np.sqrt(np.maximum(np.minimum(from_nose, from_tail), 0.0) / scale)
        d = root
        for _ in range(NEWTON_STEPS):
            bent = np.sqrt(1.0 - d / 3.0)
            d = d - (d * bent - root) * bent / (1.0 - d / 2.0)
        found = np.where(from_nose < from_tail, 1.0 - half * d, half * d - spread)
        return np.where(x <= 0.0, 0.0, np.where(x >= self.length_mm, 1.0, found))

    def at(self, x_mm: ArrayLike) -> Array:
        """Return the half-width in mm at stations `x_mm` (any shape)."""
        return np.asarray(self.half_width(self.parameter(x_mm)), dtype=np.float64)

    def stations_of(self, half_width_mm: float) -> list[float]:
        """Return the stations, at most one on each side of the wide point, where the half-width has this value."""
        found = []
        for end in (0.0, 1.0):
            if float(self.half_width(end)) < half_width_mm < float(self.half_width(self.wide_u)):
                u = brentq(lambda u: float(self.half_width(u)) - half_width_mm, end, self.wide_u, xtol=1e-15)
                found.append(float(self.station(u)))
        return found

    def slope(self, x_mm: ArrayLike) -> Array:
        """Return dw/dx at stations inside the board."""
        u = self.parameter(x_mm)
        return np.asarray(self.half_width(u, 1) / self.station.deriv()(u), dtype=np.float64)

    def curvature(self, u: ArrayLike) -> Array:
        """Return the signed plan curvature in 1/mm at parameters u inside (0, 1); negative where it bulges outward."""
        u = np.asarray(u, dtype=np.float64)
        x1, x2 = self.station.deriv()(u), self.station.deriv(2)(u)
        w1, w2 = self.half_width(u, 1), self.half_width(u, 2)
        return np.asarray((x1 * w2 - x2 * w1) / np.hypot(x1, w1) ** 3, dtype=np.float64)

    @cached_property
    def tip_radii_mm(self) -> tuple[float, float]:
        """Plan radius of tail and nose tip in mm: w'^2 / |x''| at a closed end, 0 at a cut-off one."""
        second = self.station.deriv(2)
        tail = float(self.half_width(0.0, 1) ** 2 / second(0.0)) if self.station.deriv()(0.0) < 1e-9 else 0.0
        return tail, float(self.half_width(1.0, 1) ** 2 / -second(1.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class OutlineNumbers:
    """What fixes an outline, in mm: half-widths read at stations, the greatest among them; the station of that one, and
    how far it may move to either side; closed ends with a tip radius or None for the fairest; the ends ("tail",
    "nose") that may go hollow, and the hips where it may turn; whether the tail is cut off. straightness: the
    spread of the parameter at the corner of a cut-off tail, where the outline runs straight into it if it is large; a
    closed end has none: there the station grows with the square of the parameter.
    """

    length_mm: float
    half_widths: tuple[Measured, ...]
    wide_x_mm: float
    wide_free_mm: float = 0.0
    tail_cut_off: bool
    tail_radius_mm: float | None
    nose_radius_mm: float | None
    hollow: frozenset[str]
    hips: tuple[Turn, ...] = ()
    straightness: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Problem:
    """The quadratic program of one outline."""

    station: Polynomial
    wide_u: float
    basis: Basis
    fixed: Conditions
    given: Conditions
    signs: Conditions


def _problem(numbers: OutlineNumbers) -> _Problem:
    speed = Polynomial([numbers.straightness if numbers.tail_cut_off else 0.0, 1.0]) * Polynomial([1.0, -1.0])
    station = speed.integ()
    station = station * (numbers.length_mm / station(1.0))
    first, second = station.deriv(), station.deriv(2)
    flat = BSpline(np.array([0.0, 1.0]), np.zeros(1), 0)
    bare = Outline(length_mm=numbers.length_mm, station=station, half_width=flat, wide_u=0.5)
    hips = [bare.parameter([hip.from_mm, hip.to_mm]) for hip in numbers.hips]
    basis = Basis.over(turning_breaks(np.linspace(0.0, 1.0, 9 + len(numbers.half_widths)), hips), DEGREE)
    stations = numbers.wide_x_mm + numbers.wide_free_mm * np.array([-1.0, 0.0, 1.0])
    from_u, wide_u, to_u = bare.parameter(stations).tolist()
    fixed = basis.meets(1.0, 0.0)
    if numbers.wide_free_mm == 0.0:
        fixed = fixed.joined(basis.meets(wide_u, 0.0, 1))
    if not numbers.tail_cut_off:
        fixed = fixed.joined(basis.meets(0.0, 0.0))
        if numbers.tail_radius_mm is not None:
            fixed = fixed.joined(basis.meets(0.0, np.sqrt(numbers.tail_radius_mm * second(0.0)), 1))
    if numbers.nose_radius_mm is not None:
        fixed = fixed.joined(basis.meets(1.0, -np.sqrt(numbers.nose_radius_mm * -second(1.0)), 1))
    given = conditions(basis, bare.parameter([reading.x_mm for reading in numbers.half_widths]), numbers.half_widths)
    u = np.linspace(0.0, 1.0, SIGN_PLACES)
    if "tail" in numbers.hollow:
        u = u[u > 0.8 * wide_u]
    if "nose" in numbers.hollow:
        u = u[u < 1.0 - 0.8 * (1.0 - wide_u)]
    u = outside(u, hips)
    bulge = second(u)[:, None] * basis.rows(u, 1) - first(u)[:, None] * basis.rows(u, 2)
    # Where a hollow is allowed the outline must still widen towards the wide point.
    rise = np.linspace(0.0, 1.0, SIGN_PLACES)
    if numbers.wide_free_mm > 0.0:
        rise = np.concatenate([rise[(rise < from_u) | (rise > to_u)], [from_u, to_u]])
    widening = np.sign((from_u + to_u) / 2 - rise)[:, None] * basis.rows(rise, 1)
    rows = np.vstack([bulge, widening])
    signs = Conditions(rows=rows, values=np.zeros(len(rows)))
    return _Problem(station=station, wide_u=wide_u, basis=basis, fixed=fixed, given=given, signs=signs)


def fair_outline(numbers: OutlineNumbers) -> Outline:
    """Return the fairest outline through the numbers, exactly or within their play.

    Minimises the integral of w_uuu^2 under the measured half-widths, zero slope at the wide point and, at 80 places,
    the sign of the plan curvature.

    Raises
    ------
    NoFairLineError
        If the numbers force a wiggle; `outline_misfits` then tells which.
    """
    problem, found, _ = _solved(numbers)
    spline = problem.basis.spline(found)
    wide_u = problem.wide_u if numbers.wide_free_mm == 0.0 else _widest(spline)
    return Outline(length_mm=numbers.length_mm, station=problem.station, half_width=spline, wide_u=wide_u)


def _solved(numbers: OutlineNumbers) -> tuple[_Problem, Array, float]:
    problem = _problem(numbers)
    equal = problem.fixed.joined(problem.given)
    return problem, *least(problem.basis.energy(3), equal=equal, at_least=problem.signs)


def widest_station(numbers: OutlineNumbers) -> float:
    """Return the station, mm, where an outline through the half-widths is most fairly the widest; the one in the
    numbers counts for nothing.

    Raises
    ------
    NoFairLineError
        If no station makes a fair line.
    """
    places = np.linspace(0.25, 0.75, WIDE_PLACES) * numbers.length_mm
    return fairest_station(lambda x_mm: _solved(replace(numbers, wide_x_mm=x_mm))[2], places)


def _widest(spline: BSpline[np.float64]) -> float:
    """Return the parameter at which a half-width is greatest: the middle of where it is level."""
    slope = spline.derivative()
    u = np.linspace(0.0, 1.0, LEVEL_PLACES)
    top = int(np.clip(np.argmax(spline(u)), 1, LEVEL_PLACES - 2))
    low, high = u[top - 1], u[top + 1]
    if not slope(low) > 0.0 > slope(high):
        return float(u[top])
    return round(float(brentq(lambda at: float(slope(at)), low, high, xtol=1e-12)), 9)


def outline_misfits(numbers: OutlineNumbers, price: float) -> Array:
    """Return by how much, mm, each of `numbers.half_widths` is missed at a price; see `fairest.misfits`.

    Raises
    ------
    NoFairLineError
        If even the tips contradict one another.
    """
    problem = _problem(numbers)
    return misfits(
        problem.basis.energy(3), equal=problem.fixed, given=problem.given, at_least=problem.signs, price=price
    )
