"""What each program that carves must keep, whatever it cuts: speeds, heights, the block, the bed; and its dry run."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.carving.paths import CarveProgram
from bayloft.cutting.carving.setup import CarveJob
from bayloft.cutting.routing.moves import Motion
from bayloft.findings import Finding
from bayloft.tolerances import LEVEL_MM

Array = NDArray[np.float64]

HOLE_MM = 0.02
"""By how much a dowel's hole may be wider, deeper or elsewhere than asked."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReadProgram:
    """A program as it was found in its file, beside the one it was written from; and the line from which on it says
    that it finishes, 0 if it does not.
    """

    program: CarveProgram
    motions: Sequence[Motion]
    finishing_line: int = 0


def failure(code: str, where: str, measured: float, limit: float, text: str, unit: str = "mm") -> Finding:
    """Return what was found wrong."""
    return Finding(code=code, severity="failure", where=where, measured=measured, limit=limit, unit=unit, text=text)


def bounds(job: CarveJob, read: ReadProgram) -> Iterator[Finding]:
    """Yield the first motion that breaks each bound: "rapid-low", "spindle-off", "feed-high", "too-low", "off-block",
    "z-travel".
    """
    program, said = read.program, set()
    foam = 0.0 if program.lowest_mm < 0.0 else job.thickness_mm
    half, greatest = job.block_width_mm / 2.0, job.machine.greatest_feed_mm_min
    for motion in read.motions:
        low, high = sorted((motion.start[2], motion.end[2]))
        aside = motion.radius_mm if motion.centre is not None else 0.0
        x0, x1 = (f(motion.start[0], motion.end[0]) for f in (min, max))
        y0, y1 = (f(motion.start[1], motion.end[1]) for f in (min, max))
        off = max(job.block_from_mm - x0, x1 - job.block_to_mm, -half - y0, y1 - half) + aside
        rules = (
            ("rapid-low", motion.rapid and low < program.safe_mm - LEVEL_MM, low, program.safe_mm, "a rapid move low"),
            ("spindle-off", low < foam and not motion.spindle_rpm, low, foam, "a cut with the spindle off"),
            (
                "too-low",
                low < program.lowest_mm - LEVEL_MM,
                low,
                program.lowest_mm,
                "the cutter goes deeper than asked",
            ),
            ("off-block", off > LEVEL_MM, off, 0.0, "the middle of the cutter leaves the block"),
            ("z-travel", high > job.gantry.z_travel_mm, high, job.gantry.z_travel_mm, "higher than the gantry goes"),
            (
                "feed-high",
                not motion.rapid and motion.feed_mm_min > greatest + 1.0,
                motion.feed_mm_min,
                greatest,
                "a feed above the machine's greatest",
            ),
        )
        for code, broken, measured, limit, text in rules:
            if broken and code not in said:
                said.add(code)
                yield failure(code, program.title, measured, limit, f"line {motion.line}: {text}")


def in_the_air(read: ReadProgram, air: Sequence[Motion], lift_mm: float) -> Iterator[Finding]:
    """Yield what is wrong with a dry run: "air-spindle" where the spindle turns, "air-other" where it does not follow
    the cut.
    """
    where = f"{read.program.title}, dry run"
    if any(motion.spindle_rpm for motion in air):
        yield failure("air-spindle", where, 1.0, 0.0, "the spindle turns in the dry run", unit="")
    alike = len(air) == len(read.motions) and all(
        (dry.rapid, dry.end[:2], dry.centre, dry.counter_clockwise, dry.feed_mm_min)
        == (cut.rapid, cut.end[:2], cut.centre, cut.counter_clockwise, cut.feed_mm_min)
        and abs(dry.end[2] - cut.end[2] - lift_mm) <= LEVEL_MM
        for cut, dry in zip(read.motions, air, strict=True)
    )
    if not alike:
        text = "the dry run does not follow the cut"
        yield failure("air-other", where, len(air), len(read.motions), text, unit="moves")


def air_lift_mm(job: CarveJob, program: CarveProgram) -> float:
    """Return by how much a dry run is lifted, to be clear of the block; 0 where the gantry does not go so high, and it
    is run without a block.
    """
    lift = program.safe_mm - min(program.lowest_mm, 0.0)
    return lift if program.safe_mm + lift <= job.gantry.z_travel_mm else 0.0


def holes(read: ReadProgram, top_mm: float) -> list[tuple[float, float, float, float]]:
    """Return the holes that a program makes: the middle of each in plan, its width and how deep it is."""
    places = [
        np.column_stack([motion.points(HOLE_MM / 10.0), np.full(len(motion.points(HOLE_MM / 10.0)), motion.end[2])])
        for motion in read.motions
        if min(motion.start[2], motion.end[2]) < top_mm - LEVEL_MM
    ]
    if not places:
        return []
    points = np.concatenate(places)
    points = points[np.argsort(points[:, 0], kind="stable")]
    apart = np.flatnonzero(np.diff(points[:, 0]) > 2.0 * read.program.cutter.diameter_mm)
    found = []
    for hole in np.split(points, apart + 1):
        low, high = hole.min(axis=0), hole.max(axis=0)
        wide = float((high - low)[:2].max()) + read.program.cutter.diameter_mm
        found.append((float(low[0] + high[0]) / 2.0, float(low[1] + high[1]) / 2.0, wide, top_mm - float(low[2])))
    return found
