"""From readings of a board that exists to what its spec asks for besides: wide point, thickest, rocker on its datum."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bayloft.lines.fairest import NoFairLineError, fairest_station
from bayloft.lines.outline import OutlineNumbers, fair_outline, outline_misfits, widest_station
from bayloft.lines.profile import (
    Profile,
    ProfileNumbers,
    fair_profile,
    fair_rocker,
    profile_energy,
    profile_misfits,
    touching,
)
from bayloft.lines.readings import JUDGED_PRICE, MISSED_MM, Measured, least_missed
from bayloft.spec.boards.board import TAIL_STRAIGHTNESS
from bayloft.spec.boards.ends import NOSES, TAILS
from bayloft.spec.readings.taken import SheetReadings
from bayloft.spec.text.given import Given
from bayloft.tolerances import GIVEN_NUMBER_MM

Array = NDArray[np.float64]

TOP_PLACES = 26
"""Places at which a line is tried to turn."""
AT_MM = 1.0
"""mm within which a reading is at a station."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Top:
    """Where a line is at its greatest: station and value in mm; whether it was found, or, where the readings make no
    fair line, is where a line misses them least.
    """

    x_mm: float
    value_mm: float
    found: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LiftedNumbers:
    """What readings say of a board: where it is widest and thickest; its rocker on the datum, and the station where the
    bottom is level; the heights of its ends.
    """

    wide: Top
    thick: Top
    heights: tuple[Given, ...]
    level_x_mm: float
    ends_mm: tuple[float, float]


def lifted(taken: SheetReadings) -> LiftedNumbers:
    """Return what readings say of a board."""
    heights, level, rocker = _on_datum(taken)
    return LiftedNumbers(
        wide=_widest(taken),
        thick=_thickest(taken),
        heights=heights,
        level_x_mm=level,
        ends_mm=(_end(heights, 0.0, rocker), _end(heights, taken.length_mm, rocker)),
    )


def _read(given: Sequence[Given], play_mm: float) -> tuple[Measured, ...]:
    play = max(play_mm - GIVEN_NUMBER_MM, 0.0)
    return tuple(Measured(number.x_mm, number.value, play) for number in given)


def _true(readings: Sequence[Measured], missed: Array) -> tuple[Measured, ...]:
    """Return the readings that a line need not miss."""
    return tuple(reading for reading, off in zip(readings, missed, strict=True) if off <= MISSED_MM)


def _top(given: Sequence[Given], x_mm: float, value_mm: float, *, found: bool) -> Top:
    """Return where a line is greatest; with the value that was read there, if one was."""
    read = [number.value for number in given if abs(number.x_mm - x_mm) <= AT_MM]
    return Top(x_mm=x_mm, value_mm=read[0] if read and found else value_mm, found=found)


def _widest(taken: SheetReadings) -> Top:
    tail, nose = taken.ends["tail"], taken.ends["nose"]
    row = TAILS[tail["kind"]]
    cut_off = row.curve is not None
    read = _read(taken.of["width"], taken.play_mm)
    halves = [Measured(x, width / 2, play / 2) for x, width, play in read if 0.0 < x < taken.length_mm]
    if row.curve is not None:
        half = tail["block"] / 2
        corner = float(row.curve(half, tail.get("depth", 2 * half * (row.depth_share or 0.0)))(half))
        halves = [Measured(corner, half), *(each for each in halves if each.x_mm > corner + 1.0)]
    numbers = OutlineNumbers(
        length_mm=taken.length_mm,
        half_widths=tuple(halves),
        wide_x_mm=taken.length_mm / 2,
        tail_cut_off=cut_off,
        tail_radius_mm=None if cut_off else tail.get("tip_radius", row.tip_radius_mm),
        nose_radius_mm=nose.get("tip_radius", NOSES[nose["kind"]].tip_radius_mm),
        hollow=frozenset(),
        straightness=tail.get("straightness", TAIL_STRAIGHTNESS),
    )
    found = True
    try:
        x = widest_station(numbers)
    except NoFairLineError:
        x, moves = least_missed(
            lambda x_mm: outline_misfits(replace(numbers, wide_x_mm=x_mm), JUDGED_PRICE),
            np.linspace(0.25, 0.75, TOP_PLACES) * taken.length_mm,
        )
        numbers, found = replace(numbers, half_widths=_true(halves, moves)), False
    width = 2 * float(fair_outline(replace(numbers, wide_x_mm=x)).at(x))
    return _top(taken.of["width"], x, width, found=found)


def _thickest(taken: SheetReadings) -> Top:
    numbers = ProfileNumbers(
        length_mm=taken.length_mm,
        values=_read(taken.of["thickness"], taken.play_mm),
        turning_x_mm=None,
        bend="arched",
    )
    places = np.linspace(0.25, 0.75, TOP_PLACES) * taken.length_mm
    found = True
    try:
        x = fairest_station(lambda x_mm: profile_energy(replace(numbers, turning_x_mm=x_mm)), places)
    except NoFairLineError:
        x, moves = least_missed(lambda x_mm: profile_misfits(replace(numbers, turning_x_mm=x_mm), JUDGED_PRICE), places)
        numbers, found = replace(numbers, values=_true(numbers.values, moves)), False
    thickness = float(fair_profile(replace(numbers, turning_x_mm=x)).at(x))
    return _top(taken.of["thickness"], x, thickness, found=found)


def _on_datum(taken: SheetReadings) -> tuple[tuple[Given, ...], float, Callable[[float], float]]:
    """Return the rocker's heights on a plane that touches the bottom where it is level, that station, and the rocker as
    a function of the station.

    Read from the floor at its lowest point, a board is left as it stood. Else it is level at its centre.
    """
    sign = -1.0 if taken.datum == "tail and nose" else 1.0
    raw = [replace(number, value=sign * number.value) for number in taken.of["rocker"]]
    numbers = ProfileNumbers(
        length_mm=taken.length_mm,
        values=_read(raw, taken.play_mm),
        turning_x_mm=None,
        bend="hollow",
        least_ends_mm=(-np.inf, -np.inf),
    )
    centre = taken.length_mm / 2
    if taken.datum == "lowest":
        try:
            line, lowest = fair_rocker(numbers)
        except NoFairLineError:
            lowest, moves = least_missed(
                lambda x_mm: profile_misfits(touching(numbers, x_mm), JUDGED_PRICE)[: len(raw)],
                np.linspace(0.25, 0.75, TOP_PLACES) * taken.length_mm,
            )
            line = fair_profile(touching(replace(numbers, values=_true(numbers.values, moves)), lowest))
        return tuple(raw), lowest, _turned(line, lowest, 0.0, 0.0)
    try:
        line = fair_profile(numbers)
    except NoFairLineError:
        line = fair_profile(replace(numbers, values=_true(numbers.values, profile_misfits(numbers, JUDGED_PRICE))))
    raised, turned = float(line.at(centre)), float(line.at(centre, 1))
    return _levelled(raw, centre, raised, turned), centre, _turned(line, centre, raised, turned)


def _levelled(raw: Sequence[Given], level_x_mm: float, raised: float, turned: float) -> tuple[Given, ...]:
    return tuple(
        replace(number, value=max(number.value - raised - turned * (number.x_mm - level_x_mm), 0.0)) for number in raw
    )


def _turned(line: Profile, level_x_mm: float, raised: float, turned: float) -> Callable[[float], float]:
    return lambda x_mm: float(line.at(x_mm)) - raised - turned * (x_mm - level_x_mm)


def _end(heights: Sequence[Given], x_mm: float, rocker: Callable[[float], float]) -> float:
    """Return the height at an end: the one read there, or the line carried on."""
    read = [number.value for number in heights if abs(number.x_mm - x_mm) <= AT_MM]
    return read[0] if read else max(float(rocker(x_mm)), 1.0)
