"""Finishing a face with a ball: passes nested at equal arc from the line where it begins, joined without lifting.

The deck is cut from the apex up; the bottom from its edge, in to the stringer and out to the apex. Where a pass runs
round a tip its two sides are one loop; the next begins a step further along the stringer. At a cut-off tail passes turn
at the wall's edge. Over the tabs that hold the board the cutter is lifted.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.carving.centres import CentrePass, CentreZone, reversed_pass, step_for
from bayloft.cutting.carving.paths import FINISHING, TipPath, mirrored, thinned
from bayloft.cutting.carving.relief import CELL_MM
from bayloft.cutting.carving.setup import CarveJob, Face
from bayloft.lines.section_places import APEX, EDGE
from bayloft.solid.closest import Nearest
from bayloft.solid.surface import crowded_places

Array = NDArray[np.float64]

SAG_MM = 0.004
"""By how much straight moves may leave the centre surface: with rounding and rows a quarter of what may be gouged."""
ROWS_A_METRE, LEAST_ROWS = 500, 500
TOUCHES_MM = 0.003
"""How much too near a centre may be before it is raised."""
LOOKED_AT = 9
"""One in so many centres is looked at before all are: most boards have no hollow that is too tight."""
PORTION = 4000
MOST_RAISES = 60
LONGEST_LINK_MM = 400.0
"""Longest way along the surface between two passes; beyond, the cutter is lifted over."""
BESIDE_TAB_MM = 0.5
"""Further beside a tab than the roughing keeps, with its grid."""
LEAD_IN_MM = 1.0
"""Further than the roughing's allowance off the surface at which a cut begins."""

Chain = list[tuple[Array, Array]]
"""Centres and normals, run through one after the other without lifting."""


def zones(job: CarveJob, face: Face, radius_mm: float) -> list[tuple[str, CentreZone]]:
    """Return the zones of a face, with a name each."""
    u = crowded_places(max(int(ROWS_A_METRE * job.length_mm / 1000.0), LEAST_ROWS))
    ends = [("deck", APEX, 1.0)] if face == "deck" else [("bottom", EDGE, 0.0), ("rail under the apex", EDGE, APEX)]
    return [(name, CentreZone(job.body, radius_mm, low, high, u)) for name, low, high in ends]


def finishing_paths(job: CarveJob, face: Face) -> list[TipPath]:
    """Return the paths of the tip that finish a face, in the axes of its set-up."""
    radius = job.finisher.radius_mm
    step = step_for(radius, job.gantry.cusp_mm)
    nearest = Nearest(job.body)
    found: list[TipPath] = []
    for name, zone in zones(job, face, radius):
        *passes, last = _cleared([*zone.passes(step), zone.last_line()], nearest, radius, face)
        if name.startswith("rail"):
            chains = [chain for family in _families(passes) for chain in _zigzag(zone, family, step)]
            chains.append([(last.points, last.normals)])
            chains += [[(mirrored(p), mirrored(n)) for p, n in chain] for chain in chains]
        else:
            chains = [chain for family in _families(passes) for chain in _looped(zone, family, step)]
            chains.append([(last.points, last.normals)])
        found += [TipPath(what=f"{FINISHING}, {name}", points=_tips(job, face, chain)) for chain in chains]
    return found


def _cleared(passes: list[CentrePass], nearest: Nearest, radius: float, face: Face) -> list[CentrePass]:
    """Return passes, those raised where the ball would cut into another part of the surface: in hollows tighter than
    it.
    """
    counts = [len(one.points[::LOOKED_AT]) for one in passes]
    short = depths(nearest, np.concatenate([one.points[::LOOKED_AT] for one in passes])) + radius
    worst = [float(part.max()) for part in np.split(short, np.cumsum(counts)[:-1])]
    return [
        _raised(one, nearest, radius, face) if too_near > TOUCHES_MM else one
        for one, too_near in zip(passes, worst, strict=True)
    ]


def depths(nearest: Nearest, points: Array) -> Array:
    """Return how deep points (n, 3) are in the body, in portions: what settles late holds up the others of its own
    alone.
    """
    portions = [points[i : i + PORTION] for i in range(0, len(points), PORTION)]
    return np.concatenate([nearest.feet(portion).depth_mm for portion in portions]) if portions else np.zeros(0)


def _raised(one: CentrePass, nearest: Nearest, radius: float, face: Face) -> CentrePass:
    up = 1.0 if face == "deck" else -1.0
    points = one.points.copy()
    for _ in range(MOST_RAISES):
        short = nearest.feet(points).depth_mm + radius
        deep = short > TOUCHES_MM / 2.0
        if not deep.any():
            break
        # Straight up it comes clear no faster than it rises.
        points[deep, 2] += up * np.maximum(short[deep], TOUCHES_MM)
    return CentrePass(number=one.number, points=points, normals=one.normals, u=one.u)


def _families(passes: list[CentrePass]) -> list[list[CentrePass]]:
    """Return passes by families: of each, one lies inside the other."""
    found: list[list[CentrePass]] = []
    for one in passes:
        for family in found:
            outer = family[-1]
            if outer.number == one.number - 1 and outer.u[0] <= one.u[0] and one.u[-1] <= outer.u[-1]:
                family.append(one)
                break
        else:
            found.append([one])
    return found


def _looped(zone: CentreZone, passes: list[CentrePass], step: float) -> Iterator[Chain]:
    """Yield chains of passes of which both sides are one: loops, or from a wall round the nose and back."""
    chain: Chain = []
    port = True
    before: CentrePass | None = None
    walled = zone.body.end == "wall"
    for one in passes:
        open_here = walled and one.u[0] == zone.u[0]
        there, back = (one.points, one.normals), (mirrored(one.points)[::-1], mirrored(one.normals)[::-1])
        if not open_here:
            link = _along_last(zone, before, one, at=0)
            if link is None or (before is not None and walled and before.u[0] == zone.u[0]):
                if chain:
                    yield chain
                chain = []
            else:
                chain.append(link)
            chain += [there, back]
        else:
            if before is None or before.number != one.number - 1:
                if chain:
                    yield chain
                chain, port = [], True
            else:
                link = zone.first_row(before.number * step, one.number * step)
                chain.append(link if port else (mirrored(link[0]), mirrored(link[1])))
            both = [there, back]
            chain += both if port else [(mirrored(p), mirrored(n)) for p, n in both]
            # It ends on the other side, where the next one begins.
            port = not port
        before = one
    if chain:
        yield chain


def _zigzag(zone: CentreZone, passes: list[CentrePass], step: float) -> Iterator[Chain]:
    """Yield chains of passes of the port side, each run the other way than the one before."""
    chain: Chain = []
    before: CentrePass | None = None
    forward = True
    for one in passes:
        at_wall = zone.body.end == "wall" and before is not None and before.u[0] == one.u[0] == zone.u[0]
        if forward and at_wall and before is not None and one.number == before.number + 1:
            link: tuple[Array, Array] | None = zone.first_row(before.number * step, one.number * step)
        else:
            link = _along_last(zone, before, one, at=0 if forward else -1)
        if link is None:
            if chain:
                yield chain
            chain, forward = [], True
        else:
            chain.append(link)
        run = one if forward else reversed_pass(one)
        chain.append((run.points, run.normals))
        forward = not forward
        before = one
    if chain:
        yield chain


def _along_last(zone: CentreZone, before: CentrePass | None, one: CentrePass, *, at: int) -> tuple[Array, Array] | None:
    """Return the way along a zone's last line from an end of a pass to that of the next, 0 the aft one; None where it
    is none, or long.
    """
    if before is None or one.number != before.number + 1:
        return None
    walled = zone.body.end == "wall"
    if at == 0 and walled and (before.u[0] == zone.u[0] or one.u[0] == zone.u[0]):
        return None
    if one.u[0] < before.u[0] or one.u[-1] > before.u[-1]:
        return None
    line = zone.last_line(float(before.u[at]), float(one.u[at]))
    if float(np.sqrt((np.diff(line.points, axis=0) ** 2).sum(axis=1)).sum()) > LONGEST_LINK_MM:
        return None
    return line.points, line.normals


def _tips(job: CarveJob, face: Face, chain: Chain) -> Array:
    """Return the tip's places along a chain, in the axes of the set-up, lifted over the tabs and thinned."""
    centres = job.placed(np.concatenate([points for points, _ in chain]), face)
    start = job.turned(chain[0][1][:1], face)
    lead = centres[:1] + (job.gantry.allowance_mm + LEAD_IN_MM) * start
    raised = over_tabs(job, face, np.concatenate([lead, centres]), job.finisher.radius_mm)
    down = np.array([0.0, 0.0, job.finisher.radius_mm])
    return np.asarray(thinned(raised, SAG_MM) - down, dtype=np.float64)


def beside_tab_mm(job: CarveJob) -> float:
    """Return how far beside a tab the finishing cutter's side keeps."""
    return job.gantry.allowance_mm + CELL_MM + BESIDE_TAB_MM


def over_tabs(job: CarveJob, face: Face, centres: Array, radius_mm: float) -> Array:
    """Return centres raised over the tabs: inside a tab's ground, grown by the ball and what the roughing leaves beside
    it, never below its top and a radius. The cutter goes straight up before it enters that ground, and straight down
    behind it.
    """
    grown = radius_mm + beside_tab_mm(job)
    floor = np.full(len(centres), -np.inf)
    for low, high, half, top in job.tabs(face):
        inside = (centres[:, 0] >= low - grown) & (centres[:, 0] <= high + grown)
        inside &= np.abs(centres[:, 1]) <= half + grown
        floor[inside] = np.maximum(floor[inside], top + radius_mm)
    low_here = floor > centres[:, 2]
    if not low_here.any():
        return centres
    raised = centres.copy()
    raised[:, 2] = np.maximum(centres[:, 2], floor)
    found = []
    for i in range(len(centres)):
        if i and low_here[i] and not low_here[i - 1]:
            found.append([*centres[i - 1, :2].tolist(), max(float(raised[i, 2]), float(centres[i - 1, 2]))])
        if i and low_here[i - 1] and not low_here[i]:
            found.append([*centres[i, :2].tolist(), max(float(raised[i - 1, 2]), float(centres[i, 2]))])
        found.append(raised[i].tolist())
    return np.array(found)
