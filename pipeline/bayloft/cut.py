"""From lofted boards to what a shop cuts them from: parts on sheets, a cut list, files for the router."""

from __future__ import annotations

from collections.abc import Iterable
from functools import partial
from pathlib import Path
from typing import Any

from bayloft.build import VERSION, Built, Told, checked_tolerance, each, loaded, passed, silent, specs_in
from bayloft.cutting.choice import chosen
from bayloft.cutting.layout import CutSheet, Layout
from bayloft.cutting.layout_checks import layout_findings
from bayloft.cutting.nesting import NoRoomError, nested
from bayloft.cutting.sheet_drawings import router_drawing, sheet_page
from bayloft.drawing.fin_template import fin_template
from bayloft.drawing.half_outline import half_outline
from bayloft.drawing.part import Part
from bayloft.errors import Fault, SpecError
from bayloft.export import dxf, svg
from bayloft.findings import CheckError
from bayloft.record import cut_list
from bayloft.record.folder import replacing
from bayloft.solid.loft import LoftedBoard
from bayloft.spec.board import Board
from bayloft.spec.shop import Cutter, Shop, Stock
from bayloft.spec.shop_loading import load_shop
from bayloft.tolerances import CHORD_MM

FOLDER = "cut"
"""Beside a board's other files."""


def parts_of(shape: LoftedBoard) -> tuple[Part, ...]:
    """Return the parts that a board's templates are cut as."""
    board = shape.board
    half = half_outline(board, shape.lines, shape.body)
    parts = [Part(drawing=half, title="half outline", number=1, along_grain=True)]
    for number, fin in enumerate(shape.fins, 2):
        template = fin_template(fin.fin, fin.lines, fin.body)
        parts.append(Part(drawing=template, title=fin.fin.name, number=number))
    return tuple(parts)


def _layout(board: Board, parts: tuple[Part, ...], shop: Shop, stock: tuple[Stock, ...], cutter: Cutter) -> Layout:
    try:
        return nested(parts, stock, cutter, shop.cutting)
    except NoRoomError as error:
        raise NoRoomError(tuple(f"{board.name}: {reason}" for reason in error.reasons)) from None


def _write_sheet(sheet: CutSheet, layout: Layout, board: Board, folder: Path) -> None:
    """Write the files of one sheet into a folder."""
    name = f"sheet-{sheet.number}"
    dxf.write(router_drawing(sheet, f"{board.slug}-{name}"), folder / f"{name}.dxf")
    svg.write(sheet_page(sheet, layout, board.name), folder / f"{name}.svg", style="sheet")


def _cut_one(
    board: Board, *, shop: Shop, stock: tuple[Stock, ...], cutter: Cutter, out: Path, tolerance_mm: float
) -> Built:
    parts = parts_of(passed(board, tolerance_mm))
    layout = _layout(board, parts, shop, stock, cutter)
    findings = layout_findings(layout, parts)
    failures = tuple(finding for finding in findings if not finding.passed)
    if failures:
        raise CheckError(f"{board.name} on its sheets", failures)
    folder = out / board.slug / FOLDER
    with replacing(folder) as place:
        for sheet in layout.sheets:
            _write_sheet(sheet, layout, board, place)
        said: dict[str, Any] = cut_list.write(board, shop, layout, findings, place, VERSION)
    return Built(report=said, folder=folder)


def cut_boards(
    places: Iterable[Path],
    shop_file: Path,
    out: Path = Path("out"),
    *,
    stock: str | None = None,
    cutter: str | None = None,
    tolerance_mm: float = CHORD_MM,
    jobs: int = 1,
    told: Told = silent,
) -> tuple[Built, ...]:
    """Lay the parts of boards on a shop's sheets, write what they are cut with into the folder `cut` of each board's
    folder in `out`, and return the cut lists.

    All specs and the shop file are read first, and nothing is written if one has a fault.

    Parameters
    ----------
    places : spec files, or folders of them.
    shop_file : the shop's stock, cutters and router.
    out : folder for the boards' folders.
    stock, cutter : names of those to use; else the first cutter, and all stock as thick as the first.
    tolerance_mm : chord tolerance in mm at which the boards are checked, within CHORD_RANGE_MM.
    jobs : boards worked on at once, each in a process of its own.
    told : called with each board's name as it is done.

    Raises
    ------
    SpecError, NoRoomError, CheckError, OutputError
        A faulty spec or shop file, or a shop that cannot cut; parts that no sheet has room for; a shape or a layout
        that fails its own checks; a place that cannot be written.
    """
    boards, shop = _read(tuple(places), shop_file)
    sheets, tool = chosen(shop, stock, cutter)
    work = partial(
        _cut_one, shop=shop, stock=sheets, cutter=tool, out=out, tolerance_mm=checked_tolerance(tolerance_mm)
    )
    return each(work, boards, jobs, told)


def _read(places: tuple[Path, ...], shop_file: Path) -> tuple[tuple[Board, ...], Shop]:
    """Return the boards and the shop, or raise SpecError with the faults of all files."""
    faults: list[Fault] = []
    try:
        shop = load_shop(shop_file)
    except SpecError as error:
        faults += error.faults
    try:
        boards = loaded(specs_in(places))
    except SpecError as error:
        faults += error.faults
    if faults:
        raise SpecError(tuple(faults))
    return boards, shop
