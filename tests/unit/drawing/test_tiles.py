"""The pages of full-size prints: how many, which, and what stands on them."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, MultiLineString, Point, box

from bayloft.drawing.labels import bounds
from bayloft.drawing.pages.long_check import CLEAR_MM, INSIDE_MM, STEP_MM, long_check
from bayloft.drawing.pages.page_grid import Cell, PageGrid, page_grid
from bayloft.drawing.pages.tiles import JOIN, paper_pages
from bayloft.drawing.sheet import CUT, MARK, Drawing, Label
from bayloft.export import pdf
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import Paper


def paper(kind: str = "A4", **sizes: float) -> Paper:
    width, height = {"A4": (210, 297), "Letter": (215.9, 279.4), "A3": (297, 420), "roll": (610, 5000)}[kind]
    given = {"width_mm": width, "height_mm": height, "margin_mm": 10.0, "overlap_mm": 10.0} | sizes
    return Paper(kind=kind, **given)


def outlined(*boxes: tuple[float, float, float, float], labels: Sequence[Label] = ()) -> Drawing:
    contours = tuple(
        (CUT, Contour.straight([[x, y], [to_x, y], [to_x, to_y], [x, to_y]], closed=True)) for x, y, to_x, to_y in boxes
    )
    return Drawing(name="part", contours=contours, labels=tuple(labels))


def names(grid: PageGrid) -> str:
    return " ".join(cell.name for cell in grid.kept)


@pytest.mark.parametrize(
    ("row", "column", "name"),
    [(0, 0, "A1"), (1, 11, "B12"), (25, 0, "Z1"), (26, 0, "AA1"), (27, 2, "AB3"), (701, 0, "ZZ1"), (702, 0, "AAA1")],
)
def test_rows_have_letters_and_columns_numbers(row: int, column: int, name: str) -> None:
    assert Cell(row=row, column=column).name == name


def test_one_page_is_enough_for_what_fits_it() -> None:
    grid = page_grid(outlined((0, 0, 170, 250)), paper())
    assert (names(grid), grid.page_mm, grid.cell_mm) == ("A1", (210, 297), (180, 267))


@pytest.mark.parametrize(
    ("size", "kind", "page_mm", "pages"),
    [
        # A cell is 180 x 267 mm on A4, of which 3 mm round the drawing are kept free.
        ((2235, 260), "A4", (210, 297), 13),
        ((1590, 170), "A4", (297, 210), 6),
        ((170, 1590), "A4", (210, 297), 6),
        ((2235, 275), "A4", (297, 210), 18),
        ((1900, 260), "A3", (420, 297), 5),
        ((2000, 240), "Letter", (215.9, 279.4), 11),
    ],
)
def test_pages_lie_as_the_fewest_of_them_do(
    size: tuple[float, float], kind: str, page_mm: tuple[float, float], pages: int
) -> None:
    grid = page_grid(outlined((0, 0, *size)), paper(kind))
    assert (grid.page_mm, len(grid.kept)) == (page_mm, pages)


@pytest.mark.parametrize(
    ("size", "page_mm", "pages"),
    [
        # The roll's 610 mm hold a width of 574: 10 mm of margins and 5 of overlap on each side, 3 round the drawing.
        ((2235, 280), (2235 + 6 + 30, 610), 1),
        ((2235, 574), (2235 + 6 + 30, 610), 1),
        ((280, 2235), (610, 2235 + 6 + 30), 1),
        # In two strips whichever way, each as long as half the drawing.
        ((2235, 600), (2235 + 6 + 30, 610), 2),
        ((6000, 280), (3003 + 30, 610), 2),
        ((20, 20), (610, 60 + 30), 1),
    ],
)
def test_a_roll_is_cut_to_the_need(size: tuple[float, float], page_mm: tuple[float, float], pages: int) -> None:
    grid = page_grid(outlined((0, 0, *size)), paper("roll"))
    assert grid.page_mm == pytest.approx(page_mm)
    assert len(grid.kept) == pages


def test_pages_through_which_nothing_runs_are_left_out() -> None:
    # Three cells by three, with a line along all sides and nothing in the middle; lying, the pages would be more.
    grid = page_grid(outlined((0, 0, 530, 790)), paper())
    assert (grid.rows, grid.columns) == (3, 3)
    assert names(grid) == "A1 A2 A3 B1 B3 C1 C2 C3"
    label = Label(text="Spoonbill", x_mm=265, y_mm=395, anchor="middle")
    assert len(page_grid(outlined((0, 0, 530, 790), labels=[label]), paper()).kept) == 9


def test_an_island_is_held_by_pages_that_are_empty() -> None:
    # Marks in four corners of a field of four cells by three: all of the rest is empty.
    marks = [(0, 0, 20, 20), (600, 0, 620, 20), (0, 750, 20, 770), (600, 750, 620, 770)]
    grid = page_grid(outlined(*marks), paper())
    assert (grid.rows, grid.columns) == (3, 4)
    assert {"A1", "A4", "C1", "C4"} < set(names(grid).split())
    assert held_together(grid)
    assert len(grid.kept) < 12


def held_together(grid: PageGrid) -> bool:
    reached = {grid.kept[0]}
    for _ in grid.kept:
        reached |= {other for cell in reached for other in cell.beside if other in grid.kept}
    return reached == set(grid.kept)


def test_every_line_is_well_inside_some_page() -> None:
    rng = np.random.default_rng(5)
    for _ in range(20):
        points = rng.uniform(0, 1500, size=(6, 2))
        drawing = Drawing(name="a", contours=((MARK, Contour.straight(points, closed=False)),))
        grid = page_grid(drawing, paper())
        rest = LineString(points)
        for cell in grid.kept:
            rest = rest.difference(box(*grid.box(cell)).buffer(1e-9))
        assert rest.is_empty
        assert held_together(grid)


@pytest.mark.parametrize(
    "given",
    [paper(margin_mm=25.0), paper(height_mm=219.0), paper(overlap_mm=131.0), paper("roll", width_mm=180.0)],
)
def test_a_paper_of_which_too_little_is_left_is_refused(given: Paper) -> None:
    with pytest.raises(ValueError, match="leave too little of the paper"):
        page_grid(outlined((0, 0, 100, 100)), given)


def test_no_lines_take_no_pages() -> None:
    with pytest.raises(ValueError, match="no lines are drawn on words"):
        paper_pages(Drawing(name="words", labels=(Label(text="a", x_mm=0, y_mm=0),)), paper(), title="Words")


def test_a_few_last_bits_change_no_page() -> None:
    """Of two machines: the least cell of a drawing that just fills its pages, and one whose middle is a half."""
    for width in (2334.0, 2235.0):
        grids = [page_grid(outlined((0, 0, width + bits, 200)), paper()) for bits in (-1e-9, 0.0, 1e-9)]
        assert len(set(grids)) == 1


def checked(drawing: Drawing, given: Paper) -> tuple[PageGrid, MultiLineString]:
    grid = page_grid(drawing, given)
    points = [contour.flattened(0.01) for _, contour in drawing.contours]
    return grid, MultiLineString([np.vstack([each, each[:1]]) for each in points])


@pytest.mark.parametrize("size", [(2235, 260), (260, 2235), (500, 700), (300, 200)])
def test_the_long_check_spans_the_sheet(size: tuple[float, float]) -> None:
    grid, lines = checked(outlined((0, 0, *size)), paper())
    check = long_check(grid, lines)
    (x, y), (to_x, to_y) = check.places_mm
    assert np.hypot(to_x - x, to_y - y) == pytest.approx(check.distance_mm, abs=1e-9)
    assert min(abs(to_x - x), abs(to_y - y)) < 1e-9, "level or upright"
    assert check.distance_mm % STEP_MM == 0.0
    greatest = max(grid.size_mm) - 2 * INSIDE_MM
    # The lines along the edges may take a step or two.
    assert greatest - 3 * STEP_MM - CLEAR_MM < check.distance_mm <= greatest
    for cell, place in zip(check.cells, check.places_mm, strict=True):
        left, bottom, right, top = grid.box(cell)
        assert left + INSIDE_MM <= place[0] <= right - INSIDE_MM
        assert bottom + INSIDE_MM <= place[1] <= top - INSIDE_MM
        assert Point(place).distance(lines) >= CLEAR_MM


def test_a_single_page_has_no_long_check() -> None:
    grid, lines = checked(outlined((0, 0, 100, 100)), paper())
    assert long_check(grid, lines) is None
    first, second = paper_pages(outlined((0, 0, 100, 100)), paper(), title="Keel")
    words = " ".join(label.text for label in first.labels)
    assert "long check" not in words
    assert "1 page (A1) and this one" in words
    assert not [label for label in second.labels if "long check" in label.text]


def test_marks_are_placed_even_where_lines_leave_no_room() -> None:
    lines = [Contour.straight([[x, 0], [x, 400]], closed=False) for x in range(0, 400, 6)]
    drawing = Drawing(name="comb", contours=tuple((MARK, line) for line in lines))
    pages = paper_pages(drawing, paper(), title="Comb")
    assert len(pages) == 1 + len(page_grid(drawing, paper()).kept)
    for page in pages[1:]:
        assert any("long check" in label.text for label in pages[1].labels)
        assert page.name.removeprefix("comb-").upper() in {label.text for label in page.labels}


@pytest.mark.parametrize("kind", ["A4", "Letter", "A3", "roll"])
@pytest.mark.parametrize("size", [(2235, 280), (500, 700), (90, 90)])
def test_no_label_of_a_page_lies_on_another_or_off_the_page(kind: str, size: tuple[float, float]) -> None:
    for page in paper_pages(outlined((0, 0, *size)), paper(kind), title="Saltmarsh Boatshed, Spoonbill, half outline"):
        boxes = [bounds(label) for label in page.labels]
        for left, bottom, right, top in boxes:
            assert left >= 10.0
            assert bottom >= 10.0
            assert right <= page.page_mm[0] - 10.0
            assert top <= page.page_mm[1] - 10.0
        for one, other in itertools.combinations(boxes, 2):
            assert box(*one).intersection(box(*other)).area == 0.0, page.name


def pieces(pages: Sequence[Drawing], grid: PageGrid) -> Iterator[tuple[Cell, Contour]]:
    for cell, page in zip(grid.kept, pages, strict=True):
        left, bottom, _, _ = grid.window(cell)
        for layer, contour in page.contours:
            if layer == CUT:
                yield cell, contour.moved(left - grid.margin_mm, bottom - grid.margin_mm)


def test_pages_hold_every_arc_and_line_that_they_show() -> None:
    blob = Contour(points=[[0, 0], [900, 0], [900, 500], [0, 500]], bulges=[0.3, -0.4, 1.0, 0.0], closed=True)
    drawing = Drawing(name="blob", contours=((CUT, blob), (CUT, Contour.circle((1500.0, 900.0), 30.0))))
    grid = page_grid(drawing, paper())
    pages = paper_pages(drawing, paper(), title="Blob")[1:]
    whole = MultiLineString(
        [np.vstack([points, points[:1]]) for points in (c.flattened(1e-3) for _, c in drawing.contours)]
    )
    for cell in grid.kept:
        window = box(*grid.window(cell))
        shown = [c for of, c in pieces(pages, grid) if of == cell]
        flat = [np.vstack([c.flattened(1e-3), c.points[:1]]) if c.closed else c.flattened(1e-3) for c in shown]
        meant = whole.intersection(window)
        found = MultiLineString(flat).intersection(window)
        assert found.length == pytest.approx(meant.length, abs=0.02)
        assert meant.is_empty or found.hausdorff_distance(meant) < 0.01


def test_marks_keep_clear_of_lines_and_labels() -> None:
    """Lines and words stand in the way of a mark at the middle of a side, and both pages agree on its place."""
    words = [Label(text="five lines of a caution", x_mm=80, y_mm=y, height_mm=4) for y in range(100, 150, 7)]
    drawing = outlined((0, 0, 340, 250), (100, 130, 260, 140), labels=words)
    grid = page_grid(drawing, paper())
    assert names(grid) == "A1 A2"
    taken = [contour for _, contour in drawing.contours]
    rings = []
    for cell, page in zip(grid.kept, paper_pages(drawing, paper(), title="Card")[1:], strict=True):
        left, bottom, _, _ = grid.window(cell)
        moved = page.moved(left - grid.margin_mm, bottom - grid.margin_mm)
        marks = [label for label in moved.labels if label.text in {"A1-A2", "A1", "A2"} and label.height_mm < 4]
        assert len(marks) == 2
        for label in marks:
            place = box(*bounds(label))
            assert all(place.distance(LineString([*c.points, c.points[0]])) > 0.0 for c in taken)
            assert all(place.distance(box(*bounds(other))) > 0.0 for other in drawing.labels)
        rings += [contour.bounds for layer, contour in moved.contours if layer == JOIN and contour.closed][:1]
    assert rings[0] == pytest.approx(rings[1])


def test_pages_can_be_printed(tmp_path: Path) -> None:
    for kind in ("A4", "roll"):
        given = paper(kind)
        pages = paper_pages(outlined((0, 0, 3000, 560), (100, 100, 200, 200)), given, title="Fulmar")
        pdf.write(pages, tmp_path / f"{kind}.pdf", title="Fulmar", margin_mm=given.margin_mm)
