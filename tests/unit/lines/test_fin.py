"""Fins that cannot be: the message names the number that was changed."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bayloft.errors import Fault, SpecError
from bayloft.lines.fin import LARGEST_TRAILING_EDGE, TIP_ROUNDING, TRAILING_CORNER, fin_lines
from bayloft.spec.fins.fin import Fin
from bayloft.spec.text.source import Source

FIN = Fin(
    name="Whimbrel flex",
    slug="whimbrel-flex",
    base_mm=165.0,
    depth_mm=230.0,
    rake_mm=95.0,
    leading_fullness=0.12,
    trailing_hollow=0.08,
    tip_radius_mm=14.0,
    foil="double",
    thickness_mm=9.5,
    tip_thickness_mm=3.2,
    trailing_edge_mm=1.0,
    tab=None,
    assumed=(),
    source=Source(file="whimbrel-flex.toml", values={}, lines={("planform", "trailing_hollow"): 9}),
)


def faults_of(**changes: float) -> tuple[Fault, ...]:
    with pytest.raises(SpecError) as refused:
        fin_lines(replace(FIN, **changes))  # type: ignore[arg-type]
    return refused.value.faults


def test_the_fin_itself_can_be_made() -> None:
    lines = fin_lines(FIN)
    assert lines.leading(0.0) == pytest.approx(165.0, abs=1e-9)
    assert lines.foil.mirrored


def test_a_trailing_edge_too_thick_for_the_tip_is_named() -> None:
    most = LARGEST_TRAILING_EDGE * FIN.tip_thickness_mm
    fin_lines(replace(FIN, trailing_edge_mm=most - 1e-9))
    (fault,) = faults_of(trailing_edge_mm=most + 0.1)
    assert fault.path == ("foil", "trailing_edge")
    assert "thicken towards its back" in fault.problem
    assert f"{most:.1f} mm" in fault.allowed


def test_a_leading_edge_that_would_wiggle_is_named() -> None:
    """A very round tip and hardly any bow: the edge would have to go hollow to get round it."""
    (fault,) = faults_of(leading_fullness=0.005, tip_radius_mm=80.0)
    assert fault.path == ("planform", "leading_fullness")
    assert "wiggle" in fault.problem
    assert "smaller tip radius" in fault.hint


def test_edges_that_cross_are_named_with_their_line_and_place() -> None:
    (fault,) = faults_of(trailing_hollow=0.49, tip_radius_mm=3.0)
    assert fault.path == ("planform", "trailing_hollow")
    assert fault.line == 9
    assert "cross or nearly meet" in fault.problem
    assert "above the base" in fault.problem


def test_all_faults_are_told_at_once() -> None:
    faults = faults_of(trailing_hollow=0.49, tip_radius_mm=3.0, trailing_edge_mm=3.0)
    assert {fault.path for fault in faults} == {("foil", "trailing_edge"), ("planform", "trailing_hollow")}
    faults = faults_of(leading_fullness=0.005, tip_radius_mm=80.0, trailing_edge_mm=3.0)
    assert {fault.path for fault in faults} == {("foil", "trailing_edge"), ("planform", "leading_fullness")}


def test_a_hollow_leading_edge_may_be_asked_for() -> None:
    lines = fin_lines(replace(FIN, leading_fullness=-0.05, trailing_hollow=-0.1))
    assert float(lines.leading(lines.parameter(115.0))) == pytest.approx((165.0 - 12.5) / 2 - 0.05 * 230.0, abs=1e-6)


def test_thickness_tapers_straight_and_is_rounded_off_at_the_tip() -> None:
    lines = fin_lines(FIN)
    reach = TIP_ROUNDING * FIN.tip_thickness_mm
    z = np.array([0.0, 100.0, 230.0 - reach, 230.0])
    found = lines.thickness(lines.parameter(z))
    assert found[:3] == pytest.approx(9.5 + (3.2 - 9.5) * z[:3] / 230.0, rel=1e-9)
    assert found[3] == 0.0


@pytest.mark.parametrize(("foil", "share"), [("double", 1.0), ("flat", 2.0)])
def test_a_face_ends_in_the_trailing_edge(foil: str, share: float) -> None:
    """Half the thickness on either side of a double foil, all of it outside of a flat one."""
    lines = fin_lines(replace(FIN, foil=foil))  # type: ignore[arg-type]
    front, corner, back = lines.face(0.0, np.array([0.0, TRAILING_CORNER, 1.0]))
    assert front == pytest.approx([165.0, 0.0, 0.0], abs=1e-9)
    assert corner == pytest.approx([0.0, share * 0.5, 0.0], abs=1e-9)
    assert back == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    widest = lines.face(0.0, np.linspace(0.0, 1.0, 4001))[:, 1].max()
    # The closed form's greatest half-thickness is within a thousandth of a half; the edge adds x^4 / 2 of itself there.
    assert widest == pytest.approx(share * 9.5 / 2, rel=3e-3)
