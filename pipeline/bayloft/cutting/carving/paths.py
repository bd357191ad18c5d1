"""Paths of a cutter's tip in space, thinned to as few straight moves as keep a tolerance, and as moves of a program."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.routing.moves import Move
from bayloft.spec.shops.shop import Cutter

Array = NDArray[np.float64]

FINISHING = "finishing"
"""The word with which a stage that finishes is named."""
KEPT_STEP = 400
"""Points between two that are always kept: it bounds the time of thinning a path of kilometres."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TipPath:
    """A cut without a lift: what it does, and the places (n, 3) of the cutter's tip in a set-up's axes, in mm."""

    what: str
    points: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CarveProgram:
    """A program before it is written: its file's stem, what it does and what is to be known before it is run, its
    cutter, the height at which it travels, the lowest that it may go, and its moves in stages, each with a name.
    """

    stem: str
    title: str
    notes: tuple[str, ...]
    cutter: Cutter
    safe_mm: float
    lowest_mm: float
    stages: Sequence[tuple[str, Sequence[Move]]]


def thinned(points: Array, tolerance_mm: float) -> Array:
    """Return as few of the points (n, 3) of a path as keep every other within a tolerance of the straight lines between
    them (Douglas and Peucker 1973), the first and the last among them.
    """
    kept = np.zeros(len(points), dtype=np.bool_)
    marks = [*range(0, len(points) - 1, KEPT_STEP), len(points) - 1]
    kept[marks] = True
    todo = list(pairwise(marks))
    while todo:
        first, last = todo.pop()
        if last - first < 2:
            continue
        away = _off_chord(points[first + 1 : last], points[first], points[last])
        at = int(np.argmax(away))
        if away[at] > tolerance_mm:
            middle = first + 1 + at
            kept[middle] = True
            todo += [(first, middle), (middle, last)]
    return points[kept]


def _off_chord(points: Array, start: Array, end: Array) -> Array:
    """Return how far points are from the straight line between two, its ends included."""
    chord, apart = end - start, points - start
    square = float((chord * chord).sum())
    share = np.clip((apart * chord).sum(axis=1) / square, 0.0, 1.0) if square > 0.0 else np.zeros(len(points))
    gap = apart - share[:, None] * chord
    return np.asarray(np.sqrt((gap * gap).sum(axis=1)), dtype=np.float64)


def moves_of(path: TipPath, feed_mm_min: float, safe_mm: float) -> tuple[Move, ...]:
    """Return a path's moves: across to its start as fast as can be at travel height, straight down to where it begins
    and along it at the feed, and straight up again.
    """
    return tuple(_moves(path, feed_mm_min, safe_mm))


def _moves(path: TipPath, feed: float, safe: float) -> Iterator[Move]:
    x, y, _ = path.points[0].tolist()
    yield Move(x_mm=x, y_mm=y, z_mm=safe)
    for x, y, z in path.points.tolist():
        yield Move(x_mm=x, y_mm=y, z_mm=z, feed_mm_min=feed)
    yield Move(x_mm=x, y_mm=y, z_mm=safe, feed_mm_min=feed)


def mirrored(points: Array) -> Array:
    """Return points or directions (n, 3) on the other side of the stringer."""
    return np.asarray(points * np.array([1.0, -1.0, 1.0]), dtype=np.float64)
