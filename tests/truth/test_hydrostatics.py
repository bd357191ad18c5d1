"""Simpson's rule and the area curve against worked examples of handbooks and a hull with closed forms."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.solid.integrals import integrals, section_areas
from bayloft.solid.measure import area_curve, rocker, simpsons, thickness, width
from bayloft.solid.surface import interpolated

Array = NDArray[np.float64]

ROUNDING = 1e-12
"""Relative: sums of some hundred terms."""

# Length in m, half-ordinates in m of a waterplane, area in m2 of both halves.
WATERPLANES = {
    # C. B. Barrass and D. R. Derrett, Ship Stability for Masters and Mates, p. 74 (read); printed 1207, arithmetic
    # repeated.
    "120 m": (120.0, (0, 3.7, 5.9, 7.6, 7.5, 4.6, 0.1), 1206.6666666666667),
    # An examination question (meomock.com, read) without its answer, which was computed from it by hand.
    "80 m": (80.0, (0.2, 4, 5, 5.2, 5, 4, 0.2), 650.6666666666667),
}


@pytest.mark.parametrize("name", WATERPLANES)
def test_simpsons_rule_gives_the_worked_waterplanes(name: str) -> None:
    length, halves, area = WATERPLANES[name]
    assert 2 * simpsons(np.linspace(0.0, length, len(halves)), halves) == pytest.approx(area, rel=ROUNDING)


def test_the_waterplane_of_the_handbook_is_as_printed() -> None:
    """Barrass and Derrett, p. 74 (read): 1207 m2, and 12.37 tonnes per centimetre, area / 97.56 in salt water."""
    length, halves, _ = WATERPLANES["120 m"]
    area = 2 * simpsons(np.linspace(0.0, length, len(halves)), halves)
    assert round(area) == 1207
    assert round(area / 97.56, 2) == 12.37


def test_simpsons_rule_gives_the_worked_volume() -> None:
    """Half-sectional areas at 10 m: 11748 m3 for both sides. A university's exercise with its solution
    (transtutors.com, 286740, read); arithmetic repeated.
    """
    areas = (0, 19.4, 45.7, 73.6, 94.4, 104.1, 97.1, 76.4, 48.5, 23.5, 2.8)
    assert 2 * simpsons(10.0 * np.arange(11), areas) == pytest.approx(11748.0, rel=ROUNDING)


def test_simpsons_rule_is_exact_for_cubics_and_no_further() -> None:
    """Error of the rule: -(b - a) h^4 f'''' / 180, with equality for a quartic: from memory."""
    x = np.linspace(-1.0, 3.0, 9)
    assert simpsons(x, 2 * x**3 - x**2 + 5) == pytest.approx(80 / 2 - 28 / 3 + 20, rel=ROUNDING)
    assert simpsons(x, x**4) - 244 / 5 == pytest.approx(4.0 * 0.5**4 * 24 / 180, rel=1e-10)


LENGTH, BEAM, DRAUGHT = 2500.0, 250.0, 156.25
SIDE = APEX
"""v of the joint between side and deck: on boards the rail's apex, the widest point of the section."""


def wigley() -> Body:
    """A Wigley hull, keel at z = -T, deck z = 0. Form: read in public codes; D. Hally, Representation of Wigley hulls,
    DREA TC 89/308 (1989), is cited from memory.
    """

    def points(u: Array, v: Array) -> Array:
        depth = np.minimum(v / SIDE, 1.0) - 1.0
        inward = np.minimum((1.0 - v) / (1.0 - SIDE), 1.0)
        y = BEAM / 2 * (1.0 - (2.0 * u - 1.0) ** 2) * (1.0 - depth**2) * inward
        return np.stack(np.broadcast_arrays(LENGTH * u, y, DRAUGHT * depth), axis=-1)

    return Body(port=interpolated(points, np.linspace(0.0, 1.0, 13), (0.0, SIDE, 1.0), 6))


def test_the_area_curve_of_a_wigley_hull() -> None:
    """A(x) = (2/3) B T (1 - (2x/L)^2), volume 4/9 L B T, prismatic coefficient 2/3, centre amidships: exact, by hand.
    It is quadratic, so Simpson's rule adds nothing to rounding.
    """
    x, areas = area_curve(wigley(), LENGTH, 48)
    assert x == pytest.approx(np.arange(49) * LENGTH / 48, rel=ROUNDING)
    expected = 2 / 3 * BEAM * DRAUGHT * (1.0 - (2.0 * x / LENGTH - 1.0) ** 2)
    assert areas == pytest.approx(expected, rel=0.0, abs=1e-10 * BEAM * DRAUGHT)
    volume = simpsons(x, areas)
    assert volume == pytest.approx(4 / 9 * LENGTH * BEAM * DRAUGHT, rel=1e-10)
    assert volume == pytest.approx(integrals(wigley()).volume_mm3, rel=1e-10)
    assert volume / (areas.max() * LENGTH) == pytest.approx(2 / 3, rel=1e-10)
    assert simpsons(x, areas * x) / volume == pytest.approx(LENGTH / 2, rel=1e-10)


def test_a_wigley_hull_measures_as_given() -> None:
    """Beam at the joint of side and deck, keel and depth at the middle line: the polynomial itself."""
    x = np.array([100.0, 800.0, 1250.0, 2222.0])
    full = 1.0 - (2.0 * x / LENGTH - 1.0) ** 2
    assert width(wigley(), x) == pytest.approx(BEAM * full, rel=1e-10)
    assert rocker(wigley(), x) == pytest.approx(np.full(4, -DRAUGHT), rel=1e-10)
    assert thickness(wigley(), x) == pytest.approx(np.full(4, DRAUGHT), rel=1e-10)


def test_the_waterplane_of_a_wigley_hull_by_simpsons_rule() -> None:
    """Awp = 2/3 L B (by hand) from the widths, as a handbook would take it off the lines: exact for a parabola."""
    x = np.linspace(0.0, LENGTH, 11)
    widths = np.concatenate([[0.0], width(wigley(), x[1:-1]), [0.0]])
    assert simpsons(x, widths) == pytest.approx(2 / 3 * LENGTH * BEAM, rel=1e-10)
    assert section_areas(wigley(), x[1:-1]) / widths[1:-1] == pytest.approx(np.full(9, 2 / 3 * DRAUGHT), rel=1e-10)
