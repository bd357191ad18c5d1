"""Where an entry stands on a board, and several entries made into one line of numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Generic, TypeVar

from bayloft.errors import KeyPath, spelled
from bayloft.spec.text.given import Given
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.tables import STATION_KEYS, At, MaybeAt
from bayloft.tolerances import SEPARATE_STATIONS_MM
from bayloft.units import at_most, both

NOSE_AND_TAIL_MM = 304.8
"""mm from the tip at which nose and tail widths and thicknesses are measured: 12 in (common practice, no source)."""

Entry = TypeVar("Entry", bound=MaybeAt)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stationed(Generic[Entry]):
    """An entry at its station in mm from the tail end."""

    x_mm: float
    entry: Entry
    path: KeyPath


USUAL_STEP_MM = {False: 304.8, True: 300.0}
"""mm between the stations that a board is measured at where none are told: a foot, or 300 mm for who measures in mm."""

CLEAR_OF_MIDDLE_MM = 75.0
"""mm off the middle within which it stands for a station counted from an end."""


def usual_stations(length_mm: float, *, metric: bool) -> tuple[float, ...]:
    """Return the stations that a board is measured at where no others are told: every USUAL_STEP_MM from either
    end as far as the middle, and the middle; ascending, mm from the tail end.
    """
    step = USUAL_STEP_MM[metric]
    steps = [n * step for n in range(1, int((length_mm / 2.0 - CLEAR_OF_MIDDLE_MM) / step) + 1)]
    return tuple(sorted({round(x, 6) for x in (*steps, *(length_mm - each for each in steps), length_mm / 2.0)}))


def usual_stations_in_words(*, metric: bool) -> str:
    """Return in words where the usual stations are."""
    return f"{'every 300 mm' if metric else 'each foot'} from either end, and the middle"


def origins(length_mm: float) -> Mapping[str, tuple[float, int]]:
    """Return for each key of a station where it is measured from, mm from the tail end, and in which direction."""
    return {
        "from_tail": (0.0, 1),
        "from_nose": (length_mm, -1),
        "ahead_of_centre": (length_mm / 2, 1),
        "behind_centre": (length_mm / 2, -1),
    }


def nearer_end(x_mm: float, length_mm: float) -> tuple[str, float]:
    """Return the end that a station is nearer to, "tail" or "nose", and how far from it it is, mm."""
    return ("tail", x_mm) if x_mm <= length_mm / 2 else ("nose", length_mm - x_mm)


def station_mm(entry: MaybeAt, path: KeyPath, length_mm: float, reading: Reading) -> float | None:
    """Return an entry's station in mm from the tail end, or None, told as a fault, where it has none on the board.

    An entry that need not name its station stands in the middle.
    """
    if len(entry.station_keys) != 1:
        return _station_not_told(entry, path, length_mm, reading)
    key = entry.station_keys[0]
    distance: float = getattr(entry, key)
    origin, sign = origins(length_mm)[key]
    x = origin + sign * distance
    # Rounding must not push a station off the end it was measured to.
    if min(x, length_mm - x) > -SEPARATE_STATIONS_MM / 2:
        return min(max(x, 0.0), length_mm)
    reach = length_mm if key in ("from_tail", "from_nose") else length_mm / 2
    reading.fault((*path, key), "off the board", allowed=f"0 to {at_most(reach)}", mm=distance)
    return None


def _station_not_told(entry: MaybeAt, path: KeyPath, length_mm: float, reading: Reading) -> float | None:
    if entry.station_keys:
        problem = f"{' and '.join(entry.station_keys)}: one station told twice"
        reading.fault(path, problem, hint="keep one of them")
    elif not isinstance(entry, At):
        return length_mm / 2
    elif not reading.explained(path):
        reading.fault(path, "no station", allowed=f"one of {', '.join(STATION_KEYS)}", hint='from_tail = "3 ft"')
    return None


def inside(at: Stationed[Entry], length_mm: float, reading: Reading, ends: str) -> bool:
    """Whether an entry stands between the ends; at one it is a fault, and `ends` says what to write instead."""
    if SEPARATE_STATIONS_MM < at.x_mm < length_mm - SEPARATE_STATIONS_MM:
        return True
    reading.fault((*at.path, *at.entry.station_keys), "at the very end of the board", allowed=ends)
    return False


def placed(entries: Sequence[Entry], path: KeyPath, length_mm: float, reading: Reading) -> Iterator[Stationed[Entry]]:
    """Yield the entries of a list that stand on the board; the others, and those that do not say where, are faults.

    An only entry needs no station: it holds all along.
    """
    for place, entry in enumerate(entries):
        if not entry.station_keys and not isinstance(entry, At) and len(entries) > 1:
            if not reading.explained((*path, place)):
                allowed = f"one of {', '.join(STATION_KEYS)} in each, or one entry for the whole board"
                reading.fault((*path, place), f"no station, and there are {len(entries)} entries", allowed=allowed)
            continue
        x = station_mm(entry, (*path, place), length_mm, reading)
        if x is not None:
            yield Stationed(x_mm=x, entry=entry, path=(*path, place))


def clear_of_ends(
    entries: Sequence[At],
    path: KeyPath,
    length_mm: float,
    clear_mm: tuple[float, float],
    what: str,
    reading: Reading,
) -> list[float]:
    """Return the stations of a list in mm from the tail end, ascending; one outside `clear_mm`, where there is no rail
    for `what`, and two that are one, are told as faults.
    """
    low, high = clear_mm
    stations: list[float] = []
    for at in placed(entries, path, length_mm, reading):
        own = (*at.path, *at.entry.station_keys)
        same = next((i for i, other in enumerate(stations) if abs(other - at.x_mm) <= SEPARATE_STATIONS_MM), None)
        if not low <= at.x_mm <= high:
            allowed = f"{both(low)} to {both(high)} from the tail"
            reading.fault(own, f"too near an end of the board for {what}", allowed=allowed)
        elif same is not None:
            first = spelled((*path, same))
            reading.fault(own, f"repeats {first}: both are {both(at.x_mm)} from the tail", hint="keep one of the two")
        stations.append(at.x_mm)
    return sorted(stations)


def line(points: Sequence[Given], reading: Reading, said: Callable[[float], str] = both) -> tuple[Given, ...]:
    """Return the numbers of one line sorted by station; two for the same station are a fault of the later one."""
    ordered = sorted(points, key=lambda point: point.x_mm)
    for one, other in pairwise(ordered):
        if other.x_mm - one.x_mm <= SEPARATE_STATIONS_MM:
            first, second = sorted((one, other), key=points.index)
            what = "repeats" if first.value == second.value else f"contradicts the {said(first.value)} of"
            problem = f"{what} {spelled(first.path)}: both are {both(first.x_mm)} from the tail"
            mm = second.value if said is both else None
            reading.fault(second.path, problem, hint="keep one of the two", mm=mm)
    return tuple(ordered)
