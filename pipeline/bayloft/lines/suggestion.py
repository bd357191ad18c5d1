"""Numbers that a message suggests: marks of the tape, tried before they are told; and what slip may have been made."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from itertools import pairwise

import numpy as np

from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.readings import Measured
from bayloft.units import length_mm as typed_length_mm

TAPE_MM = 25.4 / 16
"""mm between the marks of the tape in which messages speak: sixteenths (common practice, no source)."""

FURTHEST_MARKS = 16
"""Marks to either side of the drawn value within which one is looked for that passes."""

EXPLAINED_SHARE = 0.3
"""Share of what a reading is off by that may be left when a slip is undone, for the slip to be the likely one."""

LEAST_SLIP_MM, LEAST_SHIFT_MM = 2 * TAPE_MM, 4 * TAPE_MM
"""mm that a reading is off by from which a slip of the number, and of its station, is looked for: less is a tape held
badly, and any slip explains it."""

LEAST_RATIO_MM = 50.0
"""mm that a wrong unit, or half for the whole, must make of a number to be thought of: a little height is explained by
any of them."""

WRONG_STATIONS_MM = (25.4, 50.8, 76.2, 101.6, 152.4, 304.8)
"""mm by which a tape is held at the wrong place: an inch or a few, and a foot."""

Line = Callable[[Sequence[Measured]], object]


def suggested(readings: Sequence[Measured], drawn_mm: dict[int, float], line: Line) -> dict[int, float]:
    """Return a number in mm for each place in `drawn_mm`, the values of a line through all other readings: marks of the
    tape near these, with which `line` passes as they are and as read in tenths of a millimetre. Empty where none are
    found; `line` raises NoFairLineError for readings it cannot pass through.
    """
    for step in sorted(range(-FURTHEST_MARKS, FURTHEST_MARKS + 1), key=abs):
        marks = {place: TAPE_MM * (round(mm / TAPE_MM) + step) for place, mm in drawn_mm.items()}
        tenths = {place: round(mm, 1) for place, mm in marks.items()}
        if min(marks.values()) > 0.0 and all(_passes(readings, numbers, line) for numbers in (marks, tenths)):
            return marks
    return {}


def _passes(readings: Sequence[Measured], numbers: dict[int, float], line: Line) -> bool:
    values = [reading._replace(value_mm=numbers.get(place, reading.value_mm)) for place, reading in enumerate(readings)]
    try:
        line(values)
    except NoFairLineError:
        return False
    return True


def likely_slip(
    readings: Sequence[Measured],
    place: int,
    typed: object,
    unit: str | None,
    drawn: Callable[[Sequence[Measured]], Callable[[float], float]],
    *,
    length_mm: float,
    halves: bool,
) -> str:
    """Return in words the slip that most likely made one reading wrong, with which undone a fair line passes; empty
    where none is found.

    Parameters
    ----------
    typed, unit : the number as the file has it, and the file's unit.
    drawn : returns the line through readings, as a function of the station in mm, or raises NoFairLineError.
    length_mm : of the board.
    halves : whether half a number may have been given for the whole one, as with widths.
    """
    here = readings[place]
    others = [reading for i, reading in enumerate(readings) if i != place]
    expected = drawn(others)
    off = abs(here.value_mm - expected(here.x_mm))
    found: list[tuple[float, str]] = []
    if off < LEAST_SLIP_MM:
        return ""
    for what, value_mm in _values(here.value_mm, typed, unit, halves=halves):
        left = abs(value_mm - expected(here.x_mm))
        if left <= EXPLAINED_SHARE * off and _passes(readings, {place: value_mm}, drawn):
            found.append((left, what))
    for what, x_mm in _stations(readings, place, length_mm) if off >= LEAST_SHIFT_MM else ():
        left = abs(here.value_mm - expected(x_mm))
        near = min((abs(other.x_mm - x_mm) for other in others), default=np.inf)
        # It explains less: any reading fits somewhere.
        if (
            near > TAPE_MM
            and left <= EXPLAINED_SHARE * off / 2
            and _passes([*others, Measured(x_mm, *here[1:])], {}, drawn)
        ):
            found.append((left + off / 10, what))
    for i, j in pairwise(range(len(readings))):
        if place in (i, j):
            swapped = {i: readings[j].value_mm, j: readings[i].value_mm}
            if _passes(readings, swapped, drawn):
                found.append((off / 10, "exchanged with its neighbour"))
    return min(found, default=(0.0, ""))[1]


def _values(value_mm: float, typed: object, unit: str | None, *, halves: bool) -> Iterator[tuple[str, float]]:
    """Return slips of the number itself, and the values that were meant."""
    for inches in (1, 2, 3):
        name = "an inch" if inches == 1 else f"{inches} inches"
        yield f"{name} too much", value_mm - 25.4 * inches
        yield f"{name} too little", value_mm + 25.4 * inches
    ratios = [("feet for inches", 1 / 12), ("inches for feet", 12.0)]
    ratios += [("inches for centimetres", 1 / 2.54), ("centimetres for inches", 2.54)]
    if halves:
        ratios += [("half of it for the whole", 2.0), ("twice what it is", 0.5)]
    for what, ratio in ratios:
        if abs(ratio - 1.0) * value_mm >= LEAST_RATIO_MM:
            yield what, ratio * value_mm
    text = str(typed)
    # Digits of the whole number alone: of fractions and decimals nobody exchanges them, but any number is near some.
    whole = re.match(r"\s*\d+(?![\d/])", text)
    for first, second in pairwise(re.finditer(r"\d", whole[0] if whole else "")):
        if first[0] != second[0]:
            meant = text[: first.start()] + second[0] + first[0] + text[second.end() :]
            yield from _read("two digits exchanged", meant, typed, unit)
    if fraction := re.search(r"/(2|4|8|16|32)\b", text):
        for parts in (2, 4, 8, 16, 32):
            if str(parts) != fraction[1]:
                meant = f"{text[: fraction.start()]}/{parts}{text[fraction.end() :]}"
                yield from _read(f"{_PARTS[int(fraction[1])]} for {_PARTS[parts]}", meant, typed, unit)


_PARTS = {2: "halves", 4: "quarters", 8: "eighths", 16: "sixteenths", 32: "thirty-seconds"}


def _read(what: str, text: str, typed: object, unit: str | None) -> Iterator[tuple[str, float]]:
    try:
        yield what, typed_length_mm(text if isinstance(typed, str) else float(text), unit)
    except ValueError:
        return


def _stations(readings: Sequence[Measured], place: int, length_mm: float) -> Iterator[tuple[str, float]]:
    """Return slips of the station, and the stations that were meant."""
    x = readings[place].x_mm
    yield "taken from the other end", length_mm - x
    for mm in WRONG_STATIONS_MM:
        name = "a foot" if mm == 304.8 else "an inch" if mm == 25.4 else f"{mm / 25.4:g} inches"
        yield f"taken {name} too far forward", x + mm
        yield f"taken {name} too far aft", x - mm
    for other, reading in enumerate(readings):
        if other != place and abs(reading.x_mm - x) > TAPE_MM:
            yield "taken at a neighbouring station", reading.x_mm
