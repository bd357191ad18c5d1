"""Lengths in running text as a maker's own tape reads them: in mm where that is the unit of the board, else in inches.

How finely one is told, and to which side it is rounded, is in the name of the function.
"""

from __future__ import annotations

import math
from fractions import Fraction

from bayloft.units import HAIR, MM_PER_UNIT, feet_inches

FINE, COARSE, STOCK = 32, 16, 8
"""Parts of an inch: of what is worked by, of a place along a board, of the size of wood that is bought."""

NOTHING = "–"
"""What stands where there is nothing to measure."""

FINE_MM, LIMIT_MM = 0.1, {True: 0.1, False: 25.4 / 64.0}
"""The finest mark in mm, and the mark of an upper limit, for a maker who measures in mm and for one in inches."""


def fine(mm: float, *, metric: bool) -> str:
    """Return a length to the nearest 0.1 mm or 1/32 in."""
    return f"{_plain(round(mm, 6), 1)} mm" if metric else feet_inches(mm, FINE)


def fine_mm(mm: float, *, metric: bool) -> float:
    """Return a length in mm at the mark that `fine` tells."""
    if metric:
        return round(round(mm, 6), 1)
    return math.copysign(25.4 / FINE * _marks(mm), mm)


def change(from_mm: float, to_mm: float, *, metric: bool) -> str:
    """Return by how much a length has changed, with its sign, as the difference of both as they are told, to 0.1 mm or
    1/32 in; "0" where they are told alike.
    """
    mm = fine_mm(to_mm, metric=metric) - fine_mm(from_mm, metric=metric)
    told = f"{figure(abs(mm), metric=True)} mm" if metric else fine(abs(mm), metric=False)
    return f"{'+' if mm > 0.0 else '−'}{told}" if abs(mm) > FINE_MM / 2.0 else "0"


def coarse(mm: float, *, metric: bool) -> str:
    """Return a length to the nearest mm or 1/16 in."""
    return f"{_plain(round(mm, 6), 0)} mm" if metric else feet_inches(mm, COARSE)


def station(mm: float, *, metric: bool) -> str:
    """Return a station as it is marked along a board: in mm to a tenth, without the unit, or in feet and inches to the
    nearest 1/16.
    """
    return _plain(round(mm, 6), 1) if metric else feet_inches(mm, COARSE, feet_from_in=12)


def figure(length_mm: float | None, *, metric: bool) -> str:
    """Return a length as a maker works by it: in mm with one decimal; or in inches to the nearest 1/32, written as the
    sixteenth below with "+" for the 1/32 more, as in tables of offsets, and 1/32 alone as such. NOTHING for None.
    """
    if length_mm is None:
        return NOTHING
    if metric:
        return f"{round(round(length_mm, 6), 1) + 0.0:.1f}"
    parts = _marks(length_mm)
    sign = "-" if length_mm < 0.0 and parts else ""
    if parts <= 1:
        return f"{sign}1/32" if parts else "0"
    whole, rest = divmod(Fraction(parts // 2, 16), 1)
    return sign + " ".join(str(part) for part in (whole, rest) if part) + "+" * (parts % 2)


def along(mm: float, *, metric: bool) -> str:
    """Return a station with its unit: to the nearest 0.1 mm or 1/16 in."""
    return fine(mm, metric=True) if metric else feet_inches(mm, COARSE)


def down_mm(mm: float, *, metric: bool) -> float:
    """Return a length in mm rounded down to the mark that `fine` tells."""
    mark = FINE_MM if metric else 25.4 / FINE
    return math.floor(mm / mark + HAIR) * mark


def at_least(mm: float, *, metric: bool) -> str:
    """Return a length of which there is at least so much: rounded down to 0.1 mm or 1/32 in."""
    return fine(down_mm(mm, metric=metric), metric=metric)


def at_most(mm: float, *, metric: bool) -> str:
    """Return an upper limit: rounded up to 0.1 mm or 1/64 in."""
    mark = LIMIT_MM[metric]
    over = math.ceil(mm / mark - HAIR) * mark
    return fine(over, metric=True) if metric else feet_inches(over, 64)


def stock(mm: float, *, metric: bool) -> str:
    """Return a size of wood that is large enough: rounded up to a mm or 1/8 in."""
    mark = 1.0 if metric else 25.4 / STOCK
    over = math.ceil(mm / mark - HAIR) * mark
    return coarse(over, metric=True) if metric else feet_inches(over, STOCK)


def _marks(mm: float) -> int:
    """Return the size of a length, sign dropped, in the nearest whole marks of 1/32 in."""
    return int(abs(Fraction(round(mm, 6))) / MM_PER_UNIT["in"] * FINE + Fraction(1, 2))


def _plain(value: float, decimals: int) -> str:
    return f"{round(value, decimals) + 0.0:g}"
