"""One line to be drawn through a maker's numbers, or the message that names those through which none passes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from scipy.interpolate import BSpline

from bayloft.errors import Fault
from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.readings import Measured, bending, slips
from bayloft.lines.suggestion import likely_slip, suggested
from bayloft.spec.boards.board import Board
from bayloft.spec.text.given import Given
from bayloft.tolerances import GIVEN_NUMBER_MM, SLACK_MM
from bayloft.units import both, length_mm

Drawn = TypeVar("Drawn")


@dataclass(frozen=True, slots=True, kw_only=True)
class LineTask(Generic[Drawn]):
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
