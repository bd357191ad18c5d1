"""Shop files as they load: what was given, what is assumed, and what a job takes out of a shop."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Literal

import pytest

from bayloft.cutting.sheets.choice import ALL, Wanted, chosen, chosen_parts, numbers_text, part_numbers
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, Drawing
from bayloft.errors import SpecError, spelled
from bayloft.plane.contour import Contour
from bayloft.spec.loading import load_board
from bayloft.spec.shop_loading import load_shop
from bayloft.spec.shops.shop import Shop
from bayloft.spec.shops.shop_models import CutterTable, CuttingTable, GantryTable, MachineTable, StockTable
from bayloft.spec.shops.usual_settings import USUAL, unusual

ASKED: tuple[frozenset[range] | Literal["all"] | None, ...] = (None, "all", frozenset({range(2, 3)}))

SHOPS = Path(__file__).parents[3] / "specs" / "shop"

LEAST = """
name = "Saltmarsh Boatshed"

[[stock]]
name = "ply"
length = "2440 mm"
width = "1220 mm"
thickness = "2 mm"

[[cutters]]
name = "straight"
diameter = "4 mm"
cutting_depth = "20 mm"

[machine]
bed_length = "2500 mm"
bed_width = "1250 mm"
"""


@pytest.fixture
def router() -> Shop:
    return load_shop(SHOPS / "boatshed-router.toml")


def loaded(tmp_path: Path, text: str) -> Shop:
    path = tmp_path / "shop.toml"
    path.write_text(text, encoding="utf-8")
    return load_shop(path)


def test_what_the_router_shop_gives(router: Shop) -> None:
    first, second = router.stock
    assert (first.name, first.length_mm, first.width_mm, first.thickness_mm) == ("birch ply 6", 2440.0, 1220.0, 6.2)
    assert (first.sheets, first.margin_mm, first.grained) == (6, 15.0, True)
    assert second.thickness_mm == 12.1
    cutter = router.cutters[0]
    assert (cutter.diameter_mm, cutter.depth_mm, cutter.flutes, cutter.pass_mm) == (6.0, 22.0, 2, 3.0)
    assert cutter.feed_mm_min == pytest.approx(0.06 * 2 * 16000, abs=1e-9)
    assert router.machine is not None
    assert (router.machine.greatest_feed_mm_min, router.machine.rapid_mm_min) == (3000.0, 6000.0)
    assert (router.paper.kind, router.paper.width_mm, router.paper.height_mm) == ("A3", 297.0, 420.0)
    assert (router.cutting.gap_mm, router.cutting.fit_mm, router.cutting.ramp_deg) == (8.0, 0.15, 3.0)


def test_inches_are_exact_and_a_cutter_may_be_in_inches() -> None:
    shop = load_shop(SHOPS / "boatshed-hobby.toml")
    cutter = shop.cutters[0]
    assert (cutter.diameter_mm, cutter.depth_mm, cutter.pass_mm) == (3.175, 12.7, 1.5875)
    assert cutter.chip_load_mm == pytest.approx(0.0012 * 25.4, abs=1e-12)
    assert [stock.grained for stock in shop.stock] == [True, False]
    assert (shop.paper.kind, shop.paper.width_mm, shop.paper.height_mm) == ("Letter", 215.9, 279.4)


@pytest.mark.parametrize(
    ("name", "kind", "size_mm"), [("printer", "A4", (210.0, 297.0)), ("plotter", "roll", (610.0, 4000.0))]
)
def test_a_shop_with_paper_alone(name: str, kind: str, size_mm: tuple[float, float]) -> None:
    shop = load_shop(SHOPS / f"boatshed-{name}.toml")
    assert (shop.stock, shop.cutters, shop.machine) == ((), (), None)
    assert (shop.paper.kind, (shop.paper.width_mm, shop.paper.height_mm)) == (kind, size_mm)
    assert not any(item.path[0] == "cutting" for item in shop.assumed)
    with pytest.raises(SpecError) as caught:
        chosen(shop, ALL)
    assert [fault.problem for fault in caught.value.faults] == [
        f"this shop has no {what}, so nothing can be cut from sheets" for what in ("stock", "cutters", "router")
    ]


def test_what_is_not_given_is_assumed_and_told(tmp_path: Path) -> None:
    shop = loaded(tmp_path, LEAST)
    told = {spelled(item.path): item.value for item in shop.assumed}
    assert told["stock[1].sheets"] == "1"
    assert told["cutters[1].chip_load"] == "0.04 mm/flute"
    assert told["cutters[1].pass_depth"] == '1/16" (2.0 mm)'
    assert told["cutting.tab_height"] == '1/16" (1.0 mm)'
    assert told["machine.dialect"] == "arcs"
    assert told["paper.kind"] == "A4"
    assert (shop.cutters[0].chip_load_mm, shop.cutters[0].pass_mm, shop.cutting.tab_height_mm) == (0.04, 2.0, 1.0)
    assert shop.cutting.way == "conventional"
    assert "stock[1].margin" in told


def test_no_key_that_was_given_is_told_as_assumed(router: Shop) -> None:
    for item in router.assumed:
        value: object = router.source.values
        for step in item.path:
            value = value.get(step) if isinstance(value, dict) else value[step]  # type: ignore[index]
        assert value is None


def test_a_zero_needs_no_system_of_units(tmp_path: Path) -> None:
    shop = loaded(tmp_path, LEAST.replace('thickness = "2 mm"', 'thickness = "2 mm"\nmargin = 0'))
    assert shop.stock[0].margin_mm == 0.0


def test_feeds_with_and_without_their_minute(tmp_path: Path) -> None:
    for typed in ('"2 m/min"', '"2000 mm / min"', '"200 cm"'):
        assert loaded(tmp_path, f"{LEAST}greatest_feed = {typed}\n").machine.greatest_feed_mm_min == 2000.0


def test_a_shop_is_no_board(tmp_path: Path) -> None:
    loaded(tmp_path, LEAST)
    with pytest.raises(SpecError, match="a shop file where a board file is needed"):
        load_board(tmp_path / "shop.toml")


def test_the_first_cutter_and_stock_as_thick_as_the_first(router: Shop) -> None:
    short = replace(router.stock[0], name="off-cut 6", length_mm=700.0)
    shop = replace(router, stock=(*router.stock, short))
    stock, cutter, machine = chosen(shop, ALL)
    assert machine is router.machine
    assert [each.name for each in stock] == ["birch ply 6", "off-cut 6"]
    assert cutter is router.cutters[0]
    stock, cutter, _ = chosen(shop, Wanted(stock="birch ply 12", cutter="3 mm straight"))
    assert [each.name for each in stock] == ["birch ply 12"]
    assert cutter.name == "3 mm straight"


def test_names_the_shop_does_not_have_are_told_together(router: Shop) -> None:
    with pytest.raises(SpecError) as caught:
        chosen(router, Wanted(stock="birch ply", cutter="6 mm"))
    assert str(caught.value).count("has none of this name") == 2
    assert '--stock "birch ply 6"' in str(caught.value)
    assert 'allowed: "6 mm straight", "3 mm straight"' in str(caught.value)


def test_a_stock_that_the_job_does_not_take_blocks_nothing(router: Shop) -> None:
    beam = replace(router.stock[1], name="beam", thickness_mm=40.0, length_mm=4000.0)
    veneer = replace(router.stock[1], name="veneer", thickness_mm=1.0)
    short = replace(router.cutters[0], name="short", depth_mm=4.0)
    shop = replace(router, stock=(router.stock[0], beam, veneer), cutters=(short, *router.cutters))
    stock, cutter, _ = chosen(shop, ALL)
    assert ([each.name for each in stock], cutter.name) == (["birch ply 6"], "6 mm straight")
    for asked, problems in (
        ("beam", ["does not go through beam, nor does any other", "beam is longer than the router's bed"]),
        ("veneer", ["veneer is no thicker than the tabs"]),
    ):
        with pytest.raises(SpecError) as caught:
            chosen(shop, Wanted(stock=asked))
        assert len(caught.value.faults) == len(problems)
        assert all(problem in str(caught.value) for problem in problems)
        assert asked == "veneer" or str(caught.value).count('--stock "birch ply 6"') == 2
    assert chosen(replace(shop, cutting=replace(shop.cutting, tabs=0)), Wanted(stock="veneer"))[1].name == "short"


@pytest.mark.parametrize(
    ("size_mm", "hint"),
    [((1000.0, 2450.0), "lay the sheet the other way: "), ((2600.0, 1220.0), "saw the sheets to size first, ")],
)
def test_a_sheet_longer_than_the_bed(router: Shop, size_mm: tuple[float, float], hint: str) -> None:
    large = replace(router.stock[0], length_mm=size_mm[0], width_mm=size_mm[1])
    with pytest.raises(SpecError) as caught:
        chosen(replace(router, stock=(large,)), ALL)
    (fault,) = caught.value.faults
    along = size_mm[0] > 2500.0
    assert fault.line == (10 if along else 11)
    assert fault.allowed == ("at most 8' 2 3/8\" (2500.0 mm)" if along else "at most 4' 1 3/16\" (1250.0 mm)")
    assert fault.hint.startswith(hint)


def test_a_cutter_that_does_not_go_through(router: Shop) -> None:
    thick = replace(router.stock[1], thickness_mm=15.0)
    with pytest.raises(SpecError) as caught:
        chosen(replace(router, stock=(thick,)), Wanted(cutter="3 mm straight"))
    text = str(caught.value)
    assert "3 mm straight does not go through birch ply 12" in text
    assert '--cutter "6 mm straight"' in text
    assert "15.3 mm" in text


def test_parts_are_chosen_by_number() -> None:
    assert part_numbers("1, 6-8,3") == {range(1, 2), range(6, 9), range(3, 4)}
    assert numbers_text({1, 3, 6, 7, 8}) == "1, 3, 6-8"
    assert part_numbers(" All ") == "all"
    square = Contour.straight([[0, 0], [50, 0], [50, 50], [0, 50]], closed=True)
    parts = [
        Part(drawing=Drawing(name="x", contours=((CUT, square),)), title=f"part {number}", number=number)
        for number in (1, 2, 3)
    ]
    chosen_ones = chosen_parts(parts, Wanted(parts=part_numbers("3, 1")), "Dunlin")
    assert [part.number for part in chosen_ones] == [1, 3]
    assert chosen_parts(parts, ALL, "Dunlin") == tuple(parts)
    parts[1] = replace(parts[1], on_request=True)
    numbers = [[part.number for part in chosen_parts(parts, Wanted(parts=asked), "Dunlin")] for asked in ASKED]
    assert numbers == [[1, 3], [1, 2, 3], [2]]
    with pytest.raises(SpecError) as caught:
        chosen_parts(parts, Wanted(parts=part_numbers("2, 9, 11-12, 3-40")), "Dunlin")
    assert "Dunlin has no part of this number" in str(caught.value)
    assert "9, 11-12" in str(caught.value)
    assert "3 part 3" in str(caught.value)


@pytest.mark.parametrize("text", ["x", "", "3-1", "1;2", "1-", "²"])
def test_what_names_no_parts_is_refused(text: str) -> None:
    with pytest.raises(SpecError, match="this names no parts"):
        part_numbers(text)


@pytest.mark.parametrize("shop", sorted(SHOPS.glob("*.toml")), ids=lambda path: path.stem)
def test_the_shops_of_the_shed_are_usual(shop: Path) -> None:
    assert unusual(load_shop(shop)) == ()


UNUSUAL = [
    ("cutters", "pass_depth", '"18 mm"', "4 mm: 0.4 to 4 mm is usual"),
    ("cutters", "pass_depth", '"0.1 mm"', "4 mm: 0.4 to 4 mm is usual"),
    ("cutters", "chip_load", '"2 mm/flute"', "4 mm: 0.012 to 0.2 mm is usual"),
    ("cutters", "chip_load", '"0.004 mm/flute"', "4 mm: 0.012 to 0.2 mm is usual"),
    ("cutters", "rpm", "400", "5000 to 30000 rpm is usual"),
    ("cutters", "rpm", "90000", "5000 to 30000 rpm is usual"),
    ("cutters", "flutes", "8", "1 to 4 is usual"),
    ("machine", "travel_height", '"1 mm"', "5 to 60 mm is usual"),
    ("machine", "greatest_feed", '"40 mm/min"', "300 to 15000 mm/min is usual"),
    ("machine", "greatest_feed", '"45 m/min"', "300 to 15000 mm/min is usual"),
    ("machine", "rapid", '"50 mm/min"', "500 to 30000 mm/min is usual"),
    ("cutting", "ramp", '"45 deg"', "1 to 10 degrees is usual"),
    ("cutting", "tabs", "1", "2 to 12 is usual"),
    ("cutting", "tab_length", '"1 mm"', "4 to 30 mm is usual"),
    ("cutting", "tab_height", '"0.2 mm"', "0.8 to 6 mm is usual"),
    ("cutting", "tab_spacing", '"5 m"', "60 to 800 mm is usual"),
    ("cutting", "below", '"0 mm"', "0.1 to 1 mm is usual"),
    ("cutting", "below", '"5 mm"', "0.1 to 1 mm is usual"),
    ("cutting", "gap", '"300 mm"', "0 to 50 mm is usual"),
    ("cutting", "fit", '"2 mm"', "0.05 to 0.5 mm is usual"),
]


@pytest.mark.parametrize(("table", "key", "typed", "usual"), UNUSUAL, ids=str)
def test_what_no_shop_does_is_said_and_done(tmp_path: Path, table: str, key: str, typed: str, usual: str) -> None:
    header = {"cutters": "[[cutters]]", "machine": "[machine]", "cutting": "[cutting]"}[table]
    text = LEAST if header in LEAST else f"{LEAST}\n{header}\n"
    lines = text.replace(header, f"{header}\n{key} = {typed}").splitlines()
    (found,) = unusual(loaded(tmp_path, "\n".join(lines)))
    place = "cutters[1]" if table == "cutters" else table
    assert (found.code, found.severity) == ("unusual", "warning")
    assert found.where == f"shop.toml:{lines.index(f'{key} = {typed}') + 1}: {place}.{key}"
    assert found.text.startswith(f"{typed} is unusual")
    assert f"{usual}; " in found.text
    assert found.text.endswith(" (common practice, no source)")


def test_nothing_assumed_is_unusual_and_no_tabs_are_told_of_elsewhere(tmp_path: Path) -> None:
    for diameter, depth in (("0.8 mm", "4 mm"), ("16 mm", "40 mm")):
        text = LEAST.replace('diameter = "4 mm"', f'diameter = "{diameter}"')
        text = text.replace('cutting_depth = "20 mm"', f'cutting_depth = "{depth}"')
        assert unusual(loaded(tmp_path, text)) == ()
    assert unusual(loaded(tmp_path, f"{LEAST}\n[cutting]\ntabs = 0\n")) == ()


def test_every_usual_range_is_of_a_key_of_its_table() -> None:
    models = {
        "stock": StockTable,
        "cutters": CutterTable,
        "machine": MachineTable,
        "gantry": GantryTable,
        "cutting": CuttingTable,
    }
    assert USUAL.keys() == models.keys()
    for table, rows in USUAL.items():
        assert {row.key for row in rows} <= set(models[table].model_fields)
        assert all(row.low < row.high and row.reason for row in rows)
