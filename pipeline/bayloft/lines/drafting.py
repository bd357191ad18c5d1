"""From a board's numbers to its lines, or to a message that names the number no fair line can pass through."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from bayloft.errors import Fault, SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.outline import Outline, OutlineNumbers, fair_outline, nearest_half_widths
from bayloft.lines.profile import Profile, ProfileNumbers, fair_profile, fair_rocker, nearest_values
from bayloft.lines.section_faults import crossings
from bayloft.lines.section_lines import fitted_sections
from bayloft.lines.suggestion import suggested
from bayloft.lines.wall import Wall, wall
from bayloft.spec.boards.board import Board
from bayloft.spec.text.given import Given
from bayloft.units import both

NAMED_MOVE_MM, NAMED_SHARE = 0.1, 0.2
"""mm, and share of the largest move: a number that would have to move by less than either is not named as a cause of a
wiggle; it only gives way to one that is."""

LEAST_TIP_SHARE, MOST_TIP_SHARE, MOST_BLOCK_SHARE = 0.3, 0.45, 0.6
"""Thickness of an end before it is rounded off, as a share of the thickness a foot inside: least anywhere; greatest of
a tip, and of a tail block, as long as a fair foil can be that thin there (common practice, no source)."""


LEAST_CORNER = 0.15
"""Least distance, square to the stringer, of the wall from the outline carried on aft of it, as a share of the distance
left to the corner: with less, the outline would run into the wall and its corner would not show (common practice, no
source)."""

LEAST_GRADATION_MM = 25.0
"""mm, least distance over which a number of the section may change: in less, the board would have a step (common
practice, no source)."""

SECTION_PLACES = 241


def _moved(
    board: Board, given: tuple[Given, ...], nearest_mm: np.ndarray, name: str, line: Callable[[Sequence[float]], object]
) -> list[Fault]:
    """Return a fault for each number that must move for the line to be fair, the one that moves most first."""
    values = [number.value for number in given]
    moves = np.abs(np.subtract(values, nearest_mm))
    least = max(NAMED_MOVE_MM, NAMED_SHARE * float(moves.max()))
    named = [i for i in np.argsort(-moves).tolist() if moves[i] >= least and not given[i].assumed]
    would_do = suggested(values, nearest_mm.tolist(), named, line) if named else {}
    others = "the other numbers named here moved as well" if len(named) > 1 else "the other numbers as they are"
    return [
        board.source.fault(
            given[i].path,
            both(values[i]),
            f"the {name} would have to wiggle to pass through this number",
            allowed=f"about {both(would_do[i])}, with {others}" if would_do else "",
            hint="measure again, or move a neighbouring number a little",
        )
        for i in named
    ]


def _whole(board: Board, path: tuple[str | int, ...], line: str, hint: str) -> list[Fault]:
    return [board.source.fault(path, "", f"no fair {line} passes through these numbers together", hint=hint)]


def _outline_numbers(board: Board) -> tuple[OutlineNumbers, tuple[Given, ...]]:
    given = board.widths
    tail = board.tail
    if tail.cut_off:
        corner = tail.corner_x_mm
        block = Given(x_mm=corner, value=tail.block_mm, path=("tail", "block"))
        given = (block, *(number for number in given if number.x_mm > corner + 1.0))
    return (
        OutlineNumbers(
            length_mm=board.length_mm,
            half_widths=tuple((number.x_mm, number.value / 2) for number in given),
            wide_x_mm=board.wide_point.x_mm,
            wide_half_mm=board.wide_point.value / 2,
            tail_cut_off=tail.cut_off,
            tail_radius_mm=tail.tip_radius_mm,
            nose_radius_mm=board.nose.tip_radius_mm,
            hollow=board.hollow,
        ),
        given,
    )


def _outline(board: Board) -> Outline | list[Fault]:
    numbers, given = _outline_numbers(board)
    try:
        return fair_outline(numbers)
    except NoFairLineError:
        pass
    hint = 'check the widths, the tip radius, and the stations; `hollow = "tail"` (or "nose") allows a hollow there'

    def line(widths: Sequence[float]) -> Outline:
        stations = [number.x_mm for number in given]
        return fair_outline(
            replace(numbers, half_widths=tuple((x, w / 2) for x, w in zip(stations, widths, strict=True)))
        )

    try:
        faults = _moved(board, given, 2 * nearest_half_widths(numbers), "outline", line)
    except NoFairLineError:
        faults = []
    return faults or _whole(board, ("outline",), "outline", hint)


def _profile_faults(board: Board, numbers: ProfileNumbers, given: tuple[Given, ...], name: str) -> list[Fault]:
    """Return the faults of a profile; one without a turning point, a rocker, is judged by one in the middle."""

    def line(values: Sequence[float]) -> object:
        stations = [number.x_mm for number in given]
        tried = replace(numbers, values=tuple(zip(stations, values, strict=True)))
        return fair_rocker(tried) if numbers.turning is None else fair_profile(tried)

    judged = numbers if numbers.turning is not None else replace(numbers, turning=(board.length_mm / 2, 0.0))
    try:
        faults = _moved(board, given, nearest_values(judged), name, line)
    except NoFairLineError:
        faults = []
    hint = "check the numbers and their stations, above all the first and the last"
    return faults or _whole(board, (name,), "line", hint)


def _rocker(board: Board) -> tuple[Profile, float] | list[Fault]:
    grounded = [number.x_mm for number in board.heights if number.value == 0.0 and 0.0 < number.x_mm < board.length_mm]
    lowest = board.lowest_x_mm if board.lowest_x_mm is not None or not grounded else grounded[0]
    given = tuple(number for number in board.heights if lowest is None or abs(number.x_mm - lowest) > 1e-6)
    numbers = ProfileNumbers(
        length_mm=board.length_mm,
        values=tuple((number.x_mm, number.value) for number in given),
        turning=None if lowest is None else (lowest, 0.0),
        bend="hollow",
    )
    try:
        if lowest is None:
            return fair_rocker(numbers)
        return fair_profile(numbers), lowest
    except NoFairLineError:
        return _profile_faults(board, numbers, given, "rocker")


def _foil(board: Board) -> Profile | list[Fault]:
    given = board.thicknesses
    least: list[float] = []
    most: list[float] = []
    tail_share = MOST_BLOCK_SHARE if board.tail.cut_off else MOST_TIP_SHARE
    for end_x, own, key, share in (
        (0.0, board.tail_end_mm, "tail_end", tail_share),
        (board.length_mm, board.nose_tip_mm, "nose_tip", MOST_TIP_SHARE),
    ):
        if own is not None:
            given = (*given, Given(x_mm=end_x, value=own, path=("thickness", key)))
        near = min(board.thicknesses, key=lambda number: abs(number.x_mm - end_x), default=board.thickest)
        least.append(0.0 if own is not None else LEAST_TIP_SHARE * near.value)
        most.append(np.inf if own is not None else share * near.value)
    given = tuple(sorted(given, key=lambda number: number.x_mm))
    loose = ProfileNumbers(
        length_mm=board.length_mm,
        values=tuple((number.x_mm, number.value) for number in given),
        turning=(board.thickest.x_mm, board.thickest.value),
        bend="arched",
        least_ends_mm=(least[0], least[1]),
    )
    for numbers in (replace(loose, most_ends_mm=(most[0], most[1])), loose):
        try:
            return fair_profile(numbers)
        except NoFairLineError:
            continue
    return _profile_faults(board, loose, given, "thickness")


def _wall(board: Board, outline: Outline) -> Wall | list[Fault] | None:
    tail = board.tail
    try:
        end = wall(outline, tail)
    except NoFairLineError:
        return [
            board.source.fault(
                ("tail", "corner_radius"),
                both(tail.corner_radius_mm),
                "no corner of this radius fits between the outline and the tail block",
                allowed=f"less than about {both(tail.block_mm / 4)}",
                hint="make the radius smaller or the block wider",
            )
        ]
    if end is None:
        return None
    y = np.linspace(0.0, 0.97, SECTION_PLACES) * tail.block_mm / 2
    if np.all(outline.at(end.base(y)) - y >= LEAST_CORNER * (tail.block_mm / 2 - y)):
        return end
    return [
        board.source.fault(
            ("tail", "depth"),
            both(tail.depth_mm),
            "the outline narrows as fast as the tail's own edge: the corners would not show",
            hint="less depth, a narrower block, or a wider tail",
        )
    ]


def board_lines(board: Board) -> BoardLines:
    """Return the lines of a board.

    Raises
    ------
    SpecError
        With every number that forces a wiggle, a step, a section that crosses itself, or a corner that does not fit.
    """
    outline, rocker, foil = _outline(board), _rocker(board), _foil(board)
    faults = [fault for part in (outline, rocker, foil) if isinstance(part, list) for fault in part]
    faults += _steps(board)
    if faults or isinstance(outline, list) or isinstance(rocker, list) or isinstance(foil, list):
        raise SpecError(tuple(faults))
    end = _wall(board, outline)
    if isinstance(end, list):
        raise SpecError(tuple(end))
    closed = end is None
    fitted = fitted_sections(board, outline, foil, closed_tail=closed)
    lines = BoardLines(
        length_mm=board.length_mm,
        outline=outline,
        rocker=rocker[0],
        lowest_x_mm=rocker[1],
        foil=foil,
        wall=end,
        sections=fitted.sections,
        lift_share=fitted.lift_share,
    )
    crossed = crossings(board, lines)
    if crossed:
        raise SpecError(tuple(crossed))
    return lines


def _steps(board: Board) -> list[Fault]:
    """Return a fault for each section number too near to a different one."""
    return [
        board.source.fault(
            after.path,
            f"{after.value:g}, {both(after.x_mm - before.x_mm)} from {before.value:g}",
            "the section would change in a step",
            allowed=f"another value at least {both(LEAST_GRADATION_MM)} further on",
            hint="move one of the two stations",
        )
        for line in board.sections.values()
        for before, after in pairwise(line)
        if after.x_mm - before.x_mm < LEAST_GRADATION_MM and after.value != before.value
    ]
