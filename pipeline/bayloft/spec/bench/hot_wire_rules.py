"""A board's `[hot_wire]` table to trusted values."""

from __future__ import annotations

from bayloft.spec.bench.hot_wire import HotWire
from bayloft.spec.bench.hot_wire_models import HotWireTable
from bayloft.spec.text.reading import Reading

LEFT_ON_MM, LEAD_MM = {False: 25.4 / 8.0, True: 3.0}, {False: 50.8, True: 50.0}
"""mm, for who measures in inches and in mm (common practice, no source)."""


def trusted_hot_wire(table: HotWireTable | None, reading: Reading, *, metric: bool) -> HotWire | None:
    """Return how a hot wire cuts the board, None where none does; its kerf has to be told, for it is the foam's."""
    if table is None:
        return None
    if table.kerf is None:
        reading.missing(("hot_wire", "kerf"))
        return None
    left, lead = table.left_on, table.lead
    if left is None:
        left = reading.assume_mm(("hot_wire", "left_on"), LEFT_ON_MM[metric], "to be planed off")
    if lead is None:
        lead = reading.assume_mm(("hot_wire", "lead"), LEAD_MM[metric], "clear of the block's end")
    return HotWire(kerf_mm=table.kerf, left_on_mm=left, lead_mm=lead)
