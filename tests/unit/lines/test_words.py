"""Words with which lines may do what they otherwise do not: hollow ends, hips, steps, a flat, a rocker of its ends."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bayloft.errors import SpecError
from bayloft.lines.audit import audit
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import load_board

SPEC = """edition = 2
name = "Trial"
unit = "in"
length = 74
[outline]
nose_width = 12
tail_width = 14
wide_point = { width = 19.5, behind_centre = 0.5 }
widths = [{ from_tail = 8, width = 11.25 }, { from_tail = 16, width = 16.2 }]
[nose]
kind = "pointed"
[tail]
kind = "squash"
block = 5
[rocker]
nose = 5
tail = 2.25
[thickness]
thickest = { thickness = 2.5, ahead_of_centre = 1 }
nose = 1.4
tail = 1.5
"""

HIP = ("width = 11.25", "width = 10.2"), ("[nose]", "hips = [{ from_tail = 10, over = 3 }]\n[nose]")
FIVE_IN = 5 * 25.4


def trial(tmp_path: Path, *changes: tuple[str, str]) -> Board:
    text = SPEC
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    spec = tmp_path / "trial.toml"
    spec.write_text(text, encoding="utf-8")
    return load_board(spec)


def warnings(lines: BoardLines, *where: str) -> list[str]:
    return [each.text for each in audit(lines) if each.severity == "warning" and each.where in where]


def test_a_hip_is_drawn_where_it_is_asked_and_is_no_wave(tmp_path: Path) -> None:
    lines = board_lines(trial(tmp_path, *HIP))
    assert 2 * float(lines.outline.at(8 * 25.4)) == pytest.approx(10.2 * 25.4, abs=1e-6)
    x = np.linspace(60.0, 1800.0, 2000)
    hollow = x[lines.outline.curvature(lines.outline.parameter(x)) > 3e-5]
    assert (8.4 - 0.1) * 25.4 < hollow.min() < hollow.max() < (11.6 + 0.1) * 25.4
    assert np.all(lines.outline.slope(x[x < 900.0]) > 0.0)
    assert warnings(lines, "outline") == []


def test_without_its_word_a_hip_is_refused_and_the_word_that_would_allow_it_is_told(tmp_path: Path) -> None:
    with pytest.raises(SpecError) as caught:
        board_lines(trial(tmp_path, HIP[0]))
    (fault,) = caught.value.faults
    assert fault.path == ("outline", "widths", 0, "width")
    assert '`hollow = "tail"` in [outline]' in fault.hint


THIN_NOSE = ("nose = 1.4", "nose = 0.95\nthicknesses = [{ from_nose = 24, thickness = 1.45 }]")


def test_an_s_in_the_foil_needs_its_word(tmp_path: Path) -> None:
    with pytest.raises(SpecError) as caught:
        board_lines(trial(tmp_path, THIN_NOSE))
    assert any('`hollow = "nose"` in [thickness]' in fault.hint for fault in caught.value.faults)
    lines = board_lines(trial(tmp_path, THIN_NOSE, ("[thickness]", '[thickness]\nhollow = "nose"')))
    assert float(lines.foil.at(74 * 25.4 - 24 * 25.4)) == pytest.approx(1.45 * 25.4, abs=1e-6)
    bend = lines.foil.at(np.linspace(0.0, 74 * 25.4, 500), 2)
    assert bend[:250].max() <= 5e-6 < bend[250:].max()
    assert warnings(lines, "foil") == []


def test_a_step_of_the_foil_is_drawn(tmp_path: Path) -> None:
    step = (
        "nose = 1.4",
        "nose = 1.2\nthicknesses = [{ from_nose = 30, thickness = 2.2 }, { from_nose = 22, thickness = 1.7 }]",
    )
    with pytest.raises(SpecError):
        board_lines(trial(tmp_path, step))
    lines = board_lines(trial(tmp_path, step, ("[thickness]", "[thickness]\nsteps = [{ from_nose = 26, over = 8 }]")))
    assert float(lines.foil.at(52 * 25.4)) == pytest.approx(1.7 * 25.4, abs=1e-6)
    assert warnings(lines, "foil") == []


def test_a_rocker_of_its_ends_bends_least_in_the_middle_and_most_at_the_nose(tmp_path: Path) -> None:
    given = trial(tmp_path)
    lines = board_lines(given)
    length = given.length_mm
    assert lines.lowest_x_mm == pytest.approx(0.47 * length)
    assert {"lowest", "heights"} <= {str(each.path[-1]) for each in given.assumed if each.path[0] == "rocker"}
    bend = lines.rocker.at(np.array([0.02, 0.47, 0.98]) * length, 2)
    assert bend[1] < 0.9 * bend[0] < bend[2]
    assert warnings(lines, "rocker", "lowest rocker") == []
    # A foot from the nose it is lower than on an arc of a circle, nearly a parabola, through nose and lowest point.
    foot = (0.53 * length - 304.8) / (0.53 * length)
    assert float(lines.rocker.at(length - 304.8)) < FIVE_IN * foot * foot


@pytest.mark.parametrize("heights", ["", "heights = [{ from_nose = 12, height = 2.25 }]\n"])
def test_a_flat_lies_on_the_floor_over_its_length(tmp_path: Path, heights: str) -> None:
    lines = board_lines(
        trial(tmp_path, ("tail = 2.25", f"tail = 2.25\nlowest = {{ behind_centre = 3 }}\nflat = 20\n{heights}"))
    )
    over = (34 + np.linspace(-10.0, 10.0, 201)) * 25.4
    on_floor = lines.rocker.at(over)
    assert on_floor.min() > -0.02
    assert on_floor.max() <= 0.26
    assert warnings(lines, "rocker") == []


def test_a_straighter_tail_is_a_number(tmp_path: Path) -> None:
    drawn = [board_lines(trial(tmp_path, ("block = 5", f"block = 5\nstraightness = {s}"))) for s in (0.1, 0.3, 1.0)]
    bend = [abs(float(lines.outline.curvature(0.02))) for lines in drawn]
    assert bend[0] > bend[1] > bend[2]
