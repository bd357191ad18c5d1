"""The toolpath of one sheet with one cutter: all moves in order, or a refusal that says why there is none."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bayloft.cutting.routing.moves import Move
from bayloft.cutting.routing.passes import followed, lifted, pecks, profile
from bayloft.cutting.routing.reach import ground_of, unfit, unreached
from bayloft.cutting.routing.tabs import HoldingTab, spans_along, tabs_along
from bayloft.cutting.routing.tasks import OPERATIONS, Kind, Operation, Task, ordered, spanned, tasks_of
from bayloft.cutting.routing.waste import milled_away, tied
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import SCRIBE, Drawing
from bayloft.drawing.strokes import struck
from bayloft.findings import CheckError, Finding
from bayloft.spec.shops.shop import Cutter, Cutting, Machine, Stock
from bayloft.tolerances import PLUNGE_SHARE, SCRIBE_HOP_MM, SCRIBE_MM, SCRIBE_WIDEST_MM

if TYPE_CHECKING:
    from shapely import Polygon

_BEARS_ON: dict[str, tuple[Operation, ...]] = {
    "hole-small": ("drill",),
    "cutter-short": ("drill", "cut"),
    "feed-held-back": OPERATIONS,
}
"""Operations that a finding of a code bears on; all others bear on what is cut out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Job:
    """One sheet and what cuts it: parts as they lie on the sheet (x from its left edge along its length, y from its
    lower edge), stock, cutter, machine, the ways of cutting, and which operations are asked for.
    """

    name: str
    parts: tuple[Part, ...]
    stock: Stock
    cutter: Cutter
    machine: Machine
    cutting: Cutting
    operations: tuple[Operation, ...] = OPERATIONS

    @property
    def depth_mm(self) -> float:
        """How deep the cutter goes where it cuts through."""
        return self.stock.thickness_mm + self.cutting.below_mm

    @property
    def feed_mm_min(self) -> float:
        """The feed that the chip load asks for, or the machine's greatest if that is less."""
        return min(self.cutter.feed_mm_min, self.machine.greatest_feed_mm_min)

    @property
    def scribing(self) -> bool:
        """Whether the cutter is narrow enough to scribe."""
        return "scribe" in self.operations and self.cutter.diameter_mm <= SCRIBE_WIDEST_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Stage:
    """The moves of one task, from travel height to travel height, and what it is."""

    kind: Kind
    part: str
    moves: tuple[Move, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Toolpath:
    """The stages of a job in order, the tabs they leave, the ground on which the cutter's centre mills waste away, and
    what was found on the way; no finding is a failure.
    """

    job: Job
    stages: tuple[Stage, ...]
    tabs: tuple[HoldingTab, ...]
    cleared: tuple[Polygon, ...]
    findings: tuple[Finding, ...]


def job_of(
    name: str,
    placed: Sequence[Drawing],
    stock: Stock,
    cutter: Cutter,
    machine: Machine,
    cutting: Cutting,
    operations: Collection[Operation] = OPERATIONS,
) -> Job:
    """Return the job of drawings on a sheet: CUT outlines and openings, DRILL circles and SCRIBE lines."""
    parts = tuple(Part(drawing=struck(drawing), title=drawing.name, number=i) for i, drawing in enumerate(placed, 1))
    asked = tuple(operation for operation in OPERATIONS if operation in operations)
    return Job(name=name, parts=parts, stock=stock, cutter=cutter, machine=machine, cutting=cutting, operations=asked)


def toolpath(job: Job) -> Toolpath:
    """Return the toolpath of a job.

    Raises
    ------
    CheckError
        With everything that keeps the parts from being cut as they are drawn: see `reach` for the codes, and
        "tabs-few" for a part without room for its tabs.
    """
    diameter = job.cutter.diameter_mm
    found = [*unfit(job.stock, job.cutter, job.machine, job.cutting)]
    found += [finding for part in job.parts for finding in unreached(part, diameter)]
    findings = [*(finding for finding in found if _asked(job, finding)), *_unscribed(job)]
    _refuse(job, findings)
    tasks = [
        task
        for part in job.parts
        for task in tasks_of(part, diameter, job.cutting.way, job.operations, scribing=job.scribing)
    ]
    through = [task for task in tasks if task.kind in {"opening", "outline"}]
    others = [task for task in tasks if task.kind not in {"opening", "outline"}]
    tabs, few = _tabs(job, through)
    findings += few
    _refuse(job, findings)
    cleared: list[Polygon] = []
    if tabs:
        tabs, loose = tied(through, tabs, job.stock, job.cutter, job.cutting)
        for scrap in loose:
            if (beside := _waste_beside(job, scrap)) is not None:
                task, ground = milled_away(scrap, beside, job.cutter)
                others.append(task)
                cleared.append(ground)
    tasks = [*others, *(spanned(task, tabs, diameter) for task in through)]
    stages = tuple(Stage(kind=t.kind, part=t.part, moves=_moves(t, job, tabs)) for t in ordered(tasks, 0j))
    return Toolpath(job=job, stages=stages, tabs=tabs, cleared=tuple(cleared), findings=tuple(findings))


def _waste_beside(job: Job, scrap: Polygon) -> str | None:
    """Return the part that a loose scrap lies nearest to; None where the scrap has a part in it."""
    grounds = {part.title: ground_of(part) for part in job.parts}
    if any(scrap.intersects(ground) for ground in grounds.values()):
        return None
    return min(grounds, key=lambda title: round(scrap.distance(grounds[title]), 3))


def _refuse(job: Job, findings: Sequence[Finding]) -> None:
    failures = tuple(finding for finding in findings if not finding.passed)
    if failures:
        raise CheckError(job.name, failures)


def _asked(job: Job, finding: Finding) -> bool:
    """Return whether a finding bears on an operation that is asked for."""
    return any(operation in job.operations for operation in _BEARS_ON.get(finding.code, ("cut",)))


def _unscribed(job: Job) -> Iterator[Finding]:
    lines = sum(layer == SCRIBE for part in job.parts for layer, _ in part.drawing.contours)
    if lines and "scribe" in job.operations and not job.scribing:
        text = (
            f"{lines} scribed strokes are left out, and the parts come out without names and stations: no cutter is "
            f"narrow enough; give the shop one of {SCRIBE_WIDEST_MM:g} mm or less, or write them on from the prints"
        )
        yield Finding(
            code="not-scribed",
            severity="warning",
            where=job.name,
            measured=job.cutter.diameter_mm,
            limit=SCRIBE_WIDEST_MM,
            unit="mm",
            text=text,
        )


def _tabs(job: Job, tasks: Sequence[Task]) -> tuple[tuple[HoldingTab, ...], list[Finding]]:
    """Return the tabs of all outlines and openings, and a finding for each outline that has fewer than asked for. What
    an opening frees is waste, and seen to with all other waste.
    """
    tabs: list[HoldingTab] = []
    findings: list[Finding] = []
    climb = job.cutting.way == "climb"
    for task in tasks:
        if not task.frees:
            continue
        found = tabs_along(
            task.tracks[0], task.part, job.cutter.diameter_mm, job.cutting, job.stock, waste_on_left=climb
        )
        tabs += found
        if task.kind == "outline" and len(found) < job.cutting.tabs:
            x, y = task.start.real, task.start.imag
            text = f"the outline through {x:.1f}, {y:.1f} mm has room for {len(found)} tabs; the part may jump"
            findings.append(
                Finding(
                    code="tabs-few",
                    severity="failure",
                    where=task.part,
                    measured=len(found),
                    limit=job.cutting.tabs,
                    unit="tabs",
                    text=text,
                )
            )
    return tuple(tabs), findings


def _moves(task: Task, job: Job, tabs: Sequence[HoldingTab]) -> tuple[Move, ...]:
    """Return a task's moves from travel height to travel height."""
    moves: list[Move] = []
    if not task.tracks:
        moves += _entered(task.point, job)
        moves += pecks(task.point, job.depth_mm, job.cutter.pass_mm, job.feed_mm_min)
        moves.append(_left(moves[-1], job))
    for track in task.tracks:
        if task.kind == "scribed line":
            moves += _reached(moves, track.start, job)
            moves += followed(track, ((0.0, 0.0), (0.0, -SCRIBE_MM), (track.length_mm, -SCRIBE_MM)), job.feed_mm_min)
            continue
        # Many of these are too short for a ramp and a level round after each.
        entry = "helix" if task.kind in {"milled hole", "waste"} else job.cutting.entry
        places = profile(track.length_mm, job.depth_mm, job.cutter.pass_mm, entry, job.cutting.ramp_deg)
        # The cut round waste reaches into those beside it, where its neighbours' tabs may stand.
        spans = spans_along(track, tabs, job.cutter.diameter_mm) if task.kind == "waste" else task.spans
        if spans:
            places = lifted(places, spans, track.length_mm, tabs[0].top_mm, job.cutting.ramp_deg)
        moves += _entered(track.start, job)
        moves += followed(track, places, job.feed_mm_min)
        moves.append(_left(moves[-1], job))
    if task.kind == "scribed line":
        moves.append(_left(moves[-1], job))
    return tuple(moves)


def _reached(moves: Sequence[Move], point: complex, job: Job) -> Iterator[Move]:
    """Yield the moves down onto the stock at the start of a scribed stroke: from travel height, or, after another
    stroke of its text, from just above the stock, which is crossed at the feed.
    """
    x, y, feed = point.real, point.imag, job.feed_mm_min
    if moves:
        yield Move(x_mm=moves[-1].x_mm, y_mm=moves[-1].y_mm, z_mm=SCRIBE_HOP_MM, feed_mm_min=feed)
    else:
        yield Move(x_mm=x, y_mm=y, z_mm=job.machine.travel_height_mm)
    yield Move(x_mm=x, y_mm=y, z_mm=SCRIBE_HOP_MM, feed_mm_min=feed)
    yield Move(x_mm=x, y_mm=y, z_mm=0.0, feed_mm_min=PLUNGE_SHARE * feed)


def _entered(point: complex, job: Job) -> tuple[Move, ...]:
    """Return the moves to above a place at travel height and down onto the stock."""
    x, y, down = point.real, point.imag, PLUNGE_SHARE * job.feed_mm_min
    return (
        Move(x_mm=x, y_mm=y, z_mm=job.machine.travel_height_mm),
        Move(x_mm=x, y_mm=y, z_mm=0.0, feed_mm_min=down),
    )


def _left(last: Move, job: Job) -> Move:
    """Return the move straight up to travel height, at the feed: nothing is rapid near the stock."""
    return Move(x_mm=last.x_mm, y_mm=last.y_mm, z_mm=job.machine.travel_height_mm, feed_mm_min=job.feed_mm_min)
