"""Readings as trusted numbers: of the foam, in millimetres, from its tail end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from bayloft.errors import SpecError
from bayloft.spec.boards.section_models import MOST_ENTRIES
from bayloft.spec.fins.layup import USUAL
from bayloft.spec.parsing import tables_from
from bayloft.spec.readings.models import Datum, ReadingAt, ReadingsSpec
from bayloft.spec.readings.texts import metric_unit
from bayloft.spec.text.given import Given
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.source import Source
from bayloft.spec.text.stations import line, placed

DROP_INSIDE_MM = 50.8
"""mm inside the rail at which a deck's drop is read where nothing is said: 2 in (common practice, no source)."""

KINDS = ("width", "rocker", "thickness", "rail", "drop", "concave", "roll", "vee")
"""What may be read at a station."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Glass:
    """What a glassed board has over its foam, mm: on deck, bottom and rails, which the cloths of both go round."""

    deck_mm: float = 0.0
    bottom_mm: float = 0.0
    rail_mm: float = 0.0

    def over(self, kind: str) -> float:
        """Return by how much a reading of a kind over the glass is more than one of the foam."""
        more = {"width": 2.0 * self.rail_mm, "thickness": self.deck_mm + self.bottom_mm, "rail": self.bottom_mm}
        return more.get(kind, 0.0)


NO_GLASS = Glass()

LEAST, ENOUGH = (
    3,
    {
        "width": "the outline needs one to either side of the widest, and one near it",
        "rocker": "the rocker needs one near either end, and one between",
        "thickness": "the foil needs one near either end, and one between",
    },
)
"""How many readings a line needs at least, and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetReadings:
    """What was taken off a board: of each kind the readings sorted by station, mm of the foam; `play_mm` what each may
    be off. `ends`: the tables of nose and tail as typed. `glass` was taken off what was measured over it.
    """

    name: str
    length_mm: float
    play_mm: float
    glass: Glass
    datum: Datum
    drop_inside_mm: float
    ends: Mapping[str, Any]
    of: Mapping[str, tuple[Given, ...]]
    metric: bool
    source: Source


def load_readings(source: Source) -> SheetReadings:
    """Return the readings of a board's sheet. Raises SpecError with every fault of it."""
    reading, spec = tables_from(ReadingsSpec, source)
    taken = _taken(spec, reading)
    if reading.faults or taken is None:
        raise SpecError(tuple(reading.faults))
    return taken


def _taken(spec: ReadingsSpec, reading: Reading) -> SheetReadings | None:
    if spec.length is None or not spec.readings:
        return None
    glass = _glass(spec, reading)
    found = _by_kind(spec.readings, spec.length, glass, reading)
    whole = not reading.explained(("readings",))
    for kind, why in ENOUGH.items():
        if whole and not LEAST <= len(found[kind]) <= MOST_ENTRIES:
            allowed = f"{LEAST} to {MOST_ENTRIES}"
            reading.fault(("readings",), f"{len(found[kind])} readings of {kind}: {why}", allowed=allowed)
    if spec.rocker_datum is None:
        hint = 'rocker_datum = "lowest", "centre" or "tail and nose"'
        reading.fault(("rocker_datum",), "missing: what the rocker was read from", hint=hint)
    if not (spec.name and spec.accuracy and spec.nose and spec.tail and spec.rocker_datum):
        return None
    return SheetReadings(
        name=spec.name,
        length_mm=spec.length - 2 * glass.rail_mm,
        play_mm=spec.accuracy,
        glass=glass,
        datum=spec.rocker_datum,
        drop_inside_mm=spec.drop_inside or DROP_INSIDE_MM,
        ends={
            end: {key: value for key, value in table.model_dump().items() if value is not None}
            for end, table in (("nose", spec.nose), ("tail", spec.tail))
        },
        of={kind: line(points, reading) for kind, points in found.items()},
        metric=metric_unit(reading.source),
        source=reading.source,
    )


def _glass(spec: ReadingsSpec, reading: Reading) -> Glass:
    if spec.measured == "foam":
        for key in ("laminate", "cloths"):
            if getattr(spec, key) is not None:
                reading.fault((key,), "foam has no laminate", hint='measured = "glassed"')
        return NO_GLASS
    if spec.laminate is not None:
        if spec.cloths is not None:
            reading.fault(("cloths",), "both these and `laminate` say how thick the glass is", hint="keep one of them")
        return Glass(deck_mm=spec.laminate, bottom_mm=spec.laminate, rail_mm=spec.laminate)
    if spec.cloths is None:
        hint = 'laminate = "1 mm", or its cloths: cloths = { deck = "6 oz + 4 oz", bottom = "6 oz" }'
        if not reading.explained(("cloths",)):
            reading.fault(("laminate",), "missing: a glassed board is thicker than its foam", hint=hint)
        return NO_GLASS
    share = spec.cloths.fibre_share or USUAL.fibre_share
    deck, bottom = (
        sum(replace(USUAL, cloth_g_m2=cloth, fibre_share=share).ply_mm for cloth in cloths)
        for cloths in (spec.cloths.deck, spec.cloths.bottom)
    )
    return Glass(deck_mm=deck, bottom_mm=bottom, rail_mm=deck + bottom)


def _by_kind(readings: Sequence[ReadingAt], length_mm: float, glass: Glass, reading: Reading) -> dict[str, list[Given]]:
    """Return the readings of each kind, taken back to the foam."""
    found: dict[str, list[Given]] = {kind: [] for kind in KINDS}
    for at in placed(readings, ("readings",), length_mm, reading):
        x = min(max(at.x_mm - glass.rail_mm, 0.0), length_mm - 2 * glass.rail_mm)
        for kind in KINDS:
            value = getattr(at.entry, kind)
            if value is None:
                continue
            mm = value - glass.over(kind)
            if mm < 0.0:
                reading.fault((*at.path, kind), "less than the laminate", mm=value)
            found[kind].append(Given(x_mm=x, value=mm, path=(*at.path, kind)))
    return found
