"""The least change of a board with which it comes out of a blank: thinner, shorter, or with less nose rocker."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace

from bayloft.errors import SpecError
from bayloft.foam.blocks import FoamBlock, block_for
from bayloft.foam.fitting import BoardInBlank
from bayloft.lines.drafting import board_lines
from bayloft.solid.aiming import scaled
from bayloft.solid.board import board_body
from bayloft.spec.boards.board import Board
from bayloft.spec.text.given import Given

FURTHEST = 0.85
"""Least factor of a change that is offered: with less it is another board (no source)."""
HALVINGS = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedy:
    """A change of a board: what becomes less, from how much and to how much, mm."""

    what: str
    from_mm: float
    to_mm: float


def thinner(board: Board, factor: float) -> Board:
    """Return a board with all thicknesses scaled."""
    return scaled(board, 1.0, factor)


def flatter(board: Board, factor: float) -> Board:
    """Return a board with all heights of the rocker ahead of its lowest point scaled."""
    lowest = board.length_mm / 2.0 if board.lowest_x_mm is None else board.lowest_x_mm

    def less(given: Given) -> Given:
        return replace(given, value=round(given.value * factor, 6)) if given.x_mm > lowest else given

    return replace(
        board,
        heights=tuple(map(less, board.heights)),
        usual_heights=tuple(map(less, board.usual_heights)),
    )


def shorter(board: Board, factor: float) -> Board:
    """Return a board with all stations scaled, and everything else as it is."""

    def at(x_mm: float) -> float:
        return round(x_mm * factor, 6)

    def moved(given: tuple[Given, ...]) -> tuple[Given, ...]:
        return tuple(replace(number, x_mm=at(number.x_mm)) for number in given)

    (wide,), (thickest,) = moved((board.wide_point,)), moved((board.thickest,))
    return replace(
        board,
        length_mm=at(board.length_mm),
        widths=moved(board.widths),
        wide_point=wide,
        heights=moved(board.heights),
        usual_heights=moved(board.usual_heights),
        lowest_x_mm=None if board.lowest_x_mm is None else at(board.lowest_x_mm),
        thicknesses=moved(board.thicknesses),
        thickest=thickest,
        sections={name: moved(numbers) for name, numbers in board.sections.items()},
        drops=moved(board.drops),
        hips=tuple(replace(turn, from_mm=at(turn.from_mm), to_mm=at(turn.to_mm)) for turn in board.hips),
        steps=tuple(replace(turn, from_mm=at(turn.from_mm), to_mm=at(turn.to_mm)) for turn in board.steps),
        channels=tuple(
            replace(each, from_mm=at(each.from_mm), to_mm=at(each.to_mm), fade_mm=at(each.fade_mm))
            for each in board.channels
        ),
    )


def remedies(board: Board, rack: FoamBlock, needed_mm: float) -> Iterator[Remedy]:
    """Yield the changes, each alone and the least of its kind, with which a board has so much cover; a kind of which
    less than FURTHEST would do is left out. rack: the block as it lies on the rack.
    """
    kinds: tuple[tuple[str, Callable[[Board, float], Board], float], ...] = (
        ("greatest thickness", thinner, board.thickest.value),
        ("length", shorter, board.length_mm),
        ("nose rocker", flatter, board.heights[-1].value),
    )
    for what, changed, size in kinds:
        factor = _least(board, rack, changed, needed_mm)
        if factor is not None:
            yield Remedy(what=what, from_mm=size, to_mm=size * factor)


def _least(board: Board, rack: FoamBlock, changed: Callable[[Board, float], Board], needed_mm: float) -> float | None:
    """Return the greatest factor of a change that gives so much cover, or None."""

    def enough(factor: float) -> bool:
        with suppress(SpecError):
            tried = changed(board, factor)
            lines = board_lines(tried)
            block = block_for(tried, lines, rack)
            return BoardInBlank(tried, board_body(lines), block).ranked[0].cover_mm >= needed_mm
        return False

    low, high = FURTHEST, 1.0
    if not enough(low):
        return None
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if enough(middle) else (low, middle)
    return low
