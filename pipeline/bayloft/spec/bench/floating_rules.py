"""A board's `[float]` table to trusted values."""

from __future__ import annotations

from bayloft.spec.bench.floating import FloatAsked, Water
from bayloft.spec.bench.floating_models import FloatTable
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import Stationed, inside, station_mm
from bayloft.spec.text.tables import At
from bayloft.units import PSU_G_KG, at_least

USUAL_C = 15.0
"""Temperature of water of which none is told: that of the tables of towing tanks (common practice, from memory)."""

STANDARD_G_KG = 35.0 * float(PSU_G_KG)
"""Absolute salinity of standard sea water, g/kg (TEOS-10)."""


def trusted_float(
    table: FloatTable | None, length_mm: float, notch_mm: float, reading: Reading, *, weighed: bool = False
) -> FloatAsked | None:
    """Return what a board is to carry and in what water, None where nothing is asked; load and place must be told.
    `notch_mm`: how far a notch of the tail reaches forward at the stringer. `weighed`: the board's own weight is
    reckoned from its glass.
    """
    if table is None:
        return None
    for key in ("load", "at"):
        if getattr(table, key) is None:
            reading.missing(("float", key))
    x = _station(table.at, "at", length_mm, reading)
    if x is not None and x <= notch_mm:
        allowed = f"at least {at_least(notch_mm)} from the tail end"
        reading.fault(("float", "at"), "in the tail's notch, where there is no deck", allowed=allowed)
    balance = _station(table.balance, "balance", length_mm, reading)
    if table.balance is not None and table.board_weight is None and not reading.explained(("float", "board_weight")):
        hint = 'board_weight = "6.5 kg", or leave balance out'
        reading.fault(("float", "balance"), "says where the board balances, not what it weighs", hint=hint)
    water: Water = table.water or "sea"
    if water == "fresh" and table.salinity is not None:
        reading.fault(("float", "salinity"), "told of fresh water", hint='water = "sea", or leave salinity out')
    if table.load is None or x is None:
        return None
    return FloatAsked(
        load_kg=table.load,
        x_mm=x,
        above_deck_mm=_height(table, reading),
        board_kg=_board_kg(table, reading, weighed=weighed),
        balance_x_mm=balance,
        water=_water(table, reading),
        temperature_c=_temperature_c(table, reading),
        salinity_g_kg=_salinity_g_kg(table, water, reading),
    )


def _station(at: At | None, key: str, length_mm: float, reading: Reading) -> float | None:
    path = ("float", key)
    x = None if at is None else station_mm(at, path, length_mm, reading)
    if at is None or x is None:
        return None
    stationed = Stationed(x_mm=x, entry=at, path=path)
    return x if inside(stationed, length_mm, reading, "between the ends of the board") else None


def _height(table: FloatTable, reading: Reading) -> float:
    if table.height is not None:
        return table.height
    return reading.assume_mm(("float", "height"), 0.0, "the load's middle taken on the deck; higher, it trims more")


def _board_kg(table: FloatTable, reading: Reading, *, weighed: bool) -> float:
    path = ("float", "board_weight")
    if table.board_weight is None:
        own = (
            ("as reckoned", "from its glass, with where it balances")
            if weighed
            else (
                "0 kg",
                "the board's own weight is left out of account",
            )
        )
        reading.assume(path, *own)
        return 0.0
    if table.balance is None:
        reading.assume(("float", "balance"), "the middle of the volume", "where the board balances is not told")
    return table.board_weight


def _water(table: FloatTable, reading: Reading) -> Water:
    if table.water is not None:
        return table.water
    reading.assume(("float", "water"), "sea", "common practice, no source")
    return "sea"


def _temperature_c(table: FloatTable, reading: Reading) -> float:
    if table.temperature is not None:
        return table.temperature
    reading.assume(("float", "temperature"), f"{plain(USUAL_C)} C", "common practice, no source")
    return USUAL_C


def _salinity_g_kg(table: FloatTable, water: Water, reading: Reading) -> float:
    if water == "fresh":
        return 0.0
    if table.salinity is not None:
        return table.salinity
    reading.assume(("float", "salinity"), f"{plain(STANDARD_G_KG, 5)} g/kg", "standard sea water")
    return STANDARD_G_KG
