"""How a quantity of the section changes along the board: through its given values, never beyond them."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache

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


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Program:
    """What the spline through values at given stations is asked, whatever the values: `left` is the last station before
    each coefficient, `own` the coefficient that sits on each inner station.
    """

    basis: Basis
    energy: Array
    rows: Array
    left: NDArray[np.int64]
    own: tuple[int, ...]


@lru_cache(maxsize=256)
def _program(stations_mm: tuple[float, ...]) -> _Program:
    # A board asks for a gradation at the same stations several times, as its sections are found in rounds.
    x = np.array(stations_mm)
    at = (x - x[0]) / (x[-1] - x[0])
    spans = [np.linspace(a, b, SPANS_BETWEEN + 1)[:-1] for a, b in itertools.pairwise(at)]
    basis = Basis.over(np.concatenate([*spans, at[-1:]]), DEGREE)
    centres = np.lib.stride_tricks.sliding_window_view(basis.knots[1:-1], DEGREE).sum(axis=1) / DEGREE
    rows = np.vstack([basis.rows(at), basis.rows([0.0, 1.0], 1), basis.rows([0.0, 1.0], 2)])
    return _Program(
        basis=basis,
        energy=basis.energy(2),
        rows=rows,
        left=np.clip(np.searchsorted(at, centres, side="right") - 1, 0, len(at) - 2),
        own=tuple(int(np.argmin(np.abs(centres - place))) for place in at[1:-1]),
    )


def graded(stations_mm: ArrayLike, values: ArrayLike) -> Gradation:
    """Return the least-bending cubic spline through `values` at ascending `stations_mm`, level at both ends.

    Between two stations each coefficient is kept within the two values there, so the line neither overshoots nor
    wiggles; it is twice continuously differentiable, also where it becomes constant.
    """
    x, y = np.asarray(stations_mm, dtype=np.float64), np.asarray(values, dtype=np.float64)
    given = tuple(float(station) for station in x)
    if len(x) == 1 or np.ptp(y) == 0.0:
        return Gradation(given_mm=given, constant=float(y[0]), spline=None)
    program = _program(given)
    basis, left = program.basis, program.left
    equal = Conditions(rows=program.rows, values=np.concatenate([y, np.zeros(4)]))
    low, high = np.minimum(y[left], y[left + 1]), np.maximum(y[left], y[left + 1])
    # A coefficient that sits on a station serves both sides of it.
    for i, own in enumerate(program.own, 1):
        low[own], high[own] = y[i - 1 : i + 2].min(), y[i - 1 : i + 2].max()
    within = Conditions(rows=np.vstack([np.eye(basis.size), -np.eye(basis.size)]), values=np.concatenate([low, -high]))
    found, _ = least(program.energy, equal=equal, at_least=within)
    spline = BSpline(basis.knots * (x[-1] - x[0]) + x[0], found, DEGREE)
    return Gradation(given_mm=given, constant=float(y[0]), spline=spline)
