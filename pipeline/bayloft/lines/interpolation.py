"""Splines through given points, with the same bits on every machine.

scipy's own solve their equations with the linear algebra library that suits the processor, whose last bits differ from
machine to machine. The equations of a spline are banded and need no pivots (de Boor, "A Practical Guide to Splines",
chapter XIII: the collocation matrix is totally positive), so a plain elimination, each step one product and one
difference of whole rows, is as exact.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

from bayloft.arithmetic import solution

Array = NDArray[np.float64]

CUBIC = 3
ENDS = 6
"""Points from which slope and bend at an end are taken: those of the quintic through them."""


def _not_a_knot(x: Array) -> Array:
    return np.concatenate([np.full(CUBIC + 1, x[0]), x[2:-2], np.full(CUBIC + 1, x[-1])])


def _solved(rows: Array, right: Array) -> Array:
    """Return the solution (n, ...) of a system (n, n) with up to CUBIC entries beside the diagonal, without pivots."""
    n = len(rows)
    columns = np.arange(n)[:, None] + np.arange(-CUBIC, CUBIC + 1)
    inside = (columns >= 0) & (columns < n)
    band = np.where(inside, rows[np.arange(n)[:, None], np.clip(columns, 0, n - 1)], 0.0).tolist()
    # Numbers, or rows of an array: plain lists of either are quicker than slices of an array.
    b = right.tolist() if right.ndim == 1 else list(right.copy())
    for k in range(n):
        row, pivot = band[k], band[k][CUBIC]
        for below in range(1, min(CUBIC, n - 1 - k) + 1):
            other = band[k + below]
            share = other[CUBIC - below] / pivot
            if share != 0.0:
                for j in range(1, CUBIC + 1):
                    other[CUBIC - below + j] -= share * row[CUBIC + j]
                b[k + below] -= share * b[k]
    for k in range(n - 1, -1, -1):
        row = band[k]
        for j in range(1, min(CUBIC, n - 1 - k) + 1):
            b[k] -= row[CUBIC + j] * b[k + j]
        b[k] /= row[CUBIC]
    return np.array(b)


def interpolating(x: ArrayLike, y: ArrayLike) -> BSpline[np.float64]:
    """Return the not-a-knot cubic through values y (n, ...) at ascending x (n,), four or more."""
    at, values = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    knots = _not_a_knot(at)
    rows = BSpline.design_matrix(at, knots, CUBIC).toarray()
    return BSpline(knots, _solved(rows, values), CUBIC)


def held(x: ArrayLike, y: ArrayLike, ends: tuple[tuple[int, float], tuple[int, float]]) -> BSpline[np.float64]:
    """Return the cubic through values y (n,) at ascending x (n,) with a derivative of an order given at each end."""
    at, values = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    knots = np.concatenate([np.full(CUBIC, at[0]), at, np.full(CUBIC, at[-1])])
    rows = BSpline.design_matrix(at, knots, CUBIC).toarray()
    every = BSpline(knots, np.eye(rows.shape[1]), CUBIC)
    first, last = (np.asarray(every(place, order)) for place, (order, _) in zip((at[0], at[-1]), ends, strict=True))
    rows = np.vstack([rows[:1], first, rows[1:-1], last, rows[-1:]])
    right = np.concatenate([values[:1], [ends[0][1]], values[1:-1], [ends[1][1]], values[-1:]])
    return BSpline(knots, _solved(rows, right), CUBIC)


def slope_and_bend(x: ArrayLike, y: ArrayLike) -> tuple[float, float]:
    """Return first and second derivative at x[0] of the quintic through the first ENDS points; x may also fall."""
    away = np.asarray(x, dtype=np.float64)[:ENDS] - float(np.asarray(x)[0])
    scale = away[-1]
    powers = [np.ones(ENDS)]
    for _ in range(ENDS - 1):
        powers.append(powers[-1] * (away / scale))
    found = solution(np.column_stack(powers), np.asarray(y, dtype=np.float64)[:ENDS])
    return float(found[1] / scale), float(2.0 * found[2] / (scale * scale))
