"""Every file of a board: templates, sheets, solids, each in the formats that it is used in."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import Any

from bayloft.delivery.deliveries import Delivery, of_cards, of_sheet, of_solid, of_template
from bayloft.drawing.inscription import Tag
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.band_card import band_cards
from bayloft.drawing.sheets.board_sheet import board_sheet
from bayloft.drawing.sheets.float_card import float_cards
from bayloft.drawing.sheets.glass_card import glass_cards
from bayloft.drawing.sheets.layup_sheet import layup_sheet
from bayloft.drawing.sheets.panel_card import panel_cards
from bayloft.drawing.sheets.picture import picture
from bayloft.drawing.sheets.rail_sheet import rail_sheet
from bayloft.drawing.sheets.readings_sheet import READ_LINES, ReadMark, readings_sheet
from bayloft.drawing.sheets.sanding_card import sanding_cards
from bayloft.drawing.sheets.shaping_card import shaping_cards
from bayloft.drawing.sheets.stringer_card import stringer_cards
from bayloft.drawing.sheets.tail_sheet import tail_sheet
from bayloft.drawing.sheets.weight_card import weight_cards
from bayloft.drawing.templates.fin_gauges import fin_gauges
from bayloft.drawing.templates.fin_marks import fin_marks
from bayloft.drawing.templates.fin_slots import fin_slots
from bayloft.drawing.templates.new_stringer import plank_layout
from bayloft.drawing.templates.part_set import FINS, FIRST_NUMBERS, drawn_together, part_set
from bayloft.errors import Fault
from bayloft.export import dxf, svg
from bayloft.floating.floats import board_floats
from bayloft.foam.stringers import cut_stringer
from bayloft.laminating.glassing import board_glass
from bayloft.laminating.layup import fin_layup
from bayloft.laminating.weighing import board_weight
from bayloft.record import report
from bayloft.record.heading import shape_digest
from bayloft.solid.assembly import Assembly
from bayloft.solid.draft import Draft
from bayloft.solid.loft import LoftedBoard
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.boards.board import Board

PLANK_LAYOUT = "plank-layout"
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
    for name in ("templates", "fins", "solids"):
        (folder / name).mkdir()
    for delivery in deliveries(shape, version, date):
        (folder / delivery.name).parent.mkdir(exist_ok=True)
        delivery.write(folder)
    return report.write(shape, folder, version, date)


def rehearse(shape: LoftedBoard, version: str) -> None:
    """Draw every file of a board and write none. Raises ExportError as `write` does."""
    for delivery in deliveries(shape, version, None):
        delivery.content()


def deliveries(shape: LoftedBoard, version: str, date: datetime.date | None) -> Iterator[Delivery]:
    """Yield every file of a board but its report, as it is drawn."""
    board, exact = shape.board, shape.exact
    parts = part_set(shape.draft, shape.cut_fins, date=date)
    drawings = drawn_together(parts)
    for kind, drawing in drawings.items():
        yield from of_template(drawing, f"templates/{kind}")
    half, options = drawings["half-outline"], {"version": "R12"}
    yield Delivery(name="templates/half-outline-r12-mm.dxf", format=dxf, subject=half, options=options)
    yield of_solid(shape.checked.mesh, f"solids/{board.slug}", board.name)
    if shape.with_fins is not None:
        yield from _of_fins(shape, shape.with_fins, [part.drawing for part in parts if part.kind == FINS], date)
    sheet = board_sheet(shape.draft, exact.volume_mm3, exact.area_mm2, shape.findings, date)
    yield from of_sheet(sheet, "drawing", f"{board.name}: drawing")
    yield from of_sheet(rail_sheet(shape.draft, date), "rails", f"{board.name}: rails")
    if marks := read_marks(shape):
        readings = readings_sheet(board.name, shape.draft.lines, marks)
        yield from of_sheet(readings, "readings", f"{board.name}: readings")
    yield from _cards(shape.draft, shape_digest(shape.draft, version), date)
    yield Delivery(name="picture.svg", format=svg, subject=board_picture(shape), options={"style": "sheet"})


def _cards(draft: Draft, digest: str, date: datetime.date | None) -> Iterator[Delivery]:
    """Yield the cards for the bay that a board's file asks for, those of panels with several fins, and the layout of
    the plank of a new stringer.
    """
    board = draft.board
    if (cut := cut_stringer(draft)) is not None:
        if (layout := layout_drawing(draft, date)) is not None:
            yield from of_template(layout, f"templates/{PLANK_LAYOUT}")
        blank = load_blank(board.blank.file) if board.blank else None
        pages = stringer_cards(draft, cut, blank, digest, date)
        yield from of_cards(pages, "cards/stringer", f"{board.name}: stringer")
    if (glassed := board_glass(draft)) is not None:
        yield from of_cards(glass_cards(draft, glassed, digest, date), "cards/glass", f"{board.name}: glass")
        yield from of_cards(sanding_cards(draft, glassed, digest, date), "cards/sanding", f"{board.name}: sanding")
    if (weight := board_weight(draft)) is not None:
        yield from of_cards(weight_cards(draft, weight, digest, date), "cards/weight", f"{board.name}: weight")
    if panels := panel_cards(draft, digest, date):
        yield from of_cards(panels, "cards/panels", f"{board.name}: fin panels")
    if board.bands is not None:
        yield from of_cards(band_cards(draft, board.bands, digest, date), "cards/bands", f"{board.name}: rail bands")
    if board.shaping is not None:
        cards = shaping_cards(draft, board.shaping, digest, date)
        yield from of_cards(cards, "cards/shaping", f"{board.name}: shaping")
    if (floats := board_floats(draft)) is not None:
        yield from of_cards(float_cards(draft, floats, digest, date), "cards/float", f"{board.name}: float")


def layout_drawing(draft: Draft, date: datetime.date | None = None) -> Drawing | None:
    """Return the layout of a new stringer on its plank at full size; None without a plank that it comes out of."""
    cut = cut_stringer(draft)
    tag = Tag(board=draft.board.name, number=FIRST_NUMBERS["new-stringer"], day=date)
    return None if cut is None else plank_layout(draft, cut, tag)


def read_marks(shape: LoftedBoard) -> list[ReadMark]:
    """Return the numbers of outline, rocker and thickness that have play, as they were read and as they are lofted."""
    return [
        ReadMark(each.what, each.x_mm, each.asked_mm, each.lofted_mm, each.play_mm)
        for each in shape.dimensions
        if each.play_mm > 0.0 and each.what in READ_LINES
    ]


def board_picture(shape: LoftedBoard) -> Drawing:
    """Return the picture of a board with its fins where they stand."""
    bodies = {fin.fin.slug: fin.body for fin in shape.draft.fins}
    stands = () if shape.with_fins is None else shape.with_fins.stands
    return picture(shape.draft, [(each, bodies[each.placement.fin.slug]) for each in stands])


def _of_fins(
    shape: LoftedBoard, with_fins: Assembly, cut_templates: Sequence[Drawing], date: datetime.date | None
) -> Iterator[Delivery]:
    """Yield what the fins need: layup sheets, cut templates (given in the order of the cuts), gauges and solids, marks,
    slots, the tail sheet.
    """
    board, stands = shape.board, with_fins.stands
    for lofted in shape.fins:
        fin, slug = lofted.draft, lofted.draft.fin.slug
        sides = [len(stand.sides) for stand in stands if stand.placement.fin.slug == slug]
        laid = fin_layup(fin.fin, fin.lines, fin.body, lofted.exact)
        sheet = layup_sheet(fin, laid, count=sum(sides), mirrored=sides.count(2), day=date)
        yield from of_sheet(sheet, f"fins/{slug}-layup", f"{fin.fin.name}: layup")
    for (cut, mesh), template in zip(with_fins.cut_fins, cut_templates, strict=True):
        yield from of_template(template, f"fins/{cut.slug}")
        yield of_solid(mesh, f"solids/{cut.slug}", cut.stands[0].placement.fin.name)
    for name, drawing in placing_drawings(shape, date).items():
        yield from of_template(drawing, f"{'fins' if name.endswith('gauges') else 'templates'}/{name}")
    yield from of_sheet(tail_sheet(shape.draft, stands, date), f"fins/{TAIL}", f"{board.name}: fins")
    yield of_solid(with_fins.whole, f"solids/{board.slug}-with-fins", f"{board.name} with fins")


def placing_drawings(shape: LoftedBoard, date: datetime.date | None = None) -> dict[str, Drawing]:
    """Return what finds the fins' places on the board, at full size, by name: marks, slots where fins have tabs, and
    each fin's gauges and jigs, with the day on each if it is given. None for a board without fins.
    """
    with_fins = shape.with_fins
    if with_fins is None:
        return {}
    drawings = {"fin-marks": fin_marks(shape.draft, with_fins.stands, date)}
    slots = fin_slots(shape.board, with_fins.stands, date)
    if slots is not None:
        drawings["fin-slots"] = slots
    for fin, cut in shape.cut_fins:
        drawings[f"{cut.slug}-gauges"] = fin_gauges(shape.draft, fin, cut, date)
    return drawings
