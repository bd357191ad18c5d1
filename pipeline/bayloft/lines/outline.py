"""The outline: half-width along the board as the fairest parametric curve through the maker's widths."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline
from scipy.optimize import brentq

from bayloft.lines.fairest import Basis, Conditions, NoFairLineError, least, nearest

Array = NDArray[np.float64]

DEGREE = 5
SIGN_PLACES = 80

NEWTON_STEPS = 5
"""Steps from a station to its parameter: each doubles the digits, the first has one."""

END_SHARPNESS = (0.15, 0.3, 0.6, 0.08, 1.5)
"""Spreads of the parameter tried at a cut-off end, in this order: small gathers curvature at the corner, large draws
the end out straight. A closed end needs none: there the station grows with the square of the parameter."""


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
    """What fixes an outline, in mm: half-widths at stations; the wide point; closed ends with a tip radius or None for
    the fairest; the ends ("tail", "nose") that may go hollow; whether the tail is cut off.
    """

    length_mm: float
    half_widths: tuple[tuple[float, float], ...]
    wide_x_mm: float
    wide_half_mm: float
    tail_cut_off: bool
    tail_radius_mm: float | None
    nose_radius_mm: float | None
    hollow: frozenset[str]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Problem:
    """The quadratic program of one outline at one end sharpness."""

    station: Polynomial
    wide_u: float
    basis: Basis
    fixed: Conditions
    given: Conditions
    signs: Conditions


def _problem(numbers: OutlineNumbers, sharpness: float) -> _Problem:
    speed = Polynomial([sharpness, 1.0]) * Polynomial([1.0, -1.0])
    station = speed.integ()
    station = station * (numbers.length_mm / station(1.0))
    first, second = station.deriv(), station.deriv(2)
    basis = Basis.over(np.linspace(0.0, 1.0, 10 + len(numbers.half_widths)), DEGREE)
    bare = Outline(
        length_mm=numbers.length_mm, station=station, half_width=basis.spline(np.zeros(basis.size)), wide_u=0.5
    )
    wide_u = float(bare.parameter(numbers.wide_x_mm))
    fixed = basis.meets(wide_u, numbers.wide_half_mm).joined(basis.meets(wide_u, 0.0, 1), basis.meets(1.0, 0.0))
    if not numbers.tail_cut_off:
        fixed = fixed.joined(basis.meets(0.0, 0.0))
        if numbers.tail_radius_mm is not None:
            fixed = fixed.joined(basis.meets(0.0, np.sqrt(numbers.tail_radius_mm * second(0.0)), 1))
    if numbers.nose_radius_mm is not None:
        fixed = fixed.joined(basis.meets(1.0, -np.sqrt(numbers.nose_radius_mm * -second(1.0)), 1))
    given = Conditions.none(basis.size)
    if numbers.half_widths:
        at = bare.parameter([x for x, _ in numbers.half_widths])
        given = basis.meets(at, [half for _, half in numbers.half_widths])
    u = np.linspace(0.0, 1.0, SIGN_PLACES)
    if "tail" in numbers.hollow:
        u = u[u > 0.8 * wide_u]
    if "nose" in numbers.hollow:
        u = u[u < 1.0 - 0.8 * (1.0 - wide_u)]
    bulge = second(u)[:, None] * basis.rows(u, 1) - first(u)[:, None] * basis.rows(u, 2)
    # Where a hollow is allowed the outline must still widen towards the wide point.
    rise = np.linspace(0.0, 1.0, SIGN_PLACES)
    widening = np.sign(wide_u - rise)[:, None] * basis.rows(rise, 1)
    rows = np.vstack([bulge, widening])
    signs = Conditions(rows=rows, values=np.zeros(len(rows)))
    return _Problem(station=station, wide_u=wide_u, basis=basis, fixed=fixed, given=given, signs=signs)


def _single_minimum(outline: Outline) -> bool:
    """Whether |curvature| falls to one place along the body and rises from it to both ends."""
    size = np.abs(outline.curvature(np.linspace(0.02, 0.98, 200)))
    size = size + 1e-9 * size.max()
    dips = (size[1:-1] < size[:-2]) & (size[1:-1] <= size[2:])
    return int(dips.sum()) <= 1


def fair_outline(numbers: OutlineNumbers) -> Outline:
    """Return the fairest outline exactly through the numbers.

    Minimises the integral of w_uuu^2 under the measured half-widths, zero slope at the wide point and, at 80 places,
    the sign of the plan curvature. At a cut-off tail several end sharpnesses are tried and the first whose curvature
    has a single minimum is taken, or else the first that solves.

    Raises
    ------
    NoFairLineError
        If the numbers force a wiggle; `nearest_half_widths` then says which number to move.
    """
    first: Outline | None = None
    for sharpness in END_SHARPNESS if numbers.tail_cut_off else (0.0,):
        problem = _problem(numbers, sharpness)
        equal = problem.fixed.joined(problem.given)
        try:
            found, _ = least(problem.basis.energy(3), equal=equal, at_least=problem.signs)
        except NoFairLineError:
            continue
        outline = Outline(
            length_mm=numbers.length_mm,
            station=problem.station,
            half_width=problem.basis.spline(found),
            wide_u=problem.wide_u,
        )
        if _single_minimum(outline):
            return outline
        first = first or outline
    if first is None:
        raise NoFairLineError
    return first


def nearest_half_widths(numbers: OutlineNumbers) -> Array:
    """Return, in the order of `numbers.half_widths`, the half-widths nearest to the given ones that make a fair line.

    Raises
    ------
    NoFairLineError
        If even the wide point and the tips contradict one another.
    """
    problem = _problem(numbers, END_SHARPNESS[0] if numbers.tail_cut_off else 0.0)
    return nearest(problem.basis.energy(3), equal=problem.fixed, given=problem.given, at_least=problem.signs)
