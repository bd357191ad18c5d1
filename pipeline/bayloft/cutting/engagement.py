"""How deep a cutter bites: whether a file takes more at once than one pass."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np

from bayloft.cutting.moves import Motion
from bayloft.cutting.passes import levels
from bayloft.cutting.sweep import covered, strayed, way
from bayloft.cutting.toolpath import Job
from bayloft.cutting.track import Piece
from bayloft.findings import Finding
from bayloft.tolerances import CUT_TRUE_MM, LEVEL_MM


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
    before = {way(piece): piece for piece in cleared if piece is not None}
    if not before:
        return float("inf"), (start.end[0], start.end[1])
    # Most of a pass goes the way of the one above it.
    bites = {way(piece): piece for motion in descent[first:] if (piece := _part(motion, motion.within(below)))}
    radius = job.cutter.diameter_mm / 2
    ground = union_all([shape for key in bites.keys() - before.keys() for shape in covered(bites[key], radius)])
    if ground.is_empty:
        return 0.0, (0.0, 0.0)
    shapes = np.array([shape for piece in before.values() for shape in covered(piece, radius)])
    near = shapes[STRtree(shapes).query(ground)]
    return strayed(ground.difference(union_all(near)), (union_all(near if len(near) else shapes),))


def _part(motion: Motion, within: tuple[float, float] | None) -> Piece | None:
    """Return the way of the cutter in plan in a part of a motion."""
    return None if within is None or within[1] < within[0] else motion.plan(*within)
