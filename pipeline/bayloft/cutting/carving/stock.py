"""A block as heights on a grid, cut by the motions of a program: each place keeps the lowest that a cutter was over it.

Node spacing decides how many places are looked at, not how true they are: at a node the height is that under the tip's
round at sampled places of the motion, which for a step s is high by s^2 / 8 r at most, 0.002 mm at 0.3 mm and 6 mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.routing.moves import Motion
from bayloft.spec.shops.shop import Cutter

Array = NDArray[np.float64]

ARC_MM = 0.01
SLIVER_MM = 1.0
MOST_SAMPLES = 400_000
"""Places of a motion that are stamped at once: it bounds the memory."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cuts3D:
    """The straight motions of a program as arrays: starts and ends (n, 3) in mm, whether rapid (n,), its line in the
    file (n,).
    """

    start: Array
    end: Array
    rapid: NDArray[np.bool_]
    line: NDArray[np.int64]

    @classmethod
    def of(cls, motions: Sequence[Motion]) -> Cuts3D:
        """Return motions as arrays, arcs as straight lines within ARC_MM."""
        starts, ends, rapid, line = [], [], [], []
        for motion in motions:
            places = [motion.start, motion.end]
            if motion.centre is not None:
                plan = motion.points(ARC_MM)
                z = np.linspace(motion.start[2], motion.end[2], len(plan))
                places = [(float(x), float(y), float(h)) for (x, y), h in zip(plan, z, strict=True)]
            starts += places[:-1]
            ends += places[1:]
            rapid += [motion.rapid] * (len(places) - 1)
            line += [motion.line] * (len(places) - 1)
        return cls(
            start=np.array(starts, dtype=np.float64).reshape(-1, 3),
            end=np.array(ends, dtype=np.float64).reshape(-1, 3),
            rapid=np.array(rapid, dtype=np.bool_),
            line=np.array(line, dtype=np.int64),
        )

    def sampled(self, step_mm: float, first: int = 0, last: int | None = None) -> tuple[Array, NDArray[np.int64]]:
        """Return places along motions first to last, no further apart than a step, and each one's motion."""
        start, end = self.start[first:last], self.end[first:last]
        counts = np.maximum(np.ceil(np.sqrt(((end - start) ** 2).sum(axis=1)) / step_mm), 1).astype(np.int64)
        which = np.repeat(np.arange(len(start)), counts)
        place = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts) + 1
        share = place / counts[which]
        return start[which] + share[:, None] * (end - start)[which], which + first

    def portions(self, step_mm: float, most: int) -> Iterator[tuple[int, int]]:
        """Yield runs of motions, first and behind the last, of no more samples than so many each."""
        counts = np.maximum(np.ceil(np.sqrt(((self.end - self.start) ** 2).sum(axis=1)) / step_mm), 1)
        total, first = 0.0, 0
        for i, count in enumerate(counts.tolist()):
            if total + count > most and i > first:
                yield first, i
                total, first = 0.0, i
            total += count
        if first < len(counts):
            yield first, len(counts)


class StockField:
    """Heights (nx, ny) of a block over a grid of nodes, in mm over the bed."""

    def __init__(self, x: Array, y: Array, top_mm: float) -> None:
        self.x, self.y = x, y
        self.step = float(x[1] - x[0]), float(y[1] - y[0])
        self.heights = np.full((len(x), len(y)), top_mm)

    def _under(self, places: Array, cutter: Cutter) -> Iterator[tuple[NDArray[np.int64], Array, NDArray[np.bool_]]]:
        """Yield, node by node about each place, which nodes lie under the cutter, and how high its underside is there:
        node indices (k,), heights (k,), and which places (n,) they are of.
        """
        radius = cutter.radius_mm
        i = np.rint((places[:, 0] - self.x[0]) / self.step[0]).astype(np.int64)
        j = np.rint((places[:, 1] - self.y[0]) / self.step[1]).astype(np.int64)
        reach = [math.ceil(radius / step + 0.5) for step in self.step]
        for di in range(-reach[0], reach[0] + 1):
            at_i = i + di
            dx = self.x[0] + self.step[0] * at_i - places[:, 0]
            for dj in range(-reach[1], reach[1] + 1):
                at_j = j + dj
                dy = self.y[0] + self.step[1] * at_j - places[:, 1]
                square = dx * dx + dy * dy
                under = (square <= radius * radius) & (at_i >= 0) & (at_i < len(self.x))
                under &= (at_j >= 0) & (at_j < len(self.y))
                if not under.any():
                    continue
                rise = radius - np.sqrt(radius * radius - square[under]) if cutter.kind == "ball" else 0.0
                yield at_i[under] * len(self.y) + at_j[under], places[under, 2] + rise, under

    def cut(self, places: Array, cutter: Cutter) -> None:
        """Take away what a cutter's tip at places (n, 3) takes."""
        flat = self.heights.reshape(-1)
        for nodes, heights, _ in self._under(places, cutter):
            np.minimum.at(flat, nodes, heights)

    def deepest(self, places: Array, cutter: Cutter) -> tuple[Array, Array]:
        """Take away what a cutter's tip at places (n, 3) takes at once, and return how deep it was at each (n,) in what
        stood before: at most over its own round less a rim of SLIVER_MM, for what lies under that alone is a sliver;
        and at most under the inner half of it, which does not cut well.
        """
        flat = self.heights.reshape(-1)
        found, inner = np.zeros(len(places)), np.zeros(len(places))
        under = list(self._under(places, cutter))
        for nodes, heights, which in under:
            depth, off = flat[nodes] - heights, self._off_square(nodes, places[which])
            for to, within in ((found, cutter.radius_mm - SLIVER_MM), (inner, cutter.radius_mm / 2.0)):
                to[which] = np.maximum(to[which], np.where(off <= within * within, depth, 0.0))
        for nodes, heights, _ in under:
            np.minimum.at(flat, nodes, heights)
        return found, inner

    def _off_square(self, nodes: NDArray[np.int64], places: Array) -> Array:
        """Return the squares of how far nodes are from places, in plan."""
        i, j = np.divmod(nodes, len(self.y))
        dx, dy = self.x[0] + self.step[0] * i - places[:, 0], self.y[0] + self.step[1] * j - places[:, 1]
        return np.asarray(dx * dx + dy * dy, dtype=np.float64)

    def run(self, cuts: Cuts3D, cutter: Cutter, step_mm: float) -> None:
        """Take away what the motions of a program take."""
        for first, last in cuts.portions(step_mm, MOST_SAMPLES):
            self.cut(cuts.sampled(step_mm, first, last)[0], cutter)
