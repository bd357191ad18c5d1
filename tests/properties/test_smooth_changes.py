"""Lines move smoothly with their numbers: no number makes a line jump."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.errors import SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.spec.boards.board import Board
from bayloft.spec.text.given import Given

from ..demo import SPECS, board
from .random_boards import agreed

NAMES = sorted(path.stem for path in (SPECS / "boards").glob("*.toml"))
SIXTEENTH_MM = 25.4 / 16
STEP_MM, HALVINGS, RATIO = SIXTEENTH_MM / 4, 3, 0.6
"""Ratio of a line's move when a step is halved, over three halvings: a half where the line answers evenly, a little
more where it comes to rest on a limit within the step, and one where it jumps."""
SHARE, SETTLED_MM = 0.001, 0.01
"""Share of itself by which a number of a section is changed, and mm below which no jump is seen. With greater steps a
quantity soon comes to rest near the range of its neighbours, and moves less than in proportion."""
SEEN_MM = 0.05
"""mm that a line must move for its move to be judged."""


def changed(given: Board, by_mm: float) -> Iterator[tuple[str, Board]]:
    """The board with each number of its long lines changed, one at a time."""

    def more(number: Given) -> Given:
        return replace(number, value=number.value + by_mm)

    for key in ("widths", "heights", "thicknesses"):
        numbers: tuple[Given, ...] = getattr(given, key)
        for place, number in enumerate(numbers):
            if number.value > 0.0:
                moved = (*numbers[:place], more(number), *numbers[place + 1 :])
                yield ".".join(map(str, number.path)), replace(given, **{key: moved})
    for key in ("wide_point", "thickest"):
        yield key, replace(given, **{key: more(getattr(given, key))})
    if given.tail.cut_off:
        block = given.tail.block_mm + by_mm
        yield "block", replace(given, tail=replace(given.tail, block_mm=block))
        straighter = given.tail.straightness + 0.02 * by_mm
        yield "straightness", replace(given, tail=replace(given.tail, straightness=straighter))


def changed_sections(given: Board, share: float) -> Iterator[tuple[str, Board]]:
    """The board with each number that its maker gave for its sections changed by a share of itself, one at a time. What
    is none stays none: a crease is no edge that is a little round.
    """
    for name, numbers in given.sections.items():
        for place, number in enumerate(numbers):
            if number.assumed or number.value == 0.0:
                continue
            moved = replace(number, value=number.value * (1.0 + share))
            sections = {**given.sections, name: (*numbers[:place], moved, *numbers[place + 1 :])}
            yield f"{name} at {number.x_mm:.0f}", replace(given, sections=sections)


U, V = np.linspace(0.02, 0.98, 49)[:, None], np.linspace(0.02, 0.98, 25)


def section_moved_mm(before: BoardLines, after: BoardLines) -> float:
    """How far the sections have moved at most, from side to side and up and down."""
    return float(np.abs(after.points(U, V) - before.points(U, V)).max())


def moved_mm(before: BoardLines, after: BoardLines) -> NDArray[np.float64]:
    """How far half-outline, rocker and foil have moved at most."""
    x = np.linspace(0.01, 0.99, 197) * before.length_mm
    return np.array(
        [
            np.abs(after.outline.at(x) - before.outline.at(x)).max(),
            np.abs(after.rocker.at(x) - before.rocker.at(x)).max(),
            np.abs(after.foil.at(x) - before.foil.at(x)).max(),
        ]
    )


@pytest.mark.parametrize("name", NAMES)
def test_less_of_a_step_moves_a_line_less_far(name: str) -> None:
    given = board(name)
    before = board_lines(given)
    judged = 0
    for (key, whole), (_, little) in zip(changed(given, STEP_MM), changed(given, STEP_MM / 2**HALVINGS), strict=True):
        try:
            far, near = (moved_mm(before, board_lines(each)) for each in (whole, little))
        except SpecError:
            continue
        seen = far > SEEN_MM
        judged += int(seen.sum())
        assert np.all(near[seen] <= RATIO**HALVINGS * far[seen]), (key, near, far)
    assert judged >= 4


@pytest.mark.parametrize("seed", range(20))
def test_so_do_the_lines_of_twenty_other_boards(seed: int) -> None:
    given = agreed(1000 * seed)
    step = STEP_MM / 2
    for (key, whole), (_, little) in zip(
        changed(given.board, step), changed(given.board, step / 2**HALVINGS), strict=True
    ):
        try:
            far, near = (moved_mm(given.lines, board_lines(each)) for each in (whole, little))
        except SpecError:
            continue
        seen = far > SEEN_MM
        assert np.all(near[seen] <= RATIO**HALVINGS * far[seen]), (key, near, far)


@pytest.mark.parametrize("name", NAMES)
def test_less_of_a_step_of_a_section_moves_it_less_far(name: str) -> None:
    given = board(name)
    before = board_lines(given)
    for (key, whole), (_, little) in zip(
        changed_sections(given, SHARE), changed_sections(given, SHARE / 2**HALVINGS), strict=True
    ):
        try:
            far, near = (section_moved_mm(before, board_lines(each)) for each in (whole, little))
        except SpecError:
            continue
        assert near <= max(RATIO**HALVINGS * far, SETTLED_MM), (key, near, far)


@pytest.mark.parametrize("name", NAMES)
def test_a_sixteenth_of_tail_width_moves_the_half_outline_by_no_more_than_one(name: str) -> None:
    given = board(name)
    before = board_lines(given)
    for key, after in changed(given, SIXTEENTH_MM):
        if "tail_width" in key:
            assert moved_mm(before, board_lines(after))[0] <= 1.6
