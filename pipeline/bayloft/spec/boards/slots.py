"""The slot that is routed for a fin's tab: its table, and its numbers with what is assumed."""

from __future__ import annotations

from pydantic import Field

from bayloft.errors import KeyPath
from bayloft.spec.boards.board import Slot
from bayloft.spec.fins.fin import Fin
from bayloft.spec.text.kinds import BitSize, BushSize, SlotClearance
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.tables import Table
from bayloft.units import at_most, both

CLEARANCE_MM = 0.2
"""Gap on every side of a tab: it goes in by hand and leaves room for resin. Common practice, no source."""

USUAL_BITS_MM = (6.0, 5.0, 4.0, 3.0)
"""Straight bits of a small workshop; the largest that fits the slot is assumed. Common practice, no source."""

BUSH_MM = 16.0
"""A guide bush that such bits pass with room for chips. Common practice, no source."""


class SlotTable(Table):
    """The slot routed for the fin's tab, with a router in a guide bush that follows a template."""

    clearance: SlotClearance | None = Field(
        default=None, description="Gap between tab and slot, on every side.", examples=["0.2 mm"]
    )
    bit: BitSize | None = Field(default=None, description="Diameter of the router's bit.", examples=["6 mm"])
    bush: BushSize | None = Field(default=None, description="Outer diameter of the guide bush.", examples=["16 mm"])


def trusted_slot(table: SlotTable | None, fin: Fin, path: KeyPath, reading: Reading) -> Slot | None:
    """Return the slot of a fin's tab, what is not given assumed and listed; None for a fin without a tab."""
    if fin.tab is None:
        if table is not None:
            reading.fault(path, "the fin has no tab, so nothing is routed", hint="a [tab] in the fin's file")
        return None
    table = table or SlotTable()
    clearance = table.clearance
    if clearance is None:
        clearance = reading.assume_mm((*path, "clearance"), CLEARANCE_MM, "a tab that goes in by hand")
    width = fin.thickness_mm + 2.0 * clearance
    bit = table.bit
    if bit is None:
        bit = next((size for size in USUAL_BITS_MM if size <= width), USUAL_BITS_MM[-1])
        reading.assume_mm((*path, "bit"), bit, "the largest usual one that the slot takes")
    if bit > width:
        reading.fault((*path, "bit"), "wider than the slot", allowed=f"at most {at_most(width)}", mm=bit)
    bush = table.bush
    if bush is None:
        bush = reading.assume_mm((*path, "bush"), BUSH_MM if bit < BUSH_MM else bit + 6.0, "a usual guide bush")
    elif bush <= bit:
        allowed = f"more than {both(bit)}, the bit that passes through it"
        reading.fault((*path, "bush"), "smaller than the bit", allowed=allowed, mm=bush)
    return Slot(
        length_mm=fin.tab.length_mm + 2.0 * clearance,
        width_mm=width,
        depth_mm=fin.tab.height_mm,
        clearance_mm=clearance,
        bit_mm=bit,
        bush_mm=bush,
    )
