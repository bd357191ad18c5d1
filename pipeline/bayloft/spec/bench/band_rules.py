"""A board's `[bands]` table to trusted values."""

from __future__ import annotations

from itertools import pairwise

from bayloft.spec.bench.band_models import APART_DEG, BandsTable
from bayloft.spec.bench.bands import Bands, Flats
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import clear_of_ends, usual_stations, usual_stations_in_words

USUAL_SOLE_MM = {True: 300.0, False: 304.8}
"""The stiff sole of a plane or a sanding block, for a board told in mm and one in inches (common practice, no source).
"""


def trusted_bands(
    table: BandsTable | None, length_mm: float, clear_mm: tuple[float, float], reading: Reading, *, metric: bool
) -> Bands | None:
    """Return the rail bands, None where there are to be none; `clear_mm`: from where to where there is a rail;
    metric: whether the board is told in mm.

    Told as faults are flats that do not each slope more than the one before, stations beside the rail, and two that
    are one.
    """
    if table is None:
        return None
    faces: dict[str, Flats] = {}
    for face in ("deck", "bottom"):
        flats: Flats | None = getattr(table, face)
        faces[face] = () if flats is None or flats == 0 else flats
        if not isinstance(flats, tuple):
            continue
        for place, (inner, outer) in enumerate(pairwise(flats), 1):
            if outer - inner < APART_DEG:
                least = f"{plain(inner + APART_DEG)} degrees or more: each flat slopes more than the one inside it"
                reading.fault(("bands", face, place), "too near the slope of the flat inside it", allowed=least)
    if not any(faces.values()) and not reading.explained(("bands",)):
        reading.fault(("bands",), "no flat on deck or bottom", hint='deck = ["20 deg", "45 deg"]')
    path = ("bands", "stations")
    stations = tuple(clear_of_ends(table.stations, path, length_mm, clear_mm, "a rail band", reading))
    if not table.stations:
        low, high = clear_mm
        stations = tuple(x for x in usual_stations(length_mm, metric=metric) if low <= x <= high)
        reading.assume(path, usual_stations_in_words(metric=metric), "common practice, no source")
    sole = table.sole
    if sole is None:
        sole = reading.assume_mm(("bands", "sole"), USUAL_SOLE_MM[metric], "a plane's or a sanding block's")
    return Bands(deck=faces["deck"], bottom=faces["bottom"], stations_mm=stations, sole_mm=sole)
