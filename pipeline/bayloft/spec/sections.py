"""The board's sections: rails, crown and bottom, from their entries to one line of numbers for each quantity."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from bayloft.errors import KeyPath
from bayloft.spec.given import Given
from bayloft.spec.measures import plain
from bayloft.spec.models import BottomAt, CrownAt, RailAt
from bayloft.spec.reading import Reading
from bayloft.spec.rules import Thicknesses, Widths
from bayloft.spec.stations import Placed, line, placed
from bayloft.tolerances import SEPARATE_STATIONS_MM
from bayloft.units import at_most, both

USUAL_RAIL = {
    "apex": (0.4, "0.4 of the thickness"),
    "tuck": (8.0, both(8.0)),
    "edge": (0.3, "0.3, between soft and medium"),
    "fullness": (0.5, "0.5, medium"),
}
"""A rail that suits most boards, in numbers (tuck in mm) and in words. Common practice, no source."""
CROWN_SHARE = 0.1
"""Crown as a share of the thickness. Common practice, no source."""
MOST_TUCK_SHARE = 0.29
"""Tuck as a share of the half-width beyond which the rail's lower curve would reach the stringer."""
MOST_CROWN_SHARE = 0.5
"""Crown as a share of the greatest thickness beyond which no rail is left above the widest point."""
SHAPES = ("roll", "vee", "concave", "double concave")


@dataclass(frozen=True, slots=True, kw_only=True)
class Rails:
    """The rail's four lines, as in Board."""

    apex: tuple[Given, ...]
    tuck: tuple[Given, ...]
    edge: tuple[Given, ...]
    fullness: tuple[Given, ...]


def rail_lines(entries: Sequence[RailAt], length_mm: float, outline: Widths | None, reading: Reading) -> Rails:
    """Return the rail's lines; a quantity that no entry gives is one assumed number for the whole board."""
    at = list(placed(entries, ("rails",), length_mm, reading))
    for place, entry in enumerate(entries):
        if entry.apex is entry.tuck is entry.edge is entry.fullness is None and not reading.explained(("rails", place)):
            allowed = f"one or more of {', '.join(USUAL_RAIL)}"
            reading.fault(("rails", place), "says nothing about the rail", allowed=allowed)
    rails = Rails(
        apex=_rail_line("apex", at, length_mm, reading, plain),
        tuck=_rail_line("tuck", at, length_mm, reading, both),
        edge=_rail_line("edge", at, length_mm, reading, plain),
        fullness=_rail_line("fullness", at, length_mm, reading, plain),
    )
    if outline is not None:
        _tuck_on_board(rails.tuck, outline, reading)
    return rails


def _tuck_on_board(tuck: tuple[Given, ...], outline: Widths, reading: Reading) -> None:
    for point in tuck:
        most = MOST_TUCK_SHARE * outline.most_at(point.x_mm) / 2
        if point.value > most:
            allowed = f"at most {at_most(most)}, {MOST_TUCK_SHARE:g} of the half-width there"
            reading.fault(point.path, "too wide for the board at this station", allowed=allowed, mm=point.value)


def _rail_line(
    key: str, at: list[Placed[RailAt]], length_mm: float, reading: Reading, said: Callable[[float], str]
) -> tuple[Given, ...]:
    points = [
        Given(x_mm=entry.x_mm, value=getattr(entry.entry, key), path=(*entry.path, key))
        for entry in at
        if getattr(entry.entry, key) is not None
    ]
    if points:
        return line(points, reading, said)
    path: KeyPath = ("rails", 0, key)
    value, words = USUAL_RAIL[key]
    reading.assume(path, words, f"no {key} is given; a rail that suits most boards")
    return (Given(x_mm=length_mm / 2, value=value, path=path, assumed=True),)


def crown_line(
    entries: Sequence[CrownAt], length_mm: float, foil: Thicknesses | None, reading: Reading
) -> tuple[Given, ...]:
    """Return the deck's crown; where none is given, a tenth of the thickness at the stations every board has."""
    points = [
        Given(x_mm=entry.x_mm, value=entry.entry.drop, path=(*entry.path, "drop"))
        for entry in placed(entries, ("crown",), length_mm, reading)
    ]
    if foil is None:
        return line(points, reading)
    if not entries:
        path: KeyPath = ("crown", 0, "drop")
        said = f"{both(CROWN_SHARE * foil.thickest.value)} at the thickest"
        reading.assume(path, said, f"no crown is given; {CROWN_SHARE:g} of the thickness all along")
        return tuple(
            Given(x_mm=point.x_mm, value=CROWN_SHARE * point.value, path=path, assumed=True)
            for point in sorted(foil.usual_stations, key=lambda point: point.x_mm)
        )
    most = MOST_CROWN_SHARE * foil.thickest.value
    for point in points:
        if point.value > most:
            allowed = f"at most {at_most(most)}, half the greatest thickness"
            reading.fault(point.path, "more crown than the board is thick", allowed=allowed, mm=point.value)
    return line(points, reading)


def bottom_lines(entries: Sequence[BottomAt], length_mm: float, reading: Reading) -> dict[str, tuple[Given, ...]]:
    """Return the depths of each of `SHAPES`, in mm at every station that any entry names, 0 where it names another."""
    if not entries:
        reading.assume(("bottom", 0, "shape"), "flat", "no bottom is given")
        return {
            shape: (Given(x_mm=length_mm / 2, value=0.0, path=("bottom", 0, "depth"), assumed=True),)
            for shape in SHAPES
        }
    lines: dict[str, list[Given]] = {shape: [] for shape in SHAPES}
    for group in _by_station(entries, length_mm, reading):
        told: list[str] = []
        for entry in group:
            shape = entry.entry.shape
            _told_depth(entry, reading)
            if shape in told:
                reading.fault((*entry.path, "shape"), "the same shape twice at one station", hint="keep one of the two")
            elif told and "flat" in (shape, *told):
                problem = "flat and another shape at one station"
                reading.fault((*entry.path, "shape"), problem, hint="keep one of the two")
            told.append(shape)
        for name, points in lines.items():
            own = next((entry for entry in group if entry.entry.shape == name), None)
            value = own.entry.depth or 0.0 if own else 0.0
            points.append(Given(x_mm=group[0].x_mm, value=value, path=(*(own or group[0]).path, "depth")))
    return {shape: tuple(points) for shape, points in lines.items()}


def _told_depth(entry: Placed[BottomAt], reading: Reading) -> None:
    """Tell of a flat bottom with a depth, and of any other without one."""
    shape, depth, path = entry.entry.shape, entry.entry.depth, (*entry.path, "depth")
    if shape == "flat" and depth is not None:
        reading.fault(path, "a flat bottom has no depth", hint="leave it out")
    if shape != "flat" and depth is None:
        reading.missing(path)


def _by_station(entries: Sequence[BottomAt], length_mm: float, reading: Reading) -> list[list[Placed[BottomAt]]]:
    """Return the entries in groups of one station each, sorted by station."""
    groups: list[list[Placed[BottomAt]]] = []
    for entry in sorted(placed(entries, ("bottom",), length_mm, reading), key=lambda entry: entry.x_mm):
        if groups and entry.x_mm - groups[-1][0].x_mm <= SEPARATE_STATIONS_MM:
            groups[-1].append(entry)
        else:
            groups.append([entry])
    return groups
