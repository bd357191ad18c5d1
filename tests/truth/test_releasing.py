"""What springs back, and the cuts that take a bend: bars of one section in closed form."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bayloft.foam.regluing import BeamSection, Regluing, regluing
from bayloft.foam.releasing import spring_back
from bayloft.foam.sawing import SKIN_MM, wedge_cuts

from .test_regluing import DEEP_MM, LENGTH_MM, arched, halfway, profile, sagged

RADIUS_MM, WIDE_MM = 6000.0, 500.0


def bar(radius_mm: float = RADIUS_MM) -> Regluing:
    """A straight bar bent to an arc that is lowest in its middle; a long one, so that it bends to its very ends."""
    lines = arched(float("inf"))
    return regluing(lines, halfway(lines), profile(sagged(radius_mm, 3000.0), 3000.0))


def resisting() -> tuple[BeamSection, ...]:
    """A rectangle: its second moment is b h^3 / 12."""
    moment = WIDE_MM * DEEP_MM**3 / 12.0
    return tuple(
        BeamSection(x_mm=x, area_mm2=WIDE_MM * DEEP_MM, centroid_mm=35.0, moment_mm4=moment)
        for x in (60.0, 1300.0, LENGTH_MM - 60.0)
    )


@pytest.mark.parametrize("foam_mpa", [5.0, 10.0, 20.0])
def test_foam_and_stringer_share_the_bend_by_their_stiffness(foam_mpa: float) -> None:
    """Side by side and of one depth, of a modulus and a width each: the depth falls out."""
    bent = bar()
    back = spring_back(bent, resisting(), (DEEP_MM,) * 3, foam_mpa=foam_mpa, wood_mpa=7700.0, thickness_mm=12.0)
    share = foam_mpa * WIDE_MM / (foam_mpa * WIDE_MM + 7700.0 * 12.0)
    assert back.least == pytest.approx(share, rel=1e-9)
    assert back.most == pytest.approx(share, rel=1e-9)
    # An arc's ends stand s^2 / 2R over its middle; of that the share comes back.
    assert back.nose_mm == pytest.approx(share * (LENGTH_MM / 2.0) ** 2 / (2.0 * (RADIUS_MM - 35.0)), rel=2e-2)
    assert back.tail_mm == pytest.approx(back.nose_mm, rel=2e-2)


def test_half_as_thick_a_stringer_lets_twice_as_much_back() -> None:
    """Nearly: both are a few hundredths of the whole."""
    bent = bar()
    thick, thin = (
        spring_back(bent, resisting(), (DEEP_MM,) * 3, foam_mpa=5.0, wood_mpa=7700.0, thickness_mm=t).most
        for t in (12.0, 6.0)
    )
    assert thin / thick == pytest.approx(2.0, rel=0.03)


def test_of_what_was_bent_the_same_share_comes_back_everywhere() -> None:
    back = spring_back(bar(), resisting(), (DEEP_MM,) * 3, foam_mpa=10.0, wood_mpa=7700.0, thickness_mm=12.0)
    assert back.nose_mm / back.bent_mm[0] == pytest.approx(back.most, rel=1e-6)
    assert back.tail_mm / back.bent_mm[1] == pytest.approx(back.most, rel=1e-6)


def test_cuts_are_told_where_a_face_would_be_strained_too_far() -> None:
    bent = bar()
    assert bent.hardest.most_strain == pytest.approx(DEEP_MM / 2.0 / (RADIUS_MM - 35.0), rel=1e-3)
    assert wedge_cuts(bent, 0.007, 3.0) == ()
    (cuts,) = wedge_cuts(bent, 0.005, 1.0)
    # The whole bar turns by its length over the radius; so much of the depth of its cuts is sawn out and closes.
    turn, deep = LENGTH_MM / (RADIUS_MM - 35.0), DEEP_MM - SKIN_MM
    assert len(cuts.stations_mm) == pytest.approx(turn * deep / 1.0, abs=1.0)
    assert cuts.deep_mm == pytest.approx((deep,) * len(cuts.deep_mm))
    # Of an even bend they stand evenly, half a step from the ends.
    steps = np.diff(cuts.stations_mm)
    assert steps == pytest.approx(steps.mean(), rel=0.02)
    assert cuts.stations_mm[0] == pytest.approx(steps.mean() / 2.0, rel=0.1)
    # The corners of a polygon round a circle stand s^2 / 8R off it.
    assert cuts.off_mm == pytest.approx(steps.mean() ** 2 / (8.0 * (RADIUS_MM - 35.0)), rel=0.02)
    # Wide cuts would be few, and leave the half off the curve between them: there are more.
    (wide,) = wedge_cuts(bent, 0.005, 20.0)
    assert 0.4 < wide.off_mm <= 0.5
    # More rocker squeezes the deck: there the cuts close.
    assert cuts.face == "deck"
    (less,) = wedge_cuts(replace(bent, was=bent.becomes, becomes=bent.was), 0.005, 3.0)
    assert less.face == "bottom"


def test_what_bends_both_ways_is_sawn_from_both_faces() -> None:
    """An S: each stretch has its cuts, on the face that is squeezed there."""
    lines = arched(float("inf"))
    wave = profile(lambda x: 12.0 * np.sin(x * 2.0 * np.pi / 2600.0), 2600.0)
    found = wedge_cuts(regluing(lines, halfway(lines), wave), 0.0018, 3.0)
    assert {each.face for each in found} == {"deck", "bottom"}
    for each in found:
        assert list(each.stations_mm) == sorted(each.stations_mm)
