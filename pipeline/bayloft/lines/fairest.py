"""The fairest B-spline: least bending or least change of bending, exactly through linear conditions."""

from __future__ import annotations

from dataclasses import dataclass

import daqp
import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

from bayloft.arithmetic import SingularError, product, solution
from bayloft.errors import BayloftError
from bayloft.tolerances import COEFFICIENT_DECIMALS

Array = NDArray[np.float64]

_UNBOUNDED = 1e30
_SOLVED = 1


class NoFairLineError(BayloftError):
    """No curve meets the conditions: they contradict one another."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Conditions:
    """Linear conditions on spline coefficients: `rows` (m, n) times coefficients against `values` (m,)."""

    rows: Array
    values: Array

    @staticmethod
    def none(n: int) -> Conditions:
        """Return no condition at all on `n` coefficients."""
        return Conditions(rows=np.empty((0, n)), values=np.empty(0))

    def joined(self, *others: Conditions) -> Conditions:
        """Return these conditions together with others."""
        return Conditions(
            rows=np.vstack([self.rows, *(other.rows for other in others)]),
            values=np.concatenate([self.values, *(other.values for other in others)]),
        )


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

    Which inequalities bind is found by a dense convex quadratic program (Arnstrom, Bemporad and Axehill, "A dual
    active-set solver for embedded quadratic programming", 2022). With these as equalities beside the others the
    coefficients are solved for, to rounding and with the same bits on every machine, and rounded to
    COEFFICIENT_DECIMALS.

    Raises
    ------
    NoFairLineError
        If the equalities are not independent or no coefficients meet all conditions.
    """
    held = equal.joined(_binding(energy, equal, at_least))
    coefficients = np.round(_stationary(energy, held), COEFFICIENT_DECIMALS)
    return coefficients, float(product(product(energy, coefficients), coefficients))


def _stationary(energy: Array, held: Conditions) -> Array:
    """Return the coefficients of least energy under equalities: Lagrange's equations."""
    n, m = len(energy), len(held.values)
    system = np.zeros((n + m, n + m))
    system[:n, :n] = energy * (n / np.trace(energy))
    system[:n, n:], system[n:, :n] = held.rows.T, held.rows
    try:
        return solution(system, np.concatenate([np.zeros(n), held.values]))[:n]
    except SingularError:
        raise NoFairLineError from None


def _binding(energy: Array, equal: Conditions, at_least: Conditions) -> Conditions:
    """Return the inequalities that bind where the energy is least. Raises NoFairLineError as `least` does."""
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
        return Conditions.none(len(energy))
    hessian = free.T @ energy @ free
    scale = np.trace(hessian) / len(hessian)
    hessian = hessian / scale + 1e-12 * np.eye(len(hessian))
    slope = free.T @ energy @ start / scale
    size = float(np.abs(start).max()) or 1.0
    reduced = at_least.rows @ free
    lengths = np.linalg.norm(reduced, axis=1)
    lengths[lengths < 1e-14] = 1.0
    lower = (at_least.values - at_least.rows @ start) / lengths / size
    _, _, flag, told = daqp.solve(
        np.ascontiguousarray(hessian),
        np.ascontiguousarray(slope / size),
        np.ascontiguousarray(reduced / lengths[:, None]),
        np.full(len(lower), _UNBOUNDED),
        np.ascontiguousarray(lower),
        np.zeros(len(lower), dtype=np.int32),
        primal_tol=1e-9,
    )
    if flag != _SOLVED:
        raise NoFairLineError
    binding = np.asarray(told["lam"]) != 0.0
    return Conditions(rows=at_least.rows[binding], values=at_least.values[binding])


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
    fixed = Conditions(rows=np.hstack([equal.rows, np.zeros((len(equal.rows), m))]), values=equal.values / size)
    above = Conditions(
        rows=np.hstack([at_least.rows, np.zeros((len(at_least.rows), m))]), values=at_least.values / size
    )
    solution, _ = least(wide, equal=fixed.joined(slack), at_least=above)
    return np.asarray(given.values - solution[n:] * size, dtype=np.float64)
