"""Tracks: lines and arcs as a cutter's centre follows them, by the distance along them."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import accumulate
from math import floor

import numpy as np
from numpy.typing import NDArray

from bayloft.plane.contour import Contour
from bayloft.plane.segments import SAME_POINT_MM, Segment, Segments

Array = NDArray[np.float64]


def segments_of(contour: Contour) -> tuple[Segment, ...]:
    """Return the lines and arcs of a contour, arcs of half a turn at most, without those of no length."""
    divided = contour.divided(180.0)
    points = [complex(x, y) for x, y in divided.points.tolist()]
    ends = points[1:] + points[:1]
    rows = [*zip(points, ends, divided.bulges.tolist(), strict=True)]
    rows = rows if contour.closed else rows[:-1]
    return tuple(Segment(start=a, end=b, bulge=bulge) for a, b, bulge in rows if abs(b - a) > SAME_POINT_MM)


def backwards(segments: Sequence[Segment]) -> tuple[Segment, ...]:
    """Return a chain of segments followed from its end to its start."""
    return tuple(segment.reversed() for segment in reversed(segments))


@dataclass(frozen=True, slots=True, kw_only=True)
class Track:
    """A chain of segments; a closed one may be followed on and on past its length."""

    segments: tuple[Segment, ...]
    closed: bool
    ends_mm: tuple[float, ...] = field(init=False, repr=False, compare=False)
    """The distance along the track to the end of each segment."""

    def __post_init__(self) -> None:
        # Kept, for every question about a place along the track begins with it.
        object.__setattr__(self, "ends_mm", tuple(accumulate(segment.length for segment in self.segments)))

    @classmethod
    def on(cls, contour: Contour) -> Track:
        """Return the track on a contour. Raises ValueError for a contour of no length."""
        segments = segments_of(contour)
        if not segments:
            raise ValueError("a contour of no length is no track")
        return cls(segments=segments, closed=contour.closed)

    @property
    def length_mm(self) -> float:
        """The length of the whole track, once round."""
        return self.ends_mm[-1]

    @property
    def start(self) -> complex:
        """The point at which it starts."""
        return self.segments[0].start

    def reversed(self) -> Track:
        """Return the track followed from its end to its start."""
        return Track(segments=backwards(self.segments), closed=self.closed)

    def between(self, start_mm: float, end_mm: float) -> tuple[Segment, ...]:
        """Return the segments from one distance along to a greater one; a closed track goes round as often as
        needed.
        """
        found = []
        ends = self.ends_mm
        length = ends[-1]
        turn = floor(start_mm / length) if self.closed else 0
        index = min(bisect_right(ends, start_mm - turn * length), len(ends) - 1)
        at = start_mm
        while end_mm - at > SAME_POINT_MM:
            segment = self.segments[index]
            own = segment.length
            low = turn * length + ends[index] - own
            stop = min(low + own, end_mm)
            if at - low < SAME_POINT_MM and low + own - stop < SAME_POINT_MM:
                found.append(segment)
            elif stop - at > SAME_POINT_MM:
                shares = (at - low) / own, (stop - low) / own
                found.append(segment.between((shares[0], segment.at(shares[0])), (shares[1], segment.at(shares[1]))))
            at, index = stop, index + 1
            if index == len(ends):
                if not self.closed:
                    break
                index, turn = 0, turn + 1
        return tuple(found)

    def started_at(self, start_mm: float) -> Track:
        """Return a closed track that starts at a distance along it."""
        return Track(segments=self.between(start_mm, start_mm + self.length_mm), closed=True)

    def at(self, along_mm: Array) -> Array:
        """Return the points (n, 2) at distances (n,) along it in mm, past the length of a closed track too."""
        ends = np.array(self.ends_mm)
        along = np.mod(along_mm, ends[-1]) if self.closed else np.clip(along_mm, 0.0, ends[-1])
        index = np.minimum(np.searchsorted(ends, along, side="right"), len(ends) - 1)
        shares = 1.0 - (ends[index] - along) / np.diff(ends, prepend=0.0)[index]
        return Segments.of(self.segments).taken(index).at(shares)


def flattened(segments: Sequence[Segment], tolerance_mm: float) -> Array:
    """Return points (n, 2) along segments, first and last included, whose chords leave them by at most a tolerance."""
    points = [segments[0].start]
    for segment in segments:
        parts = segment.parts_within(tolerance_mm)
        points += [segment.at(k / parts) for k in range(1, parts)] + [segment.end]
    return np.array([(point.real, point.imag) for point in points])
