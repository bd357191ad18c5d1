"""Saw cuts that let a half bend that would not: where they are, how deep, and how far off the curve they leave it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby

import numpy as np
from scipy.integrate import cumulative_trapezoid

from bayloft.foam.regluing import Moved, Regluing

SKIN_MM = 5.0
"""Foam left whole under a saw cut, about which the half folds (common practice, no source)."""


LEAST_KERF_MM = 1.0
"""mm that a saw takes, at least, of a cut that is to close: a hand saw's, where the block is ripped with a wire."""

OFF_MM = 0.5
"""By how much a half that stays straight between two cuts may stand off the curve (no source): what a plane levels."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WedgeCuts:
    """Saw cuts across a half that close when it bends: their stations on the block, how deep each is there, from the
    face that is squeezed, and by how much a half that stays straight between two cuts stands off the curve at most; mm.
    """

    face: str
    stations_mm: tuple[float, ...]
    deep_mm: tuple[float, ...]
    off_mm: float


def wedge_cuts(bent: Regluing, most_strain: float, kerf_mm: float) -> tuple[WedgeCuts, ...]:
    """Return the cuts that take the bend where a face would be strained by more than its maker allows, a set for each
    stretch that bends one way; none where nothing is.

    A cut that closes turns the half by its kerf over its depth. There are as many as have to close, or more, lest the
    half stand off by more than OFF_MM between two, and they stand closer where it bends more.
    """
    return tuple(_cuts(part, bent, kerf_mm) for part in _stretches(bent.everywhere, most_strain))


def _stretches(marks: tuple[Moved, ...], most_strain: float) -> Iterator[list[Moved]]:
    """Yield the stretches, two marks or more, that are strained too much and bend one way."""
    for over, part in groupby(marks, key=lambda mark: np.sign(mark.change_1_mm) * (mark.most_strain > most_strain)):
        found = list(part)
        if over and len(found) > 1:
            yield found


def _cuts(part: list[Moved], bent: Regluing, kerf_mm: float) -> WedgeCuts:
    x = np.array([mark.x_mm for mark in part])
    change = np.abs([mark.change_1_mm for mark in part])
    deep = bent.lines.foil.at(x) - SKIN_MM
    # A chord of s stands s^2 k / 8 off a curve of curvature k.
    closing, near = change * deep / max(kerf_mm, LEAST_KERF_MM), np.sqrt(change / (8.0 * OFF_MM))
    taken, turned = (cumulative_trapezoid(each, x, initial=0) for each in (np.maximum(closing, near), change))
    count = max(int(np.ceil(taken[-1])), 1)
    ends = np.interp(np.linspace(0.0, taken[-1], count + 1), taken, x)
    stations = np.interp((np.arange(count) + 0.5) * taken[-1] / count, taken, x)
    turns = np.diff(np.interp(ends, x, turned))
    return WedgeCuts(
        face="bottom" if part[0].change_1_mm < 0.0 else "deck",
        stations_mm=tuple(stations.tolist()),
        deep_mm=tuple(np.interp(stations, x, deep).tolist()),
        off_mm=float((np.diff(ends) * turns).max()) / 8.0,
    )
