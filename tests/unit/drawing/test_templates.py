"""Half-outline and fin templates measured against the surface, and against closed forms."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from numpy.polynomial import Polynomial
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.optimize import brentq
from shapely import LineString, Point, Polygon, STRtree, distance, points

from bayloft.drawing.curves.figures import TIPS_MM
from bayloft.drawing.curves.marked_stations import marked_stations
from bayloft.drawing.curves.thickness_lines import thickness_levels, thickness_lines, total_thickness
from bayloft.drawing.labels import corners
from bayloft.drawing.sheet import CENTRE, CUT, MARK, PLY, SCRIBE, TEXT, THICKNESS, Drawing
from bayloft.drawing.templates.fin_template import fin_template
from bayloft.drawing.templates.half_outline import half_outline
from bayloft.export.preflight import cutting_problems, drawing_problems
from bayloft.lines.fin import TRAILING_CORNER
from bayloft.lines.section_places import APEX
from bayloft.plane.contour import Contour
from bayloft.solid.faces import bottom_height
from bayloft.solid.integrals import integrals
from bayloft.solid.measure import width
from bayloft.spec.fins.fin import Tab
from bayloft.tolerances import ARC_FIT_MM

from ...demo import draft, fin, fin_draft, told, told_fin

Array = NDArray[np.float64]
SPECS = Path(__file__).parents[3] / "specs"
BOARDS = ("avocet", "dunlin", "fulmar", "spoonbill", "turnstone", "whimbrel")
FINS = tuple(sorted(path.stem for path in (SPECS / "fins").glob("*.toml")))

SKIN_MM = 1e-3
"""The surface leaves the lines by less than this (solid/board.py, solid/fin.py)."""

SAMPLED_MM = 2e-4
"""How far a curve sampled at 4 000 places leaves its own chords here, and flattening at 1e-4 mm."""


@cache
def outline(name: str) -> Drawing:
    return half_outline(draft(name))


@cache
def template(name: str) -> Drawing:
    return fin_template(fin_draft(name))


def cut(drawing: Drawing) -> Contour:
    (only,) = (contour for layer, contour in drawing.contours if layer is CUT)
    assert only.closed
    assert only.area_mm2 > 0.0, "counter-clockwise"
    return only


def ring(contour: Contour) -> Polygon:
    return Polygon(contour.flattened(1e-4))


def on(layer: object, drawing: Drawing) -> list[Contour]:
    return [contour for other, contour in drawing.contours if other is layer]


def texts(drawing: Drawing) -> list[str]:
    return [label.text for label in drawing.labels]


@pytest.mark.parametrize("name", BOARDS)
def test_the_outline_is_the_apex_of_the_surface_and_the_wall(name: str) -> None:
    drawn = draft(name)
    lines, body = drawn.lines, drawn.body
    edge = body.port.grid(np.linspace(0.0, 1.0, 4_001), [APEX])[:, 0, :2]
    # The wall's own edge on the surface, bottom and deck.
    wall = body.port.grid([0.0], np.linspace(0.0, 1.0, 1001))[0, :, :2]
    contour = cut(outline(name))
    boundary = ring(contour).exterior
    off = distance(points(edge), boundary)
    assert off.max() <= ARC_FIT_MM + SAMPLED_MM
    assert off.max() > ARC_FIT_MM / 100, "a fit that good would have far too many arcs"
    assert distance(points(wall), boundary).max() <= ARC_FIT_MM + SKIN_MM
    # The other way round: nothing is drawn that is not outline, wall or stringer.
    drawn = contour.flattened(2e-3)
    stringer = LineString([[float(wall[0, 0]), 0.0], [lines.length_mm, 0.0]])
    nearest = np.minimum(
        distance(points(drawn), LineString(edge)),
        np.minimum(distance(points(drawn), stringer), distance(points(drawn), LineString(wall))),
    )
    assert nearest.max() <= ARC_FIT_MM + SKIN_MM
    # Some fifty arcs, and none a stutter: what the exporter would refuse.
    assert len(contour.points) < 120
    assert not list(cutting_problems(outline(name), [("CUT", contour)]))
    assert not list(drawing_problems(outline(name)))


@pytest.mark.parametrize("name", BOARDS)
def test_the_outline_has_the_area_of_the_lines_integral(name: str) -> None:
    drawn = draft(name)
    lines, body = drawn.lines, drawn.body
    contour = cut(outline(name))
    start = 0.0 if lines.wall is None else lines.wall.corner_x_mm
    u = float(lines.outline.parameter(start))
    speed = lines.outline.station.deriv()
    knots = np.unique(np.clip(lines.outline.half_width.t, u, 1.0))
    area = sum(
        quad(lambda at: float(lines.outline.half_width(at) * speed(at)), low, high, epsabs=1e-9)[0]
        for low, high in pairwise(knots)
    )
    if lines.wall is not None:
        wall = lines.wall
        inner = sorted({0.0, wall.arc_from_mm, wall.corner_y_mm})
        area += sum(
            quad(lambda y: start - float(wall.station(y)), low, high, epsabs=1e-9)[0] for low, high in pairwise(inner)
        )
    # An offset of the tolerance all along changes the area by tolerance x length; a biarc fit errs to both sides.
    assert contour.area_mm2 == pytest.approx(area, abs=0.2 * ARC_FIT_MM * contour.length_mm)
    assert ring(contour).area == pytest.approx(area, abs=0.2 * ARC_FIT_MM * contour.length_mm)
    # The surface's own shadow, by Gauss-Legendre: another way to the same number.
    shadow = integrals(body).plan_area_mm2 / 2
    assert contour.area_mm2 == pytest.approx(shadow, abs=0.2 * ARC_FIT_MM * contour.length_mm)


@pytest.mark.parametrize("name", BOARDS)
def test_the_outline_lies_from_tail_to_nose_along_the_stringer(name: str) -> None:
    drawn = draft(name)
    read, lines = drawn.board, drawn.lines
    left, bottom, right, top = cut(outline(name)).bounds
    assert (left, bottom, right) == pytest.approx((0.0, 0.0, read.length_mm), abs=SKIN_MM)
    assert top == pytest.approx(read.wide_point.value / 2, abs=ARC_FIT_MM)
    start = 0.0 if lines.wall is None else float(lines.wall.base(0.0))
    assert any(np.allclose(point, [start, 0.0], atol=SKIN_MM) for point in cut(outline(name)).points)


@pytest.mark.parametrize("name", ["whimbrel", "fulmar"])
def test_tips_leave_the_stringer_square(name: str) -> None:
    # The first and last arcs of the outline, seen from the stringer: their tangent there is square to it.
    contour = cut(outline(name))
    for i in (np.argmax(contour.points[:, 0]), np.argmin(contour.points[:, 0])):
        near_nose = contour.points[i, 0] > 1.0
        at, towards = contour.points[i], contour.points[(i + 1) % len(contour.points)]
        chord, sweep = towards - at, 4 * np.arctan(contour.bulges[i])
        if not near_nose:
            at, towards = contour.points[i - 1], contour.points[i]
            chord, sweep = towards - at, -4 * np.arctan(contour.bulges[i - 1])
        heading = np.degrees(np.arctan2(chord[1], chord[0]) - sweep / 2)
        assert abs(heading) == pytest.approx(90.0, abs=1e-3)


@pytest.mark.parametrize("name", BOARDS)
def test_every_station_is_ticked_from_edge_to_edge_and_told(name: str) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    drawing = outline(name)
    ticks = {round(float(line.points[0, 0]), 6): line.bounds for line in on(MARK, drawing)}
    stations = [read.wide_point.x_mm, read.length_mm / 2, TIPS_MM, read.length_mm - TIPS_MM]
    stations = marked_stations(stations, (given for given in read.widths if given.x_mm > 100.0))
    for x in stations:
        left, low, right, high = ticks[round(x, 6)]
        full = float(width(body, [x])[0])
        assert right - left == pytest.approx(0.0, abs=1e-9)
        # Widths are rounded to 0.001 mm before they are drawn and written.
        assert (low, high) == pytest.approx((0.0, full / 2), abs=6e-4)
        assert any(f"({full:.1f} mm) wide" in text for text in texts(drawing)) or abs(full * 10 % 1 - 0.5) < 0.01
        assert any(f"({x:.1f} mm) from tail" in text for text in texts(drawing))
    for word in ("nose", "tail", "middle of the stringer", "wide point", "centre", "tail width", "100 mm"):
        assert any(word in text for text in texts(drawing)), word


@pytest.mark.parametrize("name", BOARDS)
def test_fins_stand_where_the_spec_puts_them(name: str) -> None:
    drawn = draft(name)
    read, body = drawn.board, drawn.body
    lines = [line.points for line in on(MARK, outline(name)) if len(line.points) == 2]
    for placement in read.fins:
        base, toe = placement.fin.base_mm, np.radians(placement.toe_deg)
        rear = np.array([placement.from_tail_mm, placement.off_stringer_mm])
        off = placement.off_stringer_mm - base * np.sin(toe)

        def longer(x: float, rear: Array = rear, off: float = off, base: float = base) -> float:
            rise = np.diff(bottom_height(body, [rear[0], x], [rear[1], off]))
            return float(np.linalg.norm([x - rear[0], off - rear[1], rise[0]])) - base

        front = np.array([brentq(longer, rear[0], rear[0] + base, xtol=1e-12), off])
        for end in (rear, front):
            assert any(np.allclose(line[:, 0], end[0], atol=1e-9) for line in lines), "a mark square to the stringer"
        if placement.off_stringer_mm > 0.0:
            assert any(np.allclose(line, [rear, front], atol=1e-9) for line in lines)


@pytest.mark.parametrize("name", BOARDS)
def test_the_check_line_is_100_mm(name: str) -> None:
    (label,) = (label for label in outline(name).labels if label.text == "100 mm")
    level = [line.bounds for line in on(MARK, outline(name)) if len(line.points) == 2]
    near = [
        box for box in level if box[0] <= label.x_mm <= box[2] and abs(box[1] - label.y_mm) < 10 and box[1] == box[3]
    ]
    assert [box[2] - box[0] for box in near] == pytest.approx([100.0], abs=1e-9)


def overlapping(drawing: Drawing) -> list[tuple[str, str]]:
    boxes = [Polygon(corners(label)) for label in drawing.labels]
    pairs = [(i, j) for i in range(len(boxes)) for j in range(i) if boxes[i].intersection(boxes[j]).area > 1e-9]
    return [(drawing.labels[i].text, drawing.labels[j].text) for i, j in pairs]


def struck_through(drawing: Drawing) -> list[str]:
    boxes = [Polygon(corners(label)) for label in drawing.labels]
    tree = STRtree(boxes)
    found = []
    for _, contour in drawing.contours:
        line = contour.flattened(0.05)
        line = np.vstack([line, line[:1]]) if contour.closed else line
        found += [drawing.labels[i].text for i in tree.query(LineString(line), predicate="intersects")]
    return found


@pytest.mark.parametrize("name", BOARDS)
def test_texts_of_the_half_outline_stay_clear_and_on_the_part(name: str) -> None:
    drawing = outline(name)
    assert overlapping(drawing) == []
    assert struck_through(drawing) == []
    part = ring(cut(drawing))
    assert [label.text for label in drawing.labels if not part.contains(Polygon(corners(label)))] == []
    assert {label.layer for label in drawing.labels} == {TEXT, SCRIBE}
    assert min(label.height_mm for label in drawing.labels) >= 5.0


def test_texts_that_have_no_room_on_the_part_stand_beyond_its_edge() -> None:
    drawn = draft("whimbrel")
    read = drawn.board
    crowd = tuple(replace(read.fins[0], from_tail_mm=60.0 + 4.0 * i) for i in range(12))
    drawing = half_outline(told(drawn, fins=crowd))
    assert overlapping(drawing) == []
    part = ring(cut(drawing))
    beyond = [label for label in drawing.labels if not part.contains(Polygon(corners(label)))]
    assert beyond
    assert not any(part.intersects(Polygon(corners(label))) for label in beyond)


@pytest.mark.parametrize("name", FINS)
def test_the_fin_is_the_edge_of_the_surface(name: str) -> None:
    drawn = fin_draft(name)
    read, body = drawn.fin, drawn.body
    contour = cut(template(name))
    boundary = ring(contour).exterior
    edges = body.port.grid(np.linspace(0.0, 1.0, 4_001), [0.0, 1.0])[..., [0, 2]].reshape(-1, 2)
    off = distance(points(edges), boundary)
    assert off.max() <= ARC_FIT_MM + SAMPLED_MM
    left, bottom, right, top = contour.bounds
    assert top == pytest.approx(read.depth_mm, abs=ARC_FIT_MM)
    assert bottom == pytest.approx(0.0 if read.tab is None else -read.tab.height_mm, abs=1e-9)
    assert right == pytest.approx(max(read.base_mm, edges[:, 0].max()), abs=ARC_FIT_MM)
    assert left == pytest.approx(min(0.0, edges[:, 0].min()), abs=ARC_FIT_MM)
    assert not list(cutting_problems(template(name), [("CUT", contour)]))
    assert not list(drawing_problems(template(name)))


@pytest.mark.parametrize("name", FINS)
def test_the_fin_has_the_area_between_its_edges_and_of_its_tab(name: str) -> None:
    drawn = fin_draft(name)
    read, lines = drawn.fin, drawn.lines
    depth = read.depth_mm

    def chord(u: float) -> float:
        return float(lines.leading(u) - lines.trailing(u)) * 2.0 * depth * (1.0 - u)

    knots = np.unique(lines.leading.t)
    area = sum(quad(chord, low, high, epsabs=1e-9)[0] for low, high in pairwise(knots))
    area += 0.0 if read.tab is None else read.tab.length_mm * read.tab.height_mm
    contour = cut(template(name))
    assert contour.area_mm2 == pytest.approx(area, abs=0.2 * ARC_FIT_MM * contour.length_mm)


@pytest.mark.parametrize("name", FINS)
def test_the_fins_tip_is_smooth_and_level(name: str) -> None:
    contour = cut(template(name))
    tip = int(np.argmin(np.abs(contour.points[:, 1] - fin(name).depth_mm)))
    before, after = (contour.points[(tip + i) % len(contour.points)] for i in (-1, 1))
    arriving = np.arctan2(*(contour.points[tip] - before)[::-1]) + 2 * np.arctan(contour.bulges[tip - 1])
    leaving = np.arctan2(*(after - contour.points[tip])[::-1]) - 2 * np.arctan(contour.bulges[tip])
    assert np.degrees(np.mod([arriving, leaving], 2 * np.pi)) == pytest.approx([180.0, 180.0], abs=1e-3)


def test_a_tab_that_ends_with_the_base_leaves_no_step() -> None:
    drawn = fin_draft("whimbrel-flex")
    read = drawn.fin
    whole = replace(read, tab=Tab(length_mm=read.base_mm, height_mm=15.0, from_rear_mm=0.0))
    drawing = fin_template(replace(drawn, fin=whole))
    contour = cut(drawing)
    assert not list(cutting_problems(drawing, [("CUT", contour)]))
    bare = cut(fin_template(told_fin(drawn, tab=None)))
    assert contour.area_mm2 - bare.area_mm2 == pytest.approx(15.0 * read.base_mm, rel=1e-9)


@pytest.mark.parametrize("name", FINS)
def test_thickness_lines_lie_on_their_thickness(name: str) -> None:
    """Points all along the arcs, carried to the surface, and their error in thickness turned into a distance."""
    drawn = fin_draft(name)
    read, lines, body = drawn.fin, drawn.lines, drawn.body
    levels = thickness_levels(read)
    assert levels[0] > read.trailing_edge_mm
    assert levels == [
        float(level) for level in range(int(levels[0]), int(np.ceil(read.thickness_mm - read.hollow_mm - 0.1)))
    ]

    def thickness(x: np.ndarray, z: np.ndarray) -> np.ndarray:
        u = lines.parameter(np.clip(z, 0.0, read.depth_mm))
        front, back = lines.leading(u), lines.trailing(u)
        chord = np.clip((front - x) / (front - back), 0.0, 1.0)
        return total_thickness(body, u, TRAILING_CORNER * np.sqrt(chord))

    for curve in thickness_lines(body, levels):
        assert curve.contours
        for contour in curve.contours:
            x, z = contour.flattened(1e-4).T
            z = np.maximum(z, 1e-3)
            slope = np.hypot(
                (thickness(x + 1e-3, z) - thickness(x - 1e-3, z)) / 2e-3,
                (thickness(x, z + 1e-3) - thickness(x, z - 1e-3)) / 2e-3,
            )
            assert (np.abs(thickness(x, z) - curve.level_mm) / slope).max() <= ARC_FIT_MM


def test_thickness_lines_start_at_the_closed_form_on_the_base() -> None:
    """NACA Report 824 with the closed trailing edge: half of 10 t (0.2969 r - 0.1260 r^2 - 0.3516 r^4 + 0.2843 r^6
    - 0.1036 r^8), r the root of the chord share, and on it half the trailing edge times r^8: roots of a polynomial.
    Coefficients read as a public program's manual repeats them, the last one from memory.
    """
    drawn = fin_draft("turnstone-keel")
    read, lines, body = drawn.fin, drawn.lines, drawn.body
    t, edge = float(lines.thickness(0.0)), float(lines.trailing_edge(0.0))
    form = Foil(t, edge)
    for curve in thickness_lines(body, [3.0, 4.0, 5.0, 6.0, 7.0]):
        shares = form.shares_of(curve.level_mm)
        expected = np.sort(read.base_mm * (1.0 - shares))
        ends = [end for contour in curve.contours for end in contour.points[[0, -1]] if abs(end[1]) < 1e-6]
        assert np.sort([x for x, _ in ends]) == pytest.approx(expected, abs=SKIN_MM)


class Foil:
    """The foil's whole thickness as a polynomial in the root of the chord share."""

    def __init__(self, thickness_mm: float, trailing_edge_mm: float) -> None:
        closed = Polynomial([0.0, 0.2969, -0.1260, 0.0, -0.3516, 0.0, 0.2843, 0.0, -0.1036])
        self.form = 10.0 * thickness_mm * closed + trailing_edge_mm * Polynomial([0.0] * 8 + [1.0])

    def shares_of(self, level_mm: float) -> np.ndarray:
        roots = (self.form - level_mm).roots()
        real = roots[np.abs(roots.imag) < 1e-9].real
        return real[(real > 0.0) & (real < 1.0)] ** 2


def test_a_trailing_edge_as_thick_as_a_level_gives_no_specks() -> None:
    drawn = fin_draft("avocet-single")
    read, body = drawn.fin, drawn.body
    assert read.trailing_edge_mm == 1.0
    (curve,) = thickness_lines(body, [1.0])
    assert len(curve.contours) <= 2
    assert min(contour.length_mm for contour in curve.contours) > 20.0


def test_thick_fins_have_a_line_every_second_millimetre() -> None:
    read = replace(fin("avocet-single"), thickness_mm=20.0)
    assert thickness_levels(read) == [2.0, 4.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0]
    assert thickness_levels(replace(read, thickness_mm=1.5)) == []


@pytest.mark.parametrize("name", FINS)
def test_the_fin_template_says_what_it_is(name: str) -> None:
    read = fin_draft(name).fin
    drawing = template(name)
    told = texts(drawing)
    for word in (read.name, "aft", "forward", f"{read.foil} foil", "100 mm", "base ", "depth ", "rake "):
        assert any(text.startswith(word) for text in told), word
    assert any(f"({read.depth_mm:.1f} mm)" in text for text in told)
    angle = np.degrees(np.arctan2(read.rake_mm, read.depth_mm))
    assert any(f"{angle:.1f}°" in text for text in told)
    shown = on(PLY if read.core is None else THICKNESS, drawing)
    assert not on(THICKNESS if read.core is None else PLY, drawing)
    if read.core is None:
        assert "ply lines every" in " ".join(told)
        faces = "both faces alike" if read.foil == "double" else "outer face"
        assert any(faces in text for text in told)
        assert len(shown) >= 10
    else:
        assert all(told.count(f"{level:g}") == 1 for level in thickness_levels(read))
        assert len(shown) >= len(thickness_levels(read))
    tip = read.base_mm / 2 - read.rake_mm
    rake = [[read.base_mm / 2, 0.0], [tip, read.depth_mm]]
    assert any(np.allclose(line.points, rake) for line in on(MARK, drawing) if len(line.points) == 2)
    assert len(on(CENTRE, drawing)) == 1
    base = [[0.0, 0.0], [read.base_mm, 0.0]]
    marked = any(np.allclose(line.points, base) for line in on(MARK, drawing) if len(line.points) == 2)
    assert marked == (read.tab is not None)


@pytest.mark.parametrize("name", FINS)
def test_texts_of_the_fin_template_stay_clear(name: str) -> None:
    assert overlapping(template(name)) == []
    assert struck_through(template(name)) == []


def test_a_label_of_a_thickness_line_stands_at_its_line() -> None:
    drawn = fin_draft("turnstone-keel")
    read, body = drawn.fin, drawn.body
    drawing = template("turnstone-keel")
    for curve in thickness_lines(body, thickness_levels(read)):
        (label,) = (label for label in drawing.labels if label.text == f"{curve.level_mm:g}")
        middle = Point(corners(label).mean(axis=0))
        own = min(LineString(contour.flattened(0.01)).distance(middle) for contour in curve.contours)
        assert own < 5.0


def test_an_upright_fin_has_no_angle() -> None:
    drawn = fin_draft("whimbrel-flex")
    drawing = fin_template(told_fin(drawn, rake_mm=0.0))
    assert not any("rake" in text or "°" in text for text in texts(drawing))
    assert on(CENTRE, drawing) == []
