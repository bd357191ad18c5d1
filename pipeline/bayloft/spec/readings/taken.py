"""Readings as trusted numbers: of the foam, in millimetres, from its tail end."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bayloft.errors import SpecError
from bayloft.spec.boards.section_models import MOST_ENTRIES
from bayloft.spec.parsing import tables_from
from bayloft.spec.readings.models import Datum, ReadingAt, ReadingsSpec
from bayloft.spec.readings.sheet import sheet_source
from bayloft.spec.text.given import Given
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.source import Source
from bayloft.spec.text.stations import line, placed
from bayloft.units import METRIC_UNITS, carried_unit

DROP_INSIDE_MM = 50.8
"""mm inside the rail at which a deck's drop is read where nothing is said: 2 in (common practice, no source)."""

KINDS = ("width", "rocker", "thickness", "rail", "drop", "concave", "roll", "vee")
"""What may be read at a station."""

OVER_THE_GLASS = {"width": 2.0, "thickness": 2.0, "rail": 1.0}
"""How many laminates a reading over the glass has more than one of the foam."""


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
    be off. `ends`: the tables of nose and tail as typed. `laminate_mm` was taken off what was measured over it.
    """

    name: str
    length_mm: float
    play_mm: float
    laminate_mm: float
    datum: Datum
    drop_inside_mm: float
    ends: Mapping[str, Any]
    of: Mapping[str, tuple[Given, ...]]
    metric: bool
    source: Source


def load_readings(path: Path) -> SheetReadings:
    """Return the readings of a file.

    Raises
    ------
    SpecError : every fault of the file.
    """
    source = sheet_source(path)
    reading, spec = tables_from(ReadingsSpec, source)
    taken = _taken(spec, reading)
    if reading.faults or taken is None:
        raise SpecError(tuple(reading.faults))
    return taken


def _taken(spec: ReadingsSpec, reading: Reading) -> SheetReadings | None:
    if spec.length is None or not spec.readings:
        return None
    laminate = _laminate_mm(spec, reading)
    found = _by_kind(spec.readings, spec.length, laminate, reading)
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
    length = reading.source.values.get("length")
    unit = spec.unit or (carried_unit(length) if isinstance(length, str) else None)
    return SheetReadings(
        name=spec.name,
        length_mm=spec.length - 2 * laminate,
        play_mm=spec.accuracy,
        laminate_mm=laminate,
        datum=spec.rocker_datum,
        drop_inside_mm=spec.drop_inside or DROP_INSIDE_MM,
        ends={
            end: {key: value for key, value in table.model_dump().items() if value is not None}
            for end, table in (("nose", spec.nose), ("tail", spec.tail))
        },
        of={kind: line(points, reading) for kind, points in found.items()},
        metric=unit in METRIC_UNITS,
        source=reading.source,
    )


def _laminate_mm(spec: ReadingsSpec, reading: Reading) -> float:
    if spec.measured == "glassed" and spec.laminate is None:
        reading.fault(("laminate",), "missing: a glassed board is thicker than its foam", hint='laminate = "1 mm"')
    if spec.measured == "foam" and spec.laminate is not None:
        reading.fault(("laminate",), "foam has no laminate", hint='measured = "glassed"')
    return spec.laminate or 0.0


def _by_kind(
    readings: Sequence[ReadingAt], length_mm: float, laminate_mm: float, reading: Reading
) -> dict[str, list[Given]]:
    """Return the readings of each kind, taken back to the foam."""
    found: dict[str, list[Given]] = {kind: [] for kind in KINDS}
    for at in placed(readings, ("readings",), length_mm, reading):
        x = min(max(at.x_mm - laminate_mm, 0.0), length_mm - 2 * laminate_mm)
        for kind in KINDS:
            value = getattr(at.entry, kind)
            if value is None:
                continue
            mm = value - OVER_THE_GLASS.get(kind, 0.0) * laminate_mm
            if mm < 0.0:
                reading.fault((*at.path, kind), "less than the laminate", mm=value)
            found[kind].append(Given(x_mm=x, value=mm, path=(*at.path, kind)))
    return found
