"""What a message suggests passes, and is a mark of the tape that can be read."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from bayloft.errors import SpecError
from bayloft.lines.drafting import board_lines
from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.suggestion import TAPE_MM, suggested
from bayloft.spec.loading import load_board
from bayloft.units import length_mm

WHIMBREL = Path(__file__).parents[3] / "specs/boards/whimbrel.toml"


def at_least(limit_mm: float):
    def line(values) -> None:
        if values[0] < limit_mm:
            raise NoFairLineError

    return line


def test_a_suggestion_is_rounded_to_the_passing_side() -> None:
    assert suggested([20.0, 9.0], [25.41, 9.0], [0], at_least(25.41)) == {0: pytest.approx(17 * TAPE_MM)}
    assert suggested([30.0], [25.39], [0], lambda _: None) == {0: pytest.approx(15 * TAPE_MM)}


def test_a_suggestion_goes_beyond_the_nearest_number_where_the_others_would_have_to_move() -> None:
    assert suggested([20.0], [24.0], [0], at_least(25.0))[0] >= 25.0


def test_nothing_is_suggested_that_does_not_pass() -> None:
    assert suggested([20.0], [24.0], [0], at_least(99.0)) == {}
    assert suggested([1.0], [-2.0], [0], lambda _: None) == {}


@pytest.mark.parametrize("typed", ["4 in", "5 in", "6 in", "150 mm"])
@pytest.mark.parametrize("reading", [r'about (.*?") \(', r"\((.*? mm)\)"])
def test_a_maker_who_types_what_is_suggested_gets_a_board(tmp_path: Path, typed: str, reading: str) -> None:
    text = WHIMBREL.read_text(encoding="utf-8")
    text, count = re.subn(r"(?m)^tail_width = \S.*?(?= #|$)", f'tail_width = "{typed}"', text)
    text = re.sub(r"(?s)\[\[fins\]\].*?(?=\n\[|\Z)", "", text)
    path = tmp_path / "whimbrel.toml"
    path.write_text(text, encoding="utf-8")
    assert count == 1
    with pytest.raises(SpecError) as caught:
        board_lines(load_board(path))
    for fault in caught.value.faults:
        read = re.search(reading, fault.allowed)
        assert read, fault
        assert f"{length_mm(read[1], None):.1f}" != f"{length_mm(typed, None):.1f}"
        key = fault.path[-1]
        text = re.sub(rf"(?m)^{key} = .*$", f"{key} = '''{read[1]}'''", text)
    path.write_text(text, encoding="utf-8")
    assert board_lines(load_board(path))
