"""A mesh cut square to the x axis: its sections as segments, and heights and widths of these."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.solid.mesh import Mesh

Array = NDArray[np.float64]


class MeshSlices:
    """Cuts a mesh at stations. A vertex on the cut counts as behind it, so that no facet is met twice or left out."""

    def __init__(self, mesh: Mesh) -> None:
        along = mesh.vertices[:, 0][mesh.triangles]
        low = along.min(axis=1)
        order = np.argsort(low, kind="stable")
        self._vertices, self._triangles = mesh.vertices, mesh.triangles[order]
        self._low, self._high = low[order], along.max(axis=1)[order]

    def at(self, x_mm: float) -> Array:
        """Return the section at a station as segments (n, 2, 2) of (y, z) in mm; none outside the mesh."""
        reached = int(np.searchsorted(self._low, x_mm, side="right"))
        cut = self._triangles[np.flatnonzero(self._high[:reached] > x_mm)]
        ahead = self._vertices[cut, 0] > x_mm
        # Two edges of each lead to the corner that lies alone on its side.
        alone = np.argmax(ahead == (ahead.sum(axis=1) == 1)[:, None], axis=1)
        rows = np.arange(len(cut))
        corner = cut[rows, alone]
        ends = [self._crossing(corner, cut[rows, (alone + step) % 3], x_mm) for step in (1, 2)]
        return np.stack(ends, axis=1)

    def _crossing(self, one: NDArray[np.int64], other: NDArray[np.int64], x_mm: float) -> Array:
        """Return where edges meet the station (n, 2), the same bits from either facet of an edge."""
        swapped = self._vertices[one, 0] > self._vertices[other, 0]
        low, high = self._vertices[np.where(swapped, other, one)], self._vertices[np.where(swapped, one, other)]
        share = ((x_mm - low[:, 0]) / (high[:, 0] - low[:, 0]))[:, None]
        return np.asarray(low[:, 1:] + share * (high[:, 1:] - low[:, 1:]), dtype=np.float64)


def heights(segments: Array, y_mm: ArrayLike) -> Array:
    """Return the lowest and the highest z (2, n) in mm of a section at places y (n,); not a number outside of it, and
    where it is met but once, as in a hole of a mesh that is not closed: nothing tells which side that is.
    """
    y = np.asarray(y_mm, dtype=np.float64)
    first, last = segments[:, 0], segments[:, 1]
    swapped = (first[:, 0] > last[:, 0])[:, None]
    low, high = np.where(swapped, last, first), np.where(swapped, first, last)
    over = (low[:, :1] <= y) & (y < high[:, :1])
    wide = np.where(high[:, 0] > low[:, 0], high[:, 0] - low[:, 0], 1.0)[:, None]
    z = low[:, 1:] + (y - low[:, :1]) / wide * (high[:, 1:] - low[:, 1:])
    least = np.where(over, z, np.inf).min(axis=0, initial=np.inf)
    most = np.where(over, z, -np.inf).max(axis=0, initial=-np.inf)
    return np.where(most > least, [least, most], np.nan)


def reach(segments: Array, side: float) -> tuple[float, float]:
    """Return from where to where, off the plane y = 0, a section reaches on the port side (1) or the starboard one
    (-1): 0 and its half width, and where a notch cuts the stringer from the notch. Not a number where it has nothing.
    """
    off = segments[..., 0] * side
    outer = float(off.max(initial=-np.inf))
    if outer <= 0.0:
        return float("nan"), float("nan")
    whole = bool(((off.min(axis=1) <= 0.0) & (off.max(axis=1) >= 0.0)).any())
    return 0.0 if whole else float(np.where(off > 0.0, off, np.inf).min()), outer
