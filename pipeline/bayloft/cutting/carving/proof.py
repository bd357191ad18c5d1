"""The proof of the programs that carve a board: the block is cut with what is in their files, turned over on the dowels
whose holes are in theirs, and both faces are held against the one surface of the board.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from bayloft.cutting.carving.bounds import HOLE_MM, ReadProgram, failure, holes
from bayloft.cutting.carving.finishing import beside_tab_mm, depths
from bayloft.cutting.carving.relief import WALL_PLACES, outline
from bayloft.cutting.carving.setup import CarveJob, Face
from bayloft.cutting.carving.stock import Cuts3D, StockField
from bayloft.findings import Finding
from bayloft.lines.section_places import APEX
from bayloft.solid.closest import Nearest

if TYPE_CHECKING:
    from shapely import Polygon

Array = NDArray[np.float64]
OnBoard = Callable[[Array], Array]
"""From the axes of a set-up to those of the board."""

NODES_MM = (5.0, 2.0)
"""Along and across the board, how far apart the places are at which the cut block is looked at."""
MOST_NODES = 250_000
SAMPLE_MM = 0.3
GOUGE_MM = 0.02
"""How deep the surface may be cut: a fifth of what a rule shows."""
CUSP_SHARE = 0.1
"""By how much a cusp may be higher than asked."""
OFF_MM = 0.02
"""How far a finishing move may be off the surface that it follows."""
FINISHING_SHARE = 0.6
"""Share of the roughing's allowance within which a finishing move is on the surface, and not on its way there."""
RIM_MM = 0.3
"""Inside and outside of the outline where nothing is looked at: the cutter stands there on its side."""
SEAM_MM = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class FaceProof:
    """What was found on a face, in mm: the highest cusp and the deepest gouge at so many places; how far off moves that
    finish are; what a ball does not reach, at most, where, and at how many places.
    """

    face: Face
    cusp_mm: float
    gouge_mm: float
    places: int
    off_mm: float
    by_hand_mm: float
    by_hand_at: tuple[float, float]
    by_hand_places: int


def dowel_findings(job: CarveJob, block: ReadProgram, bed: ReadProgram, deep: tuple[float, float]) -> Iterator[Finding]:
    """Yield what is wrong with the dowels' holes: "dowels" where they are not two, as wide and deep as asked, or stand
    otherwise in the block than in the bed.
    """
    tops = job.thickness_mm, 0.0
    for read, top, depth in zip((block, bed), tops, deep, strict=True):
        found = holes(read, top)
        wrong = [abs(width - job.gantry.dowel_mm) for _, _, width, _ in found] + [abs(d - depth) for *_, d in found]
        if len(found) != 2 or max(wrong) > HOLE_MM:
            text = "the program does not make two holes as wide and deep as the dowels ask"
            yield failure("dowels", read.program.title, max(wrong, default=0.0), HOLE_MM, text)
            return
    spans = [math.dist(found[0][:2], found[1][:2]) for found in (holes(block, tops[0]), holes(bed, tops[1]))]
    if abs(spans[0] - spans[1]) > HOLE_MM:
        text = "the holes in the bed are not as far apart as those in the block"
        yield failure("dowels", job.name, abs(spans[0] - spans[1]), HOLE_MM, text)


def turned_back(job: CarveJob, points: Array, block: ReadProgram, bed: ReadProgram) -> Array:
    """Return where points (n, 3) of the turned block, on its dowels in the bed, were while its deck lay up: by the
    holes alone that the programs make.
    """
    (a, b), (c, d) = (
        [np.array(hole[:2]) for hole in holes(read, top)] for read, top in ((block, job.thickness_mm), (bed, 0.0))
    )
    along_block, along_bed = (b - a) / math.dist(a, b), (d - c) / math.dist(c, d)
    across_block, across_bed = (np.array([-v[1], v[0]]) for v in (along_block, along_bed))
    off = points[:, :2] - c
    along, across = (off * along_bed).sum(axis=1), (off * across_bed).sum(axis=1)
    plan = a + along[:, None] * along_block - across[:, None] * across_block
    return np.column_stack([plan, job.thickness_mm - points[:, 2]])


def cut_face(job: CarveJob, programs: Sequence[tuple[Cuts3D, ReadProgram]]) -> StockField:
    """Return the block as the programs of one set-up leave it."""
    step_x, step_y = NODES_MM
    more = math.sqrt(max(job.block_length_mm * job.block_width_mm / (step_x * step_y) / MOST_NODES, 1.0))
    x = np.arange(job.block_from_mm, job.block_to_mm, step_x * more)
    half = job.block_width_mm / 2.0
    field = StockField(x, np.arange(-half, half, step_y * more), job.thickness_mm)
    for cuts, read in programs:
        field.run(cuts, read.program.cutter, SAMPLE_MM)
    return field


def proved_face(
    job: CarveJob,
    face: Face,
    programs: Sequence[tuple[Cuts3D, ReadProgram]],
    dowels: tuple[ReadProgram, ReadProgram],
) -> tuple[FaceProof, tuple[Finding, ...]]:
    """Return what the programs of a set-up make of a face, and what is wrong with it: "cusp", "gouged", "off-surface",
    "left-beside" (the board is not cut free at its outline), "tab-cut".
    """
    import shapely  # noqa: PLC0415

    nearest = Nearest(job.body)

    def on_board(points: Array) -> Array:
        lying = turned_back(job, points, *dowels) if face == "bottom" else points
        return job.taken_back(lying, "deck")

    field = cut_face(job, programs)
    x, y = (grid.ravel() for grid in np.meshgrid(field.x, field.y, indexing="ij"))
    nodes = np.column_stack([x, y, field.heights.ravel()])
    half = outline(job, face)
    ground = shapely.Polygon(np.concatenate([half, half[::-1] * np.array([1.0, -1.0, 1.0])])[:, :2]).buffer(0)
    inside = shapely.contains_xy(ground.buffer(-RIM_MM), x, y)
    held = _by_tabs(job, face, nodes)
    over = nodes[inside]
    outside_mm = -depths(nearest, on_board(over))
    finished = ~held[inside]
    limit = job.gantry.cusp_mm * (1.0 + CUSP_SHARE)
    high = np.flatnonzero((outside_mm > limit) & finished)
    hand = high[_unreached(job, nearest, on_board(over[high]), outside_mm[high])]
    judged = finished.copy()
    judged[hand] = False
    at = over[hand[int(np.argmax(outside_mm[hand]))]] if len(hand) else np.zeros(3)
    place = on_board(at[None])[0] if len(hand) else at
    off, off_line = _off_surface(job, nearest, face, programs, on_board)
    proof = FaceProof(
        face=face,
        cusp_mm=float(outside_mm[judged].max(initial=0.0)),
        gouge_mm=float(-outside_mm.min(initial=0.0)),
        places=int(judged.sum()),
        off_mm=off,
        by_hand_mm=float(outside_mm[hand].max(initial=0.0)),
        by_hand_at=(float(place[0]), float(place[1])),
        by_hand_places=len(hand),
    )
    findings = [
        *_judged(job, face, proof, over, on_board, (outside_mm, judged), (off, off_line)),
        *_left_beside(job, face, nodes[~inside & ~held], ground),
        *_cut_tabs(job, face, nodes),
    ]
    return proof, tuple(findings)


def _by_tabs(job: CarveJob, face: Face, nodes: Array, more_mm: float = 0.0) -> NDArray[np.bool_]:
    """Return which nodes are not finished for a tab beside them: the ball keeps off it, and leaves as much again, or
    more by the wall of a notch.
    """
    grown = 2.0 * job.finisher.radius_mm + beside_tab_mm(job) + 2.0 + more_mm
    near = np.zeros(len(nodes), dtype=np.bool_)
    for low, high, half, _ in job.tabs(face):
        near |= (nodes[:, 0] > low - grown) & (nodes[:, 0] < high + grown) & (np.abs(nodes[:, 1]) < half + grown)
    return near


def _unreached(job: CarveJob, nearest: Nearest, points: Array, outside_mm: Array) -> NDArray[np.bool_]:
    """Return at which points over the surface a ball that touches it below them would cut into it elsewhere."""
    if not len(points):
        return np.zeros(0, dtype=np.bool_)
    feet = nearest.feet(points)
    centres = feet.points - job.finisher.radius_mm * feet.inward
    return (depths(nearest, centres) + job.finisher.radius_mm > GOUGE_MM) & (outside_mm < job.finisher.radius_mm)


def _off_surface(
    job: CarveJob,
    nearest: Nearest,
    face: Face,
    programs: Sequence[tuple[Cuts3D, ReadProgram]],
    on_board: OnBoard,
) -> tuple[float, int]:
    """Return how far off the surface a move of a ball is at most that finishes, at its ends and its middle, signed: in
    it below 0; and the move's line.
    """
    worst, line = 0.0, 0
    for cuts, read in programs:
        if read.program.cutter.kind != "ball":
            continue
        radius = read.program.cutter.radius_mm
        tips = np.concatenate([cuts.end, (cuts.start + cuts.end) / 2.0])
        lines = np.concatenate([cuts.line, cuts.line])
        low = (tips[:, 2] < job.thickness_mm) & ~np.concatenate([cuts.rapid, cuts.rapid])
        low &= ~_by_tabs(job, face, tips)
        centres = tips[low] + np.array([0.0, 0.0, radius])
        off = -depths(nearest, on_board(centres)) - radius
        finishes = (lines[low] >= read.finishing_line) & (read.finishing_line > 0)
        # What begins and ends a cut is further off; nothing may be in the surface.
        judged = (off < 0.0) | (finishes & (off < FINISHING_SHARE * job.gantry.allowance_mm))
        if judged.any():
            at = int(np.argmax(np.where(judged, np.abs(off), 0.0)))
            if abs(off[at]) > abs(worst):
                worst, line = float(off[at]), int(lines[low][at])
    return worst, line


def _judged(
    job: CarveJob,
    face: Face,
    proof: FaceProof,
    over: Array,
    on_board: OnBoard,
    measured: tuple[Array, NDArray[np.bool_]],
    off: tuple[float, int],
) -> Iterator[Finding]:
    outside_mm, judged = measured
    where = f"{job.name}: {face} up"
    highest = int(np.argmax(np.where(judged, outside_mm, -np.inf)))
    deepest = int(np.argmin(outside_mm))
    places = on_board(over[[highest, deepest]])
    limit = job.gantry.cusp_mm * (1.0 + CUSP_SHARE)
    rules = (
        ("cusp", proof.cusp_mm, limit, f"{proof.cusp_mm:.3f} mm of foam is left at most", places[0]),
        ("gouged", proof.gouge_mm, GOUGE_MM, f"the surface is cut {proof.gouge_mm:.3f} mm deep at most", places[1]),
    )
    for code, value, most, text, (x, y, _) in rules:
        yield Finding(
            code=code,
            severity="note" if value <= most else "failure",
            where=where,
            measured=value,
            limit=most,
            unit="mm",
            text=f"{text}, {x:.0f} mm from the tail, {abs(y):.0f} mm off the stringer",
        )
    yield Finding(
        code="off-surface",
        severity="note" if abs(off[0]) <= OFF_MM else "failure",
        where=where,
        measured=abs(off[0]),
        limit=OFF_MM,
        unit="mm",
        text=f"line {off[1]}: the ball is {abs(off[0]):.3f} mm {'in' if off[0] < 0.0 else 'off'} the surface",
    )


def _left_beside(job: CarveJob, face: Face, nodes: Array, ground: Polygon) -> Iterator[Finding]:
    """Yield "left-beside" where foam stands beside the outline above the height at which both set-ups meet."""
    import shapely  # noqa: PLC0415

    reach = job.finisher.radius_mm - RIM_MM
    nodes = nodes[~_by_tabs(job, face, nodes, 2.0 * job.finisher.radius_mm)]
    ring = shapely.contains_xy(ground.buffer(reach), nodes[:, 0], nodes[:, 1])
    ring &= ~shapely.contains_xy(ground.buffer(RIM_MM), nodes[:, 0], nodes[:, 1])
    # In the root of a notch, where the cutter does not come, a ring has no width.
    filled = ground.buffer(2.0 * reach).buffer(-2.0 * reach)
    ring &= ~shapely.contains_xy(filled.difference(ground).buffer(RIM_MM), nodes[:, 0], nodes[:, 1])
    beside = nodes[ring]
    if not len(beside):
        return
    half = outline(job, face)
    corner = job.placed(job.body.port.at(0.0, APEX)[None], face)[0]
    seams = half[:, 2].copy()
    if job.body.end == "wall":
        # A wall is cut down to the height of its corners.
        seams[:WALL_PLACES] = corner[2]
    seam = seams[KDTree(half[:, :2]).query(np.column_stack([beside[:, 0], np.abs(beside[:, 1])]))[1]]
    left = beside[:, 2] - seam
    at = int(np.argmax(left))
    if left[at] > SEAM_MM:
        x, y, _ = beside[at].tolist()
        text = f"beside the outline foam stands {left[at]:.2f} mm too high, at x {x:.1f}, y {y:.1f}"
        yield failure("left-beside", f"{job.name}: {face} up", float(left[at]), SEAM_MM, text)


def _cut_tabs(job: CarveJob, face: Face, nodes: Array) -> Iterator[Finding]:
    """Yield the tabs that do not stand up to their height."""
    for low, high, half, top in job.tabs(face):
        own = (nodes[:, 0] > low) & (nodes[:, 0] < high) & (np.abs(nodes[:, 1]) < half)
        own &= (nodes[:, 0] < job.placed(np.zeros(3), face)[0]) | (
            nodes[:, 0] > job.placed(np.array([job.length_mm, 0.0, 0.0]), face)[0]
        )
        short = top - nodes[own, 2]
        if len(short) and short.max() > GOUGE_MM:
            text = f"a tab is cut {short.max():.2f} mm too low, at x {nodes[own, 0][int(np.argmax(short))]:.1f}"
            yield failure("tab-cut", f"{job.name}: {face} up", float(short.max()), GOUGE_MM, text)
