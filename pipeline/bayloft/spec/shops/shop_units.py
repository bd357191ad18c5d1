"""Metric and inch lengths in a shop file: a table speaks one system of units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, get_args

from bayloft.errors import KeyPath
from bayloft.spec.shops.shop_models import CutterTable, CuttingTable, GantryTable, MachineTable, PaperTable, StockTable
from bayloft.spec.text.kinds import Typed
from bayloft.spec.text.measures import Advance, Length, plain
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.tables import Table
from bayloft.units import MM_PER_UNIT, carried_unit, length_mm

INCH_UNITS = ("in", "ft")
DECIMALS = 3
"""Of a length in the hint: a micrometre, and a fortieth of it in inches."""

_TABLES: dict[str, type[Table]] = {
    "stock": StockTable,
    "cutters": CutterTable,
    "machine": MachineTable,
    "gantry": GantryTable,
    "cutting": CuttingTable,
    "paper": PaperTable,
}


def one_system_each(reading: Reading) -> None:
    """Tell of every length that is in inches where its table's first is metric, or the other way round.

    A slip between the two is a factor of 25.4, and both numbers look sound: that is how cutters break. A table is one
    entry of stock, one cutter, or the machine; a bare number is in the file's unit; 0 needs none.
    """
    for name, model in _TABLES.items():
        value = reading.source.values.get(name)
        entries: list[tuple[KeyPath, Any]] = [((name,), value)]
        if isinstance(value, list):
            entries = [((name, place), entry) for place, entry in enumerate(value)]
        for path, entry in entries:
            if isinstance(entry, dict):
                _one_system(path, entry, model, reading)


def _one_system(path: KeyPath, entry: dict[str, Any], model: type[Table], reading: Reading) -> None:
    first: tuple[str, bool] | None = None
    for key, unit, mm in _lengths(entry, model, reading.source.values.get("unit")):
        inches = unit in INCH_UNITS
        if first is None:
            first = key, inches
        elif inches != first[1]:
            own, other = ("inches", "metric") if inches else ("metric", "in inches")
            size = f"{plain(mm, DECIMALS)} mm" if inches else f"{plain(mm / float(MM_PER_UNIT['in']), DECIMALS)} in"
            problem = f"{own}, but {first[0]} of the same table is {other}"
            measure = _measure(model, key)
            per = f"/{measure.per}" if isinstance(measure, Advance) else ""
            reading.fault((*path, key), problem, hint=f'{key} = "{size}{per}"')


def _lengths(entry: dict[str, Any], model: type[Table], declared: object) -> Iterator[tuple[str, str, float]]:
    """Yield key, unit and mm of each length of a table that can be read."""
    for key, given in entry.items():
        measure = _measure(model, key)
        if not isinstance(measure, Advance | Length) or isinstance(given, bool):
            continue
        typed = measure.length(given) if isinstance(measure, Advance) else given
        try:
            unit = str((carried_unit(typed) if isinstance(typed, str) else None) or declared)
            mm = length_mm(typed, unit)
        except ValueError:
            continue
        if mm:
            yield key, unit, mm


def _measure(model: type[Table], key: str) -> object:
    """Return the measure that reads a key, or None where none does."""
    field = model.model_fields.get(key)
    if field is None:
        return None
    marks = [*field.metadata, *(mark for part in get_args(field.annotation) for mark in get_args(part))]
    return next((mark.measure for mark in marks if isinstance(mark, Typed)), None)
