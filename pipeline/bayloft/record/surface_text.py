"""A body's knots and control net as text that is read back to the same numbers, bit by bit; and its reader."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import BayloftError
from bayloft.solid.body import Body
from bayloft.solid.surface import DEGREE, Surface

Array = NDArray[np.float64]

TITLE = "bayloft surface 1"
End = Literal["closed", "wall", "face"]
MOST_KNOTS, MOST_POINTS = 10_000, 2_000_000
"""Knots in a direction and control points of a side beyond which a text is no board's: a board has 200, and 50,000."""


class SurfaceTextError(BayloftError):
    """A text that is no surface of this format: where it is not."""


def surface_text(body: Body) -> str:
    """Return a body as text: one number in a row for knots, three for a control point, each in the fewest digits that
    give the same number back.
    """
    return "\n".join([TITLE, f"end {body.end} {body.wall_corner!r}", *_sides(body), ""])


def _sides(body: Body) -> Iterator[str]:
    for name, surface in (("port", body.port), ("starboard", body.starboard)):
        if surface is None:
            continue
        yield f"side {name} degree {DEGREE} {DEGREE}"
        for direction, knots in (("u", surface.knots_u), ("v", surface.knots_v)):
            yield f"knots_{direction} {len(knots)}"
            yield from map(repr, knots.tolist())
        yield f"net {surface.net.shape[0]} {surface.net.shape[1]}"
        for x, y, z in surface.net.reshape(-1, 3).tolist():
            yield f"{x!r} {y!r} {z!r}"


class _Rows:
    """The rows of a text, one after the other."""

    def __init__(self, text: str) -> None:
        self._rows, self.at = text.split("\n"), 0

    def next(self, *begins: str) -> list[str]:
        """Return the words of the next row, which begins so; raise SurfaceTextError where it does not."""
        words = self._rows[self.at].split() if self.at < len(self._rows) else []
        self.at += 1
        if tuple(words[: len(begins)]) != begins:
            raise SurfaceTextError(f"line {self.at}: {' '.join(begins)} is expected here")
        return words[len(begins) :]

    def count(self, word: str, how_many: int, most: int) -> list[int]:
        """Return so many whole numbers behind a word, their product no more than `most`."""
        words = self.next(word)
        if len(words) != how_many or not all(each.isdecimal() and len(each) < 8 for each in words):
            raise SurfaceTextError(f"line {self.at}: {word} is followed by {how_many} whole numbers")
        numbers = [int(each) for each in words]
        if not max(numbers) >= 2 * DEGREE + 2 or int(np.prod(numbers)) > most:
            raise SurfaceTextError(f"line {self.at}: no board has so many")
        return numbers

    def numbers(self, rows: int, columns: int) -> Array:
        """Return the next rows as numbers (rows, columns)."""
        found = [row.split() for row in self._rows[self.at : self.at + rows]]
        if len(found) < rows or any(len(row) != columns for row in found):
            raise SurfaceTextError(f"line {self.at + 1} and on: {rows} rows of {columns} numbers are expected")
        try:
            values = np.array(found, dtype=np.float64)
        except ValueError:
            raise SurfaceTextError(f"line {self.at + 1} and on: not all are numbers") from None
        if not np.isfinite(values).all():
            raise SurfaceTextError(f"line {self.at + 1} and on: not all are finite")
        self.at += rows
        return values


def body_of(text: str) -> Body:
    """Return the body of a text. Raises SurfaceTextError for a text that is none."""
    rows = _Rows(text)
    rows.next(*TITLE.split())
    end, corner = (*rows.next("end"), "", "")[:2]
    if end not in get_args(End):
        raise SurfaceTextError(f"line {rows.at}: an end is one of {', '.join(get_args(End))}")
    port = _surface(rows, "port")
    starboard = _surface(rows, "starboard") if rows.at < text.count("\n") else None
    try:
        return Body(port=port, starboard=starboard, end=end, wall_corner=float(corner))  # type: ignore[arg-type]
    except ValueError:
        raise SurfaceTextError("line 2: the corner of the end is a number") from None


def _surface(rows: _Rows, name: str) -> Surface:
    rows.next("side", name, "degree", str(DEGREE), str(DEGREE))
    knots = []
    for direction in ("u", "v"):
        (count,) = rows.count(f"knots_{direction}", 1, MOST_KNOTS)
        own = rows.numbers(count, 1)[:, 0]
        if (np.diff(own) < 0.0).any() or own[0] != 0.0 or own[-1] != 1.0:
            raise SurfaceTextError(f"line {rows.at}: knots ascend from 0 to 1")
        knots.append(own)
    wide, high = rows.count("net", 2, MOST_POINTS)
    if (wide, high) != tuple(len(own) - DEGREE - 1 for own in knots):
        raise SurfaceTextError(f"line {rows.at}: a net has as many points in a direction as knots, less {DEGREE + 1}")
    return Surface(knots_u=knots[0], knots_v=knots[1], net=rows.numbers(wide * high, 3).reshape(wide, high, 3))
