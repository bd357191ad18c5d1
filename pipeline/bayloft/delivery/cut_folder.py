"""Every file of a board's cuts: prints on the shop's paper, sheets, programs, the cut list."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bayloft.cutting.sheets.sheet_drawings import router_drawing, sheet_page
from bayloft.delivery.board_files import PLANK_LAYOUT, layout_drawing, placing_drawings
from bayloft.drawing.pages.tiles import paper_pages
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.title_block import dated
from bayloft.export import dxf, pdf, svg
from bayloft.record import cut_list
from bayloft.record.cut_list import CutJob
from bayloft.solid.loft import LoftedBoard
from bayloft.spec.shops.shop import Paper, Shop
from bayloft.spec.text.naming import slug_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Cuts:
    """What goes into a folder of cuts: the parts, those left out that a maker would ask for, the sheets if the shop
    has any, and whether what has no number of its own goes with them: what finds the fins' places, and the layout of
    a new stringer's plank.
    """

    parts: Sequence[Part]
    left_out: Sequence[Part]
    job: CutJob | None
    unnumbered: bool


def write(
    shape: LoftedBoard, shop: Shop, cuts: Cuts, folder: Path, version: str, date: datetime.date | None
) -> dict[str, Any]:
    """Write every file of a board's cuts into an empty folder and return the cut list; `date` is on every drawing."""
    board = shape.board
    drawings = {f"{part.number:03d}-{slug_of(part.title)}": part.drawing for part in cuts.parts}
    if cuts.unnumbered:
        drawings |= placing_drawings(shape, date)
        layout = layout_drawing(shape.draft, date)
        drawings |= {} if layout is None else {PLANK_LAYOUT: layout}
    _write_prints(drawings, board.name, shop.paper, folder / "prints", date)
    if cuts.job is not None:
        _write_job(cuts.job, shape, folder)
    return cut_list.write(shape, shop, cuts.job, cuts.left_out, folder, version, date)


def _write_prints(
    drawings: Mapping[str, Drawing], name: str, paper: Paper, folder: Path, date: datetime.date | None
) -> None:
    """Write drawings, by the name of the file, at full size on pages of the shop's paper."""
    folder.mkdir()
    for stem, drawing in drawings.items():
        title = dated(f"{name}: {stem.replace('-', ' ')}", date)
        pages = paper_pages(drawing, paper, title=title)
        pdf.write(pages, folder / f"{stem}.pdf", title=title, margin_mm=paper.margin_mm)


def _write_job(job: CutJob, shape: LoftedBoard, folder: Path) -> None:
    """Write the drawings and the programs of all sheets."""
    for sheet in job.layout.sheets:
        name = f"sheet-{sheet.number}"
        dxf.write(router_drawing(sheet, f"{shape.board.slug}-{name}"), folder / f"{name}.dxf")
        svg.write(sheet_page(sheet, job.layout, shape.board.name), folder / f"{name}.svg", style="sheet")
    for program in job.programs:
        program.files.write(folder, program.name)
