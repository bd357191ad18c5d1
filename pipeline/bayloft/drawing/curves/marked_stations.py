"""The stations that a maker works by: those with names, and those of the numbers that were given."""

from __future__ import annotations

from collections.abc import Iterable

from bayloft.spec.text.given import Given
from bayloft.tolerances import SEPARATE_STATIONS_MM

APART_MM = 60.0
"""mm from any other station within which a reading is no station to work by: its text would stand in the other's."""


def marked_stations(named: Iterable[float], given: Iterable[Given]) -> list[float]:
    """Return stations in mm: those with names, those of exact numbers, and those of readings with play, which were
    taken where the tape happened to lie, as far as they are APART_MM from all others. The first counts of two that are
    one place.
    """
    numbers = list(given)
    kept: list[float] = []

    def add(stations: Iterable[float], apart_mm: float) -> None:
        for x in stations:
            if all(abs(x - other) > apart_mm for other in kept):
                kept.append(x)

    add(named, SEPARATE_STATIONS_MM)
    add((number.x_mm for number in numbers if not number.play_mm), SEPARATE_STATIONS_MM)
    add((number.x_mm for number in numbers if number.play_mm), APART_MM)
    return kept
