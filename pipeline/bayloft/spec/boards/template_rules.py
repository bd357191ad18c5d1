"""A board's `[templates]` table to trusted values."""

from __future__ import annotations

from bayloft.errors import spelled
from bayloft.spec.boards.board import Tail
from bayloft.spec.boards.template_models import TemplatesTable
from bayloft.spec.boards.templates import Templates
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import placed
from bayloft.tolerances import SEPARATE_STATIONS_MM
from bayloft.units import both

OFF_ENDS_MM = 100.0
"""mm from either end within which there is no rail to hold a gauge against: the outline itself turns round the tip
(common practice, no source)."""


def trusted_templates(table: TemplatesTable | None, length_mm: float, tail: Tail | None, reading: Reading) -> Templates:
    """Return what the templates show; a gauge beside the rail, and two at one station, are told as faults."""
    if table is None:
        return Templates()
    low = max(OFF_ENDS_MM, tail.depth_mm + OFF_ENDS_MM / 2 if tail else 0.0)
    high = length_mm - OFF_ENDS_MM
    stations: list[float] = []
    for at in placed(table.rail_gauges, ("templates", "rail_gauges"), length_mm, reading):
        path = (*at.path, *at.entry.station_keys)
        same = next((i for i, other in enumerate(stations) if abs(other - at.x_mm) <= SEPARATE_STATIONS_MM), None)
        if not low <= at.x_mm <= high:
            allowed = f"{both(low)} to {both(high)} from the tail"
            reading.fault(path, "too near an end of the board for a rail gauge", allowed=allowed)
        elif same is not None:
            first = spelled(("templates", "rail_gauges", same))
            reading.fault(path, f"repeats {first}: both are {both(at.x_mm)} from the tail", hint="keep one of the two")
        stations.append(at.x_mm)
    return Templates(
        deck_skin_mm=table.deck_skin or 0.0, sanding_mm=table.sanding or 0.0, rail_gauges_mm=tuple(sorted(stations))
    )
