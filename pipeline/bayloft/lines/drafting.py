"""From a board's numbers to its lines, or to a message that names the number no fair line can pass through."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise
from typing import Generic, TypeVar

import numpy as np
from scipy.interpolate import BSpline

from bayloft.errors import Fault, SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.fairest import NoFairLineError
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
from bayloft.lines.readings import JUDGED_PRICE, Measured, bending, least_missed, slips
from bayloft.lines.section_faults import crossings
from bayloft.lines.section_lines import fitted_sections
from bayloft.lines.suggestion import likely_slip, suggested
from bayloft.lines.wall import Wall, wall
from bayloft.spec.boards.board import Board, Turn
from bayloft.spec.text.given import Given
from bayloft.tolerances import GIVEN_NUMBER_MM, SLACK_MM
from bayloft.units import both, length_mm

Drawn = TypeVar("Drawn")

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


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task(Generic[Drawn]):
    """One line to be drawn: its table in the file, its name in words, the numbers given for it, and how it is drawn
    through readings, how far it misses each at a price (`fairest.misfits`), what it is at a station, and its spline;
    `hollowed`: draws it hollow towards ends.
    """

    board: Board
    table: str
    name: str
    given: tuple[Given, ...]
    draw: Callable[[Sequence[Measured]], Drawn]
    missed: Callable[[Sequence[Measured], float], np.ndarray]
    at: Callable[[Drawn, float], float]
    spline: Callable[[Drawn], BSpline[np.float64]]
    hint: str
    hollowed: Callable[[Sequence[Measured], frozenset[str]], object] | None = None

    def readings(self, least_play_mm: float) -> list[Measured]:
        """Return the numbers with their own plays, and at least so much for each that is not exact."""
        plays = (max(number.play_mm, 0.0 if number.exact else least_play_mm) for number in self.given)
        # Less what the surface may miss its lines by.
        return [
            Measured(number.x_mm, number.value, max(play - GIVEN_NUMBER_MM, 0.0))
            for number, play in zip(self.given, plays, strict=True)
        ]

    def line(self) -> tuple[Drawn, bool]:
        """Return the line through the numbers as they were read, or else with SLACK_MM of play for each, and whether it
        has that. Raises NoFairLineError.
        """
        try:
            return self.draw(self.readings(0.0)), False
        except NoFairLineError:
            return self.draw(self.readings(SLACK_MM)), True

    def drawn(self) -> tuple[Drawn, bool] | list[Fault]:
        """Return the line, or the faults of the numbers through which none passes."""
        try:
            return self.line()
        except NoFairLineError:
            return self.faults()

    def faults(self) -> list[Fault]:
        """Return a fault for each of the fewest numbers that stand in the way of a fair line."""
        readings = self.readings(SLACK_MM)
        answers = slips(
            readings, lambda tried: bending(self.spline(self.draw(tried))), lambda price: self.missed(readings, price)
        )
        allowed = self.would_allow()
        found = [fault for places in answers for fault in self.named(readings, places, allowed)]
        if not found:
            problem = f"no fair {self.name} passes through these numbers together"
            return [self.board.source.fault((self.table,), "", problem, hint=self.hint + allowed)]
        return found

    def named(self, readings: list[Measured], places: tuple[int, ...], otherwise: str) -> list[Fault]:
        """Return a fault for each reading of a few without which a fair line passes."""
        without = self.draw([reading for place, reading in enumerate(readings) if place not in places])
        drawn_mm = {place: self.at(without, readings[place].x_mm) for place in places}
        would_do = suggested(readings, drawn_mm, self.draw)
        others = "the other numbers named here moved as well" if len(places) > 1 else "the other numbers as they are"
        return [
            self.board.source.fault(
                self.given[place].path,
                both(readings[place].value_mm),
                f"the {self.name} would have to wiggle to pass through this number, which is off by about "
                f"{both(abs(readings[place].value_mm - drawn_mm[place]))}",
                allowed=f"about {both(would_do[place])}, with {others}" if would_do else "",
                hint=self.slip(readings, place, places)
                + "measure again, or move a neighbouring number a little"
                + otherwise,
            )
            for place in places
            if not self.given[place].assumed
        ]

    def slip(self, readings: list[Measured], place: int, places: tuple[int, ...]) -> str:
        """Return the likely slip that made a reading wrong, the others that are wrong left out."""
        kept = [i for i in range(len(readings)) if i == place or i not in places]
        source = self.board.source
        unit = source.values.get("unit")

        def drawn(tried: Sequence[Measured]) -> Callable[[float], float]:
            line = self.draw(tried)
            return lambda x_mm: self.at(line, x_mm)

        slip = likely_slip(
            [readings[i] for i in kept],
            kept.index(place),
            source.typed(self.given[place].path),
            unit if isinstance(unit, str) else None,
            drawn,
            length_mm=self.board.length_mm,
            halves=self.table == "outline",
        )
        return f"likely {slip}: " if slip else ""

    def would_allow(self) -> str:
        """Return what else makes a fair line of these numbers: a word of the table, or a tape's mark; nothing where
        neither does.
        """
        return self.word_would_do() + self.tape_would_do()

    def word_would_do(self) -> str:
        """Return the word with which the line passes, bent the other way towards an end; nothing where none does."""
        readings = self.readings(SLACK_MM)
        for word, ends in (("tail", {"tail"}), ("nose", {"nose"}), ("both", {"tail", "nose"})):
            if self.hollowed is None:
                break
            with suppress(NoFairLineError):
                self.hollowed(readings, frozenset(ends))
                return f'; or `hollow = "{word}"` in [{self.table}], where the board is so'
        return ""

    def tape_would_do(self) -> str:
        """Return what to say of numbers through which a line passes within half a mark of a tape; nothing where none
        does.
        """
        mark = "1 mm" if self.board.metric else "1/16 in"
        try:
            self.draw(self.readings(length_mm(mark, None) / 2))
        except NoFairLineError:
            return ""
        return f'; or read_to = "{mark}" where they were read from a tape: a fair line passes within half a mark of all'


def _outline(board: Board) -> _Task[Outline]:
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

    return _Task(
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


def _rocker(board: Board, lowest_x_mm: float | None = None) -> _Task[tuple[Profile, float]]:
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

    return _Task(
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


def _foil(board: Board) -> _Task[Profile]:
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

    return _Task(
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
