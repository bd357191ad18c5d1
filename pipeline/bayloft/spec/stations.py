"""Where an entry stands on a board, and several entries made into one line of numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Generic, TypeVar

from bayloft.errors import KeyPath, spelled
from bayloft.spec.given import Given
from bayloft.spec.measures import tape
from bayloft.spec.reading import Reading
from bayloft.spec.tables import MaybeAt
from bayloft.tolerances import SEPARATE_STATIONS_MM

NOSE_AND_TAIL_MM = 304.8
"""mm from the tip at which nose and tail widths and thicknesses are measured: 12 in, the trade's habit."""

Entry = TypeVar("Entry", bound=MaybeAt)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed(Generic[Entry]):
    """An entry at its station in mm from the tail end."""

    x_mm: float
    entry: Entry
    path: KeyPath


def station_mm(entry: MaybeAt, path: KeyPath, length_mm: float, reading: Reading) -> float | None:
    """Return an entry's station in mm from the tail end, or None, told as a fault, where it is not on the board.

    An entry without a station stands in the middle.
    """
    if not entry.station_keys:
        return length_mm / 2
    key = entry.station_keys[0]
    distance: float = getattr(entry, key)
    origin, sign = {
        "from_tail": (0.0, 1),
        "from_nose": (length_mm, -1),
        "ahead_of_centre": (length_mm / 2, 1),
        "behind_centre": (length_mm / 2, -1),
    }[key]
    x = origin + sign * distance
    # Rounding must not push a station off the end it was measured to.
    if -SEPARATE_STATIONS_MM / 2 < min(x, length_mm - x):
        return min(max(x, 0.0), length_mm)
    reach = length_mm if key in ("from_tail", "from_nose") else length_mm / 2
    reading.fault((*path, key), "off the board", allowed=f"0 to {tape(reach)}", mm=distance)
    return None


def inside(placed: Placed[Entry], length_mm: float, reading: Reading, ends: str) -> bool:
    """Whether an entry stands between the ends; told as a fault where it stands at one; `ends` says what to use there."""
    if SEPARATE_STATIONS_MM < placed.x_mm < length_mm - SEPARATE_STATIONS_MM:
        return True
    reading.fault((*placed.path, *placed.entry.station_keys), "at the very end of the board", allowed=ends)
    return False


def placed(
    entries: Sequence[Entry], path: KeyPath, length_mm: float, reading: Reading
) -> Iterator[Placed[Entry]]:
    """Yield the entries of a list that stand on the board; the others, and those that do not say where, are faults.

    An only entry needs no station: it holds all along.
    """
    for place, entry in enumerate(entries):
        if not entry.station_keys and len(entries) > 1:
            allowed = "from_tail, from_nose, ahead_of_centre or behind_centre in each, or one entry for the whole board"
            reading.fault((*path, place), f"no station, and there are {len(entries)} entries", allowed=allowed)
            continue
        x = station_mm(entry, (*path, place), length_mm, reading)
        if x is not None:
            yield Placed(x_mm=x, entry=entry, path=(*path, place))


def line(points: Iterable[Given], reading: Reading, said: Callable[[float], str] = tape) -> tuple[Given, ...]:
    """Return the numbers of one line sorted by station; two for the same station are a fault of the later one."""
    order = {point.path: place for place, point in enumerate(points := list(points))}
    ordered = sorted(points, key=lambda point: point.x_mm)
    for one, other in pairwise(ordered):
        if other.x_mm - one.x_mm <= SEPARATE_STATIONS_MM:
            first, second = sorted((one, other), key=lambda point: order[point.path])
            where = f"the station {tape(first.x_mm)} from the tail"
            if first.value == second.value:
                problem = f"repeats {spelled(first.path)} at {where}"
            else:
                problem = f"contradicts {spelled(first.path)}, which says {said(first.value)} at {where}"
            reading.fault(second.path, problem, hint="keep one of the two")
    return tuple(ordered)
