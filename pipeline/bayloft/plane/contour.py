"""A contour: a chain of straight lines and circular arcs in the plane."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.arithmetic import product
from bayloft.plane.segments import Segments, cross
from bayloft.tolerances import JOINT_MM

Array = NDArray[np.float64]

_SMALL_SWEEP = 1e-2
"""Radians. Below it theta - sin(theta) has lost four digits and its series has lost none."""


def _frozen(values: ArrayLike) -> Array:
    array = np.array(values, dtype=np.float64)
    array.flags.writeable = False
    return array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contour:
    """A chain of lines and arcs. `points` (n, 2) in mm; `bulges` (n,) with bulges[i] = tan(sweep / 4) of the arc from
    point i to point i + 1, counter-clockwise positive, 0 for a straight line; the last bulge closes a closed contour
    and is 0 on an open one. No repeated last point.

    Raises ValueError for other shapes, fewer than two points, and numbers that are not finite.
    """

    points: Array
    bulges: Array
    closed: bool

    def __post_init__(self) -> None:
        points, bulges = _frozen(self.points), _frozen(self.bulges)
        if points.ndim != 2 or points.shape[1] != 2 or len(points) < 2 or bulges.shape != (len(points),):
            raise ValueError(f"a contour takes points (n >= 2, 2) and bulges (n,), not {points.shape, bulges.shape}")
        if not (np.isfinite(points).all() and np.isfinite(bulges).all()):
            raise ValueError("a contour takes finite points and bulges")
        if not self.closed and bulges[-1] != 0.0:
            raise ValueError("the last bulge of an open contour leads nowhere and must be 0")
        object.__setattr__(self, "points", points)
        object.__setattr__(self, "bulges", bulges)

    @classmethod
    def straight(cls, points: ArrayLike, *, closed: bool) -> Contour:
        """Return the straight lines through `points` (n, 2) in mm; a closed one does not repeat the first point."""
        array = np.asarray(points, dtype=np.float64)
        return cls(points=array, bulges=np.zeros(len(array)), closed=closed)

    @classmethod
    def circle(cls, centre_mm: Sequence[float], radius_mm: float) -> Contour:
        """Return a counter-clockwise circle of two half turns from its +x side. Raises ValueError unless r > 0."""
        if not radius_mm > 0.0:
            raise ValueError(f"a circle needs a radius above 0, not {radius_mm} mm")
        x, y = centre_mm
        return cls(points=np.array([[x + radius_mm, y], [x - radius_mm, y]]), bulges=np.ones(2), closed=True)

    @classmethod
    def joined(cls, *contours: Contour, closed: bool) -> Contour:
        """Return open contours chained end to start; a closed chain whose ends lie apart closes with a straight line.

        Each start must lie within `JOINT_MM` of the end before it, and stands for both. Raises ValueError for a
        closed part, for a gap, and for no parts at all.
        """
        if not contours or any(part.closed for part in contours):
            raise ValueError("only open contours can be joined, and at least one")
        for before, after in pairwise(contours):
            gap_mm = float(np.hypot(*(after.points[0] - before.points[-1])))
            if gap_mm > JOINT_MM:
                raise ValueError(f"contours to be joined lie {gap_mm:.6g} mm apart at {before.points[-1].tolist()}")
        points = np.concatenate([*(part.points[:-1] for part in contours), contours[-1].points[-1:]])
        bulges = np.concatenate([*(part.bulges[:-1] for part in contours), [0.0]])
        if closed and np.hypot(*(points[-1] - points[0])) <= JOINT_MM:
            points, bulges = points[:-1], bulges[:-1]
        return cls(points=points, bulges=bulges, closed=closed)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Least x, least y, greatest x, greatest y in mm; exact, arcs included."""
        least, most = self.points.min(axis=0), self.points.max(axis=0)
        # Places so far apart that their distance is no number have no bounds either: that comes out below.
        if not self.bulges.any() and np.isfinite(most - least).all():
            return float(least[0]), float(least[1]), float(most[0]), float(most[1])
        least, most = self.segments.bounds
        return float(least[0]), float(least[1]), float(most[0]), float(most[1])

    @property
    def segments(self) -> Segments:
        """The lines and arcs in their order; a closed contour's last one leads back to its start."""
        count = len(self.points) - (not self.closed)
        ends = np.concatenate([self.points[1:], self.points[:1]])
        return Segments(starts=self.points[:count], ends=ends[:count], bulges=self.bulges[:count])

    @property
    def length_mm(self) -> float:
        """Length along the lines and arcs, exact."""
        return float(np.sum(self.segments.lengths_mm))

    @property
    def area_mm2(self) -> float:
        """Area inside, exact; negative where the contour runs clockwise. Raises ValueError on an open contour."""
        if not self.closed:
            raise ValueError("an open contour has no area")
        segments = self.segments
        chords, sweeps = segments.chords, segments.sweeps
        polygon = np.sum(cross(segments.starts - segments.starts[0], chords)) / 2
        small = np.abs(sweeps) < _SMALL_SWEEP
        safe = np.where(small, 1.0, sweeps)
        series = sweeps * (1 + sweeps**2 / 30) * 2 / 3
        shares = np.where(small, series, (safe - np.sin(safe)) / np.sin(safe / 2) ** 2)
        return float(polygon + np.sum(shares * (chords**2).sum(axis=1)) / 8)

    def flattened(self, tolerance_mm: float) -> Array:
        """Return points (m, 2) on the contour whose straight lines leave its arcs by at most `tolerance_mm`.

        A closed contour's first point is not repeated. Raises ValueError unless the tolerance is above 0.
        """
        if not tolerance_mm > 0.0:
            raise ValueError(f"flattening needs a tolerance above 0, not {tolerance_mm} mm")
        return self._divided(self.segments.parts_within(tolerance_mm)).points

    def divided(self, sweep_deg: float) -> Contour:
        """Return the same shape with every arc cut into equal arcs of `sweep_deg` (> 0, or ValueError) at most."""
        if not sweep_deg > 0.0:
            raise ValueError(f"arcs are divided by a sweep above 0, not {sweep_deg} degrees")
        return self._divided(np.ceil(np.abs(self.segments.sweeps) / np.radians(sweep_deg)))

    def reversed(self) -> Contour:
        """Return the same shape run through from its end to its start."""
        # Point i becomes the last but i, and the arc after it the one before: the closing bulge stays where it is.
        bulges = -np.append(self.bulges[-2::-1], self.bulges[-1])
        return Contour(points=self.points[::-1], bulges=bulges, closed=self.closed)

    def mirrored(self) -> Contour:
        """Return the mirror image in the x axis, run through as the contour is: a closed one turns the other way, and
        keeps its orientation only reversed too.
        """
        return Contour(points=self.points * np.array([1.0, -1.0]), bulges=-self.bulges, closed=self.closed)

    def moved(self, dx_mm: float, dy_mm: float) -> Contour:
        """Return the contour moved by (dx, dy)."""
        return Contour(points=self.points + np.array([dx_mm, dy_mm]), bulges=self.bulges, closed=self.closed)

    def scaled(self, k: float) -> Contour:
        """Return the contour scaled about the origin. Raises ValueError unless k > 0."""
        if not k > 0.0:
            raise ValueError(f"a contour is scaled by a number above 0, not {k}")
        return Contour(points=self.points * k, bulges=self.bulges, closed=self.closed)

    def turned(self, deg: float) -> Contour:
        """Return the contour turned about the origin, degrees counter-clockwise."""
        cosine, sine = np.cos(np.radians(deg)), np.sin(np.radians(deg))
        turn = np.array([[cosine, sine], [-sine, cosine]])
        return Contour(points=product(self.points, turn), bulges=self.bulges, closed=self.closed)

    def _divided(self, parts: Array) -> Contour:
        """Return the same shape with segment i cut into parts[i] (0 counts as 1) equal parts."""
        if not (parts > 1).any():
            return self
        counts = np.maximum(parts, 1).astype(np.int64)
        which = np.repeat(np.arange(len(counts)), counts)
        step = np.arange(len(which)) - np.repeat(np.cumsum(counts) - counts, counts)
        segments = self.segments.taken(which)
        points = segments.at(step / counts[which])
        bulges = np.tan(segments.sweeps / counts[which] / 4)
        if not self.closed:
            points, bulges = np.vstack([points, self.points[-1]]), np.append(bulges, 0.0)
        return Contour(points=points, bulges=bulges, closed=self.closed)
