"""The page of a sheet: every text on it, no number on another, pieces told apart, a long list cut short."""

from __future__ import annotations

from itertools import combinations

import pytest
from shapely import Polygon, box

from bayloft.cutting.sheets.layout import Layout
from bayloft.cutting.sheets.nesting import nested
from bayloft.cutting.sheets.sheet_drawings import PAGE_MM, letter, marks, router_drawing, sheet_page
from bayloft.drawing.labels import corners
from bayloft.drawing.part import Part
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.shops.shop import Shop

from .demo_parts import SPECS, demo_parts, part

SHOPS = SPECS / "shop"


@pytest.fixture(scope="module")
def router() -> Shop:
    return load_shop(SHOPS / "boatshed-router.toml")


def laid(parts: tuple[Part, ...], shop: Shop) -> Layout:
    return nested(parts, shop.stock[:1], shop.cutters[0], shop.cutting)


@pytest.mark.parametrize("name", ["router", "hobby"])
def test_no_text_leaves_the_page_or_covers_another(name: str) -> None:
    shop = load_shop(SHOPS / f"boatshed-{name}.toml")
    layout = laid(demo_parts("turnstone"), shop)
    for sheet in layout.sheets:
        page = sheet_page(sheet, layout, "Turnstone")
        texts = [Polygon(corners(label)) for label in page.labels]
        assert all(box(0, 0, *PAGE_MM).covers(text) for text in texts)
        assert all((one & other).area < 0.05 for one, other in combinations(texts, 2))
        left, bottom, right, top = page.bounds
        assert left >= 0.0 <= bottom
        assert right <= PAGE_MM[0]
        assert top <= PAGE_MM[1]


def test_pieces_of_one_number_are_told_apart(router: Shop) -> None:
    pieces = tuple(part(box(0, 0, 400, 100), 7, f"stringer, piece {i} of 2") for i in (1, 2))
    layout = laid((part(box(0, 0, 300, 100), 1, "card"), *pieces), router)
    assert sorted(marks(layout).values()) == ["1", "7.1", "7.2"]
    texts = [label.text for label in sheet_page(layout.sheets[0], layout, "Knot").labels]
    assert {"1", "7.1", "7.2"} <= set(texts)
    assert "7.2  stringer, piece 2 of 2" in texts


def test_a_long_list_says_where_the_rest_is(router: Shop) -> None:
    cards = tuple(part(box(0, 0, 90, 60), number, f"card {number}") for number in range(1, 61))
    layout = laid(cards, router)
    labels = [label.text for label in sheet_page(layout.sheets[0], layout, "Knot").labels]
    assert "more in the cut list" in labels
    assert {str(number) for number in range(1, 61)} <= set(labels)


def test_the_router_has_the_parts_where_they_lie(router: Shop) -> None:
    layout = laid(demo_parts("turnstone"), router)
    drawing = router_drawing(layout.sheets[0], "sheet")
    assert drawing.bounds == (0.0, 0.0, 2440.0, 1220.0)
    assert sum(layer.name == "CUT" for layer, _ in drawing.contours) == 11


def test_letters_of_off_cuts() -> None:
    assert [letter(place) for place in (0, 25, 26, 27)] == ["A", "Z", "AA", "BB"]
