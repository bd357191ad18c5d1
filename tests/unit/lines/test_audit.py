"""The fairness audit: signs of curvature, straight stretches, and fullest places that agree or do not."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import make_interp_spline

from bayloft.findings import Finding
from bayloft.lines.audit import audit, strips, summits
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.gradation import graded_level
from bayloft.lines.profile import Profile
from bayloft.lines.section import SectionNumbers
from bayloft.spec.loading import load_board
from bayloft.tolerances import AGREEMENT_SHARE, LONGEST_STRAIGHT_SHARE

from ...demo import draft

SPEC = Path(__file__).parents[3] / "specs" / "boards" / "whimbrel.toml"


@pytest.fixture(scope="module")
def lines() -> BoardLines:
    return board_lines(load_board(SPEC))


def profile(lines: BoardLines, *shares_and_values: tuple[float, float]) -> Profile:
    share, value = zip(*shares_and_values, strict=True)
    return Profile(spline=make_interp_spline(share, value, k=5), length_mm=lines.length_mm)


def wave(lines: BoardLines, waves: int) -> Profile:
    """A foil that changes the way it bends 2 x waves - 1 times."""
    share = np.linspace(0.0, 1.0, 121)
    return profile(lines, *zip(share, 50.0 + 3.0 * np.sin(2 * np.pi * waves * share), strict=True))


def of(findings: tuple[Finding, ...], code: str, where: str) -> Finding:
    (found,) = (finding for finding in findings if (finding.code, finding.where) == (code, where))
    return found


def test_a_fair_board_bends_one_way_in_all_its_lines(lines: BoardLines) -> None:
    for name in ("outline", "rocker", "foil"):
        finding = of(audit(lines), "curvature-signs", name)
        assert finding.severity == "note"
        assert finding.measured == 0
        assert finding.text == f"the {name} bends one way all along"


@pytest.mark.parametrize("waves", [1, 2, 3])
def test_every_change_of_sign_is_counted(lines: BoardLines, waves: int) -> None:
    finding = of(audit(replace(lines, foil=wave(lines, waves))), "curvature-signs", "foil")
    assert finding.severity == "warning"
    assert finding.measured == 2 * waves - 1
    assert f"{2 * waves - 1} times" in finding.text


def test_curvature_is_in_1_per_metre_and_positive_where_a_line_bends_as_expected(lines: BoardLines) -> None:
    """A rocker of one parabola: z'' = 2 h / l^2, over (1 + z'^2)^1.5; its foil the same, upside down."""
    length = lines.length_mm
    share = np.linspace(0.0, 1.0, 9)
    parabola = [(each, 400.0 * (each - 0.5) ** 2) for each in share]
    arch = [(each, 70.0 - 100.0 * (each - 0.5) ** 2) for each in share]
    bent = replace(lines, rocker=profile(lines, *parabola), foil=profile(lines, *arch))
    outline, rocker, foil = strips(bent)
    middle = int(np.argmin(np.abs(rocker.x_mm - length / 2)))
    assert rocker.curvature_per_m[middle] == pytest.approx(1000.0 * 800.0 / length**2, rel=1e-9)
    assert foil.curvature_per_m[middle] == pytest.approx(1000.0 * 200.0 / length**2, rel=1e-9)
    slope = 400.0 / length
    assert rocker.curvature_per_m[0] == pytest.approx(1000.0 * 800.0 / length**2 / (1 + slope**2) ** 1.5, rel=1e-6)
    assert outline.curvature_per_m.min() > 0.0
    assert {strip.longest_straight_mm for strip in (outline, rocker, foil)} == {0.0}


def bumped(lines: BoardLines, *bumps: tuple[float, float, float]) -> BoardLines:
    """A board whose rocker bends more at places: share of the length, how much more per metre, and how wide in mm."""
    length = lines.length_mm
    share = np.linspace(0.0, 1.0, 2001)
    bend = np.full(share.shape, 2e-4)
    for at, more, wide in bumps:
        bend += more / 1000.0 * np.exp(-4.0 * ((share - at) * length / wide) ** 2)
    curve = make_interp_spline(share, bend * length**2, k=3).antiderivative(2)
    return replace(lines, rocker=Profile(spline=curve, length_mm=length))


def test_a_line_with_two_swells_waves_and_is_told_where(lines: BoardLines) -> None:
    one = of(audit(bumped(lines, (0.5, 0.1, 300.0))), "swells", "rocker")
    assert (one.severity, one.measured) == ("note", 1)
    two = of(audit(bumped(lines, (0.3, 0.1, 300.0), (0.7, 0.1, 300.0))), "swells", "rocker")
    assert (two.severity, two.measured) == ("warning", 2)
    told = [float(number) for number in re.findall(r"\d+", two.text)[1:]]
    assert told == pytest.approx([0.3 * lines.length_mm, 0.7 * lines.length_mm], abs=15.0)


@pytest.mark.parametrize(("more", "wide"), [(0.008, 300.0), (0.1, 15.0)])
def test_a_swell_that_nobody_feels_is_none(lines: BoardLines, more: float, wide: float) -> None:
    """One that stands out by a twenty-fifth, and one that is three micrometres high."""
    found = of(audit(bumped(lines, (0.3, 0.1, 300.0), (0.7, more, wide))), "swells", "rocker")
    assert (found.severity, found.measured) == ("note", 1)


def test_a_line_may_swell_on_both_sides_of_a_straight_stretch(lines: BoardLines) -> None:
    length = lines.length_mm
    share = np.linspace(0.0, 1.0, 2001)
    bend = 2e-4 * (np.abs(share - 0.5) > 0.15) * (1.0 + np.exp(-(((np.abs(share - 0.5) - 0.3) / 0.05) ** 2)))
    curve = make_interp_spline(share, bend * length**2, k=1).antiderivative(2)
    flat = replace(lines, rocker=Profile(spline=curve, length_mm=length))
    found = of(audit(flat), "swells", "rocker")
    assert (found.severity, found.measured) == ("note", 2)


def test_an_even_plank_is_no_wave(lines: BoardLines) -> None:
    """A foil that is even but for the rounding of its numbers."""
    noise = 1e-9 * np.random.default_rng(1).normal(size=41)
    plank = replace(lines, foil=profile(lines, *zip(np.linspace(0.0, 1.0, 41), 60.0 + noise, strict=True)))
    assert of(audit(plank), "swells", "foil").severity == "note"
    assert of(audit(plank), "curvature-signs", "foil").severity == "note"


@pytest.mark.parametrize("name", ["avocet", "dunlin", "fulmar", "spoonbill", "turnstone", "whimbrel"])
def test_every_demo_board_has_fair_long_lines(name: str) -> None:
    found = audit(draft(name).lines)
    assert [of(found, "swells", line).severity for line in ("outline", "rocker", "foil")] == ["note"] * 3


def test_a_straight_stretch_is_named_with_its_length(lines: BoardLines) -> None:
    """A rocker straight over the middle 40 %: the stretch found is that, to two steps of the audit's places and to what
    bends less than a fiftieth of the median.
    """
    length = lines.length_mm
    share = np.linspace(0.0, 1.0, 201)
    beyond = np.maximum(np.abs(share - 0.5) - 0.2, 0.0)
    flat = replace(lines, rocker=Profile(spline=make_interp_spline(share, 4000.0 * beyond**3, k=3), length_mm=length))
    finding = of(audit(flat), "straight-stretch", "rocker")
    assert finding.severity == "note"
    assert finding.limit == LONGEST_STRAIGHT_SHARE * length
    assert 0.39 * length < finding.measured < 0.46 * length
    assert not [each for each in audit(lines) if each.code == "straight-stretch"]


def test_summits_lie_where_lines_are_fullest(lines: BoardLines) -> None:
    found = {summit.line: summit for summit in summits(lines)}
    given = load_board(SPEC)
    assert found["wide point"].x_mm == pytest.approx(given.wide_point.x_mm, abs=1e-9)
    assert found["wide point"].value_mm == pytest.approx(given.wide_point.value, abs=1e-6)
    assert found["lowest rocker"].x_mm == given.lowest_x_mm
    assert found["lowest rocker"].value_mm == pytest.approx(0.0, abs=1e-6)
    assert given.thickest is not None
    assert found["greatest thickness"].x_mm == pytest.approx(given.thickest.x_mm, abs=0.2)
    assert found["greatest thickness"].value_mm == pytest.approx(given.thickest.value, abs=1e-4)
    x = np.linspace(0.0, lines.length_mm, 20_001)
    roll = lines.section_numbers(x).roll
    assert found["deepest roll"].x_mm == pytest.approx(float(x[roll.argmax()]), abs=2.0)
    assert found["deepest roll"].value_mm == pytest.approx(float(roll.max()), abs=1e-4)
    assert "deepest concave" not in found


def test_a_level_depth_has_its_summit_in_the_middle(lines: BoardLines, monkeypatch: pytest.MonkeyPatch) -> None:
    length = lines.length_mm
    share = graded_level([0.2 * length, 0.4 * length, 0.7 * length, 0.9 * length], [0.0, 6.0, 6.0, 0.0])
    usual = BoardLines.section_numbers

    def level(self: BoardLines, x_mm: np.ndarray) -> SectionNumbers:
        return replace(usual(self, x_mm), concave=share.at(x_mm))

    monkeypatch.setattr(BoardLines, "section_numbers", level)
    found = {summit.line: summit for summit in summits(lines)}
    assert found["deepest concave"].x_mm == pytest.approx(0.55 * length, abs=0.02 * length)


@pytest.mark.parametrize(("apart", "severity"), [(-1.2, "warning"), (-0.8, "note"), (0.8, "note"), (1.2, "warning")])
def test_agreement_with_the_wide_point(lines: BoardLines, apart: float, severity: str) -> None:
    limit = AGREEMENT_SHARE * lines.length_mm
    wide = float(lines.outline.station(lines.outline.wide_u))
    moved = replace(lines, lowest_x_mm=wide + apart * limit)
    finding = of(audit(moved), "agreement", "lowest rocker")
    assert finding.severity == severity
    assert finding.measured == pytest.approx(abs(apart) * limit)
    assert ("forward of" if apart > 0 else "behind") in finding.text
