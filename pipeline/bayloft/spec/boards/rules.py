"""The board's long lines: outline, tail, nose, rocker and thickness, from their tables to trusted numbers.

Each function returns the trusted part of a board and tells what contradicts the rest as faults; after a fault its
result is good enough to look for more of them, and for nothing else.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bayloft.errors import KeyPath
from bayloft.spec.boards.board import TAIL_STRAIGHTNESS, Nose, Tail, Turn
from bayloft.spec.boards.ends import NOSES, TAILS, EndKind
from bayloft.spec.boards.shape_models import EndTable, OutlineTable, RockerTable, ThicknessTable, TurnAt
from bayloft.spec.text.given import Given
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import NOSE_AND_TAIL_MM, Stationed, inside, line, placed, station_mm
from bayloft.spec.text.tables import At, given_number
from bayloft.units import at_most, both

LOWEST_BEHIND = 0.03
"""Share of the length by which the lowest point lies behind the centre where nothing is said of the rocker but its ends
(common practice, no source)."""

MIDDLE_BEND = 0.8
"""Bend of such a rocker in the middle, as a share of that of the flatter of the two parabolas to its ends: what is left
it bends more towards the ends (common practice, no source)."""

USUAL_HEIGHTS_AT, USUAL_PLAY = (0.35, 0.7), 0.02
"""Shares of the way from the lowest point to an end at which such a rocker is held, and how far it may run from there,
as a share of the end's height: enough to be fair."""

FLAT_MM = 0.25
"""mm by which a stretch of the bottom that is said to be flat may leave the floor at its ends: a sheet of card."""


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


def outline_widths(
    table: OutlineTable, length_mm: float, reading: Reading, read_to_mm: float | None = None
) -> Widths | None:
    """Return the outline's numbers, read to the file's mark if to none of their own; None where the wide point is not
    on the board.
    """
    mark_mm = table.read_to or read_to_mm
    ends = "nose and tail say how the board ends"
    points = [
        entry.entry.given(entry.x_mm, entry.entry.width, (*entry.path, "width"), mark_mm)
        for entry in placed(table.widths, ("outline", "widths"), length_mm, reading)
        if inside(entry, length_mm, reading, ends)
    ]
    for key, at, value in (
        ("tail_width", NOSE_AND_TAIL_MM, table.tail_width),
        ("nose_width", length_mm - NOSE_AND_TAIL_MM, table.nose_width),
    ):
        if value is not None:
            points.insert(0, given_number(value, at, ("outline", key), mark_mm))
    path = ("outline", "wide_point")
    x = _between_ends(table.wide_point, path, length_mm, reading)
    if x is None:
        return None
    wide = table.wide_point.given(x, table.wide_point.width, (*path, "width"), mark_mm)
    # Of readings with play the line itself tells which one is wrong.
    _told_both_sides(points, x, ("outline", "widths"), ("nose_width", "tail_width"), reading)
    for point in points:
        if point.value > wide.value and not (point.play_mm and wide.play_mm):
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


def _told_both_sides(
    points: list[Given], top_x_mm: float, listed: KeyPath, feet: tuple[str, str], reading: Reading
) -> None:
    """Tell of a line without a number between its greatest and one of the ends; `feet`: the keys of the numbers a foot
    from nose and tail.
    """
    if reading.explained(listed):
        return
    nose, tail = feet
    if not any(point.x_mm > top_x_mm for point in points):
        _no_number((listed[0], nose), "nose", listed, reading)
    if not any(point.x_mm < top_x_mm for point in points):
        _no_number((listed[0], tail), "tail", listed, reading)


def _no_number(path: KeyPath, end: str, listed: KeyPath, reading: Reading) -> None:
    if reading.source.typed(path) is None:
        reading.missing(path)
    elif not reading.explained(path):
        what, top = ("width", "wide point") if listed[0] == "outline" else ("thickness", "thickest point")
        problem = f"not between the {top} and the {end}, so no {what} is given there"
        reading.fault(path, problem, hint=f"move the {top}, or add to {listed[-1]}")


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
        straightness=table.number("straightness") or TAIL_STRAIGHTNESS,
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


def trusted_turns(entries: Sequence[TurnAt], path: KeyPath, length_mm: float, reading: Reading) -> tuple[Turn, ...]:
    """Return the stretches in which a line may change its bend, sorted; each between the ends."""
    found = []
    for entry in placed(entries, path, length_mm, reading):
        half = entry.entry.over / 2
        if half < entry.x_mm < length_mm - half:
            found.append(Turn(from_mm=entry.x_mm - half, to_mm=entry.x_mm + half))
        else:
            reading.fault((*entry.path, "over"), "longer than the board is there", mm=entry.entry.over)
    return tuple(sorted(found, key=lambda turn: turn.from_mm))


def ends_of(word: str | None) -> frozenset[str]:
    """Return the ends that a key names: "nose", "tail" or "both"."""
    return frozenset(("nose", "tail") if word == "both" else (word,) if word else ())


@dataclass(frozen=True, slots=True, kw_only=True)
class Heights:
    """The rocker's numbers: heights sorted by station, ends included; the station of the lowest point or None; heights
    near which it runs where the maker gives none; mm.
    """

    heights: tuple[Given, ...]
    lowest_x_mm: float | None
    usual: tuple[Given, ...]


def rocker_heights(table: RockerTable, length_mm: float, reading: Reading, read_to_mm: float | None = None) -> Heights:
    """Return the rocker's numbers, read to the file's mark if to none of their own."""
    mark_mm = table.read_to or read_to_mm
    tail = given_number(table.tail, 0.0, ("rocker", "tail"), mark_mm)
    nose = given_number(table.nose, length_mm, ("rocker", "nose"), mark_mm)
    points = [
        entry.entry.given(entry.x_mm, entry.entry.height, (*entry.path, "height"), mark_mm)
        for entry in placed(table.heights, ("rocker", "heights"), length_mm, reading)
    ]
    lowest: Given | None = None
    path = ("rocker", "lowest")
    if table.lowest is not None:
        x = _between_ends(table.lowest, path, length_mm, reading)
        lowest = None if x is None else Given(x_mm=x, value=0.0, path=path)
    elif not points:
        behind = LOWEST_BEHIND * length_mm
        reading.assume(path, f"{both(behind)} behind the centre", "usual where nothing is said of it")
        lowest = Given(x_mm=length_mm / 2 - behind, value=0.0, path=path, assumed=True)
    usual: tuple[Given, ...] = ()
    flat = _flat(table.flat, lowest.x_mm, length_mm, reading) if lowest and table.flat is not None else []
    if lowest is not None and not points and bool(flat) == (table.flat is not None):
        usual = _usual_heights(tail, nose, lowest.x_mm, (table.flat or 0.0) / 2, reading)
    points += flat
    ordered = line([tail, nose, *([lowest] if lowest else []), *points], reading)
    return Heights(
        heights=tuple(point for point in ordered if point is not lowest),
        lowest_x_mm=None if lowest is None else lowest.x_mm,
        usual=usual,
    )


def _flat(flat_mm: float, lowest_x_mm: float, length_mm: float, reading: Reading) -> list[Given]:
    """Return the ends of the stretch that lies flat on the floor."""
    path = ("rocker", "flat")
    ends = lowest_x_mm - flat_mm / 2, lowest_x_mm + flat_mm / 2
    if min(ends[0], length_mm - ends[1]) < NOSE_AND_TAIL_MM:
        most = 2 * max(min(lowest_x_mm, length_mm - lowest_x_mm) - NOSE_AND_TAIL_MM, 0.0)
        allowed = f"at most {at_most(most)} with this lowest point"
        reading.fault(path, "longer than the board between its nose and tail rocker", allowed=allowed, mm=flat_mm)
        return []
    return [Given(x_mm=x, value=0.0, path=path, play_mm=FLAT_MM) for x in ends]


def _usual_heights(
    tail: Given, nose: Given, lowest_x_mm: float, half_flat_mm: float, reading: Reading
) -> tuple[Given, ...]:
    """Return heights of a rocker of which only the ends are known: it bends alike on both sides of its lowest point,
    and towards each end more by as much as that end asks for.
    """
    sides = [(end, end.x_mm - lowest_x_mm) for end in (tail, nose)]
    reach = [abs(far) - half_flat_mm for _, far in sides]
    bend = MIDDLE_BEND * min(end.value / (mm * mm) for (end, _), mm in zip(sides, reach, strict=True) if mm > 0.0)
    found, said = [], []
    for (end, far), mm, name in zip(sides, reach, ("tail", "nose"), strict=True):
        for share in USUAL_HEIGHTS_AT:
            at = share * mm
            height = bend * at * at + (end.value - bend * mm * mm) * share**3
            x = lowest_x_mm + (half_flat_mm + at) * (1.0 if far > 0.0 else -1.0)
            play = USUAL_PLAY * end.value
            found.append(Given(x_mm=x, value=height, path=("rocker", "heights"), assumed=True, play_mm=play))
        foot = (mm - NOSE_AND_TAIL_MM) / mm
        if foot > 0.0:
            height = bend * (foot * mm) ** 2 + (end.value - bend * mm * mm) * foot**3
            said.append(f"about {both(height)} 12 in from the {name}")
    reason = "none between the ends is given; usual is more bend towards the nose, and less through the middle"
    reading.assume(("rocker", "heights"), " and ".join(said), reason)
    return tuple(sorted(found, key=lambda point: point.x_mm))


@dataclass(frozen=True, slots=True, kw_only=True)
class Thicknesses:
    """The foil's numbers: thicknesses without the greatest, sorted; the greatest; the very ends or None; mm."""

    thicknesses: tuple[Given, ...]
    thickest: Given
    nose_tip_mm: float | None
    tail_end_mm: float | None


def board_thicknesses(
    table: ThicknessTable, length_mm: float, reading: Reading, read_to_mm: float | None = None
) -> Thicknesses | None:
    """Return the foil's numbers, read to the file's mark if to none of their own; None where the thickest point is not
    on the board.
    """
    mark_mm = table.read_to or read_to_mm
    feet = (("tail", NOSE_AND_TAIL_MM, table.tail), ("nose", length_mm - NOSE_AND_TAIL_MM, table.nose))
    points = [given_number(mm, x, ("thickness", key), mark_mm) for key, x, mm in feet if mm is not None]
    points += [
        entry.entry.given(entry.x_mm, entry.entry.thickness, (*entry.path, "thickness"), mark_mm)
        for entry in placed(table.thicknesses, ("thickness", "thicknesses"), length_mm, reading)
        if inside(entry, length_mm, reading, "nose_tip and tail_end say how thick the ends are")
    ]
    path = ("thickness", "thickest")
    x = _between_ends(table.thickest, path, length_mm, reading)
    if x is None:
        return None
    thickest = table.thickest.given(x, table.thickest.thickness, (*path, "thickness"), mark_mm)
    _told_both_sides(points, x, ("thickness", "thicknesses"), ("nose", "tail"), reading)
    typed = ((("thickness", key), getattr(table, key)) for key in ("nose_tip", "tail_end"))
    ends = [Given(x_mm=0.0, value=mm, path=path) for path, mm in typed if mm is not None]
    for point in (*points, *ends):
        if point.value > thickest.value and not (point.play_mm and thickest.play_mm):
            allowed = f"at most {at_most(thickest.value)}"
            reading.fault(point.path, "thicker than the thickest point", allowed=allowed, mm=point.value)
    thicknesses = tuple(point for point in line([thickest, *points], reading) if point is not thickest)
    return Thicknesses(
        thicknesses=thicknesses, thickest=thickest, nose_tip_mm=table.nose_tip, tail_end_mm=table.tail_end
    )
