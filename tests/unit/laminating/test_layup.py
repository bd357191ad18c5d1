"""Plies, planes, refusals, and what the layup sheet and the fin template say of them."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from shapely import box

from bayloft.build import check_boards
from bayloft.drawing.labels import bounds
from bayloft.drawing.sheet import PLY, THICKNESS, Drawing
from bayloft.drawing.sheets.layup_sheet import CAUTIONS, MARGIN_MM, PAGE_MM, layup_sheet
from bayloft.drawing.sheets.layup_tables import MOST_RUNGS, rungs
from bayloft.drawing.templates.fin_template import fin_template
from bayloft.errors import SpecError
from bayloft.export.preflight import drawing_problems
from bayloft.laminating.laminate import batches
from bayloft.laminating.layup import assumed_limits, fin_layup, fin_panel, ply_planes_mm
from bayloft.lines.fin import FinLines
from bayloft.solid.body import Body
from bayloft.solid.integrals import integrals
from bayloft.spec.fins.fin import Fin
from bayloft.spec.fins.layup import CAUTIOUS, USUAL, Core

from ...demo import fin_draft, told_fin

SPECS = Path(__file__).parents[3] / "specs"
FINS = tuple(sorted(path.stem for path in (SPECS / "fins").glob("*.toml")))
CEDAR = Core(material="western red cedar", density_kg_m3=340.0, thickness_mm=6.35, skin_plies=None)


def read(name: str) -> tuple[Fin, FinLines, Body]:
    drawn = fin_draft(name)
    return drawn.fin, drawn.lines, drawn.body


def sheet(which: str, /, **changed: object) -> Drawing:
    drawn = told_fin(fin_draft(which), **changed)
    return layup_sheet(drawn, fin_layup(drawn.fin, drawn.lines, drawn.body, integrals(drawn.body)))


def refusal(fin: Fin, lines: FinLines) -> str:
    with pytest.raises(SpecError) as caught:
        fin_panel(fin, lines)
    return str(caught.value)


def words(drawing: Drawing) -> str:
    return " ".join(label.text for label in drawing.labels)


# Planes


def test_an_even_number_of_plies_meets_in_the_middle_plane() -> None:
    fin, lines, body = read("whimbrel-flex")
    panel = fin_panel(replace(fin, thickness_mm=9.3), lines)
    assert panel.plies == 30
    planes = ply_planes_mm(panel, body) / panel.laminate.ply_mm
    assert planes == pytest.approx([float(k) for k in range(-14, 15)], abs=1e-12)


def test_an_odd_number_of_plies_has_one_in_the_middle_plane() -> None:
    fin, lines, body = read("whimbrel-flex")
    panel = fin_panel(fin, lines)
    assert panel.plies == 31
    planes = ply_planes_mm(panel, body) / panel.laminate.ply_mm
    assert planes == pytest.approx([k + 0.5 for k in range(-15, 15)], abs=1e-12)


def test_a_flat_fin_counts_its_plies_from_the_flat_face() -> None:
    fin, lines, body = read("turnstone-keel")
    panel = fin_panel(replace(fin, core=None), lines)
    planes = ply_planes_mm(panel, body) / panel.laminate.ply_mm
    assert planes == pytest.approx([float(k) for k in range(1, panel.plies)], abs=1e-9)


def test_a_core_has_no_ply_lines() -> None:
    keel = fin_draft("turnstone-keel")
    assert len(ply_planes_mm(fin_panel(keel.fin, keel.lines), keel.body)) == 0
    assert PLY not in fin_template(keel).layers
    assert THICKNESS in fin_template(keel).layers
    assert PLY in fin_template(told_fin(keel, core=None)).layers


def test_a_thickness_of_whole_plies_takes_no_further_one() -> None:
    fin, lines, _ = read("whimbrel-flex")
    ply = fin_panel(fin, lines).laminate.ply_mm
    assert fin_panel(replace(fin, thickness_mm=30 * ply * (1 + 1e-12)), lines).plies == 30
    assert fin_panel(replace(fin, thickness_mm=30 * ply * (1 + 1e-4)), lines).plies == 31


# Refusals


def test_a_tip_thinner_than_two_plies_is_refused() -> None:
    fin, lines, _ = read("whimbrel-flex")
    heavy = replace(fin, layup=replace(USUAL, cloth_g_m2=1600.0, pot_g=5000.0))
    told = refusal(heavy, lines)
    assert "foil.tip_thickness: the foil is thinner than two plies towards its tip" in told
    assert "found:   2.40 mm" in told
    assert "3.92 mm or more, two plies of 1.958 mm" in told


def test_a_single_ply_larger_than_a_pot_is_refused_and_the_limit_named_cautious() -> None:
    fin, lines, _ = read("fulmar-gun")
    told = refusal(replace(fin, layup=replace(fin.layup, cloth_g_m2=800.0, fibre_share=0.2)), lines)
    assert "layup.pot: a single ply of this panel takes 213 g of resin: more than a pot" in told
    assert f"200 g ({CAUTIOUS})" in told
    given, lines, _ = read("whimbrel-flex")
    told = refusal(replace(given, layup=replace(given.layup, pot_g=15.0)), lines)
    assert "found:   15 g\n" in told
    assert "cautious" not in told


def test_more_plies_than_fit_are_refused() -> None:
    fin, lines, _ = read("whimbrel-flex")
    told = refusal(replace(fin, core=replace(CEDAR, skin_plies=16)), lines)
    assert "core.skin_plies: more plies than fit: both skins are 9.96 mm thick and leave no core" in told


def test_core_and_skins_that_do_not_fill_the_foil_are_refused() -> None:
    fin, lines, _ = read("whimbrel-flex")
    told = refusal(replace(fin, core=replace(CEDAR, skin_plies=3)), lines)
    assert 'core and skins make 5/16" (8.2 mm): 1.28 mm less than the foil' in told
    assert "allowed: 6 or more on a core" in told


def test_a_board_whose_fin_cannot_be_laid_up_is_refused_before_it_is_lofted(tmp_path: Path) -> None:
    board = (SPECS / "boards" / "whimbrel.toml").read_text("utf-8").replace("../fins/whimbrel-flex.toml", "fin.toml")
    fin = (SPECS / "fins" / "whimbrel-flex.toml").read_text("utf-8").replace("2.4 mm", "0.5 mm")
    (tmp_path / "board.toml").write_text(board.replace("../rails/", f"{SPECS}/rails/"), encoding="utf-8")
    (tmp_path / "fin.toml").write_text(fin.replace('"1 mm"', '"0.2 mm"'), encoding="utf-8")
    with pytest.raises(SpecError, match=r"fin.toml:[0-9]+: foil.tip_thickness: the foil is thinner than two plies"):
        check_boards([tmp_path / "board.toml"])


def test_no_batch_of_nothing() -> None:
    for plies, most in ((0, 3), (3, 0)):
        with pytest.raises(ValueError, match="cannot be shared out"):
            batches(plies, most)


# What is said


def test_cautious_limits_are_those_that_are_not_given() -> None:
    assert assumed_limits(read("avocet-single")[0]) == {"plies_per_session", "pot"}
    assert assumed_limits(read("whimbrel-flex")[0]) == frozenset()


@pytest.mark.parametrize("name", FINS)
def test_the_sheet_says_what_is_laid_and_warns_once(name: str) -> None:
    fin, lines, body = read(name)
    drawing = sheet(name)
    told, panel = words(drawing), fin_panel(fin, lines)
    assert drawing.page_mm == PAGE_MM
    assert told.count(CAUTIOUS.rsplit(" ", 2)[0]) == len(assumed_limits(fin))
    assert told.count("data sheets of resin, catalyst and cloth come before this sheet") == 1
    assert told.count("sessions, the first at the foot") == 1
    for caution in CAUTIONS:
        assert told.count(caution.split(",")[0].split(":")[0][:20]) == 1
    for session in panel.sessions:
        assert f"{session.laid_mm:.2f} mm" in told
        assert f"{session.resin_g:.0f} g" in told
    laid = fin_layup(fin, lines, body, integrals(body))
    for weight in (laid.panel_g, laid.finished_g, laid.waste_g):
        assert f"{weight:.0f} g" in told
    assert not list(drawing_problems(drawing))


CHANGED = {
    "as it is": {},
    "core": {"core": CEDAR},
    "many sessions": {"layup": replace(USUAL, cloth_g_m2=60.0, plies_per_session=2)},
    "long": {"name": "Saltmarsh Boatshed fin of a very long name, number one"},
}


@pytest.mark.parametrize("name", ["dunlin-centre", "fulmar-gun", "spoonbill-pivot"])
@pytest.mark.parametrize("change", CHANGED)
def test_texts_of_the_sheet_stay_on_it_and_apart(name: str, change: str) -> None:
    changed = CHANGED[change]
    if name == "dunlin-centre" and change == "core":
        changed = {"core": replace(CEDAR, thickness_mm=4.0)}
    drawing = sheet(name, **changed)
    page = box(MARGIN_MM - 0.1, MARGIN_MM - 0.1, PAGE_MM[0] - MARGIN_MM + 0.1, PAGE_MM[1] - MARGIN_MM + 0.1)
    boxes = [(label.text, box(*bounds(label)).buffer(-0.15)) for label in drawing.labels]
    assert [text for text, area in boxes if not page.covers(area)] == []
    clashes = [(a, b) for i, (a, one) in enumerate(boxes) for b, other in boxes[i + 1 :] if one.intersects(other)]
    assert clashes == []
    left, bottom, right, top = drawing.bounds
    assert min(left, bottom) >= MARGIN_MM - 1e-6
    assert right <= PAGE_MM[0] - MARGIN_MM + 1e-6
    assert top <= PAGE_MM[1] - MARGIN_MM


def test_the_largest_fin_fits_its_sheet() -> None:
    big = told_fin(fin_draft("fulmar-gun"), layup=replace(USUAL, margin_mm=100.0, pot_g=5000.0))
    laid = fin_layup(big.fin, big.lines, big.body, integrals(big.body))
    huge = replace(laid, panel=replace(laid.panel, size_mm=(1400.0, 900.0)))
    drawing = layup_sheet(big, huge)
    assert drawing.bounds[2] <= PAGE_MM[0] - MARGIN_MM + 1e-6
    assert "1:15" in words(drawing)


def test_many_equal_sessions_share_a_rung() -> None:
    fin, lines, _ = read("whimbrel-flex")
    panel = fin_panel(replace(fin, layup=replace(USUAL, plies_per_session=2)), lines)
    assert len(panel.sessions) == 16
    shown = rungs(panel.sessions)
    assert [(rung.first, rung.last, rung.session.plies) for rung in shown] == [(1, 15, 2), (16, 16, 1)]
    assert shown[-1].session.laid_mm == pytest.approx(panel.thickness_mm)
    few = fin_panel(fin, lines).sessions
    assert len(rungs(few)) == len(few) <= MOST_RUNGS


def test_both_kinds_of_middle_are_told_on_the_template() -> None:
    flex = fin_draft("whimbrel-flex")
    assert "31 plies; the edges are inside the middle ply" in words(fin_template(flex))
    even = told_fin(flex, thickness_mm=9.3)
    assert "30 plies; the edges are between two plies" in words(fin_template(even))
    side = words(fin_template(fin_draft("dunlin-side")))
    assert "plies, counted from the inside face" in side
    assert "outer face" in side
