"""Every file of a board: templates, sheets, solids, each in the formats that it is used in."""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.board_sheet import board_sheet
from bayloft.drawing.sheets.layup_sheet import layup_sheet
from bayloft.drawing.sheets.picture import picture
from bayloft.drawing.sheets.rail_sheet import rail_sheet
from bayloft.drawing.sheets.tail_sheet import tail_sheet
from bayloft.drawing.templates.fin_gauges import fin_gauges
from bayloft.drawing.templates.fin_marks import fin_marks
from bayloft.drawing.templates.fin_slots import fin_slots
from bayloft.drawing.templates.part_set import FINS, drawn_together, part_set
from bayloft.errors import Fault
from bayloft.export import dxf, pdf, stl, svg
from bayloft.laminating.layup import fin_layup
from bayloft.record import report
from bayloft.solid.assembly import Assembly
from bayloft.solid.loft import LoftedBoard
from bayloft.spec.boards.board import Board

TAIL = "tail"
"""The sheet of the tail, beside the files of the fins."""

FIN_FILES = ("", "-cut", "-gauges", "-gauges-cut", "-layup")
"""What follows a fin's name in the names of its files."""


def name_faults(board: Board) -> tuple[Fault, ...]:
    """Return a fault for each fin that has files of its own called like another's, or like the board's."""
    taken = dict.fromkeys((board.slug, f"{board.slug}-with-fins", TAIL), "the board")
    faults, first = [], {placement.fin.slug: placement.path for placement in reversed(board.fins)}
    for fin in {placement.fin.slug: placement.fin for placement in board.fins}.values():
        cuts = (fin.slug, *(f"{fin.slug}-at-{n}" for n in range(1, len(board.fins) + 1)))
        names = [f"{cut}{end}" for cut in cuts for end in FIN_FILES]
        if twin := next((name for name in names if name in taken), None):
            problem = f"a file of this fin and one of {taken[twin]} would both be called {twin}"
            key = (*first[fin.slug], "fin")
            faults.append(board.source.fault(key, fin.name, problem, hint="give the fin another name"))
        taken |= dict.fromkeys(names, f'the fin "{fin.name}"')
    return tuple(faults)


def write(shape: LoftedBoard, folder: Path, version: str, date: datetime.date | None = None) -> dict[str, Any]:
    """Write every file of a board into an empty folder and return its report; `date` is written on every drawing.

    Raises ExportError for a drawing that must not reach a machine, OSError where a file cannot be written.
    """
    board, exact = shape.board, shape.exact
    for name in ("templates", "fins", "solids"):
        (folder / name).mkdir()
    parts = part_set(board, shape.lines, shape.body, shape.cut_fins, date=date)
    drawings = drawn_together(parts)
    for kind, drawing in drawings.items():
        _write_template(drawing, folder / "templates" / kind)
    dxf.write(drawings["half-outline"], folder / "templates" / "half-outline-r12-mm.dxf", version="R12")
    stl.write(shape.checked.mesh, folder / "solids" / f"{board.slug}.stl", name=board.name)
    if shape.with_fins is not None:
        _write_fins(shape, shape.with_fins, [part.drawing for part in parts if part.kind == FINS], folder, date)
    sheet = board_sheet(board, shape.lines, shape.body, exact.volume_mm3, exact.area_mm2, shape.findings, date)
    _write_sheet(sheet, folder / "drawing", f"{board.name}: drawing")
    _write_sheet(rail_sheet(board, shape.body, date), folder / "rails", f"{board.name}: rails")
    svg.write(board_picture(shape), folder / "picture.svg", style="sheet")
    return report.write(shape, folder, version, date)


def board_picture(shape: LoftedBoard) -> Drawing:
    """Return the picture of a board with its fins where they stand."""
    bodies = {fin.fin.slug: fin.body for fin in shape.fins}
    stands = () if shape.with_fins is None else shape.with_fins.stands
    return picture(shape.board, shape.lines, shape.body, [(each, bodies[each.placement.fin.slug]) for each in stands])


def _write_fins(
    shape: LoftedBoard,
    with_fins: Assembly,
    cut_templates: Sequence[Drawing],
    folder: Path,
    date: datetime.date | None,
) -> None:
    """Write what the fins need: layup sheets, cut templates (given in the order of the cuts), gauges and solids, marks,
    slots, the tail sheet.
    """
    board, lines, body, stands = shape.board, shape.lines, shape.body, with_fins.stands
    fins, solids = folder / "fins", folder / "solids"
    for fin in shape.fins:
        slug = fin.fin.slug
        sides = [len(stand.sides) for stand in stands if stand.placement.fin.slug == slug]
        laid = fin_layup(fin.fin, fin.lines, fin.body, fin.exact)
        sheet = layup_sheet(fin.fin, fin.body, laid, count=sum(sides), mirrored=sides.count(2), day=date)
        _write_sheet(sheet, fins / f"{slug}-layup", f"{fin.fin.name}: layup")
    for (cut, mesh), template in zip(with_fins.cut_fins, cut_templates, strict=True):
        _write_template(template, fins / cut.slug)
        stl.write(mesh, solids / f"{cut.slug}.stl", name=cut.stands[0].placement.fin.name)
    for name, drawing in placing_drawings(shape, date).items():
        _write_template(drawing, (fins if name.endswith("gauges") else folder / "templates") / name)
    _write_sheet(tail_sheet(board, lines, body, stands, date), fins / TAIL, f"{board.name}: fins")
    stl.write(with_fins.whole, solids / f"{board.slug}-with-fins.stl", name=f"{board.name} with fins")


def placing_drawings(shape: LoftedBoard, date: datetime.date | None = None) -> dict[str, Drawing]:
    """Return what finds the fins' places on the board, at full size, by name: marks, slots where fins have tabs, and
    each fin's gauges and jigs, with the day on each if it is given. None for a board without fins.
    """
    board, lines, body, with_fins = shape.board, shape.lines, shape.body, shape.with_fins
    if with_fins is None:
        return {}
    drawings = {"fin-marks": fin_marks(board, lines, body, with_fins.stands, date)}
    slots = fin_slots(board, with_fins.stands, date)
    if slots is not None:
        drawings["fin-slots"] = slots
    for fin, cut in shape.cut_fins:
        drawings[f"{cut.slug}-gauges"] = fin_gauges(board, fin.lines, fin.body, body, lines, cut, date)
    return drawings


def _write_template(template: Drawing, place: Path) -> None:
    """Write a template for CAD and routers, for the printer, and for laser and vinyl cutters."""
    dxf.write(template, place.with_name(f"{place.name}.dxf"))
    svg.write(template, place.with_name(f"{place.name}.svg"), style="print")
    svg.write(template, place.with_name(f"{place.name}-cut.svg"), style="cut")


def _write_sheet(sheet: Drawing, place: Path, title: str) -> None:
    """Write a sheet to be seen in a browser, and to be printed to its scale."""
    svg.write(sheet, place.with_name(f"{place.name}.svg"), style="sheet")
    pdf.write([sheet], place.with_name(f"{place.name}.pdf"), title=title)
