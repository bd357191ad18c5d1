"""From lofted boards to what a shop cuts them from: parts on sheets, a cut list, files for the router."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import chain
from math import inf, pi, sqrt
from pathlib import Path
from typing import Any

from bayloft.build import (
    VERSION,
    Built,
    Named,
    Renewed,
    Seconds,
    Told,
    folders_of,
    loaded,
    passed,
    silent,
    specs_in,
    timed,
)
from bayloft.cutting.joining.fitting import laid_out
from bayloft.cutting.routing.remedies import remedies
from bayloft.cutting.routing.tasks import OPERATIONS, Operation
from bayloft.cutting.sheets.choice import ALL, Wanted, chosen, chosen_parts
from bayloft.cutting.sheets.layout import CutSheet, Layout
from bayloft.cutting.sheets.layout_checks import layout_findings
from bayloft.delivery import board_files, cut_folder
from bayloft.delivery.programs import cut_files
from bayloft.drawing.part import Part
from bayloft.drawing.strokes import scribable
from bayloft.drawing.templates.part_set import part_set
from bayloft.errors import Fault, SpecError, gathered
from bayloft.findings import CheckError, Finding
from bayloft.record.cut_list import CutJob, SheetProgram
from bayloft.record.folder import CUT, claimed
from bayloft.record.heading import Written, shape_digest
from bayloft.record.whole import writing
from bayloft.solid.draft import Draft
from bayloft.spec.boards.board import Board
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.shops.shop import Cutter, Machine, Shop, Stock
from bayloft.spec.shops.usual_settings import unusual
from bayloft.tolerances import CHORD_MM, DRILLED_MM, SCRIBE_MM, SCRIBE_WIDEST_MM
from bayloft.workers import Workers, spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Tools:
    """What parts are cut with."""

    stock: tuple[Stock, ...]
    cutter: Cutter
    machine: Machine


def _laid_out(board: Board, parts: Sequence[Part], shop: Shop, tools: Tools) -> tuple[Layout, tuple[Finding, ...]]:
    """Return the parts on sheets, those too large for one in pieces, and what was checked on the layout."""
    layout, pieces = laid_out(parts, tools.stock, tools.cutter, shop.cutting)
    findings = layout_findings(layout, pieces)
    failures = tuple(finding for finding in findings if not finding.passed)
    if failures:
        raise CheckError(f"{board.name} on its sheets", failures)
    return layout, findings


def _tooled(sheet: CutSheet, shop: Shop, main: Cutter) -> dict[Cutter, list[Operation]]:
    """Return which cutter does what on a sheet, finer ones first: the one asked for does all that it can. Marks take
    one that is fine enough to scribe; holes one that goes into the narrowest and through the stock, or are left out
    where the shop has none.
    """
    through = sheet.stock.thickness_mm + shop.cutting.below_mm
    widest = {"scribe": SCRIBE_WIDEST_MM, "drill": _narrowest_mm(sheet) + DRILLED_MM, "cut": inf}
    tooled: dict[Cutter, list[Operation]] = {}
    for operation in OPERATIONS:
        deep = SCRIBE_MM if operation == "scribe" else through
        fine = (each for each in (main, *shop.straight) if each.diameter_mm <= widest[operation])
        able = [each for each in fine if each.depth_mm >= deep]
        if able or operation == "scribe":
            tooled.setdefault(able[0] if able else main, []).append(operation)
    return tooled


def _narrowest_mm(sheet: CutSheet) -> float:
    """Return the diameter of the narrowest hole on a sheet; infinite without holes."""
    areas = (abs(hole.area_mm2) for each in sheet.placed for hole in each.part.holes)
    return min((2 * sqrt(area / pi) for area in areas), default=inf)


def _holes_left(sheet: CutSheet, board: Board, main: Cutter) -> Finding:
    holes, narrowest = sum(len(each.part.holes) for each in sheet.placed), _narrowest_mm(sheet)
    return Finding(
        code="holes-left",
        severity="warning",
        where=f"{board.name} sheet {sheet.number}",
        measured=main.diameter_mm,
        limit=narrowest,
        unit="mm",
        text=f"{holes} holes are left to drill by hand, {narrowest:.1f} mm and up: no cutter of this shop goes in",
    )


def _name_unwritten(board: Board) -> tuple[Finding, ...]:
    """Return the warning that the router has no letters for a board's name, if so."""
    lacking = scribable(board.name).count("?")
    text = f"{lacking} letters of the name {board.name} are scribed as ?: write the name on the parts by hand"
    found = Finding(
        code="name-not-scribed",
        severity="warning",
        where=board.name,
        measured=lacking,
        limit=0,
        unit="letters",
        text=text,
    )
    return (found,) if lacking else ()


def _programs(
    layout: Layout, board: Board, shop: Shop, tools: Tools
) -> tuple[tuple[SheetProgram, ...], tuple[Finding, ...]]:
    """Return the proved G-code of each sheet, and warnings; what keeps any sheet from being cut, of all together."""
    made: list[SheetProgram] = []
    failures: list[Finding] = []
    warnings: list[Finding] = []
    for sheet in layout.sheets:
        placed = [replace(each.part.drawing, name=each.name) for each in sheet.placed]
        tooled = _tooled(sheet, shop, tools.cutter)
        if "drill" not in chain.from_iterable(tooled.values()):
            warnings.append(_holes_left(sheet, board, tools.cutter))
        for cutter, operations in tooled.items():
            stem = "-".join([f"sheet-{sheet.number}", *(operations if len(tooled) > 1 else ())])
            name = f"{board.name} {stem}"
            try:
                files = cut_files(name, placed, sheet.stock, cutter, tools.machine, shop.cutting, operations)
            except CheckError as error:
                failures += error.findings
            else:
                made.append(SheetProgram(name=stem, cutter=cutter, files=files))
    if failures:
        hint = remedies(failures, layout, shop, tools.machine)
        raise CheckError(f"{board.name} on its sheets", tuple(failures), hint)
    return tuple(made), tuple(warnings)


def _cut_one(
    draft: Draft,
    folder: Path,
    new: Path,
    there: Written | None,
    *,
    shop: Shop,
    tools: Tools | None,
    wanted: Wanted,
    date: datetime.date | None,
) -> tuple[dict[str, Any], Renewed, Seconds]:
    """Write a board's cuts into the folder `cut` of a new one, and return the cut list; and the templates into the new
    folder if those that are `there` are of another shape or day, as is told: no folder holds two; and how long each
    stage took.
    """
    seconds: dict[str, float] = {}
    with timed(seconds, "loft and checks"):
        board, shape = draft.board, passed(draft, (there and there.tolerance_mm) or CHORD_MM)
    alike = there is not None and there.shape_sha256 == shape_digest(shape.draft, VERSION)
    day = there.date if there and alike and date is None else date
    renewed: Renewed = "" if there is None or (alike and there.date == day) else "day" if alike else "shape"
    whole = part_set(shape.draft, shape.cut_fins, date=day)
    parts = chosen_parts(whole, wanted, board.name)
    job: CutJob | None = None
    if tools is not None:
        with timed(seconds, "sheets"):
            layout, findings = _laid_out(board, parts, shop, tools)
        with timed(seconds, "programs and their proof"):
            programs, warnings = _programs(layout, board, shop, tools)
        warnings = (*unusual(shop), *warnings, *_name_unwritten(board))
        job = CutJob(layout=layout, findings=(*findings, *warnings), programs=programs)
    with timed(seconds, "drawings and files"), writing(folder):
        if renewed:
            board_files.write(shape, new, VERSION, day)
        place = new / CUT
        place.mkdir()
        # Of parts picked out by number nobody asks where the others are.
        left_out = [part for part in whole if part.on_request] if wanted.parts is None else []
        cuts = cut_folder.Cuts(parts=parts, left_out=left_out, job=job, unnumbered=wanted.whole_set)
        said = cut_folder.write(shape, shop, cuts, place, VERSION, day)
    return said, renewed, seconds


def cut_boards(
    places: Named | Iterable[Named],
    shop_file: Named,
    out: Named = "out",
    *,
    wanted: Wanted = ALL,
    jobs: Workers = 1,
    date: datetime.date | None = None,
    told: Told = silent,
    waits: Told = silent,
) -> tuple[Built, ...]:
    """Lay the templates of boards on a shop's sheets, write what they are cut with into the folder `cut` of each
    board's folder in `out`, and return the cut lists. A shop without stock, cutters and router has full-size prints
    only.

    All specs and the shop file are read first, and nothing is written if one has a fault. Where the board's folder
    holds templates of another shape or another day, they are made anew with the cuts, as fine as they were.

    Parameters
    ----------
    places : spec files, or folders of them.
    shop_file : the shop's stock, cutters and router.
    out : folder for the boards' folders.
    wanted : which stock, cutter and parts; see cutting/sheets/choice.py.
    jobs : as for `build_boards`.
    date : written on every part, print and sheet; by default the day of the templates that are there, or none.
    told : called with each board's name as it is done.
    waits : called with a board's name if another command has its folder, which is then waited for.

    Raises
    ------
    SpecError, NoRoomError, CheckError, OutputError, WorkerError
        A faulty spec or shop file, or a shop that cannot cut; parts that no sheet has room for; a shape or a layout
        that fails its own checks; a place that cannot be written, or is not this board's; a process that was ended from
        outside.
    """
    drafts, shop = _read(places, shop_file)
    tools = None
    if shop.machine is not None or wanted.stock is not None or wanted.cutter is not None:
        sheets, tool, machine = chosen(shop, wanted)
        tools = Tools(stock=sheets, cutter=tool, machine=machine)
    work = partial(_cut_one, shop=shop, tools=tools, wanted=wanted, date=date)
    done = []
    with claimed(folders_of(drafts, out), waits) as claims, spread(jobs, len(drafts)) as mapped:
        columns = zip(*((claim.folder, claim.new, claim.written) for claim in claims), strict=True)
        for claim, (said, renewed, seconds) in zip(claims, mapped(work, drafts, *columns), strict=True):
            claim.put("" if renewed else CUT)
            done.append(Built(report=said, folder=claim.folder / CUT, renewed=renewed, seconds=seconds))
            told(claim.name)
    return tuple(done)


def _read(places: Named | Iterable[Named], shop_file: Named) -> tuple[tuple[Draft, ...], Shop]:
    """Return the boards, drafted, and the shop, or raise SpecError with the faults of all files."""
    faults: list[Fault] = []
    with gathered(faults):
        shop = load_shop(shop_file)
    with gathered(faults):
        drafts = loaded(specs_in(places))
    if faults:
        raise SpecError(tuple(faults))
    return drafts, shop
