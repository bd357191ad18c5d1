"""Every file of a board that is carved: programs with their dry runs, the sheet of the set-up, the report."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any

from bayloft.cutting.carving.centres import step_for
from bayloft.cutting.carving.dowels import hole_in_block_mm, proud_mm
from bayloft.cutting.carving.setup import CarveJob
from bayloft.cutting.carving.walls import notch_left_mm
from bayloft.delivery.carving import CarvedFiles
from bayloft.delivery.deliveries import of_cards
from bayloft.drawing.sheets.carve_sheet import CarveFigures, carve_sheet
from bayloft.findings import Finding
from bayloft.record.figures import figures, report_bytes, rounded
from bayloft.record.heading import FILE_NAME, head, shape_digest
from bayloft.record.report import byte_entries
from bayloft.solid.loft import LoftedBoard

DRY_RUN = "dry-run"


def carve_files(
    shape: LoftedBoard,
    job: CarveJob,
    carved: CarvedFiles,
    warnings: Sequence[Finding],
    version: str,
    date: datetime.date | None,
) -> tuple[dict[str, bytes], dict[str, Any]]:
    """Return the files of the folder by their names, and what its report says."""
    files: dict[str, bytes] = {}
    for stem, each in carved.files.items():
        files |= {f"{stem}.nc": each.cut.encode("ascii"), f"{stem}-{DRY_RUN}.nc": each.air.encode("ascii")}
    told = CarveFigures(
        block=(job.block_from_mm, job.block_to_mm),
        width_mm=job.block_width_mm,
        thickness_mm=job.thickness_mm,
        lift_mm=job.lift_mm,
        dowels=job.dowels_mm,
        dowel_mm=job.gantry.dowel_mm,
        hole_mm=hole_in_block_mm(job),
        tabs=[
            (low, high, half, job.thickness_mm - under, over)
            for (low, high, half, over), (_, _, _, under) in zip(job.tabs("deck"), job.tabs("bottom"), strict=True)
        ],
        facts=_facts(job, carved),
        steps=_steps(job, carved),
    )
    sheet = carve_sheet(shape.draft, told, shape_digest(shape.draft, version), date)
    files |= {each.name: each.content() for each in of_cards(sheet, "sheet", f"{shape.board.name}: on the gantry")}
    said = {**_report(shape, job, carved, warnings, version, date), "files": byte_entries(files)}
    files[FILE_NAME] = report_bytes(said)
    return files, said


def by_hand(job: CarveJob, carved: CarvedFiles) -> list[str]:
    """Return what is finished by hand, in sentences."""
    told = ["Saw off the tabs at nose and tail, and shape what they covered."]
    notch = notch_left_mm(job.body, job.finisher.radius_mm)
    if notch > 0.0:
        told.append(f"Finish the notch by hand: the cutter's side stays {notch:.1f} mm from its root.")
    for proof in carved.faces:
        if proof.by_hand_places:
            x, y = proof.by_hand_at
            told.append(
                f"On the {proof.face} the ball does not reach into hollows tighter than it: up to "
                f"{proof.by_hand_mm:.1f} mm is left, {x:.0f} mm from the tail, {abs(y):.0f} mm off the stringer."
            )
    return told


def _facts(job: CarveJob, carved: CarvedFiles) -> list[tuple[str, str]]:
    gantry, fine, rough = job.gantry, job.finisher, job.rougher
    half = job.block_width_mm / 2.0
    rougher = "" if rough is fine else f"{rough.name} roughs, "
    return [
        (
            "block, at least",
            f"{job.block_length_mm:.0f} × {job.block_width_mm:.0f} × {job.thickness_mm:.1f} mm; its thickness is true "
            "within 0.1 mm: what it is off, the board is off",
        ),
        (
            "board in it",
            f"tail end {-job.held.dowels_mm[0] - job.block_from_mm:.0f} mm from the block's end, "
            f"low point {job.lift_mm:.1f} mm over the bed, deck up",
        ),
        (
            "zero",
            f"x, y: middle of the tail's dowel; z: the bed; block x {job.block_from_mm:.0f} to {job.block_to_mm:.0f}, "
            f"y ±{half:.0f}; the nose towards x+",
        ),
        (
            "dowels",
            f"2 of {gantry.dowel_mm:g} mm, {proud_mm(job) + gantry.dowel_in_bed_mm:.0f} mm long, at x 0 and "
            f"{job.dowels_mm[1]:.1f}: {gantry.dowel_in_bed_mm:g} in the bed, {proud_mm(job):.0f} proud",
        ),
        (
            "cutter",
            f"{rougher}{fine.name} finishes; stands out {gantry.stick_out_mm:g} mm or more of a holder of "
            f"{gantry.holder_mm:g} mm; it needs {max(each.stick_out_mm for each in carved.sequences):.0f}",
        ),
        (
            "feeds",
            f"roughing {job.rough_feed_mm_min:.0f}, finishing {job.finish_feed_mm_min:.0f} mm/min at "
            f"{fine.spindle_rpm:.0f} rpm: a place to start; levels of {gantry.level_mm:g} mm, "
            f"{gantry.allowance_mm:g} mm left for finishing, passes {step_for(fine.radius_mm, gantry.cusp_mm):.2f} mm "
            "apart",
        ),
        (
            "proved",
            "; ".join(
                f"{each.face}: ridges {each.cusp_mm:.2f} mm, cut in {each.gouge_mm:.3f} mm at most, "
                f"at {each.places:,} places"
                for each in carved.faces
            ),
        ),
        ("time", f"{_hours(carved.minutes)} at these feeds, without speeding up and slowing down"),
    ]


def _steps(job: CarveJob, carved: CarvedFiles) -> list[str]:
    named = {
        stem: f"{stem}.nc ({each.minutes:.0f} min)" if each.minutes >= 1.0 else f"{stem}.nc"
        for stem, each in carved.files.items()
    }
    block, bed = (stem for stem in named if "dowels" in stem)
    deck, bottom = ([named[stem] for stem in named if face in stem] for face in ("deck", "bottom"))
    return [
        "Write NOSE on both faces of the block. Clamp it on the bed by its ends and its frame, lower than the cutter "
        "travels.",
        f"{named[block]}: two holes in the block. Then, without moving anything, {' and '.join(deck)}.",
        f"Take the block off; keep the zero. {named[bed]}: two holes in the bed. Drive the dowels in.",
        "Turn the block over about its length, the NOSE still at x+, and press its holes onto the dowels. Bed the deck "
        "on soft off-cuts all along, so that it does not sag or sing. Clamp the ends.",
        f"{' and '.join(bottom)}.",
        *by_hand(job, carved),
    ]


def _hours(minutes: float) -> str:
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def _report(
    shape: LoftedBoard,
    job: CarveJob,
    carved: CarvedFiles,
    warnings: Sequence[Finding],
    version: str,
    date: datetime.date | None,
) -> dict[str, Any]:
    return {
        "format": 1,
        **head(shape, version, date),
        "unit": "mm",
        "axes": "x from the tail's dowel to the nose, z from the bed to the cutter's tip; deck up: y to port",
        "block": {
            "length_mm": rounded(job.block_length_mm),
            "width_mm": rounded(job.block_width_mm),
            "thickness_mm": rounded(job.thickness_mm),
            "tail_end_from_its_end_mm": rounded(-job.held.dowels_mm[0] - job.block_from_mm),
            "flat_plane_over_bed_mm": rounded(job.lift_mm),
        },
        "dowels": {"diameter_mm": job.gantry.dowel_mm, "x_mm": [rounded(x) for x in job.dowels_mm]},
        "cutters": {"roughing": job.rougher.name, "finishing": job.finisher.name},
        "step_mm": figures(step_for(job.finisher.radius_mm, job.gantry.cusp_mm)),
        "programs": [
            {"name": f"{stem}.nc", "does": carved.programs[stem].title, "minutes": figures(each.minutes)}
            for stem, each in carved.files.items()
        ],
        "minutes": figures(carved.minutes),
        "proof": [
            {
                "face": each.face,
                "cusp_asked_mm": job.gantry.cusp_mm,
                "cusp_mm": figures(each.cusp_mm),
                "gouge_mm": figures(each.gouge_mm),
                "places": each.places,
                "finishing_moves_off_surface_mm": figures(abs(each.off_mm)),
                "left_by_hand_mm": figures(each.by_hand_mm),
                "deepest_cut_mm": figures(way.deepest_mm),
                "stick_out_needed_mm": figures(way.stick_out_mm),
            }
            for each, way in zip(carved.faces, carved.sequences, strict=True)
        ],
        "by_hand": by_hand(job, carved),
        "findings": [
            {"code": each.code, "severity": each.severity, "where": each.where, "text": each.text}
            for each in (*warnings, *carved.findings)
        ],
    }
