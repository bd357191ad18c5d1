"""Tasks: what a cutter does on a sheet between two travels, each at one place, in an order that saves travel."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from math import ceil
from typing import Literal

import numpy as np

from bayloft.cutting.routing.passes import Span
from bayloft.cutting.routing.reach import circle
from bayloft.cutting.routing.tabs import HoldingTab, spans_along
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import SCRIBE
from bayloft.plane.contour import Contour
from bayloft.plane.offsets import parallels
from bayloft.plane.track import Track
from bayloft.spec.shops.shop import Way
from bayloft.tolerances import DRILLED_MM, SCRIBE_NEAR_MM

Operation = Literal["scribe", "drill", "cut"]
OPERATIONS: tuple[Operation, ...] = ("scribe", "drill", "cut")
"""What a cutter can be asked to do: scribed lines, holes, openings and outlines."""

Kind = Literal["scribed line", "drilled hole", "milled hole", "waste", "opening", "outline"]
KINDS: tuple[Kind, ...] = ("scribed line", "drilled hole", "milled hole", "waste", "opening", "outline")
"""In the order in which they are cut: a part stays whole in its sheet until everything inside is done, and waste that
is milled away is one with the sheet until it is gone."""

_RING_SHARE = 0.8
"""Step between the rings of a milled hole against the cutter's diameter, so that no core is left (common practice, no
source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One thing to cut of a part. Tracks of the cutter's centre (of a milled hole and of waste those round it, from the
    inside out; strokes of a scribed text in their order; one for all others), or the point of a drilled hole; where the
    track of an opening or outline meets tabs; whether anything comes free inside or outside of it.
    """

    kind: Kind
    part: str
    tracks: tuple[Track, ...] = ()
    point: complex = 0j
    spans: tuple[Span, ...] = ()
    frees: bool = True

    @property
    def starts(self) -> tuple[tuple[complex, float], ...]:
        """The places where it may start, each with its distance along the track: both ends of an open one, and those of
        a closed one's lines and arcs that are clear of tabs.
        """
        if self.kind in {"drilled hole", "milled hole", "waste"} or len(self.tracks) > 1:
            return ((self.start, 0.0),)
        track = self.tracks[0]
        length = track.length_mm
        if not track.closed:
            return (track.start, 0.0), (track.segments[-1].end, length)
        ends = [(segment.end, end % length) for segment, end in zip(track.segments, track.ends_mm, strict=True)]
        held = [(low + turn, high + turn) for low, high in self.spans for turn in (-length, 0.0, length)]
        clear = [(place, along) for place, along in ends if not any(low <= along <= high for low, high in held)]
        return tuple(clear or ends)

    @property
    def start(self) -> complex:
        """Where the cutter goes down."""
        return self.tracks[0].start if self.tracks else self.point

    @property
    def end(self) -> complex:
        """Where it comes up."""
        if not self.tracks:
            return self.point
        return self.tracks[-1].start if self.tracks[-1].closed else self.tracks[-1].segments[-1].end

    def started_at(self, along: float) -> Task:
        """Return the task started at the distance along of one of its `starts`."""
        if along == 0.0:
            return self
        track = self.tracks[0]
        length = track.length_mm
        if not track.closed:
            return replace(self, tracks=(track.reversed(),))
        moved = sorted(((low - along) % length, (low - along) % length + high - low) for low, high in self.spans)
        return replace(self, tracks=(track.started_at(along),), spans=tuple(moved))


def tasks_of(
    part: Part, cutter_mm: float, way: Way, operations: Collection[Operation], *, scribing: bool
) -> Iterator[Task]:
    """Yield what is to be cut of a part, without tabs: outlines outside, openings inside, scribed lines on the line.

    By climb the part lies to the right of the cutter as it goes (spindle clockwise from above), by the conventional way
    to its left. Raises ValueError for a contour that has no parallel and a drilled contour that is no circle.
    """
    radius = cutter_mm / 2
    if "scribe" in operations and scribing:
        for tracks in _strokes(part):
            yield Task(kind="scribed line", part=part.title, tracks=tracks)
    if "drill" in operations:
        for hole in part.holes:
            yield _hole(part, hole, cutter_mm, way)
    if "cut" in operations:
        # To the right of a counter-clockwise contour lies its outside, so that this way round the part is to the left.
        for track in _parallel_tracks(part.outline, radius, turned=way == "climb"):
            yield Task(kind="outline", part=part.title, tracks=(track,))
        for opening in part.openings:
            frees = any(_parallel_tracks(opening, -2 * radius, turned=False))
            for track in _parallel_tracks(opening, -radius, turned=way == "conventional"):
                yield Task(kind="opening", part=part.title, tracks=(track,), frees=frees)


def spanned(task: Task, tabs: Sequence[HoldingTab], cutter_mm: float) -> Task:
    """Return an outline or an opening with the spans in which a cutter of this diameter would touch a tab."""
    return replace(task, spans=spans_along(task.tracks[0], tabs, cutter_mm))


def ordered(tasks: Sequence[Task], start: complex) -> tuple[Task, ...]:
    """Return the tasks by kind as in `KINDS`, of each kind the nearest next, each started where it is nearest.

    Deterministic: of places equally near to 1e-6 mm the first is taken. The nearest next is common practice, no source;
    it is not the shortest tour.
    """
    found: list[Task] = []
    here = start
    for kind in KINDS:
        left = [(task, task.starts) for task in tasks if task.kind == kind]
        while left:
            _, i, k = min(
                (round(abs(place - here), 6), i, k)
                for i, (_, starts) in enumerate(left)
                for k, (place, _) in enumerate(starts)
            )
            task, starts = left.pop(i)
            found.append(task.started_at(starts[k][1]))
            here = found[-1].end
    return tuple(found)


def _strokes(part: Part) -> Iterator[tuple[Track, ...]]:
    """Yield the scribed lines of a part; those that follow one another nearby, as a text's strokes do, together."""
    near: list[Track] = []
    for layer, contour in part.drawing.contours:
        if layer != SCRIBE:
            continue
        track = Track.on(contour)
        if near and abs(track.start - near[-1].segments[-1].end) > SCRIBE_NEAR_MM:
            yield tuple(near)
            near = []
        near.append(track)
    if near:
        yield tuple(near)


def _hole(part: Part, hole: Contour, cutter_mm: float, way: Way) -> Task:
    diameter, (x, y) = circle(hole)
    if diameter <= cutter_mm + DRILLED_MM:
        return Task(kind="drilled hole", part=part.title, point=complex(x, y))
    widest, least = (diameter - cutter_mm) / 2, _RING_SHARE * cutter_mm / 2
    count = 1 + max(0, ceil((widest - least) / (_RING_SHARE * cutter_mm) - 1e-9))
    radii = np.linspace(widest, least, count)[::-1] if count > 1 else [widest]
    rings = [Contour.circle((x, y), float(radius)) for radius in radii]
    tracks = tuple(Track.on(ring if way == "climb" else ring.reversed()) for ring in rings)
    return Task(kind="milled hole", part=part.title, tracks=tracks)


def _parallel_tracks(contour: Contour, distance_mm: float, *, turned: bool) -> Iterator[Track]:
    leftward = contour if contour.area_mm2 > 0.0 else contour.reversed()
    for parallel in parallels(leftward, distance_mm):
        yield Track.on(parallel.reversed() if turned else parallel)
