"""Numbers that a message suggests: marks of the tape, tried before they are told."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from bayloft.lines.fairest import NoFairLineError

TAPE_MM = 25.4 / 16
"""mm between the marks of the tape in which messages speak: sixteenths (common practice, no source)."""

_OVERSHOOTS = (1.0, 1.1, 1.25, 1.5, 2.0, 3.0)
"""Shares of the way to the nearest fair number that are tried: that one is the nearest only if all others move too."""


def suggested(
    given: Sequence[float], nearest: Sequence[float], moved: Sequence[int], line: Callable[[Sequence[float]], object]
) -> dict[int, float]:
    """Return a number in mm for each place in `moved`, with which `line` passes while the others stay as given.

    They lie on marks of the tape, at or beyond the nearest fair numbers as seen from the given ones, and pass as they
    are and as read in tenths of a millimetre. Empty where no such numbers are found; `line` raises NoFairLineError for
    numbers it cannot pass through.
    """
    for share in _OVERSHOOTS:
        marks = {place: _beyond(given[place], nearest[place], share) for place in moved}
        tenths = {place: round(mm, 1) for place, mm in marks.items()}
        if min(marks.values()) > 0.0 and all(_passes(given, numbers, line) for numbers in (marks, tenths)):
            return marks
    return {}


def _beyond(given: float, near: float, share: float) -> float:
    marks = (given + share * (near - given)) / TAPE_MM
    return TAPE_MM * (math.ceil(marks) if near > given else math.floor(marks))


def _passes(given: Sequence[float], numbers: dict[int, float], line: Callable[[Sequence[float]], object]) -> bool:
    try:
        line([numbers.get(place, mm) for place, mm in enumerate(given)])
    except NoFairLineError:
        return False
    return True
