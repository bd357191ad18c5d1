"""The fairest B-spline: least bending or least change of bending, through linear conditions or within their play."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import daqp
import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline
from scipy.optimize import minimize_scalar

from bayloft.arithmetic import SingularError, product, solution
from bayloft.errors import BayloftError
from bayloft.tolerances import COEFFICIENT_DECIMALS

Array = NDArray[np.float64]

PULL = 0.001
"""How strongly a number with play is drawn towards what was read, against the energy: ten times as much makes rockers
wave (measured on 120 of them and 80 outlines), and much less leaves lines at the edge of their play."""

_UNBOUNDED = 1e30
_SOLVED = 1


class NoFairLineError(BayloftError):
    """No curve meets the conditions: they contradict one another."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conditions:
    """Linear conditions on spline coefficients: `rows` (m, n) times coefficients against `values` (m,), each met where
    its play (m,) is 0, and else to within it; no play at all if left out.
    """

    rows: Array
    values: Array
    plays: Array = field(default_factory=lambda: np.zeros(0))

    def __post_init__(self) -> None:
        if len(self.plays) != len(self.values):
            object.__setattr__(self, "plays", np.zeros(len(self.values)))

    @staticmethod
    def none(n: int) -> Conditions:
        """Return no condition at all on `n` coefficients."""
        return Conditions(rows=np.empty((0, n)), values=np.empty(0))

    def joined(self, *others: Conditions) -> Conditions:
        """Return these conditions together with others."""
        return Conditions(
            rows=np.vstack([self.rows, *(other.rows for other in others)]),
            values=np.concatenate([self.values, *(other.values for other in others)]),
            plays=np.concatenate([self.plays, *(other.plays for other in others)]),
        )

    def within(self, plays: ArrayLike) -> Conditions:
        """Return the same conditions with plays (m,), or one play for all."""
        own = np.broadcast_to(np.asarray(plays, dtype=np.float64), self.values.shape).copy()
        return Conditions(rows=self.rows, values=self.values, plays=own)

    def taken(self, which: NDArray[np.bool_]) -> Conditions:
        """Return some of the conditions, by mask."""
        return Conditions(rows=self.rows[which], values=self.values[which], plays=self.plays[which])

    def beside(self, others: int) -> Conditions:
        """Return the same conditions where so many other unknowns follow, on which they do not depend."""
        rows = np.hstack([self.rows, np.zeros((len(self.rows), others))])
        return Conditions(rows=rows, values=self.values, plays=self.plays)

    @property
    def limits(self) -> Conditions:
        """What keeps each within its play, as inequalities: not less than the least, and not more than the greatest."""
        low, high = self.values - self.plays, self.values + self.plays
        return Conditions(rows=np.vstack([self.rows, -self.rows]), values=np.concatenate([low, -high]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Basis:
    """A clamped B-spline basis: `knots` with full multiplicity at both ends, `degree`."""

    knots: Array
    degree: int

    @staticmethod
    def over(breaks: ArrayLike, degree: int) -> Basis:
        """Return the clamped basis with single knots at the inner `breaks` (ascending, ends included)."""
        inner = np.asarray(breaks, dtype=np.float64)
        knots = np.concatenate([np.full(degree, inner[0]), inner, np.full(degree, inner[-1])])
        return Basis(knots=knots, degree=degree)

    @property
    def size(self) -> int:
        """Number of coefficients."""
        return len(self.knots) - self.degree - 1

    def rows(self, at: ArrayLike, derivative: int = 0) -> Array:
        """Return the (m, n) matrix that takes coefficients to the derivative's values at the m parameters."""
        spline = BSpline(self.knots, np.eye(self.size), self.degree)
        if derivative:
            spline = spline.derivative(derivative)
        return np.asarray(spline(np.atleast_1d(np.asarray(at, dtype=np.float64))), dtype=np.float64)

    def meets(self, at: ArrayLike, values: ArrayLike, derivative: int = 0) -> Conditions:
        """Return the conditions that the derivative has `values` at the parameters."""
        rows = self.rows(at, derivative)
        return Conditions(rows=rows, values=np.broadcast_to(np.asarray(values, dtype=np.float64), len(rows)).copy())

    def energy(self, derivative: int) -> Array:
        """Return the (n, n) matrix of the integral of the squared derivative; exact Gauss-Legendre per span."""
        breaks = np.unique(self.knots)
        nodes, weights = leggauss(self.degree + 1)
        half = np.diff(breaks) / 2
        at = ((breaks[1:] + breaks[:-1]) / 2)[:, None] + half[:, None] * nodes
        values = self.rows(at.ravel(), derivative)
        return product(values.T, (half[:, None] * weights).ravel()[:, None] * values)

    def spline(self, coefficients: Array) -> BSpline[np.float64]:
        """Return the spline with these coefficients."""
        return BSpline(self.knots, coefficients, self.degree)


def least(energy: Array, *, equal: Conditions, at_least: Conditions) -> tuple[Array, float]:
    """Return the coefficients of least energy under the conditions, and that energy.

    What has play is also drawn towards its value, by PULL: without it the energy of a line none of whose values is
    fixed has no least place, and with it the line runs nearer to what was read.

    Which inequalities bind is found by a dense convex quadratic program (Arnstrom, Bemporad and Axehill, "A dual
    active-set solver for embedded quadratic programming", 2022). With these as equalities beside the others the
    coefficients are solved for, to rounding and with the same bits on every machine, and rounded to
    COEFFICIENT_DECIMALS.

    Raises
    ------
    NoFairLineError
        If the equalities are not independent or no coefficients meet all conditions.
    """
    met, within = equal.taken(equal.plays == 0.0), equal.taken(equal.plays > 0.0)
    slope = np.zeros(len(energy))
    if len(within.values):
        pull = PULL * float(np.trace(energy)) / len(energy)
        energy = energy + pull * product(within.rows.T, within.rows)
        slope = -pull * product(within.rows.T, within.values)
        at_least = at_least.joined(within.limits)
    held = met.joined(_binding(energy, slope, met, at_least))
    coefficients = np.round(_stationary(energy, slope, held), COEFFICIENT_DECIMALS)
    cost = product(product(energy, coefficients) + 2.0 * slope, coefficients)
    return coefficients, float(cost)


def _stationary(energy: Array, slope: Array, held: Conditions) -> Array:
    """Return the coefficients of least energy under equalities: Lagrange's equations."""
    n, m = len(energy), len(held.values)
    scale = n / np.trace(energy)
    system = np.zeros((n + m, n + m))
    system[:n, :n] = energy * scale
    system[:n, n:], system[n:, :n] = held.rows.T, held.rows
    try:
        return solution(system, np.concatenate([-slope * scale, held.values]))[:n]
    except SingularError:
        raise NoFairLineError from None


def _binding(energy: Array, slope: Array, equal: Conditions, at_least: Conditions) -> Conditions:
    """Return the inequalities that bind where the energy is least. Raises NoFairLineError as `least` does."""
    _, binding = _program(energy, slope, equal, at_least)
    return Conditions(rows=at_least.rows[binding], values=at_least.values[binding])


def _program(energy: Array, slope: Array, equal: Conditions, at_least: Conditions) -> tuple[Array, NDArray[np.bool_]]:
    """Return the coefficients of least energy, right to the solver's accuracy, and which inequalities bind there.
    Raises NoFairLineError as `least` does.
    """
    count = len(equal.values)
    q, r = np.linalg.qr(equal.rows.T, mode="complete")
    diagonal = np.abs(np.diag(r[:count, :count]))
    if count and (count > len(q) or diagonal.min() < 1e-12 * diagonal.max()):
        raise NoFairLineError
    start = q[:, :count] @ np.linalg.solve(r[:count, :count].T, equal.values)
    free = q[:, count:]
    if free.shape[1] == 0:
        if np.any(at_least.rows @ start < at_least.values - 1e-9 * (1 + np.abs(start).max())):
            raise NoFairLineError
        return start, np.zeros(len(at_least.values), dtype=np.bool_)
    hessian = free.T @ energy @ free
    scale = np.trace(hessian) / len(hessian)
    hessian = hessian / scale + 1e-12 * np.eye(len(hessian))
    downhill = free.T @ (energy @ start + slope) / scale
    size = float(np.abs(start).max()) or 1.0
    reduced = at_least.rows @ free
    lengths = np.linalg.norm(reduced, axis=1)
    lengths[lengths < 1e-14] = 1.0
    lower = (at_least.values - at_least.rows @ start) / lengths / size
    found, _, flag, told = daqp.solve(
        np.ascontiguousarray(hessian),
        np.ascontiguousarray(downhill / size),
        np.ascontiguousarray(reduced / lengths[:, None]),
        np.full(len(lower), _UNBOUNDED),
        np.ascontiguousarray(lower),
        np.zeros(len(lower), dtype=np.int32),
        primal_tol=1e-9,
    )
    if flag != _SOLVED:
        raise NoFairLineError
    return start + size * (free @ np.asarray(found)), np.asarray(told["lam"]) != 0.0


def misfits(energy: Array, *, equal: Conditions, given: Conditions, at_least: Conditions, price: float) -> Array:
    """Return by how much each of the `given` conditions is missed beyond its play, in the unit of its value, by the
    line of least energy that pays `price` for each unit missed, against an energy whose diagonal is 1 in the mean.

    Such a price, an exact penalty, leaves all conditions met that can be met together but for a few, and these few
    missed by much (Fletcher, "Practical methods of optimization", 1987, chapter 14; from memory).

    Raises
    ------
    NoFairLineError
        If the other conditions already contradict one another.
    """
    n, m = len(energy), len(given.values)
    wide = np.zeros((n + m, n + m))
    wide[:n, :n] = energy * n / np.trace(energy)
    met, above = equal.beside(m), at_least.beside(m)
    limits, missed = given.limits, np.eye(m)
    within = Conditions(rows=np.hstack([limits.rows, np.vstack([missed, missed])]), values=limits.values)
    positive = Conditions(rows=np.hstack([np.zeros((m, n)), missed]), values=np.zeros(m))
    slope = np.concatenate([np.zeros(n), np.full(m, price)])
    found, _ = _program(wide, slope, met, above.joined(within, positive))
    return np.asarray(np.maximum(found[n:], 0.0), dtype=np.float64)


def fairest_station(energy: Callable[[float], float], places: Array, taken: Sequence[float] = ()) -> float:
    """Return the station, among `places` and between them, whose line has the least energy, to 0.1 mm: where a line
    turns that is known by other readings. Stations `taken` (mm) are passed over. `energy` raises NoFairLineError where
    there is no line.

    Scanned, then refined by Brent's method.

    Raises
    ------
    NoFairLineError
        If no place has a line.
    """

    def at(x_mm: float) -> float:
        try:
            return energy(float(x_mm))
        except NoFairLineError:
            return float("inf")

    if len(taken):
        places = places[np.abs(places[:, None] - np.array(taken)).min(axis=1) > 1.0]
    energies = np.array([at(x) for x in places])
    best = int(np.argmin(energies))
    if not np.isfinite(energies[best]):
        raise NoFairLineError
    low, high = places[max(best - 1, 0)], places[min(best + 1, len(places) - 1)]
    refined = minimize_scalar(at, bounds=(low, high), method="bounded", options={"xatol": 0.01})
    # Rounded to 0.1 mm: the valley is flat, and its exact bottom would depend on the last bits of a machine.
    return round(float(refined.x if refined.fun <= energies[best] else places[best]), 1)


def nearest(energy: Array, *, equal: Conditions, given: Conditions, at_least: Conditions) -> Array:
    """Return the values nearest to `given` (least squares) that a line meeting all other conditions could take.

    Raises
    ------
    NoFairLineError
        If the other conditions already contradict one another, or nothing is given that could give way.
    """
    n, m = len(energy), len(given.values)
    if m == 0:
        raise NoFairLineError
    size = float(np.abs(given.values).max()) or 1.0
    weight = 1e-6 * m / max(float(np.trace(energy)) / n, 1e-300)
    wide = np.zeros((n + m, n + m))
    wide[:n, :n] = weight * energy
    wide[n:, n:] = np.eye(m)
    slack = Conditions(rows=np.hstack([given.rows, np.eye(m)]), values=given.values / size)
    fixed = Conditions(rows=equal.rows, values=equal.values / size).beside(m)
    above = Conditions(rows=at_least.rows, values=at_least.values / size).beside(m)
    solution, _ = least(wide, equal=fixed.joined(slack), at_least=above)
    return np.asarray(given.values - solution[n:] * size, dtype=np.float64)
