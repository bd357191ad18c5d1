"""The fairest B-spline: least bending or least change of bending, exactly through linear conditions."""

from __future__ import annotations

from dataclasses import dataclass

import daqp
import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

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
        return np.asarray(values.T @ ((half[:, None] * weights).ravel()[:, None] * values), dtype=np.float64)

    def spline(self, coefficients: Array) -> BSpline[np.float64]:
        """Return the spline with these coefficients."""
        return BSpline(self.knots, coefficients, self.degree)


def least(energy: Array, *, equal: Conditions, at_least: Conditions) -> tuple[Array, float]:
    """Return the coefficients of least energy under the conditions, and that energy.

    Equalities are met to rounding (by elimination), inequalities by a dense convex quadratic program (Arnstrom,
    Bemporad and Axehill, "A dual active-set solver for embedded quadratic programming", 2022). Coefficients are rounded
    to COEFFICIENT_DECIMALS so that the last bits of a machine's arithmetic cannot reach the outputs.

    Raises
    ------
    NoFairLineError
        If the equalities are not independent or no coefficients meet all conditions.
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
        return np.round(start, COEFFICIENT_DECIMALS), float(start @ energy @ start)
    hessian = free.T @ energy @ free
    scale = np.trace(hessian) / len(hessian)
    hessian = hessian / scale + 1e-12 * np.eye(len(hessian))
    slope = free.T @ energy @ start / scale
    size = float(np.abs(start).max()) or 1.0
    reduced = at_least.rows @ free
    lengths = np.linalg.norm(reduced, axis=1)
    lengths[lengths < 1e-14] = 1.0
    lower = (at_least.values - at_least.rows @ start) / lengths / size
    solution, _, flag, _ = daqp.solve(
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
    coefficients = start + free @ (solution * size)
    return np.round(coefficients, COEFFICIENT_DECIMALS), float(coefficients @ energy @ coefficients)


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
