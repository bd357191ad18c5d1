"""How a book of boards is printed: a row for each, in its maker's own units."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any

import click

from bayloft.book import Book
from bayloft.errors import MOST_TOLD
from bayloft.record.book.past_board import PastBoard, Unread, values_of
from bayloft.tape import NOTHING, coarse, fine

LONGEST_NAME = 20
"""Characters of a board's name in a table; its file is told whole."""

HEADS = ("board", "length", "width", "thick", "volume", "tail", "fins")
FILE = "file"


def book_rows(boards: Sequence[PastBoard], off: Sequence[float] | None, width: int | None) -> Iterator[str]:
    """Yield the rows of a table. off: how far off each board is from what was asked for, if that was asked; width: of
    the terminal, in characters: where a row is wider, files stand on a line of their own; None for any.
    """
    if not boards:
        return
    heads = [*HEADS, *(["off"] if off is not None else [])]
    rows = [_cells(board) for board in boards]
    if off is not None:
        rows = [[*cells, f"{value:.1f}"] for cells, value in zip(rows, off, strict=True)]
    wide = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]
    files = [shown(board.file) for board in boards]
    whole = sum(wide) + 2 * len(wide) + max(map(len, [FILE, *files]))
    below = width is not None and whole > width

    def line(cells: Sequence[str]) -> str:
        each = zip(cells, wide, heads, strict=True)
        return "  ".join(cell.ljust(n) if head in ("board", "tail") else cell.rjust(n) for cell, n, head in each)

    yield click.style(line(heads).rstrip() if below else f"{line(heads)}  {FILE}", bold=True)
    for cells, file in zip(rows, files, strict=True):
        if below:
            yield line(cells).rstrip()
            yield f"  {file}"
        else:
            yield f"{line(cells)}  {file}"


def _cells(board: PastBoard) -> list[str]:
    metric = board.metric
    name = board.name if len(board.name) <= LONGEST_NAME else board.name[: LONGEST_NAME - 1] + "…"
    return [
        shown(name),
        coarse(board.length_mm, metric=metric),
        coarse(board.width_mm, metric=metric),
        fine(board.thickness_mm, metric=metric),
        NOTHING if board.volume_mm3 is None else f"{board.volume_mm3 / 1e6:.1f} L",
        shown(board.tail) or NOTHING,
        str(len(board.fins)),
    ]


def book_notes(book: Book, told_of: int, *, chosen: bool) -> Iterator[str]:
    """Yield what is to be told below a table of so many boards; chosen: some were asked for, and not all."""
    told = f"{told_of} of {book.of} boards" if chosen else f"{book.of} board{'' if book.of == 1 else 's'}"
    if book.unmeasured:
        told += f"; {book.unmeasured} without a volume yet: --measure lofts them once and keeps it"
    yield told
    yield from _unread(book.unread)
    if book.not_kept:
        yield f"what was lofted is not kept: {book.not_kept}"


def _unread(unread: Sequence[Unread]) -> Iterator[str]:
    for each in unread[:MOST_TOLD]:
        yield click.style("not read: ", fg="yellow") + f"{shown(each.file)}: {shown(each.why)}"
    if len(unread) > MOST_TOLD:
        yield f"and {len(unread) - MOST_TOLD} more that cannot be read; --json tells all"


def book_json(book: Book, boards: Sequence[PastBoard], off: Sequence[float] | None) -> str:
    """Return the boards of a book, and what could not be read, for another program: lengths in mm, volumes in mm3."""
    rows: list[dict[str, Any]] = [values_of(board) for board in boards]
    for row, value in zip(rows, off or (), strict=False):
        row["off"] = round(value, 6)
    unread = [{"file": each.file, "why": each.why} for each in book.unread]
    return json.dumps({"boards": rows, "unread": unread}, indent=1)


def shown(text: str) -> str:
    """Return a text without characters that steer a terminal, or that it has no letter for."""
    return "".join(letter if letter.isprintable() else "\N{REPLACEMENT CHARACTER}" for letter in text)
