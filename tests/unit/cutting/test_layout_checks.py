"""Every check of a layout, made to fail."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from shapely import box

from bayloft.cutting.sheets.layout import CutSheet, Layout, Placed, placed_at
from bayloft.cutting.sheets.layout_checks import layout_findings
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import DRILL
from bayloft.findings import Finding
from bayloft.plane.contour import Contour
from bayloft.spec.shop_loading import load_shop

from .demo_parts import SPECS, part

PARTS = tuple(part(box(0, 0, 200, 100), number, f"panel {number}") for number in (1, 2))
SHOP = load_shop(SPECS / "shop" / "boatshed-router.toml")


def laid(*corners: tuple[float, float], parts: tuple[Part, ...] = PARTS) -> Layout:
    placed = tuple(
        placed_at(each, 1, mirrored=False, turned_deg=0.0, corner_mm=corner)
        for each, corner in zip(parts, corners, strict=False)
    )
    sheet = CutSheet(number=1, stock=SHOP.stock[0], placed=placed, off_cuts=())
    return Layout(sheets=(sheet,), cutter=SHOP.cutters[0], gap_mm=8.0)


def failing(layout: Layout, parts: tuple[Part, ...] = PARTS) -> dict[str, Finding]:
    return {finding.code: finding for finding in layout_findings(layout, parts) if not finding.passed}


def with_second(layout: Layout, change: Callable[[Placed], Placed]) -> Layout:
    first, second = layout.sheets[0].placed
    return replace(layout, sheets=(replace(layout.sheets[0], placed=(first, change(second))),))


def test_a_sound_layout_passes_with_its_measures() -> None:
    findings = {finding.code: finding for finding in layout_findings(laid((30.0, 25.0), (240.0, 25.0)), PARTS)}
    assert all(finding.passed for finding in findings.values())
    assert findings["sheet-gap"].measured == pytest.approx(10.0, abs=1e-9)
    assert findings["sheet-margin"].measured == pytest.approx(25.0, abs=1e-9)
    assert findings["sheet-margin"].limit == 21.0
    assert set(findings) == {
        "sheet-overlap",
        "sheet-gap",
        "sheet-margin",
        "sheet-tool",
        "layout-copies",
        "layout-shape",
    }


def test_parts_over_one_another() -> None:
    found = failing(laid((30.0, 25.0), (220.0, 25.0)))
    assert set(found) == {"sheet-overlap", "sheet-gap"}
    assert found["sheet-overlap"].measured == pytest.approx(10.0 * 100.0, abs=1e-6)
    assert found["sheet-overlap"].text == "part 1, panel 1 and part 2, panel 2 lie on one another"


@pytest.mark.parametrize(("gap_mm", "kept"), [(7.99, True), (7.97, False)])
def test_parts_too_near(gap_mm: float, kept: bool) -> None:
    found = failing(laid((30.0, 25.0), (230.0 + gap_mm, 25.0)))
    assert set(found) == (set() if kept else {"sheet-gap"})


@pytest.mark.parametrize(
    "corner",
    [(20.9, 25.0), (30.0, 20.9), (2440.0 - 220.9, 25.0), (30.0, 1220.0 - 120.9)],
    ids=["left", "low", "right", "top"],
)
def test_parts_in_the_margin(corner: tuple[float, float]) -> None:
    found = failing(laid((600.0, 500.0), corner))
    assert set(found) == {"sheet-margin"}
    assert found["sheet-margin"].measured == pytest.approx(20.9, abs=1e-6)
    assert "panel 2 comes too near the edge" in found["sheet-margin"].text


def test_a_hole_beyond_its_part() -> None:
    drawing = replace(
        PARTS[0].drawing, contours=(*PARTS[0].drawing.contours, (DRILL, Contour.circle((199.0, 50.0), 3.0)))
    )
    parts = (replace(PARTS[0], drawing=drawing), PARTS[1])
    found = failing(laid((30.0, 25.0), (400.0, 25.0), parts=parts), parts)
    assert set(found) == {"sheet-tool"}
    assert found["sheet-tool"].measured == pytest.approx(2.0, abs=0.02)


def test_a_part_that_is_missing_or_there_twice() -> None:
    assert set(failing(laid((30.0, 25.0)))) == {"layout-copies"}
    twice = laid((30.0, 25.0), (240.0, 25.0), parts=(PARTS[0], PARTS[0]))
    assert failing(twice)["layout-copies"].text == "not there as often as asked: part 1, panel 1; part 2, panel 2"


def test_one_piece_in_place_of_another() -> None:
    pieces = tuple(replace(each, number=1) for each in PARTS)
    assert not failing(laid((30.0, 25.0), (240.0, 25.0), parts=pieces), pieces)
    assert set(failing(laid((30.0, 25.0), (240.0, 25.0), parts=(pieces[0], pieces[0])), pieces)) == {"layout-copies"}


def test_a_part_not_turned_over_that_should_be() -> None:
    over = (PARTS[0], replace(PARTS[1], mirrored=1))
    assert set(failing(laid((30.0, 25.0), (240.0, 25.0)), over)) == {"layout-copies"}


def test_a_part_that_was_changed() -> None:
    def stretched(placed: Placed) -> Placed:
        other = part(box(240, 25, 440.1, 125), 2, "panel 2")
        return replace(placed, part=other)

    found = failing(with_second(laid((30.0, 25.0), (240.0, 25.0)), stretched))
    assert set(found) == {"layout-shape"}
    assert found["layout-shape"].measured == pytest.approx(10.0, abs=1e-6)
