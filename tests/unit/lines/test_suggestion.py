"""What a message suggests passes, and is a mark of the tape that can be read."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from bayloft.errors import SpecError
from bayloft.lines.drafting import board_lines
from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.outline import OutlineNumbers, fair_outline
from bayloft.lines.readings import Measured
from bayloft.lines.suggestion import TAPE_MM, likely_slip, suggested
from bayloft.spec.loading import load_board
from bayloft.units import length_mm

WHIMBREL = Path(__file__).parents[3] / "specs/boards/whimbrel.toml"


def at_least(limit_mm: float):
    def line(readings: Sequence[Measured]) -> None:
        if readings[0].value_mm < limit_mm:
            raise NoFairLineError

    return line


def test_a_suggestion_is_the_mark_nearest_to_the_drawn_line_that_passes() -> None:
    taken = [Measured(300.0, 20.0), Measured(600.0, 9.0)]
    assert suggested(taken, {0: 25.41}, at_least(25.41)) == {0: pytest.approx(17 * TAPE_MM)}
    assert suggested(taken, {0: 25.39}, lambda _: None) == {0: pytest.approx(16 * TAPE_MM)}


def test_nothing_is_suggested_that_does_not_pass() -> None:
    taken = [Measured(300.0, 20.0)]
    assert suggested(taken, {0: 24.0}, at_least(99.0)) == {}
    assert suggested(taken, {0: -200.0}, lambda _: None) == {}


STATIONS_IN = (8, 16, 24, 32, 40, 48, 56, 64, 72, 80)


def taken_off(curve: Callable[[float], float]) -> list[Measured]:
    """A curve read every eight inches, to a sixteenth."""
    return [Measured(25.4 * x, TAPE_MM * round(curve(x) * 16), TAPE_MM / 2) for x in STATIONS_IN]


def width_in(x_in: float) -> float:
    """Inches, of an ellipse 88 in long."""
    return 21.0 * float(np.sqrt(1.0 - (x_in / 44.0 - 1.0) ** 2))


def drawn(readings: Sequence[Measured]) -> Callable[[float], float]:
    outline = fair_outline(
        OutlineNumbers(
            length_mm=88 * 25.4,
            half_widths=tuple(Measured(x, value / 2, play / 2) for x, value, play in readings),
            wide_x_mm=44 * 25.4,
            tail_cut_off=False,
            tail_radius_mm=None,
            nose_radius_mm=None,
            hollow=frozenset(),
        )
    )
    return lambda x_mm: 2 * float(outline.at(x_mm))


@pytest.mark.parametrize(
    ("place", "typed", "said"),
    [
        (2, "17 11/16", "an inch too little"),
        (3, "10 1/8", "half of it for the whole"),
        (1, "61 3/16", "two digits exchanged"),
        (1, "16 3/8", "eighths for sixteenths"),
        (2, "18 11/16 cm", "centimetres for inches"),
    ],
)
def test_a_slip_of_a_number_is_told_by_its_kind(place: int, typed: str, said: str) -> None:
    readings = taken_off(width_in)
    wrong = length_mm(typed, "in")
    slip = likely_slip(
        [*readings[:place], readings[place]._replace(value_mm=wrong), *readings[place + 1 :]],
        place,
        typed,
        "in",
        drawn,
        length_mm=88 * 25.4,
        halves=True,
    )
    assert said in slip


def test_a_slip_of_the_station_is_told() -> None:
    readings = taken_off(width_in)
    readings[1] = readings[1]._replace(value_mm=TAPE_MM * round(width_in(12) * 16))
    slip = likely_slip(readings, 1, readings[1].value_mm / 25.4, "in", drawn, length_mm=88 * 25.4, halves=True)
    assert slip == "taken 4 inches too far aft"


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
