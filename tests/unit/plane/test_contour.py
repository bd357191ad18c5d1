"""Contours against closed forms, and against shapely on dense flattenings."""

import math

import numpy as np
import pytest
from shapely import LinearRing, Polygon

from bayloft.drawing.sheet import CUT, MARK, Drawing
from bayloft.plane.contour import Contour
from bayloft.tolerances import JOINT_MM

ROUNDING = 1e-12
"""Relative: some thousand roundings of 1.1e-16."""

SLOT = Contour(points=[[0, 0], [100, 0], [100, 40], [0, 40]], bulges=[0, 1, 0, 1], closed=True)
"""A slot 100 mm between centres, 40 mm wide, half turns at both ends."""


def wavy() -> Contour:
    """An uneven closed contour with arcs of both senses, a line, and a sweep beyond a half turn."""
    return Contour(
        points=[[0, 0], [80, 5], [90, 60], [40, 80], [-10, 50]], bulges=[-0.2, 0.4, 0.0, 1.7, -0.05], closed=True
    )


def test_a_slot_has_the_closed_form_measures() -> None:
    assert SLOT.length_mm == pytest.approx(200 + 40 * math.pi, rel=ROUNDING)
    assert SLOT.area_mm2 == pytest.approx(4000 + 400 * math.pi, rel=ROUNDING)
    assert SLOT.bounds == pytest.approx((-20, 0, 120, 40), abs=1e-12)


def test_a_circle_has_the_closed_form_measures() -> None:
    circle = Contour.circle((3.0, -4.0), 10.0)
    assert circle.length_mm == pytest.approx(20 * math.pi, rel=ROUNDING)
    assert circle.area_mm2 == pytest.approx(100 * math.pi, rel=ROUNDING)
    assert circle.bounds == pytest.approx((-7, -14, 13, 6), abs=1e-12)


@pytest.mark.parametrize("bulge", [1e-13, 1e-9, 1e-6, 2.4999e-3, 2.5001e-3, 0.1, 0.9, 3.0, -1e-9, -0.3, -2.0])
def test_one_arc_and_its_chord_have_the_area_of_a_circular_segment(bulge: float) -> None:
    arc = Contour(points=[[0, 0], [50, 0]], bulges=[bulge, 0], closed=True)
    # A parabola's segment, 2/3 chord x sagitta, is the limit for a shallow arc; the next term is of order bulge^2.
    theta = 4 * math.atan(bulge)
    exact = 50**2 / 8 * (theta - math.sin(theta)) / math.sin(theta / 2) ** 2
    shallow = 2 / 3 * 50 * (25 * bulge) * (1 + bulge**2 / 5)
    want, rel = (shallow, 1e-9) if abs(bulge) < 1e-2 else (exact, 1e-10)
    assert arc.area_mm2 == pytest.approx(want, rel=rel)


def test_measures_agree_with_shapely_on_a_dense_flattening() -> None:
    contour = wavy()
    dense = contour.flattened(1e-6)
    ring = Polygon(dense)
    # The inscribed polygon loses at most tolerance x length in area, and tolerance x turning in length.
    assert contour.area_mm2 == pytest.approx(ring.area, abs=1e-6 * ring.length)
    assert contour.length_mm == pytest.approx(ring.length, abs=1e-6 * 4 * np.pi)
    assert contour.bounds == pytest.approx(ring.bounds, abs=1e-6)


def test_flattening_obeys_the_sagitta_rule() -> None:
    # Segments of a full circle by theta = 2 acos(1 - s / r), a textbook rule: 100 at r 100, s 0.05; 222.1 at 1000, 0.1.
    assert len(Contour.circle((0, 0), 100.0).flattened(0.05)) == 100
    assert len(Contour.circle((0, 0), 1000.0).flattened(0.1)) == 224
    points = Contour.circle((0, 0), 1000.0).flattened(0.1)
    assert np.hypot(*points.T) == pytest.approx(1000.0, rel=ROUNDING)
    middles = (points + np.roll(points, -1, axis=0)) / 2
    sagittas = 1000.0 - np.hypot(*middles.T)
    assert sagittas.max() <= 0.1
    assert sagittas.min() >= 0.097


def test_flattening_stays_within_its_tolerance_of_the_arcs() -> None:
    contour = wavy()
    deviation = LinearRing(contour.flattened(1e-7)).hausdorff_distance(LinearRing(contour.flattened(0.05)))
    assert 0.04 < deviation <= 0.05 + 1e-7


def test_arcs_of_any_radius_are_divided_to_rounding() -> None:
    contour = Contour(points=[[0, 0], [300, 400]], bulges=[1e-12, 0], closed=False)
    x, y = contour.divided(1e-10).points.T
    assert len(x) > 2
    assert y == pytest.approx(x * 4 / 3, abs=1e-9)


def test_divided_arcs_keep_the_shape() -> None:
    contour = wavy()
    parts = contour.divided(45.0)
    assert np.abs(parts.bulges).max() <= math.tan(math.radians(45 / 4)) * (1 + ROUNDING)
    assert parts.area_mm2 == pytest.approx(contour.area_mm2, rel=ROUNDING)
    assert parts.length_mm == pytest.approx(contour.length_mm, rel=ROUNDING)


def test_mirroring_keeps_the_measures_and_turns_the_other_way() -> None:
    contour = wavy()
    image = contour.mirrored()
    left, bottom, right, top = contour.bounds
    assert image.area_mm2 == pytest.approx(-contour.area_mm2, rel=ROUNDING)
    assert image.reversed().area_mm2 == pytest.approx(contour.area_mm2, rel=ROUNDING)
    assert image.bounds == pytest.approx((left, -top, right, -bottom), abs=1e-12)
    flipped = Polygon(contour.flattened(1e-3) * (1, -1))
    assert Polygon(image.flattened(1e-3)).symmetric_difference(flipped).area < 1e-6


def test_a_half_outline_and_its_mirror_image_close() -> None:
    half = Contour(points=[[0, 0], [60, 80], [300, 0]], bulges=[-0.1, -0.3, 0], closed=False)
    whole = Contour.joined(half, half.mirrored().reversed(), closed=True)
    assert whole.closed
    assert len(whole.points) == 4
    assert whole.area_mm2 == pytest.approx(-2 * abs(Contour.joined(half, closed=True).area_mm2), rel=ROUNDING)
    assert whole.length_mm == pytest.approx(2 * half.length_mm, rel=ROUNDING)


def test_reversing_turns_the_sign_of_the_area_only() -> None:
    contour = wavy()
    assert contour.reversed().area_mm2 == pytest.approx(-contour.area_mm2, rel=ROUNDING)
    assert contour.reversed().bounds == pytest.approx(contour.bounds, abs=1e-12)
    half = Contour(points=[[0, 0], [1, 0], [2, 2]], bulges=[0.5, -0.2, 0], closed=False)
    assert half.reversed().bulges.tolist() == [0.2, -0.5, 0]


def test_joining_keeps_the_later_start_and_bridges_open_ends() -> None:
    first = Contour.straight([[0, 0], [10, 0]], closed=False)
    second = Contour.straight([[10 + JOINT_MM / 2, 0], [10, 10]], closed=False)
    chain = Contour.joined(first, second, closed=True)
    assert chain.points.tolist() == [[0, 0], [10 + JOINT_MM / 2, 0], [10, 10]]
    assert chain.area_mm2 == pytest.approx(50.0, abs=5 * JOINT_MM)
    back = Contour.straight([[10, 10], [0, JOINT_MM / 2]], closed=False)
    assert len(Contour.joined(first, second, back, closed=True).points) == 3
    assert len(Contour.joined(first, second, back, closed=False).points) == 4


@pytest.mark.parametrize(
    ("parts", "reason"),
    [
        (
            [Contour.straight([[0, 0], [1, 0]], closed=False), Contour.straight([[1.01, 0], [2, 0]], closed=False)],
            "0.01 mm",
        ),
        ([SLOT], "open contours"),
        ([], "at least one"),
    ],
)
def test_what_does_not_meet_is_not_joined(parts: list[Contour], reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        Contour.joined(*parts, closed=False)


def test_motions_change_the_measures_as_they_must() -> None:
    contour = wavy()
    moved = contour.turned(33.0).scaled(2.0).moved(5.0, -7.0)
    assert moved.area_mm2 == pytest.approx(4 * contour.area_mm2, rel=ROUNDING)
    assert moved.length_mm == pytest.approx(2 * contour.length_mm, rel=ROUNDING)
    assert Contour.straight([[1, 0], [2, 0]], closed=False).turned(90.0).points == pytest.approx(
        np.array([[0, 1], [0, 2]]), abs=1e-15
    )
    assert contour.moved(5.0, -7.0).bounds == pytest.approx(np.add(contour.bounds, (5, -7, 5, -7)), rel=ROUNDING)


def test_arrays_are_copies_and_read_only() -> None:
    points = np.zeros((2, 2))
    points[1] = 1.0
    contour = Contour.straight(points, closed=False)
    points[0] = 99.0
    assert contour.points[0].tolist() == [0, 0]
    with pytest.raises(ValueError, match="read-only"):
        contour.points[0, 0] = 1.0
    with pytest.raises(ValueError, match="read-only"):
        contour.bulges[0] = 1.0


@pytest.mark.parametrize(
    ("points", "bulges", "closed"),
    [
        (np.zeros((1, 2)), np.zeros(1), True),
        (np.zeros((3, 3)), np.zeros(3), True),
        (np.zeros((3, 2)), np.zeros(2), True),
        ([[0, 0], [np.nan, 1]], np.zeros(2), True),
        ([[0, 0], [1, 1]], [0.0, np.inf], True),
        ([[0, 0], [1, 1]], [0.0, 0.5], False),
    ],
)
def test_what_is_no_contour_is_refused(points: object, bulges: object, closed: bool) -> None:
    with pytest.raises(ValueError, match="contour"):
        Contour(points=points, bulges=bulges, closed=closed)


@pytest.mark.parametrize(
    "bad",
    [
        lambda: Contour.circle((0, 0), 0.0),
        lambda: SLOT.flattened(0.0),
        lambda: SLOT.flattened(math.nan),
        lambda: SLOT.scaled(-1.0),
        lambda: SLOT.divided(0.0),
        lambda: Contour.straight([[0, 0], [1, 1]], closed=False).area_mm2,
        lambda: Drawing(name="empty").bounds,
    ],
)
def test_senseless_measures_are_refused(bad: object) -> None:
    with pytest.raises(ValueError, match=r"above 0|open|no contours"):
        bad()


def test_a_drawing_knows_its_bounds_and_its_layers() -> None:
    drawing = Drawing(name="slot", contours=((CUT, SLOT), (MARK, Contour.circle((200, 0), 5.0))))
    assert drawing.bounds == pytest.approx((-20, -5, 205, 40), abs=1e-12)
    assert drawing.joined(drawing).layers == (CUT, MARK)
