"""The set of templates measured again on the surface, and what every part must carry."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, Polygon, box, distance, points

from bayloft.drawing.curves.figures import place
from bayloft.drawing.curves.marked_stations import marked_stations
from bayloft.drawing.curves.stringer_curves import TEXT_WITHIN_MM, stringer_heights, stringer_stations
from bayloft.drawing.inscription import Tag
from bayloft.drawing.labels import bounds
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, DRILL, MARK, PLY, SCRIBE, THICKNESS
from bayloft.drawing.strokes import struck
from bayloft.drawing.templates.part_set import FINS, drawn_together, part_set
from bayloft.drawing.templates.rail_gauges import RAIL_MM, RELIEF_MM, rail_gauges
from bayloft.drawing.templates.stringer_profile import stringer_profile
from bayloft.drawing.templates.thickness_card import BACK_MM
from bayloft.errors import SpecError
from bayloft.export.preflight import cutting_problems, drawing_problems
from bayloft.lines.section_places import APEX, EDGE
from bayloft.plane.contour import Contour
from bayloft.solid.measure import section, stringer_from_mm, thickness
from bayloft.spec.boards.templates import Templates
from bayloft.spec.text.stations import NOSE_AND_TAIL_MM as FOOT_MM
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import both

from ...demo import draft, lofted_board, told

SPECS = Path(__file__).parents[3] / "specs"
GOLDEN = Path(__file__).parents[2] / "golden"
SameText = Callable[[str, Path], None]
BOARDS = ("avocet", "dunlin", "fulmar", "spoonbill", "turnstone", "whimbrel")
DAY = datetime.date(2026, 5, 1)

SAMPLED_MM = 5e-4
"""How far a curve sampled at thousands of places leaves its chords here, and contours flattened at 1e-4 mm."""

CUTTER_RADIUS_MM = 3.175
"""Half of 1/4 in: the cutter that every inside corner of the set lets through."""


@cache
def parts(name: str) -> tuple[Part, ...]:
    return part_set(draft(name), lofted_board(name).cut_fins, date=DAY)


def of(name: str, title: str) -> list[Part]:
    found = [part for part in parts(name) if part.title.startswith(title)]
    assert found
    return found


def ring(contour: Contour) -> Polygon:
    return Polygon(contour.flattened(1e-4))


def texts(part: Part) -> list[str]:
    return [label.text for label in part.drawing.labels]


@pytest.mark.parametrize("name", BOARDS)
def test_numbers_never_move(name: str, same_text: SameText) -> None:
    """What a list or the wood of years ago names is still the same part."""
    lines = [
        f"{part.number:>3}  {part.title}" + (f"  x {part.count}" if part.count > 1 else "") for part in parts(name)
    ]
    same_text("\n".join(lines) + "\n", GOLDEN / f"numbers-{name}.txt")


@pytest.mark.parametrize("name", BOARDS)
def test_the_set_is_numbered_in_its_order(name: str) -> None:
    read = draft(name).board
    kinds = [part.kind for part in parts(name)]
    new = ["new-stringer"] if read.stringer else []
    tapes = ["tape line, deck", "tape line, bottom"] if read.glass else []
    bands = ["deck bands", "bottom bands"] if read.bands else []
    order = ["half-outline", "full-outline", "stringer", "rocker-stick", "spin-templates", *new, "gauges", FINS]
    order += ["tape-lines"] if read.glass else []
    order += ["band-lines"] if bands else []
    order += ["fin-panels"] if name in {"dunlin", "turnstone"} else []
    assert list(dict.fromkeys(kinds)) == order
    numbers = [part.number for part in parts(name)]
    assert numbers == sorted(set(numbers))
    assert [part.title for part in parts(name) if part.along_grain] == [
        "half outline",
        "full outline",
        "stringer",
        "rocker stick",
        *(["new stringer"] if new else []),
        *tapes,
        *bands,
    ]
    assert sum(part.count for part in parts(name) if part.kind == FINS) == sum(
        2 if placed.off_stringer_mm else 1 for placed in read.fins
    )
    assert {part.board for part in parts(name)} == {read.name}
    assert list(drawn_together(parts(name))) == [kind for kind in order if kind != FINS]


@pytest.mark.parametrize("name", BOARDS)
def test_every_part_can_be_cut_and_says_what_it_is(name: str) -> None:
    for part in parts(name):
        cuts = [("CUT", contour) for layer, contour in part.drawing.contours if layer is CUT]
        assert not list(drawing_problems(part.drawing))
        assert not list(cutting_problems(part.drawing, cuts))
        said = texts(part)
        assert any("2026-05-01" in text for text in said)
        checks = [c for layer, c in part.drawing.contours if layer is MARK and c.length_mm == pytest.approx(100.0)]
        assert checks, part.title
        assert any("100 mm" in text for text in said)
        # What it is in single strokes, inside; ticks begin on the edge.
        strokes = [contour for layer, contour in struck(part.drawing).contours if layer is SCRIBE]
        assert strokes
        assert all(not stroke.closed for stroke in strokes)
        inside = ring(part.outline).buffer(ARC_FIT_MM)
        assert all(inside.contains(LineString(stroke.points)) for stroke in strokes), part.title


@pytest.mark.parametrize("name", BOARDS)
def test_texts_lie_clear_of_one_another_and_of_the_edge(name: str) -> None:
    for part in parts(name):
        if part.kind in (FINS, "half-outline", "full-outline"):
            continue
        boxes = [box(*bounds(label)) for label in part.drawing.labels]
        edge = ring(part.outline)
        for i, one in enumerate(boxes):
            assert edge.contains(one) or edge.disjoint(one), (part.title, part.drawing.labels[i].text)
            assert not any(one.overlaps(other) or one.contains(other) for other in boxes[i + 1 :])
        # All of it fits inside on every demo board, but for what is said of a stringer's thin ends, and of stations at
        # which a tape was laid between those that a maker works by.
        under = [label.text for label, one in zip(part.drawing.labels, boxes, strict=True) if not edge.contains(one)]
        most = {"stringer": 3, "rocker stick": 0} if name != "avocet" else {"stringer": 9, "rocker stick": 9}
        assert len(under) <= most.get(part.title, 0), (part.title, under)


@pytest.mark.parametrize("name", BOARDS)
def test_a_quarter_inch_cutter_goes_round_every_inside_corner(name: str) -> None:
    for part in parts(name):
        if part.kind == FINS:
            continue
        contour = part.outline
        assert contour.area_mm2 > 0.0
        chords = np.hypot(*(np.roll(contour.points, -1, axis=0) - contour.points).T)
        hollow = contour.bulges < 0.0
        radii = chords[hollow] * (1 + contour.bulges[hollow] ** 2) / (4 * np.abs(contour.bulges[hollow]))
        # Parts without a hollow arc have no inside corner of lines either, but at the swallow's notch.
        assert (radii >= CUTTER_RADIUS_MM).all(), (part.title, radii.min())


@pytest.mark.parametrize("name", BOARDS)
def test_the_stringer_is_bottom_and_deck_of_the_surface(name: str) -> None:
    body = draft(name).body
    (part,) = of(name, "stringer")
    u = np.linspace(0.0, 1.0, 4_001)
    lines = [body.port.grid(u, [v])[:, 0][:, [0, 2]] for v in (0.0, 1.0)]
    boundary = ring(part.outline).exterior
    for line in lines:
        off = distance(points(line), boundary)
        assert off.max() <= ARC_FIT_MM + SAMPLED_MM
    whole = Polygon(np.vstack([lines[0], lines[1][::-1]]))
    assert part.outline.area_mm2 == pytest.approx(whole.area, abs=0.2 * ARC_FIT_MM * part.outline.length_mm)
    drawn = part.outline.flattened(1e-3)
    assert distance(points(drawn), whole.exterior).max() <= ARC_FIT_MM + SAMPLED_MM


@pytest.mark.parametrize("name", BOARDS)
@pytest.mark.parametrize(("skin", "sanding"), [(4.0, 0.0), (0.0, 1.5), (5.0, 1.0), (2.0, 2.0)])
def test_allowances_lie_square_to_the_curves(name: str, skin: float, sanding: float) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    asked = told(drawn, templates=Templates(deck_skin_mm=skin, sanding_mm=sanding))
    part = stringer_profile(asked, Tag(board=read.name, number=3))
    # Away from the ends, where other edges are nearer: the drawn edge stands off the surface's line by the allowance.
    u = np.linspace(0.15, 0.85, 2_001)
    boundary = ring(part.outline).exterior
    inside = ring(part.outline)
    for v, allowance in ((0.0, sanding), (1.0, sanding - skin)):
        on = points(body.port.grid(u, [v])[:, 0][:, [0, 2]])
        off = distance(on, boundary)
        assert off.max() <= abs(allowance) + ARC_FIT_MM + SAMPLED_MM
        assert off.min() >= abs(allowance) - ARC_FIT_MM - SAMPLED_MM
        if allowance:
            assert [inside.contains(point) for point in on[::400]] == [allowance > 0.0] * len(on[::400])
    assert not list(cutting_problems(part.drawing, [("CUT", part.outline)]))
    # Nothing of a skinned core reaches beyond the board.
    if sanding == 0.0:
        u = np.linspace(0.0, 1.0, 4_001)
        edge = [body.port.grid(u, [v])[:, 0][:, [0, 2]] for v in (0.0, 1.0)]
        board_side = Polygon(np.vstack([edge[0], edge[1][::-1]])).buffer(ARC_FIT_MM + SAMPLED_MM)
        assert board_side.contains(inside)
    assert any("skin" in text for text in texts(part)) == bool(skin)
    assert any("sanding" in text for text in texts(part)) == bool(sanding)


def test_a_skin_beyond_the_round_of_the_tips_is_refused() -> None:
    drawn = draft("turnstone")
    read = drawn.board
    asked = told(drawn, templates=Templates(deck_skin_mm=60.0))
    with pytest.raises(SpecError, match=r"templates\.deck_skin: more than the board is thick leaves"):
        stringer_profile(asked, Tag(board=read.name, number=3))


@pytest.mark.parametrize("name", BOARDS)
def test_the_rocker_stick_has_the_bottom_over_a_straight_back(name: str) -> None:
    drawn = draft(name)
    read, lines, body = drawn.board, drawn.lines, drawn.body
    (part,) = of(name, "rocker stick")
    bottom = body.port.grid(np.linspace(0.0, 1.0, 4_001), [0.0])[:, 0][:, [0, 2]]
    # Under the rounding of a tip the stick goes on along the rocker as it is carried on there.
    inner = bottom[(bottom[:, 0] < read.length_mm - FOOT_MM) & ((bottom[:, 0] > FOOT_MM) | (lines.wall is not None))]
    edge = ring(part.outline).exterior
    assert distance(points(inner), edge).max() <= ARC_FIT_MM + SAMPLED_MM
    x = np.linspace(read.length_mm - FOOT_MM, read.length_mm, 200)
    carried = np.column_stack([x, lines.rocker.at(x)])
    assert distance(points(carried), edge).max() <= ARC_FIT_MM + SAMPLED_MM
    assert part.outline.bounds[1] == -45.0
    holes = np.array([np.array(hole.bounds).reshape(2, 2).mean(axis=0) for hole in part.holes])
    ticks = [c.points[0, 0] for layer, c in part.drawing.contours if layer is SCRIBE and np.ptp(c.points[:, 0]) == 0.0]
    stations = [x for x in holes[:, 0] if min(abs(x - tick) for tick in ticks) < 1e-6]
    # A hole through the stick at every station: the mark is on the other face as well.
    assert len(stations) == len(holes) >= 6
    said = " ".join(texts(part))
    for x, height in zip(holes[:, 0], lines.rocker.at(holes[:, 0]), strict=True):
        assert f"({x:.1f} mm) from tail" in said
        assert f"({round(float(height), 3) + 0.0:.1f} mm) rocker" in said


@pytest.mark.parametrize("name", BOARDS)
def test_slots_of_the_card_are_as_wide_as_the_board_is_thick(name: str) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    cards = of(name, "thickness card")
    stations = sorted(marked_stations([read.thickest.x_mm], read.thicknesses))
    stations = [x for x in stations if x > stringer_from_mm(body)]
    wide = []
    for card in cards:
        line = LineString([(-1e3, BACK_MM + 29.0), (1e4, BACK_MM + 29.0)]).difference(ring(card.outline))
        wide += [piece.length for piece in line.geoms][1:-1]
    assert wide == pytest.approx(thickness(body, stations), abs=1e-3)


def test_many_thicknesses_make_more_cards() -> None:
    drawn = draft("whimbrel")
    read = drawn.board
    more = tuple(replace(read.thickest, x_mm=float(x)) for x in np.linspace(400.0, 1_700.0, 14))
    found = part_set(told(drawn, thicknesses=more, fins=()), [])
    cards = [part for part in found if part.title == "thickness card"]
    assert [len(card.outline.points) for card in cards] == [4 + 8 * 6, 4 + 7 * 6]
    assert [part.number for part in found if part.kind == "gauges"][:3] == [21, 22, 101]


@pytest.mark.parametrize("name", BOARDS)
def test_gauges_fit_the_rail_and_stand_on_feet_at_the_stringer(name: str) -> None:
    body = draft(name).body
    for part in of(name, "rail gauge"):
        station = float(next(t for t in texts(part) if t.startswith("at ")).split("(")[1].split()[0])
        found = section(body, station, 400).points
        found = found - [0.0, found[0, 1]]
        gauge = ring(part.outline)
        # The written station is round to 0.05 mm, and widths change by less than a third of that.
        off = distance(points(found), gauge)
        half, spare = float(found[:, 0].max()), ARC_FIT_MM + SAMPLED_MM + 0.05
        body_in = gauge.intersection(Polygon([*found, (0.0, 0.0)]))
        assert body_in.area <= spare * part.outline.length_mm
        on_rail = found[:, 0] > half - RAIL_MM + 1.0
        touching = off <= spare
        relieved = off[on_rail & ~touching]
        assert (relieved <= RELIEF_MM).all()
        assert ("edge relieved" in texts(part)) == (len(relieved) > 0)
        feet = found[:, 0] < 24.0
        assert touching[feet].all()
        # Both arms end on the stringer's line, one on the bottom and one on the deck.
        assert part.outline.bounds[0] == 0.0
        ends = part.outline.points[np.abs(part.outline.points[:, 0]) < 1e-9][:, 1]
        assert sorted(ends)[1:3] == pytest.approx([0.0, float(found[-1, 1])], abs=0.01)
        if half > 25.0 + RAIL_MM + 50.0:
            between = (found[:, 0] > 40.0) & (found[:, 0] < half - RAIL_MM - 15.0)
            assert off[between] == pytest.approx(3.0, abs=0.1)


@pytest.mark.parametrize("name", BOARDS)
def test_gauges_are_exact_where_the_station_is_whole(name: str) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    asked = told(drawn, templates=Templates(rail_gauges_mm=(400.0, 1_000.0)))
    for station, part in zip((400.0, 1_000.0), rail_gauges(asked, Tag(board=read.name, number=6)), strict=True):
        found = section(body, station, 400)
        curve = found.points - [0.0, found.points[0, 1]]
        rail = (curve[:, 0] > curve[:, 0].max() - RAIL_MM) & (np.abs(found.v - EDGE) > 0.05)
        near = distance(points(curve[rail]), ring(part.outline).exterior)
        far = near > ARC_FIT_MM + SAMPLED_MM
        sharp = np.hypot(*(curve[rail][far] - curve[np.argmin(np.abs(found.v - EDGE))]).T)
        # What is not met lies in the relief of a sharp edge.
        assert (sharp < 2 * RELIEF_MM).all()
        # Nearly a third of it where the rail is let down hard: the gauge has its hole there.
        assert far.mean() < 0.3


def test_gauges_stand_where_the_maker_asks() -> None:
    asked = told(draft("whimbrel"), fins=(), templates=Templates(rail_gauges_mm=(500.0, 1_500.0)))
    gauges = [part for part in part_set(asked, []) if part.title.startswith("rail gauge")]
    assert [part.title for part in gauges] == ['rail gauge, 19 11/16" from tail', 'rail gauge, 28 15/16" from nose']


@pytest.mark.parametrize("name", BOARDS)
def test_full_outline_and_spin_templates_are_the_half_outlines_own(name: str) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    half, full = parts(name)[0].outline, parts(name)[1].outline
    assert full.area_mm2 == pytest.approx(2 * half.area_mm2, rel=1e-12)
    assert full.bounds == pytest.approx((half.bounds[0], -half.bounds[3], half.bounds[2], half.bounds[3]))
    edge = body.port.grid(np.linspace(0.0, 1.0, 2_001), [APEX])[:, 0, :2]
    boundary = ring(full).exterior
    assert distance(points(edge), boundary).max() <= ARC_FIT_MM + SAMPLED_MM
    assert distance(points(edge * [1.0, -1.0]), boundary).max() <= ARC_FIT_MM + SAMPLED_MM
    whole = ring(half)
    for part, end in zip(of(name, "nose spin") + of(name, "tail spin"), (read.length_mm, 0.0), strict=True):
        own = ring(part.outline)
        assert own.difference(whole.buffer(1e-3)).area == 0.0
        low, high = part.outline.bounds[0], part.outline.bounds[2]
        assert own.area == pytest.approx(whole.intersection(box(low, -1.0, high, 1e3)).area, abs=0.5)
        assert high - low == pytest.approx(330.0, abs=1e-6)
        assert (high if end else low) == pytest.approx(end, abs=1e-6)


def test_without_a_day_none_is_written_and_nothing_else_changes() -> None:
    drawn = told(draft("whimbrel"), fins=())
    plain = part_set(drawn, [])
    assert not any("2026" in label.text for part in plain for label in part.drawing.labels)
    again = part_set(drawn, [])
    assert [texts(part) for part in plain] == [texts(part) for part in again]
    others = [part for part in parts("whimbrel") if part.kind != FINS]
    for one, other in zip(plain, others, strict=True):
        assert np.array_equal(one.outline.points, other.outline.points)


def test_only_the_level_lines_of_a_fin_run_under_its_name() -> None:
    for part in parts("whimbrel"):
        if part.kind == FINS:
            layers = {layer for layer, _ in part.drawing.contours}
            assert layers & {PLY, THICKNESS}
            assert DRILL not in layers


@pytest.mark.parametrize("name", BOARDS)
@pytest.mark.parametrize("title", ["stringer", "rocker stick"])
def test_a_stations_text_stands_at_its_tick(name: str, title: str) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    (part,) = of(name, title)
    stations = stringer_stations(drawn)
    _, thick = stringer_heights(body, stations)
    labels, edge = part.drawing.labels, ring(part.outline)
    drawn = [contour.bounds for layer, contour in part.drawing.contours if layer in (MARK, SCRIBE)]
    upright = [one for one in drawn if one[0] == one[2]]
    middles = []
    for x, high in zip(stations, thick, strict=True):
        ticks = [one for one in upright if abs(one[0] - x) < 1e-9]
        assert ticks
        where = place(read, x)
        said = {where, f"{both(x)} from tail"} if title == "rocker stick" else {where}
        found = [label for label in labels if label.text in said]
        assert found, (x, said)
        boxes = [bounds(label) for label in found]
        middle = (boxes[0][0] + boxes[0][2]) / 2
        middles.append(middle)
        if not all(edge.contains(box(*one)) for one in boxes):
            # Under the part, at the end of a leader from the tick down to it.
            assert title == "stringer" or name == "avocet"
            assert high < 40.0 or title == "rocker stick", "there would be room inside beside the scribed station"
            assert min(tick[1] for tick in ticks) == pytest.approx(boxes[0][3], abs=1e-6)
            assert boxes[0][0] - TEXT_WITHIN_MM < x < boxes[0][2] + TEXT_WITHIN_MM
            continue
        # Never further than 45 mm, nor as far as another station.
        assert abs(middle - x) <= TEXT_WITHIN_MM
        assert all(abs(middle - x) < abs(middle - other) for other in stations if other != x)
    assert middles == sorted(middles)


@pytest.mark.parametrize("name", BOARDS)
def test_the_arrow_stands_clear_of_the_number(name: str) -> None:
    for part in parts(name):
        if "up" not in texts(part):
            continue
        # From the arrow's head over its word: all of it stands clear of the number's strokes.
        (word,) = (label for label in part.drawing.labels if label.text == "up")
        arrow = box(*bounds(word)).union(box(word.x_mm - 7.5, word.y_mm - 7.0, word.x_mm, word.y_mm + 7.0))
        figures = [box(*bounds(label)) for label in part.head]
        level = [one for one in figures if one.bounds[1] < arrow.bounds[3] and one.bounds[3] > arrow.bounds[1]]
        assert all(arrow.distance(one) >= 4.0 for one in level), part.title
        assert all(arrow.disjoint(one) for one in figures), part.title


@pytest.mark.parametrize("name", BOARDS)
def test_texts_of_the_half_outline_stand_nearest_to_their_own_marks(name: str) -> None:
    for part in (*of(name, "half outline"), *of(name, "full outline")):
        upright = [label for label in part.drawing.labels if label.turn_deg == 90.0]
        stations = [c.bounds[0] for layer, c in part.drawing.contours if layer is MARK and c.bounds[0] == c.bounds[2]]
        for label in upright:
            if not label.text.endswith("from tail"):
                continue
            said = float(label.text.split("(")[1].split(" mm")[0])
            left, _, right, _ = bounds(label)
            off = {x: max(left - x, x - right, 0.0) for x in stations}
            own = min(off, key=lambda x: abs(x - said))
            assert off[own] == min(off.values()), (label.text, off)


@pytest.mark.parametrize("name", BOARDS)
def test_spin_templates_say_the_half_outlines_widths(name: str) -> None:
    (half,) = of(name, "half outline")
    for part in of(name, "nose spin") + of(name, "tail spin"):
        assert {text for text in texts(part) if text.endswith("wide")} <= set(texts(half))


@pytest.mark.parametrize("name", BOARDS)
def test_a_fin_of_a_pair_says_how_many_are_made(name: str) -> None:
    for part in (part for part in parts(name) if part.kind == FINS):
        said = [text for text in texts(part) if text.startswith("make ")]
        expected = "make 2: one as drawn for port, one turned over for starboard"
        assert said == ([expected] if (part.count, part.mirrored) == (2, 1) else [])
