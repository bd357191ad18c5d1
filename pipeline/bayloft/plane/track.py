"""Tracks: lines and arcs as a cutter's centre follows them, by the length of the way along them."""

from __future__ import annotations

import cmath
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from math import atan, ceil, floor, sin, sqrt, tan

import numpy as np
from numpy.typing import NDArray

from bayloft.plane.contour import Contour

Array = NDArray[np.float64]

SAME_POINT_MM = 1e-7
"""mm within which points are the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Segment:
    """A line or arc from start to end in the complex plane; bulge as in `Contour`."""

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
    def centre(self) -> complex:
        """The arc's centre."""
        return (self.start + self.end) / 2 + 1j * (self.end - self.start) * (1 - self.bulge**2) / (4 * self.bulge)

    @property
    def length(self) -> float:
        """The length in mm."""
        return self.radius * abs(self.sweep) if self.bulge else abs(self.end - self.start)

    def share(self, point: complex) -> float:
        """Return how far along a point of the piece's line or circle lies: 0 at the start, 1 at the end."""
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


def segments_of(contour: Contour) -> tuple[Segment, ...]:
    """Return the lines and arcs of a contour, arcs of half a turn at most, without those of no length."""
    divided = contour.divided(180.0)
    points = [complex(x, y) for x, y in divided.points.tolist()]
    ends = points[1:] + points[:1]
    rows = [*zip(points, ends, divided.bulges.tolist(), strict=True)]
    rows = rows if contour.closed else rows[:-1]
    return tuple(Segment(start=a, end=b, bulge=bulge) for a, b, bulge in rows if abs(b - a) > SAME_POINT_MM)


def backwards(pieces: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return a chain of pieces followed from its end to its start."""
    return tuple(Segment(start=piece.end, end=piece.start, bulge=-piece.bulge) for piece in reversed(pieces))


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """A chain of pieces; a closed one may be followed on and on past its length."""

    pieces: tuple[Segment, ...]
    closed: bool
    ends_mm: tuple[float, ...] = field(init=False, repr=False, compare=False)
    """The way to the end of each piece."""

    def __post_init__(self) -> None:
        # Kept, for every question about a place along the track begins with it.
        object.__setattr__(self, "ends_mm", tuple(accumulate(piece.length for piece in self.pieces)))

    @classmethod
    def along(cls, contour: Contour) -> Track:
        """Return the track on a contour. Raises ValueError for a contour of no length."""
        pieces = segments_of(contour)
        if not pieces:
            raise ValueError("a contour of no length is no track")
        return cls(pieces=pieces, closed=contour.closed)

    @property
    def length_mm(self) -> float:
        """The length of the whole track, once round."""
        return self.ends_mm[-1]

    @property
    def start(self) -> complex:
        """The point at which it starts."""
        return self.pieces[0].start

    def reversed(self) -> Track:
        """Return the track followed from its end to its start."""
        return Track(pieces=backwards(self.pieces), closed=self.closed)

    def between(self, start_mm: float, end_mm: float) -> tuple[Segment, ...]:
        """Return the pieces from one way to a greater one; a closed track goes round as often as needed."""
        found = []
        ends = self.ends_mm
        length = ends[-1]
        turn = floor(start_mm / length) if self.closed else 0
        index = min(bisect_right(ends, start_mm - turn * length), len(ends) - 1)
        way = start_mm
        while end_mm - way > SAME_POINT_MM:
            piece = self.pieces[index]
            own = piece.length
            low = turn * length + ends[index] - own
            stop = min(low + own, end_mm)
            if way - low < SAME_POINT_MM and low + own - stop < SAME_POINT_MM:
                found.append(piece)
            elif stop - way > SAME_POINT_MM:
                shares = (way - low) / own, (stop - low) / own
                found.append(piece.between((shares[0], piece.at(shares[0])), (shares[1], piece.at(shares[1]))))
            way, index = stop, index + 1
            if index == len(ends):
                if not self.closed:
                    break
                index, turn = 0, turn + 1
        return tuple(found)

    def started_at(self, way_mm: float) -> Track:
        """Return a closed track that starts at a way along it."""
        return Track(pieces=self.between(way_mm, way_mm + self.length_mm), closed=True)

    def at(self, ways_mm: Array) -> Array:
        """Return the points (n, 2) at ways (n,) in mm, past the length of a closed track too."""
        ends = np.array(self.ends_mm)
        ways = np.mod(ways_mm, ends[-1]) if self.closed else np.clip(ways_mm, 0.0, ends[-1])
        index = np.minimum(np.searchsorted(ends, ways, side="right"), len(ends) - 1)
        starts, chords, halves = self._shapes()
        lengths = np.diff(ends, prepend=0.0)
        shares = 1.0 - (ends[index] - ways) / lengths[index]
        half = halves[index]
        bent = np.where(half == 0.0, 1.0, half)
        ratio = np.where(half == 0.0, shares, np.sin(bent * shares) / np.sin(bent))
        points = starts[index] + ratio * chords[index] * np.exp(1j * half * (shares - 1.0))
        return np.column_stack([points.real, points.imag])

    def _shapes(self) -> tuple[NDArray[np.complex128], NDArray[np.complex128], Array]:
        """Return the start, the chord and half the sweep of each piece, for `Segment.at` of many places at once."""
        starts = np.array([piece.start for piece in self.pieces])
        return (
            starts,
            np.array([piece.end for piece in self.pieces]) - starts,
            2 * np.arctan(np.array([piece.bulge for piece in self.pieces])),
        )


def flattened(pieces: Sequence[Segment], tolerance_mm: float) -> Array:
    """Return points (n, 2) along pieces, first and last included, whose chords leave them by at most a tolerance."""
    points = [pieces[0].start]
    for piece in pieces:
        parts = 1
        if piece.bulge:
            sagitta_share = min(tolerance_mm / (2 * piece.radius), 1.0)
            parts = max(1, ceil(abs(piece.sweep) / (4 * np.arcsin(sqrt(sagitta_share)))))
        points += [piece.at(k / parts) for k in range(1, parts)] + [piece.end]
    return np.array([(point.real, point.imag) for point in points])
