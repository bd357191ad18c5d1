"""Lengths and remarks in the text of a spec that bayloft writes."""

from __future__ import annotations

from bayloft.spec.text.measures import plain
from bayloft.spec.text.source import Source
from bayloft.units import METRIC_UNITS, carried_unit

IN_MM = 25.4


def metric_unit(source: Source) -> bool:
    """Return whether the lengths of a sheet are in mm, cm or m: by its unit, or else by that of its length or base."""
    unit = source.values.get("unit")
    if isinstance(unit, str):
        return unit in METRIC_UNITS
    typed = source.values.get("length", source.values.get("base"))
    return isinstance(typed, str) and carried_unit(typed) in METRIC_UNITS


def length_text(mm: float, *, metric: bool) -> str:
    """Return a length as a bare number in mm or in inches, to a hundredth of a millimetre."""
    return plain(mm, 2) if metric else plain(mm / IN_MM, 4)


def remark(text: str) -> str:
    """Return a text as it may stand in a remark: in one line, and without what an editor might act on."""
    return "".join(letter if letter.isprintable() else "?" for letter in text)
