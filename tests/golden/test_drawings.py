"""Drawings as text beside this test, so that a change of any of them is read before it is kept."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from bayloft.drawing.pages.tiles import paper_pages
from bayloft.drawing.sheet import CUT, MARK, Drawing
from bayloft.drawing.sheets.board_sheet import board_sheet
from bayloft.drawing.sheets.layup_sheet import layup_sheet
from bayloft.drawing.sheets.shaping_card import shaping_cards
from bayloft.drawing.sheets.tail_sheet import tail_sheet
from bayloft.drawing.templates.fin_gauges import fin_gauges
from bayloft.drawing.templates.fin_marks import fin_marks
from bayloft.drawing.templates.fin_slots import fin_slots
from bayloft.drawing.templates.fin_template import fin_template
from bayloft.drawing.templates.half_outline import half_outline
from bayloft.drawing.templates.part_set import part_set
from bayloft.laminating.layup import fin_layup
from bayloft.lines.audit import audit
from bayloft.plane.contour import Contour
from bayloft.solid.integrals import integrals
from bayloft.spec.shops.shop import Paper

from ..demo import draft, fin_draft, lofted_board, told

HERE = Path(__file__).parent
SPECS = HERE.parents[1] / "specs"

SameText = Callable[[str, Path], None]


def number(value: float, decimals: int = 3) -> str:
    return f"{round(float(value), decimals) + 0.0:.{decimals}f}"


def canonical(drawing: Drawing) -> str:
    """Return a drawing as text: what is cut or marked point by point, everything else by its extent."""
    return "".join(f"{line}\n" for line in described(drawing))


def described(drawing: Drawing) -> Iterator[str]:
    page = "" if drawing.page_mm is None else " page " + " x ".join(map(number, drawing.page_mm))
    yield f"drawing {drawing.name}{page}"
    for layer in drawing.layers:
        dashes = "".join(f" {number(dash)}" for dash in layer.dashes_mm)
        use = "cuts" if layer.cuts else "marks"
        yield f"layer {layer.name} {use} weight {number(layer.weight_mm)} {layer.colour} fill {layer.fill}{dashes}"
    for layer, contour in drawing.contours:
        shape = "closed" if contour.closed else "open"
        extent = " ".join(map(number, contour.bounds))
        yield f"{layer.name} {shape} {len(contour.points)} points, length {number(contour.length_mm)}, in {extent}"
        if layer in (CUT, MARK):
            yield from points(contour)
    for label in drawing.labels:
        place = f"{number(label.x_mm)} {number(label.y_mm)} {label.anchor} turn {number(label.turn_deg, 1)}"
        style = f"{number(label.height_mm, 2)}{' bold' if label.bold else ''}"
        yield f"{label.layer.name} {place} height {style}: {label.text}"


def points(contour: Contour) -> Iterator[str]:
    for (x, y), bulge in zip(contour.points.tolist(), contour.bulges.tolist(), strict=True):
        yield f"    {number(x):>10} {number(y):>10} {number(bulge, 5):>9}"


@pytest.mark.parametrize("name", ["dunlin", "turnstone", "whimbrel"])
def test_half_outline(name: str, same_text: SameText) -> None:
    same_text(canonical(half_outline(draft(name))), HERE / f"half-outline-{name}.txt")


@pytest.mark.parametrize("name", ["dunlin-side", "whimbrel-flex"])
def test_fin_template(name: str, same_text: SameText) -> None:
    same_text(canonical(fin_template(fin_draft(name))), HERE / f"fin-template-{name}.txt")


@pytest.mark.parametrize("name", ["turnstone-keel", "whimbrel-flex"])
def test_layup_sheet(name: str, same_text: SameText) -> None:
    fin = fin_draft(name)
    drawing = layup_sheet(fin, fin_layup(fin.fin, fin.lines, fin.body, integrals(fin.body)))
    same_text(canonical(drawing), HERE / f"layup-sheet-{name}.txt")


@pytest.mark.parametrize("name", ["dunlin", "whimbrel"])
def test_what_stands_on_a_board(name: str, same_text: SameText) -> None:
    shape = lofted_board(name)
    assert shape.with_fins is not None
    stands = shape.with_fins.stands
    slots = fin_slots(shape.board, stands)
    same_text(canonical(tail_sheet(shape.draft, stands)), HERE / f"tail-{name}.txt")
    same_text(canonical(fin_marks(shape.draft, stands)), HERE / f"fin-marks-{name}.txt")
    if slots is not None:
        same_text(canonical(slots), HERE / f"fin-slots-{name}.txt")
    gauges = fin_gauges(shape.draft, *shape.cut_fins[0])
    same_text(canonical(gauges), HERE / f"fin-gauges-{name}.txt")


@pytest.mark.parametrize("name", ["dunlin", "spoonbill"])
def test_shaping_cards(name: str, same_text: SameText) -> None:
    shape = draft(name)
    assert shape.board.shaping is not None
    pages = shaping_cards(shape, shape.board.shaping, "0" * 6)
    same_text("\n".join(canonical(page) for page in pages), HERE / f"shaping-{name}.txt")


def test_paper_pages(same_text: SameText) -> None:
    paper = Paper(kind="A3", width_mm=297.0, height_mm=420.0, margin_mm=8.0, overlap_mm=10.0)
    pages = paper_pages(half_outline(draft("turnstone")), paper, title="Turnstone, half outline")
    same_text("\n".join(canonical(page) for page in pages), HERE / "paper-pages-turnstone.txt")


@pytest.mark.parametrize("name", ["fulmar", "turnstone"])
def test_board_sheet(name: str, same_text: SameText) -> None:
    shape = draft(name)
    exact = integrals(shape.body)
    drawing = board_sheet(shape, exact.volume_mm3, exact.area_mm2, audit(shape.lines))
    same_text(canonical(drawing), HERE / f"sheet-{name}.txt")


@pytest.mark.parametrize(("name", "numbers"), [("dunlin", (3, 4, 5, 21, 101)), ("turnstone", (2, 6))])
def test_parts_of_the_set(name: str, numbers: tuple[int, ...], same_text: SameText) -> None:
    parts = {part.number: part for part in part_set(told(draft(name), fins=()), [])}
    for number in numbers:
        drawing = parts[number].drawing
        same_text(canonical(drawing), HERE / f"part-{drawing.name}.txt")
