"""How far one shape's surface stands out over another's: figures over all of it, and a map of deck and bottom."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from bayloft.solid.compared import ComparedShape
from bayloft.solid.even_places import even_places
from bayloft.solid.slicing import heights

Array = NDArray[np.float64]

PLACES, BACK_PLACES = 20_000, 5_000
"""Places at which a surface is held against the other; and the other against it, which is told by its greatest."""
MOST_OF = 0.95
MAP_STATIONS, MAP_ROWS = 161, 15
"""Stations of the map, and places at each from the stringer to the rail."""
RAIL_SHARE = 0.999
"""Of the half width, where the map ends: at the apex a section is upright."""
THIRDS = ("tail", "middle", "nose")

Side = Literal["deck", "bottom"]
SIDES: tuple[Side, ...] = ("deck", "bottom")


@dataclass(frozen=True, slots=True, kw_only=True)
class ApartPlace:
    """A place of a surface, in the other shape's axes, and how far it stands out there, in mm."""

    x_mm: float
    y_mm: float
    z_mm: float
    out_mm: float
    side: Side


@dataclass(frozen=True, slots=True, kw_only=True)
class ApartPart:
    """A third of deck or bottom: the mean over its places, and the least and the greatest, in mm."""

    side: Side
    third: str
    mean_mm: float
    least_mm: float
    greatest_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SideMap:
    """A map of deck or bottom of one half, in plan, in the other shape's axes: x and y (n, m) in mm, and how far it
    stands out (n, m).
    """

    side: Side
    x_mm: Array
    y_mm: Array
    out_mm: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Apart:
    """How far a shape B stands out over A (below it where negative), in mm: over places taken evenly by B's area; the
    magnitude that 95 % of them keep within, and 95 % of those alongside A, between its ends; by parts; where most and
    least; how far A's surface stands out over B's at most, and lies under it, from A's places. `maps` draw it.
    """

    places: int
    least: ApartPlace
    greatest: ApartPlace
    mean_mm: float
    mean_magnitude_mm: float
    most_of_mm: float
    most_alongside_mm: float
    parts: tuple[ApartPart, ...]
    back_least_mm: float
    back_greatest_mm: float
    maps: tuple[SideMap, ...]


def apart(a: ComparedShape, b: ComparedShape, shift_mm: float) -> Apart:
    """Return how far B's surface, moved along by `shift_mm`, stands out over A's.

    Raises TangledMeshError as `ComparedShape.signed_mm`.
    """
    moved = np.array([shift_mm, 0.0, 0.0])
    places = even_places(b.mesh, PLACES)
    points = b.settled(places.points) + moved
    out = a.signed_mm(points)
    x, length = points[:, 0], a.length_mm
    third = np.clip((3.0 * x / length).astype(np.int64), 0, 2)
    parts = []
    for side in SIDES:
        for n, name in enumerate(THIRDS):
            own = out[(places.upward == (side == "deck")) & (third == n)]
            if len(own):
                parts.append(
                    ApartPart(
                        side=side,
                        third=name,
                        mean_mm=float(own.mean()),
                        least_mm=float(own.min()),
                        greatest_mm=float(own.max()),
                    )
                )

    def place(n: int) -> ApartPlace:
        at = points[n].tolist()
        side: Side = "deck" if places.upward[n] else "bottom"
        return ApartPlace(x_mm=at[0], y_mm=at[1], z_mm=at[2], out_mm=float(out[n]), side=side)

    back = b.signed_mm(a.settled(even_places(a.mesh, BACK_PLACES).points) - moved)
    alongside = np.abs(out[(x >= 0.0) & (x <= length)])
    return Apart(
        places=PLACES,
        least=place(int(np.argmin(out))),
        greatest=place(int(np.argmax(out))),
        mean_mm=float(out.mean()),
        mean_magnitude_mm=float(np.abs(out).mean()),
        most_of_mm=_most_of(np.abs(out)),
        most_alongside_mm=_most_of(alongside if len(alongside) else np.abs(out)),
        parts=tuple(parts),
        back_least_mm=float(back.min()),
        back_greatest_mm=float(back.max()),
        maps=_maps(a, b, moved),
    )


def _most_of(magnitudes: Array) -> float:
    """Return what MOST_OF of the magnitudes keep within."""
    return float(np.sort(magnitudes)[int(np.ceil(MOST_OF * len(magnitudes))) - 1])


def _maps(a: ComparedShape, b: ComparedShape, moved: Array) -> tuple[SideMap, ...]:
    """Return the map: at each station of B, places from the stringer, or from a notch, to the rail."""
    turn = (1.0 - np.cos(np.pi * (np.arange(MAP_STATIONS) + 0.5) / MAP_STATIONS)) / 2.0
    stations = turn * b.length_mm
    # Crowded to the rail, where deck and bottom turn away.
    row = np.arange(MAP_ROWS) / (MAP_ROWS - 1)
    shares = RAIL_SHARE * row * (2.0 - row)
    lines = b.lines_at(stations)
    found = {side: np.full((2, MAP_STATIONS, MAP_ROWS, 3), np.nan) for side in SIDES}
    for n, station in enumerate(stations.tolist()):
        cut = b.slices.at(station)
        for half, (reach, sign) in enumerate(((lines.port_mm[n], 1.0), (lines.starboard_mm[n], -1.0))):
            y = sign * (reach[0] + (reach[1] - reach[0]) * shares)
            # At the stringer, and at a notch, a hair inside: what lies on neither side has no height.
            y[0] += sign * 1e-6 * (reach[1] - reach[0])
            low, high = heights(cut, y)
            for side, z in zip(SIDES, (high, low), strict=True):
                found[side][half, n] = np.column_stack([np.full(MAP_ROWS, station), y, z])
    maps = []
    for side in SIDES:
        for half in (0, 1):
            points = found[side][half] + moved
            there = np.isfinite(points).all(axis=-1)
            out = np.full(points.shape[:2], np.nan)
            out[there] = a.signed_mm(points[there])
            maps.append(SideMap(side=side, x_mm=points[..., 0], y_mm=points[..., 1], out_mm=out))
    return tuple(maps)
