"""The proof of a file: its motions cut a sheet in simulation, and what is left is compared with the templates."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from bayloft.cutting.routing.engagement import plunged, too_deep
from bayloft.cutting.routing.moves import Motion
from bayloft.cutting.routing.reach import closed_by, ground_of, opened_by, polygon
from bayloft.cutting.routing.sweep import covered, strayed, swept
from bayloft.cutting.routing.tabs import HoldingTab
from bayloft.cutting.routing.toolpath import Job, Toolpath
from bayloft.cutting.routing.waste import standing
from bayloft.drawing.sheet import SCRIBE
from bayloft.findings import Finding, Severity
from bayloft.plane.segments import Segment
from bayloft.plane.track import segments_of
from bayloft.spec.shops.shop import Machine
from bayloft.tolerances import CUT_TRUE_MM, LAYOUT_MM, LEVEL_MM, LOOSE_MM2, SCRIBE_MM

if TYPE_CHECKING:
    from shapely import Polygon
    from shapely.geometry.base import BaseGeometry

_QUADRANT = 64
"""Straight lines in a quarter of a circle where a template is grown: 0.001 mm on one of 12 mm."""


def minutes(motions: Sequence[Motion], machine: Machine) -> float:
    """Return how long motions take in minutes at their feeds and the machine's rapid speed, without the time it takes
    to speed up and slow down.
    """
    return sum(m.length_mm / (machine.rapid_mm_min if m.rapid else m.feed_mm_min) for m in motions)


def proved_on_the_sheet(path: Toolpath, motions: Sequence[Motion]) -> tuple[Finding, ...]:
    """Return what the motions of a file do to the sheet of a toolpath: failures, and a note of the greatest deviations.
    Of the toolpath its job is taken, its tabs, and the waste it clears; none of its moves.

    Codes: "rapid-low" (a rapid move below travel height), "spindle-off", "feed-high", "too-low" (deeper than asked),
    "off-bed", "off-stock", "gouged" (cut where nothing should be), "left-standing" (not cut where it should be),
    "tab-cut", "not-held" (a part that no tab ties to the sheet), "waste-loose" (waste that none ties to it),
    "pass-deep" (more than a pass at once), "plunged" (down into wood steeper than the ramp).
    """
    job = path.job
    return (*_bounds(job, motions), *_compared(path, motions), *too_deep(job, motions), *plunged(job, motions))


def proved_in_the_air(job: Job, cut: Sequence[Motion], air: Sequence[Motion]) -> Iterator[Finding]:
    """Yield what is wrong with a dry run: "air-low" where it comes below travel height, "air-spindle" where the spindle
    turns, "air-other" where it does not follow the cut.
    """
    lift = job.depth_mm + job.machine.travel_height_mm
    lowest = min((min(m.start[2], m.end[2]) for m in air), default=0.0)
    if lowest < job.machine.travel_height_mm - LEVEL_MM:
        yield _failure("air-low", job, lowest, job.machine.travel_height_mm, "the dry run comes down to the stock")
    if any(motion.spindle_rpm for motion in air):
        yield _failure("air-spindle", job, 1.0, 0.0, "the spindle turns in the dry run", unit="")
    pairs = zip(cut, air, strict=False)
    if len(cut) != len(air) or not all(_alike(motion, dry, lift) for motion, dry in pairs):
        yield _failure("air-other", job, len(air), len(cut), "the dry run does not follow the cut", unit="moves")


def _alike(motion: Motion, dry: Motion, lift_mm: float) -> bool:
    """Return whether a motion of the dry run is that of the cut, lifted."""
    same = (motion.rapid, motion.end[:2], motion.centre, motion.counter_clockwise, motion.feed_mm_min)
    return same == (dry.rapid, dry.end[:2], dry.centre, dry.counter_clockwise, dry.feed_mm_min) and (
        abs(dry.end[2] - motion.end[2] - lift_mm) <= LEVEL_MM
    )


def _bounds(job: Job, motions: Sequence[Motion]) -> Iterator[Finding]:
    """Yield the first motion that breaks each bound of height, spindle, feed and place."""
    radius, travel = job.cutter.diameter_mm / 2, job.machine.travel_height_mm
    bed = job.machine.bed_length_mm, job.machine.bed_width_mm
    sheet = job.stock.length_mm, job.stock.width_mm
    said = set()
    for motion in motions:
        low = min(motion.start[2], motion.end[2])
        places = motion.points(CUT_TRUE_MM)
        least, most = places.min(axis=0), places.max(axis=0)
        off_bed = max(*(-least), *(most - bed))
        off_stock = max(*(radius - least), *(most + radius - sheet)) if low < 0.0 else 0.0
        rules = (
            ("rapid-low", motion.rapid and low < travel - LEVEL_MM, low, travel, "a rapid move below travel height"),
            ("spindle-off", low < 0.0 and not motion.spindle_rpm, low, 0.0, "a cut with the spindle off"),
            ("too-low", low < -job.depth_mm - LEVEL_MM, low, -job.depth_mm, "the cutter goes deeper than asked"),
            ("off-bed", off_bed > LAYOUT_MM, off_bed, LAYOUT_MM, "the cutter's centre leaves the bed"),
            ("off-stock", off_stock > LAYOUT_MM, off_stock, LAYOUT_MM, "the cutter leaves the stock; move the part in"),
        )
        for code, broken, measured, limit, text in rules:
            if broken and code not in said:
                said.add(code)
                yield _failure(code, job, measured, limit, f"line {motion.line}: {text}")
        greatest = job.machine.greatest_feed_mm_min
        if not motion.rapid and motion.feed_mm_min > greatest + 1.0 and "feed-high" not in said:
            said.add("feed-high")
            text = f"line {motion.line}: a feed above the machine's greatest"
            yield _failure("feed-high", job, motion.feed_mm_min, greatest, text, unit="mm/min")


def _compared(path: Toolpath, motions: Sequence[Motion]) -> Iterator[Finding]:
    """Yield where the ground gone over differs from the templates', level by level from the top down."""
    from shapely import union_all  # noqa: PLC0415

    job, tabs = path.job, path.tabs
    radius = job.cutter.diameter_mm / 2
    cuts = [*_cuts(job)]
    asked, lines = (
        union_all(cuts),
        union_all([shape for segment in _scribed(job) for shape in covered(segment, radius)]),
    )
    levels = [-LEVEL_MM, LEVEL_MM - SCRIBE_MM, -LEVEL_MM - SCRIBE_MM, LEVEL_MM - job.depth_mm]
    levels += [tabs[0].top_mm + step for step in (LEVEL_MM, -LEVEL_MM) if tabs]
    surface, scribed, below, bottom, *at_tabs = swept(motions, levels, radius)
    parts = [ground_of(part) for part in job.parts]
    may_go = union_all([asked, *(waste.buffer(radius, quad_segs=_QUADRANT) for waste in path.cleared)])
    too_much = [
        strayed(surface.difference(may_go).difference(lines), (may_go, lines)),
        strayed(below.difference(may_go), (may_go,)),
    ]
    too_much += [strayed(below.intersection(part), (part.boundary,)) for part in parts]
    held = union_all([_around(tab, cuts, radius) for tab in tabs])
    too_little = [
        strayed(lines.difference(scribed), (scribed,)),
        strayed(asked.difference(bottom).difference(held), (bottom,)),
    ]
    if tabs:
        over, under = at_tabs
        too_little.append(strayed(asked.difference(over), (over,)))
        yield from _cut_tabs(job, tabs, under)
        yield from _loose(job, parts, bottom)
    yield _deviation("gouged", job, too_much, "cut where nothing should be")
    yield _deviation("left-standing", job, too_little, "not cut where it should be")


def _cuts(job: Job) -> Iterator[BaseGeometry]:
    """Yield the ground of each cut that is asked for, from the templates alone: as wide as the cutter round outlines
    and openings as far as it reaches into their corners, and holes all over.
    """
    width = job.cutter.diameter_mm
    for part in job.parts:
        if "cut" in job.operations:
            stays = closed_by(polygon(part.outline), width)
            yield stays.buffer(width, quad_segs=_QUADRANT).difference(stays)
            for opening in part.openings:
                cleared = opened_by(polygon(opening), width)
                yield cleared.difference(cleared.buffer(-width, quad_segs=_QUADRANT))
        if "drill" in job.operations:
            yield from (polygon(hole) for hole in part.holes)


def _scribed(job: Job) -> Iterator[Segment]:
    if job.scribing:
        for part in job.parts:
            yield from (
                segment for layer, line in part.drawing.contours if layer == SCRIBE for segment in segments_of(line)
            )


def _around(tab: HoldingTab, cuts: Sequence[BaseGeometry], radius: float) -> BaseGeometry:
    """Return the ground on which a tab may stand: the cutter's round ends leave its corners, longer ones at the hollow
    side of a bend, and where cuts run into one another the others are lifted over it too.
    """
    meets = sum(cut.distance(tab.ground) < radius for cut in cuts)
    return tab.ground.buffer((2.0 if meets > 1 else 1.5) * radius + CUT_TRUE_MM)


def _cut_tabs(job: Job, tabs: Sequence[HoldingTab], gone: BaseGeometry) -> Iterator[Finding]:
    """Yield the tabs that do not stand up to their height."""
    for tab in tabs:
        missing = tab.ground.intersection(gone)
        if not missing.is_empty:
            text = f"the tab at {tab.x_mm:.1f}, {tab.y_mm:.1f} mm on the sheet, of {tab.part}, is cut"
            share = missing.area / tab.ground.area
            yield _failure("tab-cut", job, 100 * share, 0.0, text, unit="%")


def _loose(job: Job, parts: Sequence[Polygon], gone: BaseGeometry) -> Iterator[Finding]:
    """Yield the parts, and the scraps of waste, that nothing ties to the edge of the sheet when all is cut."""
    held, loose = standing(job.stock, gone)
    for part, ground in zip(job.parts, parts, strict=True):
        if not any(scrap.intersects(ground) for scrap in held):
            yield _failure("not-held", job, 0.0, 1.0, f"nothing ties {part.title} to the sheet", unit="tabs")
    for scrap in loose:
        if not any(scrap.intersects(ground) for ground in parts):
            left, bottom, right, top = scrap.bounds
            text = (
                f"waste of {right - left:.1f} x {top - bottom:.1f} mm comes loose at {left:.1f}, {bottom:.1f} mm on the"
                " sheet; a larger gap in the shop file moves the parts round it apart"
            )
            yield _failure("waste-loose", job, scrap.area, LOOSE_MM2, text, unit="mm2")


def _deviation(code: str, job: Job, found: Sequence[tuple[float, tuple[float, float]]], what: str) -> Finding:
    """Return the greatest of deviations: a failure beyond `CUT_TRUE_MM`, else a note of how little it is."""
    measured, (x, y) = max(found)
    severity: Severity = "failure" if measured > CUT_TRUE_MM else "note"
    text = f"{what}: {measured:.3f} mm at most, at {x:.1f}, {y:.1f} mm on the sheet"
    return Finding(
        code=code, severity=severity, where=job.name, measured=measured, limit=CUT_TRUE_MM, unit="mm", text=text
    )


def _failure(code: str, job: Job, measured: float, limit: float, text: str, unit: str = "mm") -> Finding:
    return Finding(code=code, severity="failure", where=job.name, measured=measured, limit=limit, unit=unit, text=text)
