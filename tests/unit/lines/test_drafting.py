"""Numbers no fair line can pass through: the message names the number that was changed, where it stands, and a cure."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

from bayloft.errors import Fault, SpecError
from bayloft.lines.drafting import LEAST_GRADATION_MM, board_lines
from bayloft.lines.section import SectionNumbers, inset_of, over, under
from bayloft.lines.section_lines import edge_radius
from bayloft.spec.boards.board import Board, Nose, Tail
from bayloft.spec.text.given import Given
from bayloft.spec.text.source import Source

from ...made_sections import line, made_sections

LENGTH_MM = 2235.2
FOOT_MM = 304.8
SOURCE = Source(file="whimbrel.toml", values={}, lines={("outline",): 3, ("outline", "tail_width"): 5, ("rails",): 40})


def at(x_mm: float, value: float, *path: str | int) -> Given:
    return Given(x_mm=x_mm, value=value, path=path)


def sections(**told: tuple[Given, ...]) -> dict[str, tuple[Given, ...]]:
    """The sections of the fair board, and what is told otherwise."""
    usual = {
        "apex": line("apex", (400.0, 0.35), (1800.0, 0.5), form="share"),
        "tuck": line("tuck", (400.0, 12.0), (1800.0, 24.0)),
        "edge": line("edge", (400.0, 1.0), (1800.0, 9.0), form="radius"),
        "dome": line("dome", (1000.0, 6.0), table="deck"),
        "roll": line("roll", (500.0, 0.0), (1200.0, 7.0), table="bottom"),
        "vee": line("vee", (500.0, 3.0), (1200.0, 0.0), table="bottom"),
    }
    return made_sections(LENGTH_MM, **usual | told)


def board(**changes: object) -> Board:
    """A fair mid-length board with a squash tail, and what is changed in it."""
    fair = Board(
        name="Whimbrel",
        slug="whimbrel",
        length_mm=LENGTH_MM,
        widths=(at(FOOT_MM, 375.0, "outline", "tail_width"), at(LENGTH_MM - FOOT_MM, 425.0, "outline", "nose_width")),
        wide_point=at(1170.0, 540.0, "outline", "wide_point", "width"),
        hollow=frozenset(),
        nose=Nose(kind="round", tip_radius_mm=None),
        tail=Tail(kind="squash", block_mm=150.0, depth_mm=18.0, corner_radius_mm=12.0),
        heights=(at(0.0, 57.0, "rocker", "tail"), at(LENGTH_MM, 121.0, "rocker", "nose")),
        lowest_x_mm=1040.0,
        thicknesses=(at(FOOT_MM, 44.0, "thickness", "tail"), at(LENGTH_MM - FOOT_MM, 44.0, "thickness", "nose")),
        thickest=at(1170.0, 70.0, "thickness", "thickest", "thickness"),
        nose_tip_mm=None,
        tail_end_mm=None,
        sections=sections(),
        drops=(),
        fins=(),
        assumed=(),
        source=SOURCE,
    )
    return replace(fair, **changes)  # type: ignore[arg-type]


def faults_of(board: Board) -> tuple[Fault, ...]:
    with pytest.raises(SpecError) as refused:
        board_lines(board)
    return refused.value.faults


def mm_in(text: str) -> float:
    """The first length in mm of a message."""
    found = re.search(r"([\d.]+) mm", text)
    assert found
    return float(found[1])


def test_the_board_itself_is_fair() -> None:
    lines = board_lines(board())
    assert lines.wall is not None


def mistyped(value: float) -> tuple[Board, float]:
    """A row of widths taken off a fair board, the second of them another one; and that one's true width."""
    fair = board_lines(board())
    x = [FOOT_MM, 650.0, 900.0, 1500.0, LENGTH_MM - FOOT_MM]
    widths = [at(each, 2 * float(fair.outline.at(each)), "outline", "widths", i, "width") for i, each in enumerate(x)]
    board_lines(board(widths=tuple(widths)))
    true = widths[1].value
    widths[1] = replace(widths[1], value=value)
    return board(widths=tuple(widths)), true


@pytest.mark.parametrize("value", [330.0, 410.0, 525.0])
def test_a_width_that_forces_a_wiggle_is_named_with_its_cure(value: float) -> None:
    """The number that was changed is named, no other, and the cure leads back to what it was."""
    wrong, true = mistyped(value)
    (first,) = faults_of(wrong)
    assert first.path == ("outline", "widths", 1, "width")
    assert "outline would have to wiggle" in first.problem
    assert mm_in(first.value) == value
    assert mm_in(first.allowed) == pytest.approx(true, abs=2.0)


def test_a_thick_tip_is_named() -> None:
    assert [fault.path for fault in faults_of(board(nose_tip_mm=60.0))] == [("thickness", "nose_tip")]


def test_the_line_of_the_file_is_told() -> None:
    short = (at(FOOT_MM, 160.0, "outline", "tail_width"), at(LENGTH_MM - FOOT_MM, 425.0, "outline", "nose_width"))
    faults = faults_of(board(widths=short))
    assert {fault.path for fault in faults} >= {("outline", "tail_width")}
    named = next(fault for fault in faults if fault.path == ("outline", "tail_width"))
    assert named.line == 5
    assert str(named).startswith("whimbrel.toml:5: outline.tail_width: the outline would have to wiggle")


def test_a_number_that_was_assumed_is_not_blamed() -> None:
    wrong = Given(x_mm=700.0, value=300.0, path=("outline", "widths", 0, "width"), assumed=True)
    faults = faults_of(board(widths=(board().widths[0], wrong, board().widths[1])))
    assert all(fault.path != wrong.path for fault in faults)


def test_an_outline_that_cannot_be_cured_by_widths_is_named_as_a_whole() -> None:
    """A tip radius far beyond the board: no widths would do."""
    faults = faults_of(board(widths=(), tail=Tail(kind="round", tip_radius_mm=20000.0)))
    assert [fault.path for fault in faults] == [("outline",)]
    assert "no fair outline" in faults[0].problem
    assert faults[0].line == 3


def test_a_height_that_forces_a_wiggle_is_named() -> None:
    heights = (*board().heights[:1], at(1700.0, 90.0, "rocker", "heights", 0, "height"), board().heights[1])
    first = faults_of(board(heights=heights))[0]
    assert first.path == ("rocker", "heights", 0, "height")
    assert "rocker would have to wiggle" in first.problem
    assert 30.0 < mm_in(first.allowed) < 75.0


@pytest.mark.parametrize("lowest", [None, 1040.0])
def test_a_rocker_is_refused_whether_its_lowest_point_is_given_or_found(lowest: float | None) -> None:
    heights = (*board().heights[:1], at(1800.0, 115.0, "rocker", "heights", 0, "height"), board().heights[1])
    told = {fault.path for fault in faults_of(board(heights=heights, lowest_x_mm=lowest))}
    # Of three heights and no lowest point nobody can tell which of the two forward ones is off.
    either = {("rocker", "heights", 0, "height"), ("rocker", "nose")}
    assert told == {("rocker", "heights", 0, "height")} if lowest else told <= either


def test_a_height_of_nothing_is_the_lowest_point() -> None:
    heights = (*board().heights[:1], at(1000.0, 0.0, "rocker", "heights", 0, "height"), board().heights[1])
    assert board_lines(board(heights=heights, lowest_x_mm=None)).lowest_x_mm == 1000.0


def test_a_thickness_that_forces_a_wiggle_is_named() -> None:
    thin, thick = board().thicknesses
    dip = at(800.0, 45.0, "thickness", "thicknesses", 0, "thickness")
    first = faults_of(board(thicknesses=(thin, dip, thick)))[0]
    assert first.path == ("thickness", "thicknesses", 0, "thickness")
    assert "thickness would have to wiggle" in first.problem
    assert 55.0 < mm_in(first.allowed) < 70.0


def test_faults_of_several_lines_are_told_at_once() -> None:
    thin, thick = board().thicknesses
    dip = at(800.0, 45.0, "thickness", "thicknesses", 0, "thickness")
    heights = (*board().heights[:1], at(1700.0, 90.0, "rocker", "heights", 0, "height"), board().heights[1])
    found = {fault.path[0] for fault in faults_of(board(thicknesses=(thin, dip, thick), heights=heights))}
    assert found == {"rocker", "thickness"}


def test_a_corner_too_round_for_its_block_is_named() -> None:
    tail = Tail(kind="squash", block_mm=150.0, depth_mm=18.0, corner_radius_mm=150.0)
    (fault,) = faults_of(board(tail=tail))
    assert fault.path == ("tail", "corner_radius")
    assert "no corner of this radius" in fault.problem
    assert mm_in(fault.allowed) == 37.5


def test_a_diamond_as_steep_as_its_outline_is_named() -> None:
    """The tail narrows as fast as the diamond's own edge: at the corner nothing would be seen."""
    tail = Tail(kind="diamond", block_mm=160.0, depth_mm=160.0)
    (fault,) = faults_of(board(tail=tail))
    assert fault.path == ("tail", "depth")
    assert "corners would not show" in fault.problem


def test_a_section_may_not_change_in_a_step() -> None:
    near = LEAST_GRADATION_MM - 1.0

    def steps(after: float, apart_mm: float) -> Board:
        return board(sections=sections(tuck=line("tuck", (900.0, 14.0), (900.0 + apart_mm, after))))

    (fault,) = faults_of(steps(26.0, near))
    assert fault.path == ("rails", 1, "tuck")
    assert "in a step" in fault.problem
    assert "25.0 mm" in fault.allowed
    board_lines(steps(14.0, near))
    board_lines(steps(26.0, LEAST_GRADATION_MM))


def test_lines_of_a_fair_board_pass_through_every_number() -> None:
    given = board()
    lines = board_lines(given)
    for number in given.widths:
        assert 2 * float(lines.outline.at(number.x_mm)) == pytest.approx(number.value, abs=1e-6)
    for number in given.heights:
        assert float(lines.rocker.at(number.x_mm)) == pytest.approx(number.value, abs=1e-6)
    for number in given.thicknesses:
        assert float(lines.thickness(number.x_mm)) == pytest.approx(number.value, abs=1e-6)
    told = given.sections

    def here(name: str) -> tuple[np.ndarray, SectionNumbers]:
        x = np.array([number.x_mm for number in told[name]])
        return np.array([number.value for number in told[name]]), lines.section_numbers(x)

    for name in ("dome", "roll", "vee"):
        values, n = here(name)
        assert getattr(n, name) == pytest.approx(values, abs=1e-4)
    values, n = here("tuck")
    assert n.tuck == pytest.approx(inset_of(n, values), abs=1e-4)
    values, n = here("apex")
    assert under(n, n.inset) / (over(n, n.inset) + under(n, n.inset)) == pytest.approx(values, abs=1e-5)
    values, n = here("edge")
    assert edge_radius(n) == pytest.approx(values, rel=1e-3)
    x = np.linspace(0.0, LENGTH_MM, 2001)
    assert lines.rocker.at(x).min() == pytest.approx(0.0, abs=1e-4)
    assert lines.rocker.at(x, 2).min() > -1e-7
    assert lines.foil.at(x, 2).max() < 1e-7
