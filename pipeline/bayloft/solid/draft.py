"""A board drafted: fair lines through its numbers and the surface through its sections, before anything is measured."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from bayloft.errors import Fault, SpecError, gathered
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.fin import FinLines, fin_lines
from bayloft.lines.footing import stands_whole
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.spec.boards.board import Board
from bayloft.spec.fins.fin import Fin


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draft:
    """A board's numbers, lines and body, and the lines of its fins by their slugs: made once and handed on."""

    board: Board
    lines: BoardLines
    body: Body
    fin_lines: Mapping[str, FinLines]

    def __reduce__(self) -> tuple[object, ...]:
        # A foil is a function, which no other process can be given: there the fins' lines are drawn again.
        return _handed_on, (self.board, self.lines, self.body)

    @property
    def fins(self) -> tuple[Fin, ...]:
        """The fins, each once."""
        return _fins(self.board)


def _fins(board: Board) -> tuple[Fin, ...]:
    return tuple({placement.fin.slug: placement.fin for placement in board.fins}.values())


def _handed_on(board: Board, lines: BoardLines, body: Body) -> Draft:
    return Draft(board=board, lines=lines, body=body, fin_lines={fin.slug: fin_lines(fin) for fin in _fins(board)})


def drafted(board: Board) -> Draft:
    """Return the draft of a board.

    Raises
    ------
    SpecError
        With every number of board and fins through which no fair line passes, and fins that do not stand whole.
    """
    faults: list[Fault] = []
    fins: dict[str, FinLines] = {}
    for fin in _fins(board):
        with gathered(faults):
            fins[fin.slug] = fin_lines(fin)
    with gathered(faults):
        lines = board_lines(board)
        if not faults:
            stands_whole(board, lines, fins)
            return Draft(board=board, lines=lines, body=board_body(lines), fin_lines=fins)
    raise SpecError(tuple(faults))
