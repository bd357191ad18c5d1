"""What `carve` does: a board from a block on the maker's own gantry, in programs proved before they are written."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bayloft.build import VERSION, Named, Told, folders_of, loaded, passed, silent
from bayloft.cutting.carving.setup import CarveJob, carve_job
from bayloft.delivery.carve_folder import carve_files
from bayloft.delivery.carving import Progress, carved_files
from bayloft.errors import Fault, SpecError, gathered
from bayloft.record.folder import CARVE, claimed
from bayloft.solid.loft import LoftedBoard
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.shops.shop import Shop
from bayloft.spec.shops.usual_settings import unusual
from bayloft.spec.text.options import typed_mm
from bayloft.tolerances import CHORD_MM

THICKNESS_MM = (20.0, 600.0)
"""mm, a block's least and greatest thickness that can be typed: a slip of unit or digit lies outside."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Carved:
    """What was written: the folder, and what its report says."""

    folder: Path
    report: dict[str, Any]


def typed_thickness(typed: str | None) -> float:
    """Return the block's thickness in mm, 0 where none is typed. Raises SpecError for what is none."""
    return 0.0 if typed is None else typed_mm("--thickness", typed, THICKNESS_MM, "no thickness of a block")


def carve_board(
    spec: Path,
    shop_file: Path,
    out: Named = "out",
    *,
    thickness_mm: float = 0.0,
    date: datetime.date | None = None,
    progress: Progress = silent,
    waits: Told = silent,
) -> Carved:
    """Write the programs that carve a board into the folder `carve` of the board's own in `out`, and return it.

    Parameters
    ----------
    spec : the board's file.
    shop_file : the shop's router, gantry and cutters.
    out : folder for the boards' folders.
    thickness_mm : of the block, as measured; 0: as thin as will do.
    date : written on the sheet; none is if left out.
    progress : called with what is done next.
    waits : called with the board's name if another command has its folder, which is then waited for.

    Raises
    ------
    SpecError, CheckError, OutputError
        A faulty file, or a shop without a gantry; a shape that fails its own checks, a block that does not fit the
        gantry, programs that fail their proof; a place that cannot be written, or is not this board's.
    """
    faults: list[Fault] = []
    with gathered(faults):
        shop = load_shop(shop_file)
        if shop.gantry is None:
            hint = "[gantry], with z_travel, holder_diameter and stick_out"
            fault = shop.source.fault(("gantry",), "", "this shop has no gantry, so no board is carved", hint=hint)
            faults.append(fault)
    with gathered(faults):
        (draft,) = loaded([spec])
    if faults:
        raise SpecError(tuple(faults))
    progress("lofting")
    shape = passed(draft, CHORD_MM)
    job = job_of_shop(shape, shop, thickness_mm)
    carved = carved_files(job, progress)
    files, said = carve_files(shape, job, carved, unusual(shop), VERSION, date)
    with claimed(folders_of([draft], out), waits) as (claim,):
        claim.put_files(CARVE, files)
    return Carved(folder=claim.folder / CARVE, report=said)


def job_of_shop(shape: LoftedBoard, shop: Shop, thickness_mm: float) -> CarveJob:
    """Return the set-ups of a board with a shop that has a gantry. Raises CheckError as `carve_job` does."""
    if shop.gantry is None or shop.machine is None:
        raise ValueError("a shop without a gantry")
    named = {cutter.name: cutter for cutter in shop.cutters}
    rougher, finisher = named[shop.gantry.roughing_cutter], named[shop.gantry.finishing_cutter]
    tools = (shop.machine, shop.gantry, shop.cutting.ramp_deg, rougher, finisher)
    return carve_job(shape.board.name, shape.body, shape.board.length_mm, tools, thickness_mm)
