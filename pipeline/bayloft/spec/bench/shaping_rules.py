"""A board's `[shaping]` table to trusted values."""

from __future__ import annotations

from bayloft.errors import spelled
from bayloft.spec.bench.shaping import Shaping
from bayloft.spec.bench.shaping_models import ShapingTable
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import inside, placed, usual_stations, usual_stations_in_words
from bayloft.tolerances import SEPARATE_STATIONS_MM
from bayloft.units import both


def trusted_shaping(table: ShapingTable | None, length_mm: float, reading: Reading, *, metric: bool) -> Shaping | None:
    """Return what the shaping cards tell, None where there are to be none; a station at the very end of the board, and
    two that are one, are told as faults.
    """
    if table is None:
        return None
    path = ("shaping", "stations")
    if not table.stations:
        stations = usual_stations(length_mm, metric=metric)
        reading.assume(path, usual_stations_in_words(metric=metric), "common practice, no source")
        return Shaping(stations_mm=stations, pass_mm=table.pass_depth)
    found: list[float] = []
    for at in placed(table.stations, path, length_mm, reading):
        same = next((i for i, other in enumerate(found) if abs(other - at.x_mm) <= SEPARATE_STATIONS_MM), None)
        if inside(at, length_mm, reading, "off both ends: tail and nose are on the drawing") and same is not None:
            problem = f"repeats {spelled((*path, same))}: both are {both(at.x_mm)} from the tail"
            reading.fault((*at.path, *at.entry.station_keys), problem, hint="keep one of the two")
        found.append(at.x_mm)
    return Shaping(stations_mm=tuple(sorted(found)), pass_mm=table.pass_depth)
