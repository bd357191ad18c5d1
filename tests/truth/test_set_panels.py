"""Fins nested on one panel, measured by other means than they were laid with: shapely on the drawn outlines."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from itertools import combinations

import pytest
from shapely import Polygon, box, distance

from bayloft.drawing.sheets.panel_card import panel_cards
from bayloft.drawing.templates.fin_template import fin_outline
from bayloft.drawing.templates.panel_template import base_ends_mm
from bayloft.errors import SpecError
from bayloft.export import pdf
from bayloft.export.preflight import drawing_problems
from bayloft.laminating.laminate import laminate
from bayloft.laminating.layup import fin_layup
from bayloft.laminating.nesting import NestShape, nested
from bayloft.laminating.set_panels import SetPanel, set_panels
from bayloft.record.panel_entries import panel_entries
from bayloft.solid.draft import Draft, drafted_fin
from bayloft.solid.integrals import integrals
from bayloft.spec.boards.board import Board, Placement
from bayloft.spec.loading import load_board

from ..demo import SPECS, board, changed, draft

ROUNDING_MM = 0.02
"""Arcs of a drawn outline against the chords that it was laid by, and places of 0.001 mm."""


def with_fins(base: str, *fins: Placement, **told: object) -> Draft:
    drawn: Draft = draft(base)
    own: Board = replace(drawn.board, fins=fins, **told)  # type: ignore[arg-type]
    made = {place.fin.slug: drafted_fin(place.fin) for place in fins}
    return replace(drawn, board=own, fins=tuple(made.values()))


def laid(place: Placement, **layup: object) -> Placement:
    return replace(place, fin=replace(place.fin, layup=replace(place.fin.layup, **layup)))  # type: ignore[arg-type]


@cache
def sets() -> dict[str, Draft]:
    side, centre = board("dunlin").fins
    keel = board("turnstone").fins[0]
    solid = replace(keel, fin=replace(keel.fin, core=None))
    same = replace(centre, fin=replace(centre.fin, layup=side.fin.layup))
    behind = replace(side, from_tail_mm=150.0, off_stringer_mm=90.0)
    apart = replace(board("dunlin").panels, between_mm=25.4)
    return {
        "dunlin": draft("dunlin"),
        "turnstone": draft("turnstone"),
        "whimbrel": draft("whimbrel"),
        "twin": with_fins("turnstone", solid),
        "quad": with_fins("dunlin", side, behind),
        "three": with_fins("dunlin", side, same),
        "any way": with_fins("dunlin", laid(side, warp="any")),
        "along the base": with_fins("dunlin", laid(side, warp="base"), laid(same, warp="base")),
        "up the fin": with_fins("dunlin", laid(side, warp="depth")),
        "apart": with_fins("dunlin", side, panels=apart),
        "no margin": with_fins("turnstone", laid(solid, margin_mm=0.0)),
    }


SETS = (
    "dunlin", "turnstone", "whimbrel", "twin", "quad", "three", "any way", "along the base", "up the fin", "apart",
    "no margin",
)  # fmt: skip


def outlines(panel: SetPanel) -> list[Polygon]:
    return [Polygon(each.spot.laid(fin_outline(each.piece.fin)).flattened(0.001)) for each in panel.fins]


@pytest.mark.parametrize("name", SETS)
def test_fins_keep_apart_and_inside_with_their_margins(name: str) -> None:
    drawn = sets()[name]
    asked = drawn.board.panels
    for panel in set_panels(drawn):
        shapes = outlines(panel)
        margins = [each.piece.fin.fin.layup.margin_mm for each in panel.fins]
        for shape, margin in zip(shapes, margins, strict=True):
            assert (
                box(margin, margin, panel.size_mm[0] - margin, panel.size_mm[1] - margin)
                .buffer(ROUNDING_MM)
                .covers(shape)
            )
        for i, j in combinations(range(len(shapes)), 2):
            gap = asked.between_mm or margins[i] + margins[j] + asked.saw_mm
            assert distance(shapes[i], shapes[j]) >= gap - ROUNDING_MM
        assert panel.fins_m2 == pytest.approx(sum(shape.area for shape in shapes) / 1e6, rel=2e-4)


@pytest.mark.parametrize("name", SETS)
def test_every_fin_is_there_once_and_no_set_takes_more_than_its_fins_alone(name: str) -> None:
    drawn = sets()[name]
    panels = set_panels(drawn)
    there = sorted(
        (each.piece.fin.fin.slug, each.piece.copy, each.piece.mirrored) for panel in panels for each in panel.fins
    )
    asked: list[tuple[str, int, bool]] = []
    for place in drawn.board.fins:
        before = sum(slug == place.fin.slug for slug, _, _ in asked)
        asked += [(place.fin.slug, before + 1 + side, bool(side)) for side in range(2 if place.off_stringer_mm else 1)]
    assert there == sorted(asked)
    for panel in panels:
        assert panel.area_m2 <= panel.single_m2 * (1 + 1e-9)


@pytest.mark.parametrize("name", SETS)
def test_the_panel_weighs_its_plies_and_no_pot_is_too_small(name: str) -> None:
    for panel in set_panels(sets()[name]):
        layups = [each.piece.fin.fin.layup for each in panel.fins]
        one, along, across = layups[0], *panel.size_mm
        core = panel.fins[0].piece.fin.fin.core
        glass_g = panel.panel.plies * along * across * 1e-6 * one.cloth_g_m2
        core_g = along * across * core.thickness_mm * core.density_kg_m3 * 1e-6 if core else 0.0
        assert panel.cloth_g == pytest.approx(glass_g, rel=1e-12)
        assert panel.mass_g == pytest.approx(glass_g / one.fibre_share + core_g, rel=1e-12)
        assert sum(session.plies for session in panel.sessions) == panel.panel.plies
        assert sum(session.resin_g for session in panel.sessions) == pytest.approx(panel.resin_g, rel=1e-12)
        assert max(session.resin_g for session in panel.sessions) <= min(each.pot_g for each in layups) * (1 + 1e-12)
        assert max(session.plies for session in panel.sessions) <= min(each.plies_per_session for each in layups)


@pytest.mark.parametrize("name", SETS)
def test_so_many_plies_come_off_the_roll(name: str) -> None:
    for panel in set_panels(sets()[name]):
        # Laid out ply by ply on the roll.
        along, across = panel.size_mm
        rows = [[0.0]]
        for _ in range(panel.panel.plies):
            if rows[-1][-1] + across > panel.bolt_mm:
                rows.append([0.0])
            rows[-1].append(rows[-1][-1] + across)
        assert panel.roll_mm == pytest.approx(len(rows) * along)
        assert len(panel.fins) == 1 or across <= panel.bolt_mm


def test_a_panel_wider_than_the_bolt_is_told_in_strips() -> None:
    place = board("whimbrel").fins[0]
    asked = replace(board("whimbrel").panels, bolt_mm=200.0)
    (panel,) = set_panels(with_fins("whimbrel", place, panels=asked))
    assert (panel.side_by_side, panel.strips) == (0, 2)
    assert panel.roll_mm == panel.panel.plies * 2 * panel.size_mm[0]


@pytest.mark.parametrize(
    ("name", "allowed"), [("along the base", {0.0}), ("up the fin", {90.0}), ("quad", {0.0, 90.0})]
)
def test_the_warp_lies_where_it_is_told_and_alike_on_all(name: str, allowed: set[float]) -> None:
    for panel in set_panels(sets()[name]):
        turns = {each.spot.turned_deg % 180.0 for each in panel.fins}
        assert len(turns) == 1
        assert turns <= allowed


def test_at_any_angle_a_pair_keeps_one_direction_as_mirror_images() -> None:
    (panel,) = set_panels(sets()["any way"])
    relative = set()
    for each in panel.fins:
        turn = each.spot.turned_deg % 180.0
        relative.add((-turn if each.spot.flipped else turn) % 180.0)
    assert len(relative) == 1


def test_with_a_core_all_outer_faces_lie_up_and_in_glass_either() -> None:
    (cored,) = set_panels(sets()["turnstone"])
    assert [each.spot.flipped for each in cored.fins] == [False, True]
    assert not any(each.turned_over for each in cored.fins)
    (glass,) = set_panels(sets()["twin"])
    assert glass.area_m2 < cored.area_m2


def test_what_a_fin_alone_takes_is_its_own_panel() -> None:
    (panel,) = set_panels(draft("whimbrel"))
    own = panel.fins[0].piece.panel
    assert sorted(panel.size_mm) == sorted(own.size_mm)
    assert panel.sessions == own.sessions
    assert panel.saved_share == 0.0


def test_other_cloth_is_another_panel() -> None:
    panels = set_panels(draft("dunlin"))
    assert [len(panel.fins) for panel in panels] == [2, 1]
    assert [len(panel.fins) for panel in set_panels(sets()["three"])] == [3]


def test_what_a_pot_does_not_cover_is_laid_on_two_panels() -> None:
    side = board("dunlin").fins[0]
    (quad,) = set_panels(sets()["quad"])
    resin_g = laminate(side.fin.layup).resin_g_m2 * quad.area_m2
    placed = [replace(laid(side, pot_g=0.8 * resin_g), off_stringer_mm=off) for off in (90.0, 108.0)]
    panels = set_panels(with_fins("dunlin", *placed))
    assert len(panels) == 2
    assert sorted(len(panel.fins) for panel in panels) in ([1, 3], [2, 2])
    for panel in panels:
        assert max(session.resin_g for session in panel.sessions) <= 0.8 * resin_g


def test_the_smallest_pot_and_the_fewest_plies_hold_for_all() -> None:
    side, centre = board("dunlin").fins
    same = replace(centre, fin=replace(centre.fin, layup=replace(side.fin.layup, pot_g=90.0, plies_per_session=4)))
    (panel,) = set_panels(with_fins("dunlin", side, same))
    assert max(session.resin_g for session in panel.sessions) <= 90.0
    assert max(session.plies for session in panel.sessions) <= 4


@pytest.mark.parametrize(("name", "before", "after"), [("twin", 0.796, 0.751), ("quad", 0.841, 0.802)])
def test_the_waste_of_a_set_falls(name: str, before: float, after: float) -> None:
    drawn = sets()[name]
    weights = {}
    for fin in drawn.fins:
        weights[fin.fin.slug] = fin_layup(fin.fin, fin.lines, fin.body, integrals(fin.body)).finished_g
    (entry,) = panel_entries(drawn, weights)
    shares = entry["waste_share_by_mass"]
    assert shares["each_alone"] == pytest.approx(before, abs=0.002)
    assert shares["together"] < after + 0.002


def test_two_triangles_head_to_foot_make_a_parallelogram() -> None:
    # Right triangles of 100 x 60, no margin: turned by 180 they make their own box, which none but it beats.
    shape = NestShape(points=((0.0, 0.0), (100.0, 0.0), (0.0, 60.0)), margin_mm=0.0, clear_mm=0.0, flips=(False,))
    nest = nested([shape, shape], [0.0], most_across_mm=500.0)
    assert nest is not None
    assert {spot.turned_deg for spot in nest.spots} == {0.0, 180.0}
    assert 6000.0 <= nest.area_mm2 <= 6000.0 * 1.05
    assert nested([shape, shape], [0.0], most_across_mm=50.0) is None


def test_the_cards_places_are_those_of_the_drawn_base() -> None:
    for panel in set_panels(sets()["quad"]):
        for each, shape in zip(panel.fins, outlines(panel), strict=True):
            rear, front = base_ends_mm(each)
            assert math.dist(rear, front) == pytest.approx(each.piece.fin.fin.base_mm, abs=1e-3)
            assert shape.exterior.distance(Polygon([rear, rear, rear]).centroid) < ROUNDING_MM
            tip = each.spot.laid(fin_outline(each.piece.fin)).points
            # Raked aft: the outline reaches further beyond the rear end of its base than beyond the front.
            ahead = [(front[0] - rear[0], front[1] - rear[1])]
            along = [(x - rear[0]) * ahead[0][0] + (y - rear[1]) * ahead[0][1] for x, y in tip.tolist()]
            base2 = each.piece.fin.fin.base_mm**2
            assert -min(along) > max(along) - base2


@pytest.mark.parametrize("name", ["dunlin", "turnstone", "quad", "three", "any way"])
def test_cards_are_whole_and_the_same_twice(name: str) -> None:
    drawn = sets()[name]
    pages = panel_cards(drawn, "0" * 6)
    again = panel_cards(replace(drawn), "0" * 6)
    assert pdf.content(pages, title="panels") == pdf.content(again, title="panels")
    for page in pages:
        assert not list(drawing_problems(page))
    assert panel_cards(draft("whimbrel"), "0" * 6) == []


def test_four_pairs_have_their_cards() -> None:
    side = board("dunlin").fins[0]
    drawn = with_fins("dunlin", *(replace(side, from_tail_mm=100.0 + 20 * n) for n in range(4)))
    pages = panel_cards(drawn, "0" * 6)
    words = " ".join(label.text for page in pages for label in page.labels)
    assert sum(len(panel.fins) for panel in set_panels(drawn)) == 8
    assert "8 fins" in words


def test_the_saw_is_in_what_is_kept_between(tmp_path: object) -> None:
    text = (SPECS / "boards" / "dunlin.toml").read_text("utf-8") + '\n[panels]\nsaw = "2 mm"\nbetween = "1 in"\n'
    with pytest.raises(SpecError, match=r"panels\.saw: the saw's cut is in what is kept between two fins"):
        load_board(changed(tmp_path, "dunlin", text))  # type: ignore[arg-type]
    text = text.replace('saw = "2 mm"\n', 'bolt = "30 in"\n')
    read = load_board(changed(tmp_path / "b", "dunlin", text))  # type: ignore[operator]
    assert (read.panels.between_mm, read.panels.bolt_mm) == (25.4, 762.0)
