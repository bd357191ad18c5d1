"""Glass: areas of faces against closed forms and the board's own, cloth and resin added up by hand, the tape line
against a tape's way round the section, weights against their parts.
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
import shapely

from bayloft.drawing.sheet import CUT
from bayloft.drawing.templates.part_set import part_set
from bayloft.drawing.templates.tape_lines import laid_flat
from bayloft.floating.floats import board_floats
from bayloft.laminating.glassing import BoardGlass, board_glass, tape_line
from bayloft.laminating.plies import cured_mm, glassed_sizes, ply_zones
from bayloft.laminating.weighing import board_weight
from bayloft.lines.section_places import APEX
from bayloft.solid.draft import Draft
from bayloft.solid.face_areas import across_face, face_area_mm2, face_middle_mm, girths_mm, profile_mm, region_area_mm2
from bayloft.solid.integrals import end_area, integrals
from bayloft.solid.laps import face_plan, lap
from bayloft.solid.measure import width
from bayloft.spec.bench.glass import Glassing, Spread

from ..demo import draft, told
from .test_bodies import spindle

GLASS = Glassing(
    deck=(200.0, 130.0),
    bottom=(200.0,),
    first="bottom",
    lap_mm=50.0,
    laps="cut",
    bolt_mm=686.0,
    trim_mm=25.0,
    fibre_share=Spread(low=0.4, usual=0.5, high=0.6),
    fill_g_m2=Spread(low=200.0, usual=250.0, high=300.0),
    gloss_g_m2=Spread(low=100.0, usual=150.0, high=200.0),
    pot_g=400.0,
    patches=(),
)


@cache
def glassed(name: str) -> Draft:
    return told(draft(name), glass=GLASS)


def made_of(name: str) -> BoardGlass:
    made = board_glass(glassed(name))
    assert made is not None
    return made


@pytest.mark.parametrize("name", ["turnstone", "fulmar", "dunlin", "sanderling"])
def test_deck_bottom_and_wall_are_the_whole_surface(name: str) -> None:
    body = draft(name).body
    whole = integrals(body).area_mm2 - end_area(body)
    assert face_area_mm2(body, "deck") + face_area_mm2(body, "bottom") == pytest.approx(whole, rel=1e-6)


def test_a_cap_of_a_sphere_has_its_area_girth_and_profile() -> None:
    """2 pi R h (Archimedes, "On the Sphere and Cylinder")."""
    radius, cut = 150.0, 90.0
    body = spindle((radius, radius, radius))
    circle = shapely.Point(radius, 0.0).buffer(cut, quad_segs=200)
    half = shapely.intersection(circle, shapely.box(-500.0, 0.0, 500.0, 500.0))
    cap = 2.0 * math.pi * radius * (radius - math.sqrt(radius**2 - cut**2))
    assert region_area_mm2(body, "deck", half) == pytest.approx(cap, rel=3e-4)
    # The spindle's apex, at v = 0.55, lies beyond its equator: of each section the deck has 0.45 of the half turn.
    assert girths_mm(body, "deck", [radius])[0] == pytest.approx(2.0 * math.pi * radius * (1.0 - APEX), rel=1e-5)
    assert profile_mm(body, "deck") == pytest.approx(math.pi * radius, rel=1e-5)
    assert face_middle_mm(body, "deck") == pytest.approx(radius, abs=1e-6)


def test_a_lap_s_area_is_its_width_along_the_rail_amidships() -> None:
    """Of a lap that is narrow against the board, the area is its width times the rail's length, less where tips turn:
    each turns half about, and takes a disc of that radius less (Steiner inward, in the plane)."""
    body = draft("spoonbill").body
    found = lap(body, "bottom", 50.0)
    plan = np.array(face_plan(body, "bottom").exterior.coords)
    outline = plan[plan[:, 1] > 0.0]
    rail = float(np.sqrt((np.diff(outline, axis=0) ** 2).sum(axis=1)).sum())
    area = region_area_mm2(body, "bottom", found.covered)
    assert area == pytest.approx(2.0 * 50.0 * rail - math.pi * 50.0**2, rel=0.01)


def test_cloth_and_resin_add_up() -> None:
    made = made_of("turnstone")
    body = draft("turnstone").body
    bottom, deck = made.faces
    assert (bottom.face, deck.face) == ("bottom", "deck")
    whole = face_area_mm2(body, "deck") + region_area_mm2(body, "bottom", lap(body, "bottom", 50.0).covered)
    assert deck.cloth_g == pytest.approx(330.0 * whole * 1e-6, rel=1e-9)
    # Half and half by mass: as much resin as glass; at 40 % half as much again, at 60 % two thirds.
    assert deck.resin_g.usual == pytest.approx(deck.cloth_g)
    assert deck.resin_g.high == pytest.approx(1.5 * deck.cloth_g)
    assert deck.resin_g.low == pytest.approx(deck.cloth_g / 1.5)
    assert deck.pots == math.ceil(deck.resin_g.high / 400.0)
    assert bottom.wide_mm == pytest.approx(bottom.girth_mm + 100.0)
    assert bottom.leaves_mm == pytest.approx((686.0 - bottom.girth_mm) / 2.0)
    assert made.bolt_mm == pytest.approx(bottom.long_mm + 2.0 * deck.long_mm + 6.0 * 25.0)
    # A piece reaches over the nose and past the tail.
    assert bottom.long_mm > profile_mm(body, "bottom") + 100.0 - 1e-6


@pytest.mark.parametrize("name", ["whimbrel", "turnstone"])
def test_relief_cuts_are_as_many_as_the_rails_turn(name: str) -> None:
    """A lap of 50 mm is 100 mm too long for each radian, and a cut takes 10 mm: both sides of a nose turn from square
    to how they run a foot from it; a swallow's tips turn none, for there the rails run straight."""
    body, length = draft(name).body, draft(name).board.length_mm
    x = length - 304.8 + np.array([-1.0, 1.0])
    slope = float(np.diff(width(body, x))[0]) / 4.0
    nose, tail = made_of(name).faces[0].relief_cuts
    assert nose == pytest.approx(2.0 * (math.pi / 2.0 + math.atan(slope)) * 10.0, abs=1.1)
    if name == "turnstone":
        assert tail <= 3


def test_girths_are_those_of_the_notes_of_a_board_of_this_width() -> None:
    """A tape round a face is longer than the board is wide, and shorter than that and both its thicknesses."""
    made, board = made_of("spoonbill"), draft("spoonbill").board
    for face in made.faces:
        assert board.wide_point.value < face.girth_mm < board.wide_point.value + board.thickest.value


@pytest.mark.parametrize("name", ["whimbrel", "turnstone"])
def test_the_tape_line_is_where_a_tape_finds_it(name: str) -> None:
    """From the middle and in from the rail together are the half girth; near a tip more girth than the lap is needed,
    for there the rail runs across."""
    drawn = glassed(name)
    made = board_glass(drawn)
    assert made is not None
    on = made.faces[0].lap
    rows = [row for row in tape_line(drawn, on) if not math.isnan(row.from_middle_mm)]
    assert len(rows) >= 4
    for row in rows:
        half = girths_mm(drawn.body, on.face, [row.x_mm])[0] / 2.0
        assert row.from_middle_mm + row.from_rail_mm == pytest.approx(half, rel=1e-4)
        assert row.from_rail_mm >= 50.0 - 0.03
    middle = min(rows, key=lambda row: abs(row.x_mm - drawn.board.wide_point.x_mm))
    assert middle.from_rail_mm == pytest.approx(50.0, abs=0.2)
    assert rows[-1].from_rail_mm > 51.0


def test_the_template_of_the_tape_line_is_as_long_and_as_wide_as_the_face() -> None:
    drawn = glassed("whimbrel")
    made = board_glass(drawn)
    assert made is not None
    on = made.faces[0].lap
    flat = laid_flat(drawn.body, on)
    # Laid on the face it begins and ends a lap inside the tips: the tips' own rays run along the stringer.
    assert flat[0, 0] == pytest.approx(50.0, abs=0.1)
    assert profile_mm(drawn.body, on.face) - flat[-1, 0] == pytest.approx(50.0, abs=0.1)
    for row in tape_line(drawn, on):
        across, _ = across_face(drawn.body, on.face, row.x_mm)
        assert across[0] == pytest.approx(0.0, abs=1e-9)
        near = np.interp(row.x_mm, *_along(drawn.body, on.face))
        assert float(np.interp(near, flat[:, 0], flat[:, 1])) == pytest.approx(row.from_middle_mm, abs=0.3)


def test_the_template_of_a_tape_line_reaches_into_the_prongs_of_a_swallow_tail() -> None:
    drawn = glassed("turnstone")
    notch = drawn.body.port.at(np.array([0.0]), np.array([0.0]))[0, 0]
    for face in made_of("turnstone").faces:
        line = face.lap.line
        assert line[:, 0].min() < notch - 10.0
        flat = laid_flat(drawn.body, face.lap)
        # Aft of the stringer the template goes straight on, with no upright edge where the stringer ends.
        assert flat[:, 0].min() == pytest.approx(line[:, 0].min() - notch, abs=0.1)
        assert flat[0, 1] == flat[-1, 1] == 0.0
        shape = shapely.Polygon(flat)
        assert shape.is_valid
        for x in (-5.0, -15.0):
            cut = shapely.LineString([(x, -10.0), (x, 500.0)]).intersection(shape)
            own = shapely.LineString([(notch + x, -10.0), (notch + x, 500.0)]).intersection(shapely.Polygon(line))
            assert cut.length == pytest.approx(own.length, rel=0.02)


def _along(body: object, face: object) -> tuple[np.ndarray, np.ndarray]:
    u = np.linspace(0.0, 1.0, 4001)
    line = body.port.grid(u, [1.0 - 1e-12 if face == "deck" else 0.0])[:, 0]  # type: ignore[attr-defined]
    far = np.concatenate([[0.0], np.cumsum(np.sqrt((np.diff(line, axis=0) ** 2).sum(axis=1)))])
    return line[:, 0], far


def test_a_weight_is_the_sum_of_its_parts_and_balances_between_them() -> None:
    drawn = draft("spoonbill")
    weight = board_weight(drawn)
    assert weight is not None
    names = [part.name for part in weight.parts]
    assert names[:2] == ["foam", "stringer"]
    assert {"cloth, deck", "resin, bottom", "tail patch", "gloss, sanded", "fin Spoonbill pivot"} <= set(names)
    total = weight.total_g
    assert total.low < total.usual < total.high
    assert total.usual == pytest.approx(sum(part.mass_g.usual for part in weight.parts))
    foam = weight.parts[0].mass_g.usual
    exact = integrals(drawn.body)
    stringer_mm3 = (exact.volume_mm3 * 47e-6 - foam) / 47e-6
    assert 0.0 < stringer_mm3 < 0.05 * exact.volume_mm3
    # Moments about the place of balance cancel.
    assert sum(p.mass_g.usual * (p.x_mm - weight.balance_mm) for p in weight.parts) == pytest.approx(0.0, abs=1e-6)
    assert abs(weight.balance_mm - exact.centroid_mm[0]) < 60.0
    # Another cloth of 4 oz (135.6 g/m2) with as much resin as its share says.
    made = board_glass(drawn)
    assert made is not None
    deck = next(face for face in made.faces if face.face == "deck")
    wanted = 135.62 * (deck.area_mm2 + deck.lap_mm2) * 1e-6 / made.glass.fibre_share.usual
    assert dict(weight.changes)["another 4 oz cloth on the deck"] == pytest.approx(wanted, rel=1e-3)


def test_plies_cure_as_thick_as_the_scantling_rule_has_them() -> None:
    """w / 3072 (2.56 / m - 1.36) mm, ISO 12215-5, annex C (from memory); 6 oz/yd2 at 45 % glass: 0.287 mm."""
    weight = 203.43
    assert cured_mm((weight,), 0.45) == pytest.approx(weight / 3072.0 * (2.56 / 0.45 - 1.36), rel=1e-4)
    assert cured_mm((weight, weight), 0.45) == pytest.approx(2.0 * cured_mm((weight,), 0.45))


def test_laps_double_and_the_finished_board_is_larger_by_its_plies() -> None:
    drawn = glassed("spoonbill")
    made = board_glass(drawn)
    assert made is not None
    zones = {(zone.face, zone.name): zone for zone in ply_zones(made)}
    assert zones["deck", "middle"].plies == 2
    assert zones["bottom", "middle"].plies == 1
    assert zones["deck", "lap"].plies == zones["bottom", "lap"].plies == 3
    both = zones["deck", "middle"].thick_mm + zones["bottom", "middle"].thick_mm
    assert zones["deck", "lap"].thick_mm == pytest.approx(both)
    middle = next(each for each in glassed_sizes(drawn, made) if each.x_mm == pytest.approx(1422.4))
    assert middle.width_mm == pytest.approx(drawn.board.wide_point.value + 2.0 * both, abs=1e-3)
    assert middle.thickness_mm == pytest.approx(drawn.board.thickest.value + both, abs=1e-2)


def test_a_board_that_is_not_weighed_floats_with_what_it_is_made_of() -> None:
    drawn = draft("spoonbill")
    afloat = drawn.board.afloat
    assert afloat is not None
    floats = board_floats(told(drawn, afloat=replace(afloat, board_kg=0.0, balance_x_mm=None)))
    weight = board_weight(drawn)
    assert floats is not None
    assert weight is not None
    assert floats.asked.board_kg == pytest.approx(weight.total_g.usual / 1e3)
    assert floats.asked.balance_x_mm == pytest.approx(weight.balance_mm)
    assert floats.own.rest.mass_kg == pytest.approx(afloat.load_kg + weight.total_g.usual / 1e3, rel=1e-6)


def test_parts_of_the_set_have_the_tape_line_for_their_edge() -> None:
    parts = {part.number: part for part in part_set(glassed("whimbrel"), ())}
    assert parts[63].title == "tape line, deck"
    assert parts[64].title == "tape line, bottom"
    assert parts[63].on_request
    assert sum(layer == CUT for layer, _ in parts[63].drawing.contours) >= 1
