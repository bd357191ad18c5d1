"""The board's long lines: outline, tail, nose, rocker and thickness, from their tables to trusted numbers.

Each function returns the trusted part of a board and tells what contradicts the rest as faults; after a fault its
result is good enough to look for more of them, and for nothing else.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from bayloft.errors import KeyPath
from bayloft.spec.boards.board import Nose, Tail
from bayloft.spec.boards.ends import NOSES, TAILS, EndKind
from bayloft.spec.boards.models import EndTable, OutlineTable, RockerTable, ThicknessTable
from bayloft.spec.text.given import Given
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import NOSE_AND_TAIL_MM, Stationed, inside, line, placed, station_mm
from bayloft.spec.text.tables import At
from bayloft.units import at_most, both


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
    if x is None or not inside(Stationed(x_mm=x, entry=entry, path=path), length_mm, reading, "between the ends"):
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


def trusted_nose(table: EndTable, reading: Reading) -> Nose:
    """Return the nose."""
    return Nose(kind=table.kind, tip_radius_mm=_tip_radius(table, "nose", NOSES[table.kind], reading))


def _tip_radius(table: EndTable, end: str, row: EndKind, reading: Reading) -> float | None:
    radius = table.number("tip_radius")
    if radius is None and row.tip_radius_mm is not None:
        return reading.assume_mm((end, "tip_radius"), row.tip_radius_mm, f"usual for a {row.kind} {end}")
    return radius


def trusted_tail(table: EndTable, reading: Reading) -> Tail:
    """Return the tail, what it leaves out assumed."""
    row, block = TAILS[table.kind], table.number("block")
    if row.curve is None or block is None:
        return Tail(kind=row.kind, tip_radius_mm=_tip_radius(table, "tail", row, reading))
    return Tail(
        kind=row.kind,
        block_mm=block,
        depth_mm=_depth_mm(table, row, block, reading),
        corner_radius_mm=_corner_mm(table, row, block, reading),
    )


def _depth_mm(table: EndTable, row: EndKind, block_mm: float, reading: Reading) -> float:
    depth = table.number("depth")
    if depth is None:
        return _share("depth", row.depth_share, row, block_mm, reading)
    if row.most_depth_share is not None and depth > row.most_depth_share * block_mm:
        most = row.most_depth_share * block_mm
        allowed = f"at most {row.most_depth_share:g} of the block, {at_most(most)}"
        reading.fault(("tail", "depth"), f"too deep for a {row.kind} tail of this block", allowed=allowed, mm=depth)
    return depth


def _corner_mm(table: EndTable, row: EndKind, block_mm: float, reading: Reading) -> float:
    corner = table.number("corner_radius")
    if corner is None:
        return _share("corner_radius", row.corner_share, row, block_mm, reading)
    if corner > block_mm / 2:
        allowed = f"at most half the block, {at_most(block_mm / 2)}"
        reading.fault(("tail", "corner_radius"), "rounder than the block is wide", allowed=allowed, mm=corner)
    return corner


def _share(key: str, share: float | None, row: EndKind, block_mm: float, reading: Reading) -> float:
    """Return what is usual of a cut-off tail's key, as a share of its block; 0 where its kind has no such key."""
    if share is None:
        return 0.0
    reason = f"{share:.3g} of the block, usual for a {row.kind} tail" if share else "sharp corners"
    return reading.assume_mm(("tail", key), share * block_mm, reason)


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
    corner_x = tail.corner_x_mm
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
