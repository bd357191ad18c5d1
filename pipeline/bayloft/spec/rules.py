"""The board's long lines: outline, tail, nose, rocker and thickness, from their tables to trusted numbers.

Each function returns the trusted part of a board and tells what contradicts the rest as faults; after a fault its
result is good enough to look for more of them, and for nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from bayloft.errors import KeyPath
from bayloft.spec.board import Nose, Tail
from bayloft.spec.given import Given
from bayloft.spec.models import (
    ClosedTail,
    NoseTable,
    OutlineTable,
    RockerTable,
    SquareTail,
    SquashTail,
    SwallowTail,
    ThicknessTable,
)
from bayloft.spec.reading import Reading
from bayloft.spec.stations import NOSE_AND_TAIL_MM, Placed, inside, line, placed, station_mm
from bayloft.spec.tables import At
from bayloft.units import at_most, both

POINTED_NOSE_RADIUS_MM = 5.0
"""mm. As sharp as cloth can be laid round. Common practice, no source."""
TAIL_RADIUS_MM = {"pin": 6.0, "thumb": 35.0}
"""mm. Common practice, no source; a round tail takes its radius from the fairest outline."""
SQUASH_DEPTH_SHARE = 1 / 8
SQUASH_CORNER_SHARE = 0.08
DIAMOND_DEPTH_SHARE = 0.45
SWALLOW_DEPTH_SHARE = 1 / 2
"""Shares of the block that a cut-off tail takes where nothing is given. Common practice, no source."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Widths:
    """The outline's numbers: full widths without the wide point, sorted, and the wide point; mm."""

    widths: tuple[Given, ...]
    wide_point: Given

    def most_at(self, x_mm: float) -> float:
        """Return a width the board does not exceed near a station: the greater of the given ones around it."""
        points = sorted((*self.widths, self.wide_point), key=lambda point: point.x_mm)
        before = [point.value for point in points if point.x_mm <= x_mm][-1:]
        after = [point.value for point in points if point.x_mm >= x_mm][:1]
        return max(before + after)


def outline_widths(table: OutlineTable, length_mm: float, reading: Reading) -> Widths | None:
    """Return the outline's numbers; None where the wide point is not on the board."""
    ends = "nose and tail say how the board ends"
    points = [
        Given(x_mm=entry.x_mm, value=entry.entry.width, path=(*entry.path, "width"))
        for entry in placed(table.widths, ("outline", "widths"), length_mm, reading)
        if inside(entry, length_mm, reading, ends)
    ]
    for key, at, value in (
        ("tail_width", NOSE_AND_TAIL_MM, table.tail_width),
        ("nose_width", length_mm - NOSE_AND_TAIL_MM, table.nose_width),
    ):
        if value is not None:
            points.insert(0, Given(x_mm=at, value=value, path=("outline", key)))
    path = ("outline", "wide_point")
    x = _between_ends(table.wide_point, path, length_mm, reading)
    if x is None:
        return None
    wide = Given(x_mm=x, value=table.wide_point.width, path=(*path, "width"))
    _told_both_sides(points, x, reading)
    for point in points:
        if point.value > wide.value:
            reading.fault(
                point.path, "wider than the wide point", allowed=f"at most {at_most(wide.value)}", mm=point.value
            )
    widths = tuple(point for point in line([wide, *points], reading) if point is not wide)
    return Widths(widths=widths, wide_point=wide)


def _between_ends(entry: At, path: KeyPath, length_mm: float, reading: Reading) -> float | None:
    x = station_mm(entry, path, length_mm, reading)
    if x is None or not inside(Placed(x_mm=x, entry=entry, path=path), length_mm, reading, "between the ends"):
        return None
    return x


def _told_both_sides(points: list[Given], wide_x_mm: float, reading: Reading) -> None:
    """Tell of an outline without a width between the wide point and one of the ends."""
    if reading.explained(("outline", "widths")):
        return
    if not any(point.x_mm > wide_x_mm for point in points):
        _no_width("nose_width", "nose", reading)
    if not any(point.x_mm < wide_x_mm for point in points):
        _no_width("tail_width", "tail", reading)


def _no_width(key: str, end: str, reading: Reading) -> None:
    path = ("outline", key)
    if reading.source.typed(path) is None:
        reading.missing(path)
    elif not reading.explained(path):
        problem = f"not between the wide point and the {end}, so no width is given there"
        reading.fault(path, problem, hint="move the wide point, or add to widths")


def trusted_nose(table: NoseTable, reading: Reading) -> Nose:
    """Return the nose."""
    radius = table.tip_radius
    if radius is None and table.kind == "pointed":
        reason = "a pointed nose is rounded enough to take cloth"
        radius = reading.assume_mm(("nose", "tip_radius"), POINTED_NOSE_RADIUS_MM, reason)
    return Nose(kind=table.kind, tip_radius_mm=radius)


def trusted_tail(table: ClosedTail | SquareTail | SquashTail | SwallowTail, reading: Reading) -> Tail:
    """Return the tail, what it leaves out assumed."""
    if isinstance(table, ClosedTail):
        radius = table.tip_radius
        if radius is None and table.kind != "round":
            reason = f"usual for a {table.kind} tail"
            radius = reading.assume_mm(("tail", "tip_radius"), TAIL_RADIUS_MM[table.kind], reason)
        return Tail(kind=table.kind, tip_radius_mm=radius)
    depth, corner = 0.0, 0.0
    if isinstance(table, SquashTail | SwallowTail):
        share = {
            "squash": SQUASH_DEPTH_SHARE,
            "diamond": DIAMOND_DEPTH_SHARE,
            "swallow": SWALLOW_DEPTH_SHARE,
        }[table.kind]
        reason = f"{share:g} of the block, usual for a {table.kind} tail"
        depth = table.depth or reading.assume_mm(("tail", "depth"), share * table.block, reason)
    if isinstance(table, SquareTail | SquashTail):
        corner = _corner_mm(table, reading)
    return Tail(kind=table.kind, block_mm=table.block, depth_mm=depth, corner_radius_mm=corner)


def _corner_mm(table: SquareTail | SquashTail, reading: Reading) -> float:
    path = ("tail", "corner_radius")
    if table.corner_radius is not None:
        if table.corner_radius > table.block / 2:
            allowed = f"at most half the block, {at_most(table.block / 2)}"
            reading.fault(path, "rounder than the block is wide", allowed=allowed, mm=table.corner_radius)
        return table.corner_radius
    if table.kind == "squash":
        reason = f"{SQUASH_CORNER_SHARE:g} of the block, usual for a squash tail"
        return reading.assume_mm(path, SQUASH_CORNER_SHARE * table.block, reason)
    return reading.assume_mm(path, 0.0, "sharp corners")


def tail_on_outline(tail: Tail, outline: Widths, reading: Reading) -> None:
    """Tell of a cut-off tail that does not go with the widths."""
    wide = outline.wide_point
    if not tail.cut_off:
        return
    if tail.block_mm >= wide.value:
        allowed = f"less than the wide point's {both(wide.value)}"
        reading.fault(("tail", "block"), "wider than the board", allowed=allowed, mm=tail.block_mm)
    if tail.depth_mm >= wide.x_mm:
        allowed = f"less than the {both(wide.x_mm)} from tail end to wide point"
        reading.fault(("tail", "depth"), "reaches the wide point", allowed=allowed, mm=tail.depth_mm)
    # Squash and diamond end their outline at the corners, ahead of the tail end; square and swallow at the tail end.
    corner_x = tail.depth_mm if tail.kind in ("squash", "diamond") else 0.0
    for point in outline.widths:
        if point.x_mm <= corner_x:
            problem = f"aft of the tail's corners, which lie {both(corner_x)} from the tail"
            reading.fault(point.path, problem, hint="tail.block is the width there", mm=point.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """The rocker's numbers: heights sorted by station, ends included; the station of the lowest point or None; mm."""

    heights: tuple[Given, ...]
    lowest_x_mm: float | None


def rocker_heights(table: RockerTable, length_mm: float, reading: Reading) -> Heights:
    """Return the rocker's numbers."""
    points = [
        Given(x_mm=0.0, value=table.tail, path=("rocker", "tail")),
        Given(x_mm=length_mm, value=table.nose, path=("rocker", "nose")),
    ]
    lowest: Given | None = None
    if table.lowest is not None:
        path = ("rocker", "lowest")
        x = _between_ends(table.lowest, path, length_mm, reading)
        if x is not None:
            lowest = Given(x_mm=x, value=0.0, path=path)
            points.append(lowest)
    points += [
        Given(x_mm=entry.x_mm, value=entry.entry.height, path=(*entry.path, "height"))
        for entry in placed(table.heights, ("rocker", "heights"), length_mm, reading)
    ]
    ordered = line(points, reading)
    _rises_to_both_ends(ordered, lowest, reading)
    heights = tuple(point for point in ordered if point is not lowest)
    return Heights(heights=heights, lowest_x_mm=None if lowest is None else lowest.x_mm)


def _rises_to_both_ends(points: tuple[Given, ...], lowest: Given | None, reading: Reading) -> None:
    """Tell of a height that is less than the one next to it on the way from the lowest point to an end."""
    bottom = points.index(lowest or min(points, key=lambda point: point.value))
    for side, end in ((points[bottom:], "nose"), (points[bottom::-1], "tail")):
        for inner, outer in pairwise(side):
            if outer.value < inner.value:
                problem = f"higher than {both(outer.value)} further towards the {end}: the bottom would bend down again"
                reading.fault(inner.path, problem, mm=inner.value)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thicknesses:
    """The foil's numbers: thicknesses without the greatest, sorted; the greatest; the very ends or None; mm."""

    thicknesses: tuple[Given, ...]
    thickest: Given
    nose_tip_mm: float | None
    tail_end_mm: float | None


def board_thicknesses(table: ThicknessTable, length_mm: float, reading: Reading) -> Thicknesses | None:
    """Return the foil's numbers; None where the thickest point is not on the board."""
    points = [
        Given(x_mm=NOSE_AND_TAIL_MM, value=table.tail, path=("thickness", "tail")),
        Given(x_mm=length_mm - NOSE_AND_TAIL_MM, value=table.nose, path=("thickness", "nose")),
    ]
    points += [
        Given(x_mm=entry.x_mm, value=entry.entry.thickness, path=(*entry.path, "thickness"))
        for entry in placed(table.thicknesses, ("thickness", "thicknesses"), length_mm, reading)
        if inside(entry, length_mm, reading, "nose_tip and tail_end say how thick the ends are")
    ]
    path = ("thickness", "thickest")
    x = _between_ends(table.thickest, path, length_mm, reading)
    if x is None:
        return None
    thickest = Given(x_mm=x, value=table.thickest.thickness, path=(*path, "thickness"))
    ends = [(("thickness", key), getattr(table, key)) for key in ("nose_tip", "tail_end")]
    for point_path, mm in [*((point.path, point.value) for point in points), *ends]:
        if mm is not None and mm > thickest.value:
            allowed = f"at most {at_most(thickest.value)}"
            reading.fault(point_path, "thicker than the thickest point", allowed=allowed, mm=mm)
    thicknesses = tuple(point for point in line([thickest, *points], reading) if point is not thickest)
    return Thicknesses(
        thicknesses=thicknesses, thickest=thickest, nose_tip_mm=table.nose_tip, tail_end_mm=table.tail_end
    )
