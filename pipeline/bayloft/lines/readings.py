"""Numbers read along a line, and the few among them that cannot be true."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from typing import NamedTuple

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

from bayloft.lines.fairest import Basis, Conditions, NoFairLineError

Array = NDArray[np.float64]

PRICES = (0.001, 0.003, 0.01, 0.03, 0.1, 0.3, 1.0, 3.0)
"""Prices at which readings are looked at, see `fairest.misfits`: from where several give way to where lines begin to
wave so that one may stand."""

MISSED_MM = 1e-3
"""mm by which a reading is missed beyond its play, and not by the solver's rounding."""


JUDGED_PRICE = 0.1
"""The one of them at which a place is looked for where a line turns that no fair line has."""

AS_FAIR = 2.0
"""How many times as much a line may bend and still be nearly as fair as another: a reading that is off by ten times its
play makes it bend tens of times as much (measured on the demo boards)."""


class Measured(NamedTuple):
    """A value in mm at a station in mm, and its play: what it may be off to either side."""

    x_mm: float
    value_mm: float
    play_mm: float = 0.0


def conditions(basis: Basis, at: ArrayLike, readings: Sequence[Measured]) -> Conditions:
    """Return the conditions of readings whose parameters are `at`."""
    if not readings:
        return Conditions.none(basis.size)
    _, values, plays = np.array(readings, dtype=np.float64).T
    return basis.meets(at, values).within(plays)


def bending(spline: BSpline[np.float64]) -> float:
    """Return the integral of a spline's squared third derivative, by which the fairer of two lines is told."""
    third = spline.derivative(3)
    breaks = np.unique(spline.t)
    nodes, weights = leggauss(spline.k)
    half = np.diff(breaks) / 2
    at = ((breaks[1:] + breaks[:-1]) / 2)[:, None] + half[:, None] * nodes
    return float((half[:, None] * weights * third(at) ** 2).sum())


def slips(
    readings: Sequence[Measured],
    bent: Callable[[Sequence[Measured]], float],
    missed: Callable[[float], Array],
) -> tuple[tuple[int, ...], ...]:
    """Return the places of the fewest readings without which a fair line passes within the play of all others: more
    than one answer where each of several readings alone may be wrong; none where no few readings are.

    Of several answers those count whose line is nearly as fair as the fairest of them: through a wrong reading a line
    has to bend.

    Parameters
    ----------
    bent : draws a line through readings and returns its `bending`; raises NoFairLineError.
    missed : by how much each reading is missed at a price; raises NoFairLineError.
    """

    def bends(left_out: set[int]) -> float:
        try:
            return bent([reading for place, reading in enumerate(readings) if place not in left_out])
        except NoFairLineError:
            return np.inf

    found: dict[tuple[int, ...], float] = {}
    if len(readings) > 1:
        alone = {(place,): bends({place}) for place in range(len(readings))}
        found |= {key: bend for key, bend in alone.items() if np.isfinite(bend)}
    if not found:
        found = {key: bends(set(key)) for key in _cheapest(bends, missed)}
        fewest = min(map(len, found), default=0)
        best = [key for key in found if len(key) == fewest and 2 * fewest <= len(readings)]
        return tuple(sorted(best, key=lambda key: found[key])[:1])
    likely = sorted(found, key=lambda key: found[key])
    return tuple(key for key in likely if found[key] <= AS_FAIR * found[likely[0]])


def _cheapest(bends: Callable[[set[int]], float], missed: Callable[[float], Array]) -> set[tuple[int, ...]]:
    """Return the sets of readings that give way at one price or another, without those that need not."""
    found = set()
    for price in PRICES:
        try:
            moves = missed(price)
        except NoFairLineError:
            continue
        left_out = {int(place) for place in np.flatnonzero(moves > MISSED_MM)}
        if not np.isfinite(bends(left_out)):
            continue
        # Those that hardly moved may only have given way to the others.
        for place in sorted(left_out, key=lambda place: float(moves[place])):
            if np.isfinite(bends(left_out - {place})):
                left_out.discard(place)
        found.add(tuple(sorted(left_out, key=lambda place: -float(moves[place]))))
    return found


def least_missed(missed: Callable[[float], Array], places: Array) -> tuple[float, Array]:
    """Return the place where a line turns that misses readings least, and by how much it misses each, mm: where some
    of them are wrong and no line passes through all. Raises NoFairLineError.
    """
    found: list[tuple[float, float, Array]] = []
    for x in places.tolist():
        with suppress(NoFairLineError):
            moves = missed(x)
            found.append((float(moves.sum()), x, moves))
    if not found:
        raise NoFairLineError
    _, x, moves = min(found, key=lambda each: each[0])
    return round(x, 1), moves
