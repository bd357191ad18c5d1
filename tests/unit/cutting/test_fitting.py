"""Parts made to fit the stock: whole, turned or in pieces, on few sheets; and what is told where they do not."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest
from shapely import Polygon, box

from bayloft.cutting.joining.fitting import fitted, laid_out
from bayloft.cutting.sheets.choice import ALL, chosen, chosen_parts
from bayloft.cutting.sheets.layout_checks import layout_findings
from bayloft.cutting.sheets.nesting import NoRoomError
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import MARK
from bayloft.drawing.templates.part_set import part_set
from bayloft.plane.contour import Contour
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.shops.shop import Shop, Stock

from ...demo import board, draft, lofted_board
from .demo_parts import SPECS, part


@cache
def shop(name: str) -> Shop:
    return load_shop(SPECS / "shop" / f"boatshed-{name}.toml")


@cache
def parts(name: str) -> tuple[Part, ...]:
    """Return the parts of a demo board that are cut when none are asked for."""
    return chosen_parts(part_set(draft(name), lofted_board(name).cut_fins), ALL, board(name).name)


def plank(number: int, length: float, width: float, *, marks_mm: float = 0.0) -> Part:
    """Return a part along the grain, with a mark across it every so often."""
    made = part(box(0, 0, length, width), number, f"plank {number}", along_grain=True)
    stations = range(30, int(length), int(marks_mm)) if marks_mm else ()
    marks = [(MARK, Contour.straight([[x, 0.0], [x, width]], closed=False)) for x in stations]
    return replace(made, drawing=replace(made.drawing, contours=(*made.drawing.contours, *marks)))


def sheets_of(shop: Shop, *sizes: tuple[float, float, int]) -> tuple[Stock, ...]:
    """Return stock of sizes, with so many sheets of each, named after their length."""
    return tuple(
        replace(shop.stock[0], name=f"{length:g}", length_mm=length, width_mm=width, sheets=sheets)
        for length, width, sheets in sizes
    )


@pytest.mark.parametrize(("board", "name", "sheets"), [("fulmar", "router", 1), ("spoonbill", "router", 1)])
def test_a_long_boards_set_takes_one_full_sheet(board: str, name: str, sheets: int) -> None:
    stock, cutter, _ = chosen(shop(name), ALL)
    layout, pieces = laid_out(parts(board), stock, cutter, shop(name).cutting)
    assert len(layout.sheets) == sheets
    assert all(finding.passed for finding in layout_findings(layout, pieces))


def test_a_wide_board_is_cut_from_small_sheets() -> None:
    stock, cutter, _ = chosen(shop("hobby"), ALL)
    layout, pieces = laid_out(parts("spoonbill"), stock, cutter, shop("hobby").cutting)
    assert len(layout.sheets) <= 5
    assert all(finding.passed for finding in layout_findings(layout, pieces))
    for sheet in layout.sheets:
        shapes = [Polygon(placed.part.outline.flattened(0.01)) for placed in sheet.placed]
        assert all(one.disjoint(other) for one, other in combinations(shapes, 2))


def test_a_part_is_whole_where_any_sheet_has_room_for_it() -> None:
    router = shop("router")
    stock = sheets_of(router, (2440.0, 1220.0, 3), (3300.0, 300.0, 1))
    layout, pieces = laid_out([plank(1, 3000.0, 100.0)], stock, router.cutters[0], router.cutting)
    assert [each.title for each in pieces] == ["plank 1"]
    assert [sheet.stock.name for sheet in layout.sheets] == ["3300"]
    # The strip has room for two of three; then all of them come in pieces.
    three = [plank(number, 3000.0, 120.0) for number in (1, 2, 3)]
    layout, pieces = laid_out(three, stock, router.cutters[0], router.cutting)
    assert len(pieces) == 6
    assert all(finding.passed for finding in layout_findings(layout, pieces))


def test_a_part_may_lie_across_a_sheet_that_has_no_grain() -> None:
    router = shop("router")
    plain = [replace(each, grained=False) for each in sheets_of(router, (1220.0, 2440.0, 1))]
    long = plank(1, 2300.0, 200.0)
    layout, pieces = laid_out([long], plain, router.cutters[0], router.cutting)
    assert pieces == (long,)
    assert layout.sheets[0].placed[0].turned_deg in (90.0, 270.0)
    # Too wide for one way round, in pieces for the other.
    pieces = fitted([plank(1, 3500.0, 1300.0)], plain, router.cutters[0], router.cutting, whole=True)
    assert len(pieces) == 4
    grained = [replace(each, grained=True) for each in plain]
    assert len(fitted([long], grained, router.cutters[0], router.cutting, whole=True)) == 2


def test_a_smaller_sheet_serves_where_the_largest_is_too_narrow() -> None:
    router = shop("router")
    stock = sheets_of(router, (2400.0, 400.0, 4), (900.0, 700.0, 4))
    layout, pieces = laid_out([plank(1, 1500.0, 500.0)], stock, router.cutters[0], router.cutting)
    assert len(pieces) == 2
    assert {sheet.stock.name for sheet in layout.sheets} == {"900"}


def test_all_that_does_not_fit_is_told_with_what_would_do() -> None:
    router = shop("router")
    cutter, cutting = router.cutters[0], router.cutting
    stock = sheets_of(router, (1000.0, 300.0, 9))
    set_of = [
        plank(1, 500.0, 100.0),
        plank(2, 1500.0, 280.0),
        plank(3, 1500.0, 80.0, marks_mm=30.0),
        plank(4, 500.0, 400.0),
        plank(5, 1500.0, 50.0, marks_mm=110.0),
        plank(6, 500.0, 100.0),
        plank(7, 500.0, 100.0),
    ]
    with pytest.raises(NoRoomError) as caught:
        fitted(set_of, stock, cutter, cutting, whole=True)
    faults = {fault.file: fault for fault in caught.value.faults}
    assert [*faults] == [f"the set: part {number}, plank {number}" for number in (2, 3, 4)]
    without = '--parts "1, 5-7" leaves them out'
    narrow, marked, wide = caught.value.faults
    assert narrow.problem == "too wide for every sheet, and parts are cut in pieces along their length only"
    assert narrow.value == '4\' 11 1/16" (1500.0 mm) x 11" (280.0 mm)'
    assert narrow.allowed.startswith('at most 3\' 1 11/16" (958.0 mm) x 10 1/8" (258.0 mm) on 1000 along its grain')
    assert narrow.hint == f'margin = "4 mm" for 1000; or {without}'
    assert marked.problem == "too long, and no dovetail joints clear of marks make pieces that short"
    assert marked.hint == without
    assert wide.hint == f'sheets at least 17 7/16" (442.0 mm) wide, on a bed as wide; or {without}'
    # Each way out works.
    assert len(fitted([set_of[1]], [replace(stock[0], margin_mm=4.0)], cutter, cutting, whole=True)) == 2
    assert fitted([set_of[3]], [replace(stock[0], width_mm=442.0)], cutter, cutting, whole=True)
    left = [set_of[number - 1] for number in (1, 5, 6, 7)]
    assert all(finding.passed for finding in layout_findings(*laid_out(left, stock, cutter, cutting)))


def test_another_joint_is_named_where_one_would_do() -> None:
    router = shop("router")
    narrow = plank(1, 1500.0, 34.0)
    stock = sheets_of(router, (1000.0, 300.0, 9))
    with pytest.raises(NoRoomError) as caught:
        fitted([narrow], stock, router.cutters[0], router.cutting, whole=True)
    assert caught.value.faults[0].hint == 'joint = "half-lap" under [cutting]'
    lapped = replace(router.cutting, joint="half-lap")
    assert len(fitted([narrow], stock, router.cutters[0], lapped, whole=True)) == 2
