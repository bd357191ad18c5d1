"""Boards and fins drafted: fair lines through their numbers and a surface over them, before anything is measured."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.errors import Fault, SpecError, gathered
from bayloft.lines.blending import blended
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.fin import FinLines, fin_lines
from bayloft.lines.footing import stands_whole
from bayloft.solid.aiming import aimed
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.fin import fin_body
from bayloft.spec.boards.board import Board
from bayloft.spec.fins.fin import Fin


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FinDraft:
    """A fin's numbers, lines and body."""

    fin: Fin
    lines: FinLines
    body: Body

    def __reduce__(self) -> tuple[object, ...]:
        # A foil is a function, which no other process can be given: there the lines are drawn again.
        return drafted_fin, (self.fin,)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Draft:
    """A board's numbers, lines and body, and its fins', each once: made once and handed on."""

    board: Board
    lines: BoardLines
    body: Body
    fins: tuple[FinDraft, ...]


def _fins(board: Board) -> tuple[Fin, ...]:
    return tuple({placement.fin.slug: placement.fin for placement in board.fins}.values())


def drafted_fin(fin: Fin) -> FinDraft:
    """Return the draft of a fin. Raises SpecError where its numbers make no fair planform."""
    lines = fin_lines(fin)
    return FinDraft(fin=fin, lines=lines, body=fin_body(lines))


def _shape(board: Board) -> tuple[BoardLines, Body]:
    lines = board_lines(board)
    return lines, board_body(lines)


def _lines(board: Board) -> BoardLines:
    """Return the lines of a board, scaled to the volume that it aims at if there is one."""
    return board_lines(board) if board.aim is None else aimed(board, _shape)[1][0]


def drafted(board: Board) -> Draft:
    """Return the draft of a board.

    Raises
    ------
    SpecError
        With every number of board and fins through which no fair line passes, fins that do not stand whole, and a
        volume that cannot be reached.
    """
    faults: list[Fault] = []
    fins: list[FinDraft] = []
    for fin in _fins(board):
        with gathered(faults):
            fins.append(drafted_fin(fin))
    with gathered(faults):
        board, (lines, body) = aimed(blended(board, _lines), _shape)
        if not faults:
            stands_whole(board, lines, {fin.fin.slug: fin.lines for fin in fins})
            return Draft(board=board, lines=lines, body=body, fins=tuple(fins))
    raise SpecError(tuple(faults))
