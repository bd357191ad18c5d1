"""A load on a board and the water that it lies in, as trusted values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Water = Literal["sea", "fresh"]


@dataclass(frozen=True, slots=True, kw_only=True)
class FloatAsked:
    """A load in kg with its middle over the stringer at a station, mm from the tail end, and so many mm above the deck
    there; the board's own mass in kg, 0 where it is left out of account, with its middle at a station, None: at the
    middle of the board's volume; the water, its temperature in degrees C, and its absolute salinity in g/kg.
    """

    load_kg: float
    x_mm: float
    above_deck_mm: float
    board_kg: float
    balance_x_mm: float | None
    water: Water
    temperature_c: float
    salinity_g_kg: float
