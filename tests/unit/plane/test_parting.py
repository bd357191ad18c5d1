"""Contours parted along an upright line: closed forms on circles and lines, and areas that add up."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from bayloft.plane.contour import Contour
from bayloft.plane.parting import between, crossings, crossings_at, parted

SLOT = Contour(
    points=np.array([[0.0, 0.0], [100.0, 0.0], [100.0, 40.0], [0.0, 40.0]]),
    bulges=np.array([0.1, 1.0, 0.0, 0.6]),
    closed=True,
)
"""Lines, a flat arc, a half turn and an arc of more than a quarter turn."""


@given(st.floats(-0.95, 0.95))
def test_a_circle_is_passed_at_its_chord(share: float) -> None:
    circle = Contour.circle((3.0, -2.0), 50.0)
    x = 3.0 + 50.0 * share
    low, high = crossings(circle, x)
    half = 50.0 * np.sqrt(1.0 - share * share)
    assert (low.y_mm, high.y_mm) == pytest.approx((-2.0 - half, -2.0 + half), abs=1e-9)
    assert (low.rightward, high.rightward) == (True, False)
    # The tangent of a circle is square to its radius.
    assert (low.slope, high.slope) == pytest.approx((share * 50.0 / half, -share * 50.0 / half), abs=1e-9)
    assert low.curvature == pytest.approx(1.0 / 50.0)


def test_a_line_is_passed_where_proportion_says() -> None:
    kite = Contour.straight([[0.0, 0.0], [10.0, 5.0], [0.0, 20.0]], closed=True)
    low, high = crossings(kite, 4.0)
    assert (low.y_mm, high.y_mm) == pytest.approx((2.0, 14.0))
    assert (low.slope, high.slope) == pytest.approx((0.5, -1.5))
    assert low.off_ends_mm == pytest.approx(0.4 * np.hypot(10.0, 5.0))
    assert crossings(kite, 11.0) == ()


@given(st.floats(-10.0, 118.0), st.floats(-10.0, 118.0))
def test_parts_have_the_whole_area_and_the_same_arcs(first: float, second: float) -> None:
    assume(abs(first - second) > 0.1)
    left, right = sorted((first, second))
    assume(all(len(found) == 2 for found in crossings_at(SLOT, [left, right])))
    ends = parted(SLOT, left)[0], parted(SLOT, right)[1]
    lower, upper = between(SLOT, left, right)
    up = Contour.straight([lower.points[-1], upper.points[0]], closed=False)
    middle = Contour.joined(lower, up, upper, closed=True)
    areas = [Contour.joined(end, closed=True).area_mm2 for end in ends] + [middle.area_mm2]
    assert all(area > 0.0 for area in areas)
    assert sum(areas) == pytest.approx(SLOT.area_mm2, rel=1e-12)
    lengths = [part.length_mm for part in (*ends, lower, upper)]
    assert sum(lengths) == pytest.approx(SLOT.length_mm, rel=1e-12)


def test_a_contour_passed_otherwise_than_twice_is_refused() -> None:
    comb = Contour.straight([[0, 0], [10, 0], [10, 1], [1, 1], [1, 2], [10, 2], [10, 3], [0, 3]], closed=True)
    with pytest.raises(ValueError, match="passes x = 5 mm 4 times"):
        parted(comb, 5.0)
    with pytest.raises(ValueError, match="passes x = 20 mm 0 times"):
        parted(comb, 20.0)
    with pytest.raises(ValueError, match="cannot be parted"):
        between(SLOT.reversed(), 10.0, 20.0)
