"""Many cubics at once, each on [0, 1] by its four coefficients of Bernstein: from a spline, and parted by sign."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.int64]

HALVINGS = 52
"""Halvings of [0, 1] after which a root has no more digits."""


def from_splines(knots: Array) -> tuple[Indices, Array]:
    """Return for each span of a clamped cubic spline's knots the first of its four coefficients (spans,), and the
    matrix (spans, 4, 4) that makes Bernstein's coefficients of them.
    """
    last = np.flatnonzero(np.diff(knots) > 0.0)
    matrices = []
    for k in last.tolist():
        start, end = float(knots[k]), float(knots[k + 1])
        places = ((start, start, start), (start, start, end), (start, end, end), (end, end, end))
        matrices.append([_blossom(knots[k - 2 : k + 4], place) for place in places])
    return last - 3, np.array(matrices)


def _blossom(knots: Array, places: tuple[float, float, float]) -> Array:
    """Return the weights (4,) of a span's coefficients in the polar form at three places; `knots`: the three on either
    side.
    """
    rows = np.eye(4)
    for level, place in enumerate(places):
        low = knots[level:3]
        share = ((place - low) / (knots[3 : 6 - level] - low))[:, None]
        rows = rows[:-1] * (1.0 - share) + rows[1:] * share
    return np.asarray(rows[0], dtype=np.float64)


def powers(bernstein: Array) -> Array:
    """Return the coefficients (4, ...) of 1, t, t^2, t^3 of cubics with Bernstein's coefficients (4, ...)."""
    a, b, c, d = bernstein
    return np.stack([a, 3.0 * (b - a), 3.0 * (a - 2.0 * b + c), d - a + 3.0 * (b - c)])


def parted(bernstein: Array) -> tuple[Array, Array]:
    """Return where cubics (4, n) are negative in [0, 1]: from and to (4, n), of no length where there is no more."""
    own = powers(bernstein)
    roots = _breaks(own)
    starts, ends = roots[:-1], roots[1:]
    negative = value(own, (starts + ends) / 2.0) < 0.0
    return starts, np.where(negative, ends, starts)


def crossings(bernstein: Array) -> list[float]:
    """Return where one cubic (4,) changes its sign in (0, 1), ascending."""
    starts, ends = parted(bernstein[:, None])
    inside = [(a, b) for a, b in zip(starts[:, 0].tolist(), ends[:, 0].tolist(), strict=True) if b > a]
    places = sorted({place for pair in inside for place in pair if 0.0 < place < 1.0})
    # Where one part ends the next may begin: no change of sign.
    return [x for x in places if (sum(x == a for a, _ in inside) + sum(x == b for _, b in inside)) == 1]


def value(own: Array, t: Array) -> Array:
    """Return cubics with coefficients (4, ...) of the powers at places t, broadcast together."""
    return np.asarray(((own[3] * t + own[2]) * t + own[1]) * t + own[0], dtype=np.float64)


def _breaks(own: Array) -> Array:
    """Return places (5, n), 0 and 1 the outer ones, ascending, between two of which each cubic has one sign."""
    turns = _turns(own)
    low, high, found = turns[:-1], turns[1:], turns[1:].copy()
    at_low, at_high = value(own[:, None], low), value(own[:, None], high)
    crossed = (at_low < 0.0) != (at_high < 0.0)
    rising = at_high >= at_low
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        before = (value(own[:, None], middle) < 0.0) == rising
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    found = np.where(crossed, (low + high) / 2.0, found)
    return np.concatenate([turns[:1], found, turns[-1:]])


def _turns(own: Array) -> Array:
    """Return places (4, n), 0 and 1 the outer ones, ascending, between two of which each cubic rises or falls."""
    c, b, a = own[1], own[2], 3.0 * own[3]
    root = np.sqrt(np.maximum(b * b - a * c, 0.0))
    q = -(b + np.where(b < 0.0, -root, root))
    with np.errstate(divide="ignore", invalid="ignore"):
        places = np.stack([q / a, c / q])
    places = np.sort(np.clip(np.where(np.isfinite(places), places, 0.0), 0.0, 1.0), axis=0)
    return np.concatenate([np.zeros_like(places[:1]), places, np.ones_like(places[:1])])
