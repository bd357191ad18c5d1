"""The programs that carve a board, in the order in which they are run, before they are written."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.cutting.carving.dowels import dowel_holes, hole_in_block_mm
from bayloft.cutting.carving.finishing import finishing_paths
from bayloft.cutting.carving.paths import CarveProgram, TipPath, moves_of
from bayloft.cutting.carving.relief import ground
from bayloft.cutting.carving.roughing import roughing_paths
from bayloft.cutting.carving.setup import CarveJob, Face
from bayloft.cutting.carving.walls import wall_paths
from bayloft.cutting.routing.moves import Move
from bayloft.spec.shops.shop import Cutter

DOWELS, BED = "1-block-dowels", "3-bed-dowels"
FIRST = {"deck": "2-deck", "bottom": "4-bottom"}

ZERO = ("zero x0 y0 in the middle of the dowel at the tail, z0 on the bed", "z is that of the tip of the cutter")


def dowel_program(job: CarveJob, *, in_bed: bool) -> CarveProgram:
    """Return the program of the dowels' holes in the block, lying deck up, or in the bed."""
    if in_bed:
        title, top, depth = "dowels in the bed, block off the bed", 0.0, job.gantry.dowel_in_bed_mm
        lowest = -depth
    else:
        title, top, depth = "dowels in the block, deck up", job.thickness_mm, hole_in_block_mm(job)
        lowest = top - depth
    return CarveProgram(
        stem=BED if in_bed else DOWELS,
        title=f"{job.name}: {title}",
        notes=(*_notes(job), f"holes {job.gantry.dowel_mm:g} mm wide, {depth:g} mm deep"),
        cutter=job.rougher,
        safe_mm=job.safe_mm,
        lowest_mm=lowest,
        stages=dowel_holes(job, top, depth),
    )


def face_programs(job: CarveJob, face: Face) -> list[CarveProgram]:
    """Return the programs that rough and finish a face: one, or two where the cutter changes."""
    rough = list(roughing_paths(job, ground(job, face)))
    fine = [*wall_paths(job, face), *finishing_paths(job, face)]
    stem = FIRST[face]
    if job.rougher is job.finisher:
        stages = [*_stages(job, rough, job.rough_feed_mm_min), *_stages(job, fine, job.finish_feed_mm_min)]
        return [_face_program(job, face, stem, job.finisher, stages)]
    return [
        _face_program(job, face, f"{stem}-rough", job.rougher, _stages(job, rough, job.rough_feed_mm_min)),
        _face_program(job, face, f"{stem}-finish", job.finisher, _stages(job, fine, job.finish_feed_mm_min)),
    ]


def _notes(job: CarveJob) -> tuple[str, ...]:
    return (
        *ZERO,
        f"block {job.block_length_mm:.0f} x {job.block_width_mm:.0f} x {job.thickness_mm:.1f} mm, nose to x+",
    )


def _face_program(
    job: CarveJob, face: Face, stem: str, cutter: Cutter, stages: Sequence[tuple[str, Sequence[Move]]]
) -> CarveProgram:
    turned = ("set-up turned over about the stringer, NOSE STILL TO X+, on the dowels",) if face == "bottom" else ()
    return CarveProgram(
        stem=stem,
        title=f"{job.name}: {face} up",
        notes=(*_notes(job), *turned),
        cutter=cutter,
        safe_mm=job.safe_mm,
        lowest_mm=0.0,
        stages=stages,
    )


def _stages(job: CarveJob, paths: Sequence[TipPath], feed: float) -> list[tuple[str, Sequence[Move]]]:
    """Return paths as stages: those that do the same, one after the other, are one."""
    found: list[tuple[str, list[Move]]] = []
    for path in paths:
        if not found or found[-1][0] != path.what:
            found.append((path.what, []))
        found[-1][1].extend(moves_of(path, feed, job.safe_mm))
    return [(name, moves) for name, moves in found]
