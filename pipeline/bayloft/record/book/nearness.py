"""The boards of a book that are like one, and their order."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from bayloft.errors import Fault, SpecError
from bayloft.record.book.past_board import PastBoard
from bayloft.record.book.wanted import LENGTH, PLAIN, SIZES, THICKNESS, VOLUME, WIDTH
from bayloft.units import METRIC_UNITS, carried_unit, length_mm, volume_l


@dataclass(frozen=True, slots=True, kw_only=True)
class Like:
    """Numbers that boards are to be near, mm and litres, by what they are of."""

    sizes: Mapping[str, float]

    def off(self, board: PastBoard) -> float | None:
        """Return how far off a board is: the sum of its differences, each over a plain difference of that number; None
        where the board lacks one of them.
        """
        total = 0.0
        for what, wanted in self.sizes.items():
            size = SIZES[what](board)
            if size is None:
                return None
            total += abs(size - wanted) / PLAIN[what]
        return total


def like_numbers(typed: str) -> Like:
    """Return the numbers typed as makers write them, ``6'2 x 19 1/4 x 2 3/8 x 30 L``: length, width and thickness in
    this order, "-" for one that does not matter, and the volume with its unit. Bare widths and thicknesses are in mm
    where the length is metric, else in inches.

    Raises SpecError for anything else.
    """
    items = [item.strip() for item in re.split(r"\s*[x×]\s+|\s+[x×]\s*|×|,\s+", typed.strip())]
    sizes: dict[str, float] = {}
    names = [LENGTH, WIDTH, THICKNESS]
    unit: str | None = None
    for item in items:
        if _is_volume(item) and VOLUME not in sizes:
            sizes[VOLUME] = volume_l(item)
            continue
        if not names:
            raise _not_like(typed, "more numbers than length, width, thickness and volume")
        name = names.pop(0)
        if item == "-":
            continue
        try:
            sizes[name] = length_mm(item, unit)
            carried = carried_unit(item)
        except ValueError as error:
            raise _not_like(typed, str(error)) from None
        if name == LENGTH:
            unit = "mm" if carried in METRIC_UNITS else "in"
    if not sizes or min(sizes.values()) <= 0.0:
        raise _not_like(typed, "a board has sizes greater than 0")
    return Like(sizes=sizes)


def _is_volume(item: str) -> bool:
    try:
        return volume_l(item) > 0.0
    except ValueError:
        return False


def _not_like(typed: str, problem: str) -> SpecError:
    hint = """--like "6'2 x 19 1/4 x 2 3/8 x 30 L", or a board's file"""
    return SpecError((Fault(file="--like", line=None, path=(), value=typed, problem=problem, hint=hint),))


def like_board(board: PastBoard) -> Like:
    """Return the numbers of a board: its volume too where that is known."""
    sizes = {what: size(board) for what, size in SIZES.items()}
    return Like(sizes={what: size for what, size in sizes.items() if size is not None})


def in_order(
    boards: Sequence[PastBoard], sort: str | None, like: Like | None
) -> tuple[tuple[PastBoard, ...], tuple[float, ...] | None]:
    """Return boards in the order of a number, "name" or "file", those without it last; and how far off each is from
    what was asked for, if it was. In no order told they are by length, or by how near they are. What lacks a number
    that they are to be near is left out.
    """
    off = {} if like is None else {board: like.off(board) for board in boards}
    kept = [board for board in boards if like is None or off[board] is not None]

    def key(board: PastBoard) -> tuple[float | str, ...]:
        if sort in ("name", "file"):
            return (board.name.casefold() if sort == "name" else board.file, board.file)
        first = off[board] if like is not None and sort is None else SIZES[sort or LENGTH](board)
        return (math.inf if first is None else first, board.length_mm, board.name, board.file)

    ordered = tuple(sorted(kept, key=key))
    return ordered, None if like is None else tuple(off[board] or 0.0 for board in ordered)
