"""The rail bands that are planed onto a board, as trusted values."""

from __future__ import annotations

from dataclasses import dataclass

Flats = tuple[float, ...] | int
"""The flats of deck or bottom: how far each slopes from level, degrees, ascending; or how many there are, found so that
equal foam is left at their corners."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bands:
    """The flats on deck and bottom, from the middle outward; the stations at which they are marked, mm from the tail
    end, ascending; the length of the plane's stiff sole, mm.
    """

    deck: Flats
    bottom: Flats
    stations_mm: tuple[float, ...]
    sole_mm: float
