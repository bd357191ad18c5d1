"""What is drawn of fins where they stand: slots, marks, gauges, jigs, cut templates, the tail sheet."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon, STRtree, box, distance, points
from shapely.affinity import translate

from bayloft.drawing.labels import corners
from bayloft.drawing.marks import AWL_MM
from bayloft.drawing.scribing import Head
from bayloft.drawing.sheet import CENTRE, CUT, Drawing
from bayloft.drawing.sheets.tail_sheet import tail_sheet
from bayloft.drawing.templates.fin_gauges import HEIGHT_SHARES, NOSE_SHARE, _cant_gauge, fin_gauges
from bayloft.drawing.templates.fin_jigs import fin_jigs
from bayloft.drawing.templates.fin_marks import fin_marks
from bayloft.drawing.templates.fin_slots import bush_hole, fin_slots, slot_outline, tab_middle
from bayloft.drawing.templates.fin_template import fin_template
from bayloft.export.preflight import cutting_problems, drawing_problems
from bayloft.plane.contour import Contour
from bayloft.solid.faces import bottom_height
from bayloft.solid.integrals import parameter_at
from bayloft.solid.loft import FinDraft
from bayloft.solid.standing import Cut, Stand, upright_axes
from bayloft.solid.surface import Surface
from bayloft.spec.boards.board import Slot
from bayloft.tolerances import ARC_FIT_MM

from ...demo import lofted_board

Array = NDArray[np.float64]
SPECS = Path(__file__).parents[3] / "specs"
BOARDS = ("avocet", "dunlin", "fulmar", "spoonbill", "turnstone", "whimbrel")

FLAT_MM = 1e-4
"""Flattening of arcs here, and the sampling of curves."""

PRINTED_MM = 0.005
"""What half a tenth of a millimetre of a printed station makes of the bottom's height, where it rises by 1 in 10."""


def stands(name: str) -> tuple[Stand, ...]:
    whole = lofted_board(name).with_fins
    assert whole is not None
    return whole.stands


def fins(name: str) -> list[tuple[Cut, FinDraft]]:
    return [(cut, fin) for fin, cut in lofted_board(name).cut_fins]


@cache
def gauges(name: str) -> tuple[Drawing, ...]:
    shape = lofted_board(name)
    return tuple(fin_gauges(shape.draft, fin, cut) for cut, fin in fins(name))


@cache
def drawings(name: str) -> tuple[Drawing, ...]:
    shape = lofted_board(name)
    found = [fin_marks(shape.draft, stands(name)), fin_slots(shape.board, stands(name))]
    found += gauges(name)
    found += [fin_template(fin, cut) for cut, fin in fins(name)]
    return tuple(drawing for drawing in found if drawing is not None)


def cuts_of(drawing: Drawing) -> list[Contour]:
    return [contour for layer, contour in drawing.contours if layer is CUT]


def ring(contour: Contour) -> Polygon:
    return Polygon(contour.flattened(FLAT_MM))


@pytest.mark.parametrize("name", BOARDS)
def test_all_may_be_cut(name: str) -> None:
    for drawing in drawings(name):
        assert not [*drawing_problems(drawing)]
        assert not [*cutting_problems(drawing, [(layer.name, contour) for layer, contour in drawing.contours])]
        assert all(contour.area_mm2 > 0.0 for contour in cuts_of(drawing)), "counter-clockwise"


@pytest.mark.parametrize("name", BOARDS)
def test_texts_stay_clear_of_one_another_and_of_what_is_cut(name: str) -> None:
    for drawing in drawings(name)[: -len(fins(name))]:
        boxes = [Polygon(corners(label)) for label in drawing.labels]
        met = [(i, j) for i in range(len(boxes)) for j in range(i) if boxes[i].intersection(boxes[j]).area > 1e-9]
        assert not [(drawing.labels[i].text, drawing.labels[j].text) for i, j in met]
        tree, struck = STRtree(boxes), []
        for contour in cuts_of(drawing):
            line = contour.flattened(0.05)
            hit = tree.query(LineString(np.vstack([line, line[:1]])), predicate="intersects")
            struck += [drawing.labels[i].text for i in hit]
        assert not struck


SLOTS = [(80.4, 6.9, 6.0, 16.0), (114.7, 9.925, 6.0, 17.0), (90.0, 6.0, 6.0, 30.0), (60.0, 12.0, 3.0, 4.0)]


@pytest.mark.parametrize(("length", "width", "bit", "bush"), SLOTS)
def test_slot_and_hole_against_buffers(length: float, width: float, bit: float, bush: float) -> None:
    """The bit's middle runs on the slot drawn in by its radius; what the bit and the bush sweep are buffers of that."""
    slot = Slot(length_mm=length, width_mm=width, depth_mm=13.0, clearance_mm=0.2, bit_mm=bit, bush_mm=bush)
    x, y = (length - bit) / 2, (width - bit) / 2
    path = box(-x, -y, x, y) if y > 0.0 else LineString([(-x, 0.0), (x, 0.0)])
    for drawn, radius in ((slot_outline(slot), bit / 2), (bush_hole(slot), bush / 2)):
        swept = path.buffer(radius, quad_segs=256)
        # shapely's arcs are chords of a 1024th of a turn: r (1 - cos(pi / 1024)) is below 1e-4 mm here.
        assert ring(drawn).hausdorff_distance(swept) < 1e-3
        # Exact: rectangle plus strips plus a disc.
        area = 4 * x * y + 4 * radius * (x + y) + np.pi * radius**2
        assert drawn.area_mm2 == pytest.approx(area, rel=1e-9)


def test_the_tab_is_in_its_slot() -> None:
    for stand in stands("dunlin"):
        fin, slot = stand.placement.fin, stand.placement.slot
        assert fin.tab is not None
        assert slot is not None
        x, y = tab_middle(stand, fin.tab)
        low = 0.0 if fin.foil in {"flat", "hollow"} else -fin.thickness_mm / 2
        tab = box(fin.tab.from_rear_mm, low, fin.tab.from_rear_mm + fin.tab.length_mm, low + fin.thickness_mm)
        hole = translate(box(-slot.length_mm / 2, -slot.width_mm / 2, slot.length_mm / 2, slot.width_mm / 2), x, y)
        assert hole.contains(tab)
        assert tab.exterior.distance(hole.exterior) == pytest.approx(slot.clearance_mm, abs=1e-9)


def test_a_slot_template_says_which_side_is_shimmed_and_by_how_much() -> None:
    plates = fin_slots(lofted_board("dunlin").board, stands("dunlin"))
    assert plates
    # The bit is square to the plate, which lies on the bottom; it is to lean outward as the fin does. Where the bottom
    # rises towards the rail, what is square to it leans outward by itself.
    side = next(stand for stand in stands("dunlin") if len(stand.sides) > 1)
    body, (x, y) = lofted_board("dunlin").body, ((side.rear_mm + side.front_mm) / 2)[:2]
    v = np.linspace(0.05, 0.39, 200)
    across = body.port.at(parameter_at(body.port, np.full_like(v, x), v), v)[:, 1:]
    slope = np.gradient(across[:, 1], across[:, 0])[np.argmin(np.abs(across[:, 0] - y))]
    leans = side.placement.cant_deg - np.degrees(np.arctan(slope))
    (said,) = [label.text for label in plates.labels if "shim" in label.text]
    found = re.fullmatch(r"shim its (stringer|rail) side up: ([0-9.]+)° to the bottom that it lies on, 6° to .*", said)
    assert found
    assert found[1] == ("stringer" if leans > 0.0 else "rail")
    # Not the same plane: the section stands square to the stringer, the fin's to its toed base.
    assert float(found[2]) == pytest.approx(abs(leans), abs=0.4)


def test_a_slot_template_says_by_how_much_its_hole_is_larger() -> None:
    plates = fin_slots(lofted_board("dunlin").board, stands("dunlin"))
    assert plates is not None
    said = re.findall(r"the hole is ([\d.]+) mm larger all round", " ".join(label.text for label in plates.labels))
    slots = [ring(contour) for layer, contour in plates.contours if layer is CENTRE]
    assert len(said) == len(slots) == 2
    for slot, larger in zip(slots, said, strict=True):
        # Of the plate and the hole about it, the hole.
        hole = min((each for each in map(ring, cuts_of(plates)) if each.contains(slot)), key=lambda each: each.area)
        assert np.subtract(hole.bounds, slot.bounds) * [-1, -1, 1, 1] == pytest.approx([float(larger)] * 4, abs=1e-6)


def test_only_fins_with_tabs_have_slots() -> None:
    assert fin_slots(lofted_board("whimbrel").board, stands("whimbrel")) is None
    plates = fin_slots(lofted_board("dunlin").board, stands("dunlin"))
    assert plates is not None
    # Two plates, each with its hole and two holes for an awl.
    assert len(cuts_of(plates)) == 8


@pytest.mark.parametrize("name", BOARDS)
def test_the_base_is_cut_to_the_bottom(name: str) -> None:
    for cut, fin in fins(name):
        (contour,) = cuts_of(fin_template(fin, cut))
        stand = cut.stands[0]
        x = np.linspace(1.0, fin.fin.base_mm - 1.0, 200)
        if fin.fin.tab is not None:
            rear = fin.fin.tab.from_rear_mm
            x = x[(x < rear - 0.1) | (x > rear + fin.fin.tab.length_mm + 0.1)]
        off = distance(ring(contour).exterior, points(np.column_stack([x, stand.base(x)])))
        assert off.max() <= ARC_FIT_MM + FLAT_MM
        assert not stand.straight, "every demo bottom is curved enough"
        assert any("base cut to the bottom" in label.text for label in drawings(name)[-1].labels)


@pytest.mark.parametrize("name", BOARDS)
def test_marks_are_awl_holes_at_the_ends_of_bases(name: str) -> None:
    drawing = drawings(name)[0]
    outline, *holes = sorted(cuts_of(drawing), key=lambda contour: -contour.area_mm2)
    ends = [end for stand in stands(name) if len(stand.sides) > 1 for end in (stand.rear_mm, stand.front_mm)]
    found = sorted(((h.bounds[0] + h.bounds[2]) / 2, (h.bounds[1] + h.bounds[3]) / 2) for h in holes)
    expected = sorted((float(x), float(y)) for x, y, _ in ends)
    assert np.ravel(found) == pytest.approx(np.ravel(expected), abs=1e-9)
    assert all(hole.area_mm2 == pytest.approx(np.pi * AWL_MM**2 / 4) for hole in holes)
    assert all(ring(outline).contains(Point(*end[:2])) for end in ends)
    assert outline.bounds[1] == pytest.approx(0.0, abs=1e-9)


def gauged_sides(fin: FinDraft) -> list[tuple[Surface, float, float]]:
    """The faces that have foil gauges, which way they face, and the share of v from which the gauge follows them."""
    if fin.body.starboard is None or fin.lines.foil.flat_inside:
        return [(fin.body.port, 1.0, 0.0)]
    return [(fin.body.port, 1.0, 0.0), (fin.body.starboard, -1.0, np.sqrt(NOSE_SHARE))]


@pytest.mark.parametrize("name", BOARDS)
def test_foil_gauges_fit_the_faces(name: str) -> None:
    for drawing, (_, fin) in zip(gauges(name), fins(name), strict=True):
        plates = sorted(cuts_of(drawing), key=lambda contour: -contour.bounds[3])
        wanted = [(*side, share) for side in gauged_sides(fin) for share in HEIGHT_SHARES]
        for (surface, sense, start, share), plate in zip(wanted, plates[: len(wanted)], strict=True):
            u = float(fin.lines.parameter(share * fin.fin.depth_mm))
            face = surface.grid([u], np.linspace(start, 1.0, 300) * surface.joints[-2])[0]
            assert face[:, 2] == pytest.approx(share * fin.fin.depth_mm, abs=1e-6)
            left = plate.bounds[0]
            # The foot's rear end, which stands on the plane of the fin.
            foot = plate.points[np.argmin(plate.points[:, 0] + 1e-3 * plate.points[:, 1]), 1]
            shifted = face[:, :2] * [1.0, sense] + [left + 14.0 - face[:, 0].min(), foot]
            off = distance(ring(plate).exterior, points(shifted))
            assert off.max() <= ARC_FIT_MM + FLAT_MM


def said_mm(plate: Drawing, pattern: str) -> float:
    """The length that a text of the plate says, in mm, printed to a tenth."""
    (found,) = re.findall(pattern, " ".join(label.text for label in plate.labels))
    return float(found)


def sole(plate: Drawing, left: float, right: float) -> Array:
    """The lower edge of a plate, which stands on the bottom, between two places on paper."""
    (outline,) = cuts_of(plate)
    x = np.linspace(left, right, 200)
    shape = ring(outline)
    low = [shape.intersection(LineString([(at, -1e3), (at, 1e3)])).bounds[1] for at in x]
    return np.column_stack([x, low])


# How the edges lie on the fins is measured in tests/truth/test_jigs.py.


@pytest.mark.parametrize("name", BOARDS)
def test_the_cant_gauge_stands_on_the_bottom(name: str) -> None:
    shape = lofted_board(name)
    for cut, fin in fins(name):
        stand = cut.stands[0]
        (plate,) = _cant_gauge(name, stand, fin.lines, shape.draft)
        at, upright = said_mm(plate, r"([\d.]+) mm\)? ahead of the rear end"), upright_axes(stand.axes)
        left, _, right, _ = cuts_of(plate)[0].bounds
        foot = sole(plate, max(left, right - 45.0), right - 0.01)
        # On paper the stringer is to the right.
        points_mm = stand.rear_mm + at * upright[0] - foot[:, :1] * upright[1] + foot[:, 1:] * upright[2]
        gap = points_mm[:, 2] - bottom_height(shape.body, points_mm[:, 0], points_mm[:, 1])
        assert np.abs(gap).max() <= ARC_FIT_MM + PRINTED_MM


@pytest.mark.parametrize("name", ["dunlin", "turnstone"])
def test_spreaders_span_from_fin_to_fin(name: str) -> None:
    shape = lofted_board(name)
    cut, fin = next((cut, fin) for cut, fin in fins(name) if len(cut.stands[0].sides) > 1)
    plates = fin_jigs(name, cut.stands[0], fin.lines, shape.body, Head(kind="fin", board=name))
    assert len(plates) == 2
    for plate in plates:
        right = cuts_of(plate)[0].bounds[2]
        half = sole(plate, 0.0, 0.8 * right)
        x = np.full(len(half), said_mm(plate, r"([\d.]+) mm\)? from tail"))
        gap = half[:, 1] + bottom_height(shape.body, x, half[:, 0])
        assert np.abs(gap).max() <= ARC_FIT_MM + PRINTED_MM
        assert (
            ring(cuts_of(plate)[0])
            .symmetric_difference(ring(cuts_of(plate)[0].mirrored().reversed().turned(180.0)))
            .area
            < 1e-6
        )


@pytest.mark.parametrize("name", BOARDS)
def test_the_tail_sheet_holds_all_on_its_page(name: str) -> None:
    shape = lofted_board(name)
    sheet = tail_sheet(shape.draft, stands(name))
    assert sheet.page_mm is not None
    left, bottom, right, top = sheet.bounds
    assert min(left, bottom) >= 10.0 - 1e-9
    assert right <= sheet.page_mm[0] - 10.0 + 1e-9
    assert top <= sheet.page_mm[1] - 10.0 + 1e-9
    boxes = [Polygon(corners(label)) for label in sheet.labels]
    page = box(10.0, 10.0, sheet.page_mm[0] - 10.0, sheet.page_mm[1] - 10.0)
    assert all(page.contains(each) for each in boxes)
    met = [(i, j) for i in range(len(boxes)) for j in range(i) if boxes[i].intersection(boxes[j]).area > 1e-9]
    assert not [(sheet.labels[i].text, sheet.labels[j].text) for i, j in met]
    texts = [label.text for label in sheet.labels]
    for stand in stands(name):
        for end in (stand.rear_mm, stand.front_mm):
            assert any(f"({end[0]:.1f})" in text for text in texts)
            assert f"{end[0]:.1f}" in texts
