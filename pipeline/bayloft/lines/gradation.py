"""How a quantity of the section changes along the board: through its given values, never beyond them."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

from bayloft.lines.fairest import Basis, Conditions, least

Array = NDArray[np.float64]

DEGREE = 3
SPANS_BETWEEN = 4
"""Spans between two given stations. Three give every station its own three coefficients, so that a curve that never
leaves the range of its neighbours always exists; four leave it room to be fair."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gradation:
    """A quantity along the board: value at a station in mm; constant beyond the first and last of the `given_mm`
    stations, and everywhere where `spline` is None.
    """

    given_mm: tuple[float, ...]
    constant: float
    spline: BSpline[np.float64] | None

    @property
    def kinks_mm(self) -> tuple[float, ...]:
        """Stations in mm, ascending, where the third derivative jumps: the knots; none where the value is constant."""
        return () if self.spline is None else tuple(float(knot) for knot in np.unique(self.spline.t))

    @property
    def greatest(self) -> float:
        """The greatest coefficient: the value is nowhere more."""
        return self.constant if self.spline is None else float(self.spline.c.max())

    def at(self, x_mm: ArrayLike) -> Array:
        """Return the value at stations `x_mm` (any shape)."""
        x = np.asarray(x_mm, dtype=np.float64)
        if self.spline is None:
            return np.full(x.shape, self.constant)
        return np.asarray(self.spline(np.clip(x, self.given_mm[0], self.given_mm[-1])), dtype=np.float64)


def graded(stations_mm: ArrayLike, values: ArrayLike) -> Gradation:
    """Return the least-bending cubic spline through `values` at ascending `stations_mm`, level at both ends.

    Between two stations each coefficient is kept within the two values there, so the line neither overshoots nor
    wiggles; it is twice continuously differentiable, also where it becomes constant.
    """
    x, y = np.asarray(stations_mm, dtype=np.float64), np.asarray(values, dtype=np.float64)
    given = tuple(float(station) for station in x)
    if len(x) == 1 or np.ptp(y) == 0.0:
        return Gradation(given_mm=given, constant=float(y[0]), spline=None)
    length = x[-1] - x[0]
    pieces = [np.linspace(a, b, SPANS_BETWEEN + 1)[:-1] for a, b in itertools.pairwise(x)]
    basis = Basis.over((np.concatenate([*pieces, x[-1:]]) - x[0]) / length, DEGREE)
    at = (x - x[0]) / length
    equal = basis.meets(at, y).joined(basis.meets([0.0, 1.0], 0.0, 1), basis.meets([0.0, 1.0], 0.0, 2))
    centres = np.lib.stride_tricks.sliding_window_view(basis.knots[1:-1], DEGREE).sum(axis=1) / DEGREE
    left = np.clip(np.searchsorted(at, centres, side="right") - 1, 0, len(at) - 2)
    low, high = np.minimum(y[left], y[left + 1]), np.maximum(y[left], y[left + 1])
    # A coefficient that sits on a station serves both sides of it.
    for i in range(1, len(at) - 1):
        own = int(np.argmin(np.abs(centres - at[i])))
        low[own], high[own] = y[i - 1 : i + 2].min(), y[i - 1 : i + 2].max()
    within = Conditions(rows=np.vstack([np.eye(basis.size), -np.eye(basis.size)]), values=np.concatenate([low, -high]))
    found, _ = least(basis.energy(2), equal=equal, at_least=within)
    spline = BSpline(basis.knots * length + x[0], found, DEGREE)
    return Gradation(given_mm=given, constant=float(y[0]), spline=spline)
