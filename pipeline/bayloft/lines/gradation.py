"""How a quantity of the section changes along the board, through its given values."""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline
from scipy.linalg import block_diag

from bayloft.lines.fairest import Basis, Conditions, least

Array = NDArray[np.float64]

DEGREE, LEVEL_DEGREE = 5, 3
SPANS_BETWEEN = 4
"""Spans between two given stations. Three give every station of a level gradation its own three coefficients, so that a
curve that never leaves the range of its neighbours always exists; four leave it room to be fair."""

PLACES_A_SPAN = 3
"""Places in each span at which a fair gradation is kept within its neighbours' values."""

BENT = 1.0
"""How dear it is to bend, against changing the bend: decides where the values leave it open how a quantity changes."""

BEYOND = 1.0
"""How dear it is to leave the range of two neighbours, against the energy: dear enough that a quantity does so by
little (on the demo boards by a fiftieth of its greatest value), and not so that the line has to wave."""

LEAST_GAP_MM = 20.0
"""mm between stations from which each has spans of its own."""

RUN_ON, SLOWLY = 0.5, 0.25
"""How far a quantity may run on beyond the first and the last station, as a share of its step to the next one, and how
much of its value it keeps there at least; share of the length over which it must have changed to run on so far: a quick
change ends where it was asked to end."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gradation:
    """A quantity along the board: value at a station in mm; constant beyond the `ends_mm`, and everywhere where
    `spline` is None.
    """

    ends_mm: tuple[float, float]
    constant: float
    spline: BSpline[np.float64] | None

    @property
    def kinks_mm(self) -> tuple[float, ...]:
        """Stations in mm, ascending, where the third derivative jumps: the knots of a level gradation."""
        if self.spline is None or self.spline.k > LEVEL_DEGREE:
            return ()
        return tuple(float(knot) for knot in np.unique(self.spline.t))

    @property
    def greatest(self) -> float:
        """The greatest coefficient: the value is nowhere more."""
        return self.constant if self.spline is None else float(self.spline.c.max())

    def at(self, x_mm: ArrayLike) -> Array:
        """Return the value at stations `x_mm` (any shape)."""
        x = np.asarray(x_mm, dtype=np.float64)
        if self.spline is None:
            return np.full(x.shape, self.constant)
        return np.asarray(self.spline(np.clip(x, *self.ends_mm)), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Program:
    """What the spline through values at given stations is asked, whatever the values. The unknowns are its coefficients
    and by how much it is beyond the range of its neighbours, each over its `scale`; `met`: what they say of the values;
    `within`: of being not less than the least at some places, not more than the most, and not less than a floor.
    `left`: the last station before each of these places, -1 before the first.
    """

    basis: Basis
    scale: Array
    energy: Array
    met: Array
    within: Array
    left: NDArray[np.int64]


def _breaks(at: Array, least: float) -> Array:
    """Return 0, 1 and the places between them that are at least so far from one another, and from 1."""
    kept = [0.0]
    for place in at.tolist():
        if kept[-1] + least <= place <= 1.0 - least:
            kept.append(place)
    return np.array([*kept, 1.0])


def _spans(stations: Array) -> Array:
    """Return the breaks between stations and at them: SPANS_BETWEEN or more between two, each at most twice as long as
    the one before it where a quick change lies next to a slow one.
    """
    gaps = np.diff(stations) / SPANS_BETWEEN
    beside = np.concatenate([gaps[:1], np.minimum(gaps[1:], gaps[:-1]), gaps[-1:]])
    breaks = [stations[:1]]
    for i, (first, last) in enumerate(itertools.pairwise(stations.tolist())):
        sides = []
        for fine in beside[i : i + 2].tolist():
            doubled = fine * 2.0 ** np.arange(max(int(np.ceil(np.log2(gaps[i] / fine) - 1e-9)), 0))
            sides.append(np.cumsum(doubled))
        before, after = sides
        inner = [first, *(first + before), *(last - after)[::-1], last]
        low, high = inner[len(before)], inner[len(before) + 1]
        even = np.linspace(low, high, max(int(np.ceil((high - low) / gaps[i] - 1e-9)), 1) + 1)[1:-1]
        breaks.append(np.array([*inner[1 : len(before) + 1], *even, *inner[len(before) + 1 :]]))
    return np.concatenate(breaks)


@lru_cache(maxsize=256)
def _fair_program(stations_mm: tuple[float, ...], length_mm: float) -> _Program:
    # A board asks for a gradation at the same stations several times, as its sections are found in rounds.
    at = np.array(stations_mm) / length_mm
    spans = _spans(_breaks(at, LEAST_GAP_MM / length_mm))
    basis = Basis.over(spans, DEGREE)
    places = np.concatenate([np.linspace(a, b, PLACES_A_SPAN + 1)[1:] for a, b in itertools.pairwise(spans)])
    places = np.concatenate([[0.0], places])
    energy = basis.energy(3) + BENT * basis.energy(2)
    energy = block_diag(energy, BEYOND * np.trace(energy) / basis.size)
    # Short spans next to long ones have a billion times their energy: all unknowns are brought to one scale.
    stiff = np.sqrt(np.diag(energy))
    scale = stiff.min() / stiff
    kept = np.pad(basis.rows(places), ((0, 0), (0, 1)))
    beyond = np.zeros_like(kept)
    beyond[:, -1] = 1.0
    return _Program(
        basis=basis,
        scale=scale,
        energy=energy * scale * scale[:, None],
        met=np.pad(basis.rows(at), ((0, 0), (0, 1))) * scale,
        within=np.vstack([kept + beyond, beyond - kept, kept]) * scale,
        left=np.searchsorted(at, places) - 1,
    )


def graded(stations_mm: ArrayLike, values: ArrayLike, length_mm: float, plays: ArrayLike = 0.0) -> Gradation:
    """Return the fairest line of a quantity over a board: through `values` (n,) at ascending `stations_mm`, or within
    their plays, with the least change of its bend.

    Between two stations it keeps to their values as nearly as it can without waving. Beyond the first and the last it
    runs on by no more than RUN_ON. What is nowhere negative stays so, to a
    few hundredths of a millimetre.
    """
    x, y = np.asarray(stations_mm, dtype=np.float64), np.asarray(values, dtype=np.float64)
    if len(x) == 1 or np.ptp(y) == 0.0:
        return Gradation(ends_mm=(0.0, length_mm), constant=float(y[0]), spline=None)
    program = _fair_program(tuple(x.tolist()), length_mm)
    size = float(np.abs(y).max())
    y = y / size
    left = program.left
    before, after = y[np.maximum(left, 0)], y[np.minimum(left + 1, len(y) - 1)]
    least_values, most_values = np.minimum(before, after), np.maximum(before, after)
    for outside, end in ((left < 0, slice(0, 2)), (left == len(y) - 1, slice(-2, None))):
        slow = min(float(np.ptp(x[end])) / (SLOWLY * length_mm), 1.0)
        least_values[outside] -= RUN_ON * slow * float(np.ptp(y[end]))
        most_values[outside] += RUN_ON * slow * float(np.ptp(y[end]))
    floor = np.full(len(left), RUN_ON * y.min() if y.min() >= 0.0 else -np.inf)
    within = Conditions(rows=program.within, values=np.concatenate([least_values, -most_values, floor]))
    met = Conditions(rows=program.met, values=y).within(np.asarray(plays) / size)
    found, _ = least(program.energy, equal=met, at_least=within.taken(np.isfinite(within.values)))
    found = size * found * program.scale
    spline = BSpline(program.basis.knots * length_mm, found[: program.basis.size], DEGREE)
    return Gradation(ends_mm=(0.0, length_mm), constant=float(y[0]), spline=spline)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _LevelProgram:
    """What a level gradation through values at given stations is asked, whatever the values: `left` is the last station
    before each coefficient, `own` the coefficient that sits on each inner station.
    """

    basis: Basis
    energy: Array
    rows: Array
    left: NDArray[np.int64]
    own: tuple[int, ...]


@lru_cache(maxsize=256)
def _level_program(stations_mm: tuple[float, ...]) -> _LevelProgram:
    x = np.array(stations_mm)
    at = (x - x[0]) / (x[-1] - x[0])
    spans = [np.linspace(a, b, SPANS_BETWEEN + 1)[:-1] for a, b in itertools.pairwise(at)]
    basis = Basis.over(np.concatenate([*spans, at[-1:]]), LEVEL_DEGREE)
    centres = np.lib.stride_tricks.sliding_window_view(basis.knots[1:-1], LEVEL_DEGREE).sum(axis=1) / LEVEL_DEGREE
    rows = np.vstack([basis.rows(at), basis.rows([0.0, 1.0], 1), basis.rows([0.0, 1.0], 2)])
    return _LevelProgram(
        basis=basis,
        energy=basis.energy(2),
        rows=rows,
        left=np.clip(np.searchsorted(at, centres, side="right") - 1, 0, len(at) - 2),
        own=tuple(int(np.argmin(np.abs(centres - place))) for place in at[1:-1]),
    )


def graded_level(stations_mm: ArrayLike, values: ArrayLike) -> Gradation:
    """Return the least-bending cubic spline through `values` at ascending `stations_mm`, level at both ends and beyond.

    Between two stations each coefficient is kept within the two values there, so the line neither overshoots nor
    wiggles, and between two equal values it is constant: an edge stays as sharp as it was given. It is twice
    continuously differentiable, also where it becomes constant.
    """
    x, y = np.asarray(stations_mm, dtype=np.float64), np.asarray(values, dtype=np.float64)
    ends = float(x[0]), float(x[-1])
    if len(x) == 1 or np.ptp(y) == 0.0:
        return Gradation(ends_mm=ends, constant=float(y[0]), spline=None)
    program = _level_program(tuple(x.tolist()))
    basis, left = program.basis, program.left
    equal = Conditions(rows=program.rows, values=np.concatenate([y, np.zeros(4)]))
    low, high = np.minimum(y[left], y[left + 1]), np.maximum(y[left], y[left + 1])
    # A coefficient that sits on a station serves both sides of it.
    for i, own in enumerate(program.own, 1):
        low[own], high[own] = y[i - 1 : i + 2].min(), y[i - 1 : i + 2].max()
    within = Conditions(rows=np.vstack([np.eye(basis.size), -np.eye(basis.size)]), values=np.concatenate([low, -high]))
    found, _ = least(program.energy, equal=equal, at_least=within)
    spline = BSpline(basis.knots * (x[-1] - x[0]) + x[0], found, LEVEL_DEGREE)
    return Gradation(ends_mm=ends, constant=float(y[0]), spline=spline)
