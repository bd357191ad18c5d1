"""How a cutter goes into the wood: whether a file takes more at once than one pass, or goes down too steeply."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import cos, radians, tan

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.routing.moves import Motion
from bayloft.cutting.routing.passes import levels
from bayloft.cutting.routing.reach import circle
from bayloft.cutting.routing.sweep import covered, ground_key, strayed
from bayloft.cutting.routing.toolpath import Job
from bayloft.drawing.sheet import SCRIBE
from bayloft.findings import Finding
from bayloft.plane.segments import Segment
from bayloft.plane.track import segments_of
from bayloft.tolerances import CUT_TRUE_MM, DRILLED_MM, LEVEL_MM, RAMP_SHARE, SCRIBE_MM

Array = NDArray[np.float64]


def too_deep(job: Job, motions: Sequence[Motion]) -> Iterator[Finding]:
    """Yield a "pass-deep" finding for the first place where the cutter takes more than `cutter.pass_mm` at once.

    Looked at just below the depths of even passes: wherever the tip goes more than a pass below such a level, the
    same descent (from travel height to travel height) must have cleared that level before. What other descents have
    cleared is not counted, which only makes the check stricter.
    """
    deep = job.cutter.pass_mm + LEVEL_MM
    heights = [-LEVEL_MM, *(height - LEVEL_MM for height in levels(job.depth_mm, job.cutter.pass_mm)[:-1])]
    for descent in _descents(job, motions):
        for height in heights:
            bite, (x, y) = _uncleared(job, descent, height, height - deep)
            if bite > CUT_TRUE_MM:
                text = f"line {descent[0].line} and on: more than one pass at once at {x:.1f}, {y:.1f} mm on the sheet"
                yield Finding(
                    code="pass-deep",
                    severity="failure",
                    where=job.name,
                    measured=height - _lowest(descent),
                    limit=job.cutter.pass_mm,
                    unit="mm",
                    text=text,
                )
                return


def plunged(job: Job, motions: Sequence[Motion]) -> Iterator[Finding]:
    """Yield a "plunged" finding for the first place where the cutter goes down into wood more steeply than by
    `cutting.ramp`, drilled holes and scribed lines apart.

    A steep descent is good where all the ground under it was cleared, down to where it ends, by motions before it.
    """
    slope = tan(radians(job.cutting.ramp_deg)) * (1 + RAMP_SHARE)
    drilled, scribed = _drilled(job), _scribed(job)
    boxes: Array | None = None
    for index, motion in enumerate(motions):
        (x, y, low), drop = motion.end, motion.start[2] - motion.end[2]
        if low >= -LEVEL_MM or drop <= motion.flat_mm * slope + LEVEL_MM:
            continue
        marks = low >= -SCRIBE_MM - LEVEL_MM and _among((x, y), scribed, CUT_TRUE_MM)
        if motion.flat_mm == 0.0 and (marks or _among((x, y), drilled, DRILLED_MM)):
            continue
        boxes = _boxes(motions) if boxes is None else boxes
        bite, (x, y) = _uncleared_before(motions, boxes, index, job.cutter.diameter_mm / 2)
        if bite > CUT_TRUE_MM:
            text = f"line {motion.line}: the cutter is driven down into the wood at {x:.1f}, {y:.1f} mm on the sheet"
            yield Finding(
                code="plunged",
                severity="failure",
                where=job.name,
                measured=min(motion.start[2], 0.0) - low,
                limit=0.0,
                unit="mm",
                text=text,
            )
            return


def _drilled(job: Job) -> Array:
    """Return the middles (n, 2) of the holes that the cutter drills."""
    circles = [circle(hole) for part in job.parts for hole in part.holes if "drill" in job.operations]
    widest = job.cutter.diameter_mm + DRILLED_MM
    return np.array([middle for diameter, middle in circles if diameter <= widest]).reshape(-1, 2)


def _scribed(job: Job) -> Array:
    """Return the ends (n, 2) of the lines and arcs that the cutter scribes."""
    contours = [line for part in job.parts for layer, line in part.drawing.contours if layer == SCRIBE and job.scribing]
    ends = [end for line in contours for segment in segments_of(line) for end in (segment.start, segment.end)]
    return np.array([(end.real, end.imag) for end in ends]).reshape(-1, 2)


def _among(place: tuple[float, float], places: Array, within_mm: float) -> bool:
    """Return whether one of some places (n, 2) lies within a distance of another."""
    return bool((np.hypot(*(places - place).T) <= within_mm).any())


def _boxes(motions: Sequence[Motion]) -> Array:
    """Return the least and greatest x and y (n, 2, 2) of motions, or a little more."""
    ends = np.array([(motion.start[:2], motion.end[:2]) for motion in motions])
    # No point of an arc is further from its chord than its sagitta.
    sagittas = np.array([motion.radius_mm * (1 - cos(motion.sweep / 2)) for motion in motions])[:, None]
    return np.stack([ends.min(axis=1) - sagittas, ends.max(axis=1) + sagittas], axis=1)


def _uncleared_before(
    motions: Sequence[Motion], boxes: Array, index: int, radius_mm: float
) -> tuple[float, tuple[float, float]]:
    """Return how far the ground under a motion reaches beyond what those before it cleared to its depth, and where."""
    from shapely import union_all  # noqa: PLC0415

    motion = motions[index]
    ground = union_all(covered(motion.plan(), radius_mm))
    low, high = np.array(ground.bounds).reshape(2, 2)
    near = (boxes[:index, 0] < high + radius_mm).all(axis=1) & (boxes[:index, 1] > low - radius_mm).all(axis=1)
    within = ((motions[i], motions[i].within(motion.end[2] + LEVEL_MM)) for i in np.flatnonzero(near).tolist())
    segments = [segment for each, part in within if (segment := _part(each, part)) is not None]
    cleared = union_all([shape for segment in segments for shape in covered(segment, radius_mm)])
    return strayed(ground.difference(cleared), (cleared,))


def _descents(job: Job, motions: Sequence[Motion]) -> Iterator[list[Motion]]:
    """Yield the motions between two that end at travel height."""
    run: list[Motion] = []
    for motion in motions:
        run.append(motion)
        if motion.end[2] >= job.machine.travel_height_mm - LEVEL_MM:
            if _lowest(run) < 0.0:
                yield run
            run = []
    if run:
        yield run


def _lowest(motions: Sequence[Motion]) -> float:
    return min(min(motion.start[2], motion.end[2]) for motion in motions)


def _uncleared(job: Job, descent: Sequence[Motion], height: float, below: float) -> tuple[float, tuple[float, float]]:
    """Return how far the cutter goes below a level beyond the ground it cleared at a height beforehand, and where."""
    from shapely import STRtree, union_all  # noqa: PLC0415

    first = next((i for i, motion in enumerate(descent) if motion.within(below) is not None), None)
    if first is None:
        return 0.0, (0.0, 0.0)
    cleared = [_part(motion, motion.within(height)) for motion in descent[:first]]
    start, deepens = descent[first], descent[first].within(below)
    cleared_by_start = start.within(height)
    # A cutter that goes straight down has cleared nothing for itself: all it is about to take, it takes at once.
    if start.flat_mm > 0.0 and cleared_by_start is not None and deepens is not None:
        cleared.append(_part(start, (cleared_by_start[0], deepens[0])))
    before = {ground_key(segment): segment for segment in cleared if segment is not None}
    if not before:
        return float("inf"), (start.end[0], start.end[1])
    # Most of a pass follows the one above it.
    bites = {
        ground_key(segment): segment for motion in descent[first:] if (segment := _part(motion, motion.within(below)))
    }
    radius = job.cutter.diameter_mm / 2
    ground = union_all([shape for key in bites.keys() - before.keys() for shape in covered(bites[key], radius)])
    if ground.is_empty:
        return 0.0, (0.0, 0.0)
    shapes = np.array([shape for segment in before.values() for shape in covered(segment, radius)])
    near = shapes[STRtree(shapes).query(ground)]
    return strayed(ground.difference(union_all(near)), (union_all(near if len(near) else shapes),))


def _part(motion: Motion, within: tuple[float, float] | None) -> Segment | None:
    """Return what the cutter follows in plan in a part of a motion."""
    return None if within is None or within[1] < within[0] else motion.plan(*within)
