"""The board sheet: true to scale, aligned, in its margins, no text on another, for demo boards and for extremes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, STRtree

from bayloft.drawing.curves.figures import HALF_FOOT_MM, SECTIONS, TIPS_MM, figures, place, section_stations
from bayloft.drawing.labels import bounds, corners
from bayloft.drawing.sheet import (
    CENTRE,
    CUT_FACE,
    DIMENSION,
    FAINT,
    FOAM,
    HIDDEN,
    LETTERING,
    QUIET,
    TINT,
    VISIBLE,
    Drawing,
)
from bayloft.drawing.sheets.board_sheet import board_sheet
from bayloft.drawing.sheets.plan_view import base_foil
from bayloft.drawing.sheets.rail_sheet import REACH_MM, rail_sheet
from bayloft.drawing.sheets.section_view import section_view
from bayloft.drawing.sheets.sheet_layout import FRAME_MM, PAGE_MM, SCALES, Needs, best_layout
from bayloft.errors import SpecError
from bayloft.export.preflight import drawing_problems
from bayloft.findings import Finding
from bayloft.lines.audit import audit
from bayloft.lines.drafting import board_lines
from bayloft.lines.section_places import APEX
from bayloft.plane.contour import Contour
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.integrals import section_areas
from bayloft.solid.measure import places, section, thickness, width
from bayloft.spec.boards.board import Board, Nose, Placement, Tail
from bayloft.spec.text.given import Given

from ...demo import board, draft, told
from ...made_sections import line, made_sections

SPECS = Path(__file__).parents[3] / "specs"
BOARDS = ("avocet", "dunlin", "fulmar", "spoonbill", "turnstone", "whimbrel")
MARGIN_MM = 10.0
LITRES_50 = 50e6
SURFACE_2 = 2e6

EXTREMES = range(24)
"""Seeds of boards from 0.7 m to 4.5 m, slender to nearly round, all tails, up to five rows of fins, any name."""

LEAST_EXTREMES = 20
"""Of these boards so many at least have fair lines; the others are refused before anything is drawn."""


@cache
def sheet(name: str) -> Drawing:
    drawn = draft(name)
    return board_sheet(drawn, LITRES_50, SURFACE_2, audit(drawn.lines))


def given(x: float, value: float) -> tuple[Given, ...]:
    return (Given(x_mm=x, value=value, path=("demo",)),)


def extreme(seed: int) -> Board:
    draw = np.random.default_rng(seed)
    length = float(np.exp(draw.uniform(np.log(700.0), np.log(4500.0))))
    wide = float(np.clip(length * draw.uniform(0.1, 0.5), 120.0, 1000.0))
    thick = float(np.clip(length * draw.uniform(0.015, 0.06), 10.0, 200.0))
    tip = min(TIPS_MM, length / 5)
    kind = ("round", "pin", "thumb", "square", "squash", "diamond", "swallow", "moon")[seed % 8]
    block = wide * draw.uniform(0.25, 0.5)
    depth = {
        "squash": block / 8,
        "diamond": min(0.45 * block, 400.0),
        "swallow": min(block / 2, 400.0),
        "moon": block / 6,
    }.get(kind, 0.0)
    closed = kind in ("round", "pin", "thumb")
    if closed:
        tail = Tail(kind=kind, tip_radius_mm={"pin": 6.0, "thumb": 35.0}.get(kind))
    else:
        tail = Tail(
            kind=kind, block_mm=block, depth_mm=depth, corner_radius_mm=0.08 * block if kind == "squash" else 0.0
        )
    tail_width = wide * 0.75 if closed else (block + wide) / 2 * 1.05
    fins = [placed.fin for name in ("dunlin", "whimbrel") for placed in board(name).fins]
    letters = list("Whimbrel Wading Østra m")
    return replace(
        board("whimbrel"),
        name="".join(draw.choice(letters, int(draw.integers(1, 61)))).strip() or "Wader",
        length_mm=length,
        widths=(*given(tip, tail_width), *given(length - tip, wide * draw.uniform(0.6, 0.8))),
        wide_point=given(length * draw.uniform(0.4, 0.6), wide)[0],
        hollow=frozenset({"tail", "nose"}),
        nose=Nose(kind="round", tip_radius_mm=None),
        tail=tail,
        heights=(*given(0.0, length * 0.025), *given(length, length * 0.06)),
        lowest_x_mm=length * 0.45,
        usual_heights=(),
        thicknesses=(*given(tip, thick * 0.7), *given(length - tip, thick * 0.65)),
        thickest=given(length * 0.52, thick)[0],
        sections=made_sections(
            length,
            apex=line("apex", (length / 2, 0.42), form="share"),
            tuck=line("tuck", (length / 2, min(25.0, 0.06 * wide))),
            dome=line("dome", (length / 2, 0.1 * thick), table="deck"),
        ),
        drops=(),
        fins=tuple(
            Placement(
                fin=fins[i % 3],
                from_tail_mm=length * 0.05 + 30.0 * i,
                off_stringer_mm=0.0 if i % 2 else wide * 0.15,
                toe_deg=0.0 if i % 2 else -12.5,
                cant_deg=0.0 if i % 2 else 7.25,
                path=("fins", i),
            )
            for i in range(seed % 6)
        ),
    )


@cache
def extremes() -> dict[str, Drawing]:
    drawn = {}
    for seed in EXTREMES:
        read = extreme(seed)
        try:
            lines = board_lines(read)
        except SpecError:
            continue
        title = f"{seed}: {read.length_mm:.0f} x {read.wide_point.value:.0f}, {read.tail.kind}"
        drawn[title] = board_sheet(
            Draft(board=read, lines=lines, body=board_body(lines), fins=()), LITRES_50, SURFACE_2, audit(lines)
        )
    return drawn


def all_sheets() -> dict[str, Drawing]:
    return {**{name: sheet(name) for name in BOARDS}, **extremes()}


def on(layer: object, drawing: Drawing) -> list[Contour]:
    return [contour for other, contour in drawing.contours if other is layer]


def texts(drawing: Drawing) -> list[str]:
    return [label.text for label in drawing.labels]


def scales(drawing: Drawing) -> tuple[float, float]:
    plan, sections = (float(text[2:]) for text in texts(drawing) if text.startswith("1:") and text != "1:2")
    return plan, sections


def test_extremes_are_drawn() -> None:
    assert len(extremes()) >= LEAST_EXTREMES


def test_no_label_lies_on_another() -> None:
    for title, drawing in all_sheets().items():
        boxes = [Polygon(corners(label)) for label in drawing.labels]
        pairs = STRtree(boxes).query(boxes, predicate="intersects").T
        over = [(i, j) for i, j in pairs if i < j and boxes[i].intersection(boxes[j]).area > 1e-9]
        assert [(title, drawing.labels[i].text, drawing.labels[j].text) for i, j in over] == []


def test_no_line_runs_through_a_text() -> None:
    for title, drawing in all_sheets().items():
        boxes = [Polygon(corners(label)) for label in drawing.labels]
        tree = STRtree(boxes)
        struck = []
        for layer, contour in drawing.contours:
            if layer is TINT:
                continue
            line = contour.flattened(0.02)
            line = np.vstack([line, line[:1]]) if contour.closed else line
            struck += [
                (layer.name, drawing.labels[i].text) for i in tree.query(LineString(line), predicate="intersects")
            ]
        assert (title, struck) == (title, [])


def test_nothing_lies_in_the_margin() -> None:
    for title, drawing in all_sheets().items():
        assert drawing.page_mm == PAGE_MM
        boxes = np.array([bounds(label) for label in drawing.labels] + [line.bounds for _, line in drawing.contours])
        least, greatest = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        assert (least >= MARGIN_MM - 1e-9).all(), title
        assert (greatest <= np.array(PAGE_MM) - MARGIN_MM + 1e-9).all(), title


def test_texts_are_large_enough_to_read() -> None:
    # ISO 3098-1, from memory: the smallest nominal height of lettering is 1.8 mm.
    for drawing in all_sheets().values():
        assert min(label.height_mm for label in drawing.labels) >= 1.8 - 1e-9
        assert not list(drawing_problems(drawing))


@pytest.mark.parametrize("name", BOARDS)
def test_scales_are_round_and_sections_are_the_larger(name: str) -> None:
    plan, sections = scales(sheet(name))
    assert plan in SCALES
    assert sections in SCALES
    assert sections < plan


@pytest.mark.parametrize("name", BOARDS)
def test_plan_and_profile_are_true_and_stand_over_one_another(name: str) -> None:
    drawn = draft(name)
    read, lines = drawn.board, drawn.lines
    scale, _ = scales(sheet(name))
    plan, profile = on(FOAM, sheet(name))
    left, low, right, high = plan.bounds
    # The plan is the half outline's own fit, within 0.02 mm at full size, at scale.
    assert (right - left) * scale == pytest.approx(read.length_mm, abs=0.05)
    assert (high - low) * scale == pytest.approx(read.wide_point.value, abs=0.05 + read.wide_point.play_mm)
    start, bottom, end, top = profile.bounds
    assert (start, end) == pytest.approx((left, right), abs=0.01)
    assert top < low
    (height,) = (number for number in read.heights if number.x_mm == read.length_mm)
    nose = profile.points[np.argmax(profile.points[:, 0])]
    # The lowest of 241 points stands within a tenth of the flat. The tip is the middle of the rail, over the rocker
    # that was given, which is carried on under it.
    assert (nose[1] - bottom) * scale == pytest.approx(float(lines.rail_line(read.length_mm)), abs=0.1)
    assert float(lines.rocker.at(read.length_mm)) == pytest.approx(height.value, abs=0.01 + height.play_mm)


@pytest.mark.parametrize("name", BOARDS)
def test_sections_are_true_and_go_from_tail_to_nose(name: str) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    _, scale = scales(sheet(name))
    stations = section_stations(read)
    faces = on(CUT_FACE, sheet(name))
    assert len(faces) == len(stations) == SECTIONS
    assert stations == sorted(stations)
    assert min(b - a for a, b in pairwise(stations)) >= 0.02 * read.length_mm - 1e-9
    for x, face in zip(stations, faces, strict=True):
        left, _, right, _ = face.bounds
        assert (right - left) * scale == pytest.approx(float(width(body, [x])[0]), abs=1e-3)
        # 81 chords inscribed in half a section lose less than a thousandth of its area.
        assert abs(face.area_mm2) * scale**2 == pytest.approx(float(section_areas(body, [x])[0]), rel=2e-3)
        middle = face.points[np.abs(face.points[:, 0] - (left + right) / 2) < 1e-6, 1]
        assert np.ptp(middle) * scale == pytest.approx(float(thickness(body, [x])[0]), abs=1e-3)


def test_sections_stand_at_stations_a_maker_marks() -> None:
    read = draft("whimbrel").board
    length = read.length_mm
    assert section_stations(read) == pytest.approx(
        [TIPS_MM, 5 * HALF_FOOT_MM, length / 2, read.wide_point.x_mm, length - 4 * HALF_FOOT_MM, length - TIPS_MM]
    )
    # A wide point that is the centre is one section, and the others close up.
    assert read.wide_point.x_mm not in section_stations(replace(read, wide_point=given(length / 2, 540.0)[0]))
    # Below four feet the tips' stations would cross: quarters stand for them.
    small = replace(read, length_mm=900.0, wide_point=given(450.0, 300.0)[0])
    assert section_stations(small)[0] == 225.0
    assert len(section_stations(small)) == SECTIONS


@pytest.mark.parametrize("name", BOARDS)
def test_the_dimensions_are_the_specs_numbers(name: str) -> None:
    drawn = draft(name)
    read = drawn.board
    shown = figures(drawn)
    told = texts(sheet(name))
    assert {f"{number.value:.1f}" for number in read.widths if number.x_mm > 20.0 and not number.play_mm} <= {
        f"{station.width_mm:.1f}" for station in shown.widths if station.width_mm is not None
    }
    for station in (*shown.widths, *shown.thicknesses, *shown.heights):
        assert station.where in told
    for number, stations in ((read.wide_point, shown.widths), (read.thickest, shown.thicknesses)):
        assert number is not None
        here = next(station for station in stations if station.x_mm == number.x_mm)
        measured = here.width_mm if stations is shown.widths else here.thickness_mm
        assert measured == pytest.approx(number.value, abs=0.01 + number.play_mm)
    assert "lowest" in told
    assert "50.0 L" in told
    assert "2.00 m²" in told
    assert read.name in told
    assert read.tail.kind in told


@pytest.mark.parametrize("name", BOARDS)
def test_curvature_strips_mark_every_summit_at_its_station(name: str) -> None:
    drawn = draft(name)
    drawing = sheet(name)
    scale, _ = scales(drawing)
    left = on(FOAM, drawing)[0].bounds[0]
    shown = figures(drawn)
    uprights = [line.bounds for line in on(DIMENSION, drawing) if len(line.points) == 2]
    for summit in shown.summits:
        assert any(text.startswith(f"{summit.line} ") for text in texts(drawing)), summit.line
        x = left + summit.x_mm / scale
        assert any(box[0] == pytest.approx(x, abs=1e-6) and box[2] == pytest.approx(x, abs=1e-6) for box in uprights)
    assert {f"curvature of the {line}" for line in ("outline", "rocker", "thickness")} <= set(texts(drawing))
    assert len(on(FAINT, drawing)) > 100


def test_fins_are_drawn_hidden_and_listed_by_number() -> None:
    read = draft("dunlin").board
    drawing = sheet("dunlin")
    assert len(on(HIDDEN, drawing)) == 3
    assert {"51", "52"} <= set(texts(drawing))
    assert any(text.startswith("51  Dunlin side") for text in texts(drawing))
    side = read.fins[0]
    foil = base_foil(side)
    rear = foil.points[[0, -1]].mean(axis=0)
    assert rear == pytest.approx((side.from_tail_mm, side.off_stringer_mm), abs=1e-9)
    front = foil.points[np.argmax(foil.points[:, 0])]
    toe = np.degrees(np.arctan2(rear[1] - front[1], front[0] - rear[0]))
    assert toe == pytest.approx(side.toe_deg, abs=0.5)
    # NACA four-digit, 0.6851 t c: the integral over the chord, computed, of NACA Report 824's form (coefficients read
    # as a public program's manual repeats them).
    assert foil.area_mm2 == pytest.approx(-0.685 * side.fin.thickness_mm * side.fin.base_mm, rel=0.03)
    drawn = draft("whimbrel")
    finless = board_sheet(told(drawn, fins=()), LITRES_50, SURFACE_2, ())
    assert on(HIDDEN, finless) == []
    assert "off stringer" not in texts(finless)


def test_more_fins_than_rows_are_counted() -> None:
    drawn = draft("dunlin")
    read = drawn.board
    crowd = tuple(replace(read.fins[1], from_tail_mm=60.0 + 120.0 * i) for i in range(6))
    drawing = board_sheet(told(drawn, fins=crowd), LITRES_50, SURFACE_2, ())
    assert "fins (2 more)" in texts(drawing)
    assert {str(number) for number in range(51, 57)} <= set(texts(drawing))


def test_warnings_are_told_and_cut_where_they_are_many() -> None:
    drawn = draft("whimbrel")

    def finding(severity: str, text: str) -> Finding:
        return Finding(code="x", severity=severity, where="outline", measured=1, limit=0, unit="", text=text)  # type: ignore[arg-type]

    calm = board_sheet(drawn, LITRES_50, SURFACE_2, (finding("note", "fine"), finding("note", "fine")))
    assert "2 checks passed, 0 warnings" in texts(calm)
    warned = board_sheet(drawn, LITRES_50, SURFACE_2, (finding("warning", "the outline wiggles"),))
    assert {"0 checks passed, 1 warning", "the outline wiggles"} <= set(texts(warned))
    many = board_sheet(drawn, LITRES_50, SURFACE_2, tuple(finding("warning", f"no. {i}") for i in range(9)))
    assert "more in the report" in texts(many)


def test_a_section_too_thin_for_its_figure_tells_it_in_its_heading() -> None:
    shown = figures(draft("whimbrel"))
    roomy, tight = (section_view(shown, scale, 3, (380.0, 80.0)) for scale in (5.0, 20.0))
    assert '2 3/4" (69.8 mm)' in texts(roomy)
    assert not any("thick" in text for text in texts(roomy))
    assert '2 3/4" (69.8 mm)' not in texts(tight)
    assert sum(text.endswith("thick") for text in texts(tight)) == SECTIONS


@pytest.mark.parametrize("name", BOARDS)
def test_ends_are_as_wide_and_as_high_as_the_board(name: str) -> None:
    shown = figures(draft(name))
    sizes = [end.size_mm for end in shown.ends]
    assert [wide for wide, _ in sizes] == pytest.approx([shown.greatest_width_mm] * 2, abs=0.5)
    assert sizes[0][1] == pytest.approx(shown.greatest_height_mm, abs=1.0)
    assert "ENDS" in texts(sheet(name))


def test_a_section_is_seen_where_nothing_nearer_hides_it() -> None:
    drawn = draft("whimbrel")
    read, body = drawn.board, drawn.body
    nose, tail = figures(drawn).ends
    for end, x_mm in ((nose, read.length_mm - TIPS_MM), (tail, TIPS_MM)):
        half = float(width(body, x_mm)[0]) / 2
        seen = min(end.sections, key=lambda contour: abs(contour.bounds[2] - half))
        assert seen.bounds[2] == pytest.approx(half, abs=0.3)
        # The deck lies behind the end; of the section its bottom is seen.
        assert seen.bounds[1] == pytest.approx(float(section_low(body, x_mm)), abs=0.1)


def section_low(body: Body, x_mm: float) -> float:
    return float(section(body, x_mm).points[:, 1].min())


@pytest.mark.parametrize("name", BOARDS)
def test_rails_are_drawn_at_full_size(name: str) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    drawing = rail_sheet(drawn)
    assert drawing.page_mm == (297.0, 210.0)
    assert not list(drawing_problems(drawing))
    rails = on(VISIBLE, drawing)
    for rail, x_mm in zip(rails, section_stations(read), strict=True):
        left, _, right, _ = rail.bounds
        assert right - left == pytest.approx(REACH_MM, abs=0.01)
        points = section(body, x_mm, 16).points - places(body, x_mm, [APEX])[0, 0, 1:]
        own = LineString(rail.flattened(0.001))
        # The widest point is the rightmost of the drawn line.
        tip = rail.points[np.argmax(rail.points[:, 0])]
        near = points[points[:, 0] > 0.5 - REACH_MM] + [right, tip[1]]
        assert max(own.distance(Point(*point)) for point in near) < 0.2
    boxes = STRtree([Polygon(corners(label)) for label in drawing.labels])
    assert all(len(boxes.query(box, predicate="overlaps")) == 0 for box in boxes.geometries)


def test_fills_are_drawn_under_everything() -> None:
    layers = [layer for layer, _ in sheet("turnstone").contours]
    fills = [i for i, layer in enumerate(layers) if layer in (FOAM, CUT_FACE, TINT)]
    assert fills == list(range(len(fills)))
    assert on(CENTRE, sheet("turnstone"))
    assert {LETTERING, QUIET} <= {label.layer for label in sheet("turnstone").labels}


def test_stations_have_a_makers_names() -> None:
    read = draft("whimbrel").board
    length = read.length_mm
    names = {0.0: "tail end", length: "nose tip", length / 2: "centre", read.wide_point.x_mm: "wide point"}
    assert {place(read, x) for x in names} == set(names.values())
    assert place(read, TIPS_MM) == '12" from tail'
    assert place(read, length - 762.0) == '30" from nose'


def needs(**changes: object) -> Needs:
    usual = Needs(
        length_mm=2235.0,
        height_mm=680.0,
        views_room_mm=90.0,
        section_mm=(540.0, 80.0),
        section_room_mm=(6.0, 13.0),
        least_cell_mm=62.0,
        sections=6,
        stacked_mm=(84.0, 140.0),
        paired_mm=(165.0, 75.0),
    )
    return replace(usual, **changes)


def test_the_layout_draws_as_large_as_fits() -> None:
    layout = best_layout(needs())
    assert layout.section_scale < layout.scale
    assert layout.upper_mm + layout.lower_mm <= FRAME_MM[1]
    # Without the texts there is room for more, and never less.
    bare = best_layout(needs(stacked_mm=(1.0, 1.0), paired_mm=(1.0, 1.0)))
    assert bare.merit >= layout.merit
    # Twice the board, half the scale or thereabouts.
    twice = best_layout(needs(length_mm=4470.0, height_mm=1360.0, section_mm=(1080.0, 160.0)))
    assert layout.scale < twice.scale <= 2.5 * layout.scale


def test_a_board_beyond_every_scale_is_refused() -> None:
    with pytest.raises(ValueError, match="no scale brings a board of 50000 mm onto the sheet"):
        best_layout(needs(length_mm=50_000.0))
