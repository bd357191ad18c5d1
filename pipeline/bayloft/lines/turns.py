"""Stretches in which a line may change its bend: hips of an outline, steps of a foil."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SPANS_IN_A_TURN = 4
"""Spans of a spline in a stretch in which it turns: enough to bend one way and back."""

NEAREST_BREAKS = 1 / 3
"""Share of a turn's span within which an even break next to it is left out."""


BESIDE = np.linspace(0.0, 1.0, 9)
"""Shares of a turn beside it at which the line's bend is looked after."""


def turning_breaks(even: Array, turns: Sequence[Array]) -> Array:
    """Return the breaks of a spline: even ones, and finer ones over each turn (first, last) and as far beside it."""
    breaks = even
    for first, last in turns:
        span = (last - first) / SPANS_IN_A_TURN
        fine = np.arange(-SPANS_IN_A_TURN, 2 * SPANS_IN_A_TURN + 1) * span + first
        fine = fine[(fine > 0.0) & (fine < 1.0)]
        away = np.abs(breaks[:, None] - fine).min(axis=1, initial=np.inf) > NEAREST_BREAKS * span
        away[[0, -1]] = True
        breaks = np.sort(np.concatenate([breaks[away], fine]))
    return breaks


def outside(places: Array, turns: Sequence[Array]) -> Array:
    """Return the places that lie in none of the turns (first, last), and more of them close by."""
    close = [edge + sign * (last - first) * BESIDE for first, last in turns for edge, sign in ((first, -1), (last, 1))]
    if close:
        places = np.unique(np.concatenate([places, *close]).clip(places[0], places[-1]))
    free = np.zeros(len(places), dtype=np.bool_)
    for first, last in turns:
        free |= (places > first) & (places < last)
    return places[~free]
