"""Moves of a cutter: as they are planned, and as they are found in a file."""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, ceil, hypot, pi, sqrt

import numpy as np
from numpy.typing import NDArray

from bayloft.plane.segments import Segment

Array = NDArray[np.float64]
Place = tuple[float, float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """A planned move to a place in mm (z = 0 on top of the stock), along a line or an arc with this bulge in plan, at a
    feed in mm per minute, or as fast as the machine goes (None).
    """

    x_mm: float
    y_mm: float
    z_mm: float
    bulge: float = 0.0
    feed_mm_min: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Motion:
    """A move found in a file: its line there, whether rapid, where it starts and ends, an arc's centre in plan and
    whether it turns counter-clockwise, the feed in mm per minute and the spindle's turns per minute (0: off).
    """

    line: int
    rapid: bool
    start: Place
    end: Place
    centre: tuple[float, float] | None
    counter_clockwise: bool
    feed_mm_min: float
    spindle_rpm: float

    @property
    def radius_mm(self) -> float:
        """The arc's radius at its start; 0 for a line."""
        return 0.0 if self.centre is None else hypot(self.start[0] - self.centre[0], self.start[1] - self.centre[1])

    @property
    def sweep(self) -> float:
        """The arc's angle in radians, counter-clockwise above 0; 0 for a line."""
        if self.centre is None:
            return 0.0
        (cx, cy), (x0, y0, _), (x1, y1, _) = self.centre, self.start, self.end
        turn = atan2(y1 - cy, x1 - cx) - atan2(y0 - cy, x0 - cx)
        return turn % (2 * pi) if self.counter_clockwise else -(-turn % (2 * pi))

    @property
    def flat_mm(self) -> float:
        """The length in plan."""
        if self.centre is not None:
            return self.radius_mm * abs(self.sweep)
        return hypot(self.end[0] - self.start[0], self.end[1] - self.start[1])

    @property
    def length_mm(self) -> float:
        """The length in space."""
        return hypot(self.flat_mm, self.end[2] - self.start[2])

    def within(self, level_mm: float) -> tuple[float, float] | None:
        """Return the shares of the length from which and up to which it is no higher than a level, or None."""
        z0, z1 = self.start[2], self.end[2]
        if min(z0, z1) > level_mm:
            return None
        if max(z0, z1) <= level_mm:
            return 0.0, 1.0
        share = (level_mm - z0) / (z1 - z0)
        return (share, 1.0) if z1 < z0 else (0.0, share)

    def plan(self, first: float = 0.0, last: float = 1.0) -> Segment:
        """Return what it follows in plan from one share of its length to another. Arcs are taken about their centre as
        written.
        """
        return Segment(start=self._at(first), end=self._at(last), bulge=float(np.tan(self.sweep * (last - first) / 4)))

    def _at(self, share: float) -> complex:
        (x0, y0, _), (x1, y1, _) = self.start, self.end
        if self.centre is None:
            return complex(x0 + share * (x1 - x0), y0 + share * (y1 - y0))
        centre, sweep = complex(*self.centre), self.sweep
        arm = complex(x0, y0) - centre
        return centre + arm * complex(np.cos(sweep * share), np.sin(sweep * share))

    def points(self, tolerance_mm: float, first: float = 0.0, last: float = 1.0) -> Array:
        """Return points (n, 2) in plan whose chords leave it by at most a tolerance."""
        parts = 1
        if self.centre is not None:
            step = 4 * np.arcsin(sqrt(min(tolerance_mm / (2 * self.radius_mm), 1.0)))
            parts = max(1, ceil(abs(self.sweep) * (last - first) / step))
        places = [self._at(share) for share in np.linspace(first, last, parts + 1)]
        return np.array([(place.real, place.imag) for place in places])
