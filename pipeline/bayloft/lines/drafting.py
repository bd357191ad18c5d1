"""From a board's numbers to its lines, or to a message that names the number no fair line can pass through."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from itertools import pairwise

import numpy as np

from bayloft.errors import Fault, SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.line_task import LineTask
from bayloft.lines.outline import Outline, OutlineNumbers, fair_outline, outline_misfits
from bayloft.lines.profile import (
    Profile,
    ProfileNumbers,
    fair_profile,
    fair_rocker,
    lowest_places,
    profile_misfits,
    touching,
)
from bayloft.lines.readings import JUDGED_PRICE, Measured, least_missed
from bayloft.lines.section_faults import crossings
from bayloft.lines.section_lines import fitted_sections
from bayloft.lines.wall import Wall, wall
from bayloft.spec.boards.board import Board, Turn
from bayloft.spec.text.given import Given
from bayloft.tolerances import SLACK_MM
from bayloft.units import both

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


def _outline(board: Board) -> LineTask[Outline]:
    wide, tail = board.wide_point, board.tail
    given = board.widths
    if tail.cut_off:
        corner = tail.corner_x_mm
        block = Given(x_mm=corner, value=tail.block_mm, path=("tail", "block"), exact=True)
        given = (block, *(number for number in given if number.x_mm > corner + 1.0))

    def numbers(readings: Sequence[Measured], hollow: frozenset[str] = board.hollow) -> OutlineNumbers:
        return OutlineNumbers(
            length_mm=board.length_mm,
            half_widths=tuple(Measured(x, width / 2, play / 2) for x, width, play in readings),
            wide_x_mm=wide.x_mm,
            wide_free_mm=wide.play_mm,
            tail_cut_off=tail.cut_off,
            tail_radius_mm=tail.tip_radius_mm,
            nose_radius_mm=board.nose.tip_radius_mm,
            hollow=hollow,
            hips=board.hips,
            straightness=tail.straightness,
        )

    return LineTask(
        board=board,
        table="outline",
        name="outline",
        given=(*given, wide),
        draw=lambda readings: fair_outline(numbers(readings)),
        missed=lambda readings, price: outline_misfits(numbers(readings), price / 2),
        at=lambda outline, x_mm: 2 * float(outline.at(x_mm)),
        spline=lambda outline: outline.half_width,
        hint="check the widths, the tip radius, and the stations",
        hollowed=lambda readings, ends: fair_outline(numbers(readings, ends)),
    )


PROFILE_HINT = "check the numbers and their stations, above all the first and the last"


def _rocker(board: Board, lowest_x_mm: float | None = None) -> LineTask[tuple[Profile, float]]:
    """Return the task of the rocker; its lowest point is found where neither the board nor `lowest_x_mm` tells it."""
    grounded = [number.x_mm for number in board.heights if number.value == 0.0 and 0.0 < number.x_mm < board.length_mm]
    known = [lowest_x_mm, board.lowest_x_mm, *grounded]
    lowest = next((x for x in known if x is not None), None)
    heights = (*board.heights, *board.usual_heights)
    given = tuple(number for number in heights if lowest is None or abs(number.x_mm - lowest) > 1e-6)

    def numbers(readings: Sequence[Measured]) -> ProfileNumbers:
        return ProfileNumbers(length_mm=board.length_mm, values=tuple(readings), turning_x_mm=None, bend="hollow")

    def draw(readings: Sequence[Measured]) -> tuple[Profile, float]:
        free = numbers(readings)
        return fair_rocker(free) if lowest is None else (fair_profile(touching(free, lowest)), lowest)

    def missed_at(readings: Sequence[Measured], price: float, x_mm: float) -> np.ndarray:
        return profile_misfits(touching(numbers(readings), x_mm), price)[: len(readings)]

    return LineTask(
        board=board,
        table="rocker",
        name="rocker",
        given=given,
        draw=draw,
        missed=lambda readings, price: missed_at(readings, price, board.length_mm / 2 if lowest is None else lowest),
        at=lambda rocker, x_mm: float(rocker[0].at(x_mm)),
        spline=lambda rocker: rocker[0].spline,
        hint=PROFILE_HINT,
    )


def _drawn_rocker(board: Board) -> tuple[tuple[Profile, float], bool] | list[Fault]:
    """Return the rocker, or its faults: those of one whose lowest point is to be found are judged where the numbers are
    missed least.
    """
    task = _rocker(board)
    try:
        return task.line()
    except NoFairLineError:
        pass
    if board.lowest_x_mm is not None:
        return task.faults()
    readings = task.readings(SLACK_MM)
    numbers = ProfileNumbers(length_mm=board.length_mm, values=tuple(readings), turning_x_mm=None, bend="hollow")
    with suppress(NoFairLineError):
        x_mm, _ = least_missed(
            lambda x_mm: profile_misfits(touching(numbers, x_mm), JUDGED_PRICE)[: len(readings)],
            lowest_places(board.length_mm),
        )
        return _rocker(board, x_mm).faults()
    return task.faults()


def _foil(board: Board) -> LineTask[Profile]:
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

    def numbers(readings: Sequence[Measured], hollow: frozenset[str] = board.thin_ends) -> ProfileNumbers:
        return ProfileNumbers(
            length_mm=board.length_mm,
            values=tuple(readings),
            turning_x_mm=board.thickest.x_mm,
            hollow=hollow,
            turns=board.steps,
            bend="arched",
            least_ends_mm=(least[0], least[1]),
            most_ends_mm=(most[0], most[1]),
        )

    return LineTask(
        board=board,
        table="thickness",
        name="thickness",
        given=(*sorted(given, key=lambda number: number.x_mm), board.thickest),
        draw=lambda readings: fair_profile(numbers(readings)),
        missed=lambda readings, price: profile_misfits(numbers(readings), price),
        at=lambda foil, x_mm: float(foil.at(x_mm)),
        spline=lambda foil: foil.spline,
        hint=PROFILE_HINT,
        hollowed=lambda readings, ends: fair_profile(numbers(readings, ends)),
    )


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


def _turns(board: Board, turns: tuple[Turn, ...], ends: frozenset[str]) -> tuple[Turn, ...]:
    """Return the stretches in which the maker lets a line bend the other way."""
    tail = (Turn(from_mm=0.0, to_mm=board.length_mm / 2),) if "tail" in ends else ()
    nose = (Turn(from_mm=board.length_mm / 2, to_mm=board.length_mm),) if "nose" in ends else ()
    return (*turns, *tail, *nose)


def board_lines(board: Board) -> BoardLines:
    """Return the lines of a board.

    Raises
    ------
    SpecError
        With every number that forces a wiggle, a step, a section that crosses itself, or a corner that does not fit.
    """
    drawn = _outline(board).drawn(), _drawn_rocker(board), _foil(board).drawn()
    faults = [fault for part in drawn if isinstance(part, list) for fault in part]
    faults += _steps(board)
    plan, side, thick = drawn
    if faults or isinstance(plan, list) or isinstance(side, list) or isinstance(thick, list):
        raise SpecError(tuple(faults))
    (outline, _), (rocker, _), (foil, _) = plan, side, thick
    slack = {
        key for key, (_, slack) in zip(("outline", "rocker", "thickness"), (plan, side, thick), strict=True) if slack
    }
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
        slack=frozenset(slack),
        lowest_assumed=board.lowest_assumed,
        turns={"outline": _turns(board, board.hips, board.hollow), "foil": _turns(board, board.steps, board.thin_ends)},
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
