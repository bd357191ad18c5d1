"""Straight lines and circular arcs: one as a cutter follows it, and many at once."""

from __future__ import annotations

import cmath
from collections.abc import Sequence
from dataclasses import dataclass
from math import asin, atan, ceil, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

SAME_POINT_MM = 1e-7
"""mm within which points are the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A line or arc from start to end in the complex plane; bulge as in `Segments`."""

    start: complex
    end: complex
    bulge: float

    @property
    def sweep(self) -> float:
        """The arc's angle in radians, counter-clockwise above 0; 0 for a line."""
        return 4 * atan(self.bulge)

    @property
    def headings(self) -> tuple[complex, complex]:
        """Unit tangents at start and end."""
        along = (self.end - self.start) / abs(self.end - self.start)
        turn = cmath.rect(1.0, self.sweep / 2)
        return along / turn, along * turn

    @property
    def radius(self) -> float:
        """The arc's radius in mm. Raises ZeroDivisionError for a line, as does `centre`."""
        return abs(self.end - self.start) * (1 + self.bulge**2) / (4 * abs(self.bulge))

    @property
    def curvature(self) -> float:
        """The curvature in 1/mm, counter-clockwise above 0; 0 for a line."""
        return 4 * self.bulge / (abs(self.end - self.start) * (1 + self.bulge**2))

    @property
    def centre(self) -> complex:
        """The arc's centre."""
        return (self.start + self.end) / 2 + 1j * (self.end - self.start) * (1 - self.bulge**2) / (4 * self.bulge)

    @property
    def length(self) -> float:
        """The length in mm."""
        return self.radius * abs(self.sweep) if self.bulge else abs(self.end - self.start)

    def share(self, point: complex) -> float:
        """Return how far along a point of the segment's line or circle lies: 0 at the start, 1 at the end."""
        if not self.bulge:
            chord = self.end - self.start
            return ((point - self.start) * chord.conjugate()).real / abs(chord) ** 2
        middle = self.at(0.5) - self.centre
        return 0.5 + cmath.phase((point - self.centre) / middle) / self.sweep

    def at(self, share: float) -> complex:
        """Return the point at a share of the length."""
        half = self.sweep / 2
        ratio = sin(half * share) / sin(half) if half else share
        return self.start + ratio * (self.end - self.start) * cmath.rect(1.0, half * (share - 1))

    def between(self, start: tuple[float, complex], end: tuple[float, complex]) -> Segment:
        """Return the part from one (share, point) to another."""
        return Segment(start=start[1], end=end[1], bulge=tan(self.sweep * (end[0] - start[0]) / 4))

    def parts_within(self, tolerance_mm: float) -> int:
        """Return into how many equal parts the segment is cut so that their chords leave it by at most a tolerance."""
        if not self.bulge:
            return 1
        return max(1, ceil(abs(self.sweep) / (4 * asin(sqrt(min(tolerance_mm / (2 * self.radius), 1.0))))))

    def reversed(self) -> Segment:
        """Return the same segment run through from its end to its start."""
        return Segment(start=self.end, end=self.start, bulge=-self.bulge)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Segments:
    """Many lines and arcs: `starts` and `ends` (n, 2) in mm; `bulges` (n,) with bulges[i] = tan(sweep / 4) of the arc,
    counter-clockwise positive, 0 for a straight line. None need meet another.
    """

    starts: Array
    ends: Array
    bulges: Array

    @classmethod
    def of(cls, segments: Sequence[Segment]) -> Segments:
        """Return segments of the complex plane as arrays."""
        starts, ends = (np.array([(p.real, p.imag) for p in points]).reshape(-1, 2) for points in _ends(segments))
        return cls(starts=starts, ends=ends, bulges=np.array([segment.bulge for segment in segments]))

    def __len__(self) -> int:
        """How many."""
        return len(self.bulges)

    def taken(self, which: NDArray[np.int64] | NDArray[np.bool_]) -> Segments:
        """Return some of them, by index or mask."""
        return Segments(starts=self.starts[which], ends=self.ends[which], bulges=self.bulges[which])

    @property
    def chords(self) -> Array:
        """Vectors from start to end (n, 2)."""
        return self.ends - self.starts

    @property
    def chords_mm(self) -> Array:
        """Straight distances from start to end (n,)."""
        chords = self.chords
        return np.asarray(np.hypot(chords[:, 0], chords[:, 1]))

    @property
    def sweeps(self) -> Array:
        """Angles in radians (n,), counter-clockwise above 0; 0 for a line."""
        return 4 * np.arctan(self.bulges)

    @property
    def sagittas_mm(self) -> Array:
        """How far the arcs bow out from their chords (n,)."""
        return np.abs(self.bulges) * self.chords_mm / 2

    @property
    def radii_mm(self) -> Array:
        """Radii (n,); infinite for lines."""
        with np.errstate(divide="ignore", invalid="ignore"):
            radii = self.chords_mm * (1 + self.bulges**2) / (4 * np.abs(self.bulges))
        return np.where(self.bulges == 0.0, np.inf, radii)

    @property
    def centres(self) -> Array:
        """Centres (n, 2); not finite for lines."""
        x, y = self.chords.T
        with np.errstate(divide="ignore", invalid="ignore"):
            off = (1 - self.bulges**2) / (4 * self.bulges)
            return np.asarray((self.starts + self.ends) / 2 + off[:, None] * np.column_stack([-y, x]))

    @property
    def lengths_mm(self) -> Array:
        """Lengths along the lines and arcs (n,)."""
        return self.chords_mm / np.sinc(self.sweeps / (2 * np.pi))

    @property
    def bounds(self) -> tuple[Array, Array]:
        """Least x, y (2,) and greatest x, y (2,) of all in mm; exact."""
        sweeps = self.sweeps
        x, y = self.chords.T
        headings = np.arctan2(y, x) - sweeps / 2
        radii = np.where(sweeps == 0.0, 0.0, self.radii_mm)
        limits = np.empty((2, 2))
        for row, sense in enumerate((-1.0, 1.0)):
            for axis in (0, 1):
                # The arc stands furthest out where it has turned from its own outward normal to the direction asked
                # for.
                outward = np.arctan2(float(axis) * sense, float(1 - axis) * sense)
                turned = np.mod(np.sign(sweeps) * (outward - headings) + np.pi / 2, 2 * np.pi)
                reach = np.where(turned < np.abs(sweeps), 2 * radii * np.sin(turned / 2) ** 2, 0.0)
                from_start, at_end = sense * self.starts[:, axis] + reach, sense * self.ends[:, axis]
                limits[row, axis] = sense * max(from_start.max(), at_end.max())
        return limits[0], limits[1]

    def at(self, shares: Array) -> Array:
        """Return a point on each (n, 2) at a share (n,) of its length.

        By chords from the start, their length against the whole chord and their turn from it: no centre is found, so
        that it holds to rounding for a radius of any size and for a line.
        """
        sweeps = self.sweeps
        ratios = shares * np.sinc(sweeps * shares / (2 * np.pi)) / np.sinc(sweeps / (2 * np.pi))
        turns = sweeps * (shares - 1) / 2
        x, y = self.chords.T
        cosines, sines = np.cos(turns), np.sin(turns)
        turned = np.column_stack([x * cosines - y * sines, x * sines + y * cosines])
        return np.asarray(self.starts + ratios[:, None] * turned)

    def parts_within(self, tolerance_mm: float) -> Array:
        """Return into how many equal parts (n,) each is cut so that their chords leave it by at most a tolerance.

        The sagitta rule: a chord that spans theta of radius r stands off by r (1 - cos(theta / 2)).
        """
        steps = 4 * np.arcsin(np.sqrt(np.minimum(tolerance_mm / (2 * self.radii_mm), 1.0)))
        with np.errstate(divide="ignore", invalid="ignore"):
            parts = np.ceil(np.abs(self.sweeps) / steps)
        return np.where(self.bulges == 0.0, 1.0, np.maximum(parts, 1.0))

    def distances(self, points: Array) -> Array:
        """Return the distances (n, m) in mm of points from segments of half a turn at most, their ends included: of
        points (n, m, 2) of their own, or of the same points (m, 2) from each.
        """
        chords, lengths, bulges = self.chords, self.chords_mm, self.bulges
        cosines, sines = (1 - bulges**2) / (1 + bulges**2), 2 * bulges / (1 + bulges**2)
        with np.errstate(divide="ignore", invalid="ignore"):
            ahead = chords / lengths[:, None]
            across = np.column_stack([-ahead[:, 1], ahead[:, 0]])
            curvatures = (2 * sines / lengths)[:, None]
            leaving = (cosines[:, None] * ahead - sines[:, None] * across)[:, None]
            arriving = (cosines[:, None] * ahead + sines[:, None] * across)[:, None]
            since, until = points - self.starts[:, None], points - self.ends[:, None]
            # Written without the centre, as `at` is.
            height, squared = cross(leaving, since), dot(since, since)
            root = np.sqrt(np.maximum(1 - 2 * curvatures * height + curvatures**2 * squared, 0.0))
            from_circle = np.abs(2 * height - curvatures * squared) / (1 + root)
            beside = (dot(since, leaving) >= 0.0) & (dot(until, arriving) <= 0.0)
        from_ends = np.minimum(np.hypot(since[..., 0], since[..., 1]), np.hypot(until[..., 0], until[..., 1]))
        return np.where(beside, from_circle, from_ends)


def dot(a: Array, b: Array) -> Array:
    """Return the products of vectors (..., 2) along one another."""
    return a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1]


def cross(a: Array, b: Array) -> Array:
    """Return the products of vectors (..., 2) across one another: above 0 where b lies to the left of a."""
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def _ends(segments: Sequence[Segment]) -> tuple[list[complex], list[complex]]:
    return [segment.start for segment in segments], [segment.end for segment in segments]
