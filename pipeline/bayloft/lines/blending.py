"""A board mixed of two: its numbers are read off the lines of both, wherever one of the two has a number."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import KeyPath
from bayloft.findings import Finding
from bayloft.lines.board import BoardLines
from bayloft.lines.section import over, under
from bayloft.spec.boards.board import Blend, Board, Nose, Tail
from bayloft.spec.boards.deriving import YIELDS_MM
from bayloft.spec.boards.quantities import QUANTITIES
from bayloft.spec.text.given import Given
from bayloft.spec.text.stations import NOSE_AND_TAIL_MM
from bayloft.spec.text.tables import STATION_KEYS

PLAY_MM = 0.3
"""mm to either side within which a mixed board's lines pass the mixture: two fair lines mixed are fair but for the
places of their knots (no source)."""
MOST = 0.5
"""Share of the second board above which the ends are of its kinds."""
APART_MM = YIELDS_MM / 2
"""mm that two numbers of a mixed line are apart at least."""
PATH: KeyPath = ("from", "share")
PLACES = 4001
"""Places along the board at which the highest and the lowest of a mixture is looked for."""

Array = NDArray[np.float64]
Read = Callable[[BoardLines, float], float]


def blended(board: Board, drawn: Callable[[Board], BoardLines]) -> Board:
    """Return a board with the numbers that it takes of two others mixed of their lines, which `drawn` gives; the board
    itself where it takes none of two. Numbers of its own stay as they are.

    Raises
    ------
    SpecError : as `drawn` does.
    """
    blend = board.origin.blend if board.origin else None
    return board if blend is None else _Mixture(board, blend, drawn).board()


def origin_finding(board: Board) -> list[Finding]:
    """Return from which boards a board is derived, and by what the lengths of the first were multiplied."""
    origin = board.origin
    if origin is None:
        return []
    f, blend = origin.factors, origin.blend
    text = (
        f"derived from {origin.name} ({origin.file}): length x {f.along:.4g}, widths x {f.across:.4g}, thicknesses and "
        f"rails x {f.up:.4g}, nose rocker x {f.nose_rise:.4g}, tail rocker x {f.tail_rise:.4g}"
    )
    if blend:
        text += f"; {1.0 - blend.share:.0%} of its lines mixed with {blend.share:.0%} of those of {blend.name}"
    return [
        Finding(
            code="derived",
            severity="note",
            where="from",
            measured=f.along,
            limit=float("inf"),
            unit="",
            text=text,
        )
    ]


def _width(lines: BoardLines, x_mm: float) -> float:
    return 2.0 * float(lines.outline.at(x_mm))


def _thickness(lines: BoardLines, x_mm: float) -> float:
    return float(lines.foil.at(x_mm))


class _Mixture:
    def __init__(self, own: Board, blend: Blend, drawn: Callable[[Board], BoardLines]) -> None:
        self.own, self.first, self.second = own, blend.first, blend.second
        self.share = blend.share
        self.lines = drawn(blend.first), drawn(blend.second)

    def board(self) -> Board:
        """Return the mixed board."""
        own, first, second = self.own, self.first, self.second
        wide = self._top(own.wide_point, lambda lines, x: 2.0 * lines.outline.at(x))
        thickest = self._top(own.thickest, lambda lines, x: lines.foil.at(x))
        heights, lowest = self._rocker()
        aim_of_own = own.aim if not self._taken(("volume",)) else None
        return replace(
            own,
            wide_point=wide,
            widths=self._line(own.widths, (first.widths, second.widths), wide, _width),
            hollow=own.hollow | second.hollow,
            hips=own.hips or second.hips,
            nose=self._nose(),
            tail=self._tail(),
            heights=heights,
            lowest_x_mm=lowest,
            lowest_assumed=False,
            usual_heights=(),
            thickest=thickest,
            thicknesses=self._line(own.thicknesses, (first.thicknesses, second.thicknesses), thickest, _thickness),
            thin_ends=own.thin_ends | second.thin_ends,
            steps=own.steps or second.steps,
            nose_tip_mm=self._end("nose_tip", own.length_mm),
            tail_end_mm=self._end("tail_end", 0.0),
            sections={name: self._section(name) for name in QUANTITIES},
            drops=tuple(drop for drop in own.drops if not self._taken(drop.path[:1])),
            aim=aim_of_own,
        )

    def _taken(self, path: KeyPath) -> bool:
        return self.own.source.taken(path)

    def _mix(self, first: float, second: float) -> float:
        return round((1.0 - self.share) * first + self.share * second, 6)

    def _read(self, read: Read, x_mm: float) -> float:
        return self._mix(*(read(lines, x_mm) for lines in self.lines))

    def _size(self, own: float | None, first: float | None, second: float | None, path: KeyPath) -> float | None:
        """Return a size of an end: mixed where both have it, and it is not the board's own."""
        if not self._taken(path) or first is None or second is None:
            return own
        return self._mix(first, second)

    def _end(self, key: str, x_mm: float) -> float | None:
        """Return the thickness at a very end: the board's own, or mixed."""
        if self._taken(("thickness", key)):
            return self._read(_thickness, x_mm)
        return self.own.nose_tip_mm if key == "nose_tip" else self.own.tail_end_mm

    def _along(self, read: Callable[[BoardLines, Array], Array]) -> tuple[Array, Array]:
        """Return stations, and the mixture of a line there."""
        x = np.linspace(0.0, self.own.length_mm, PLACES)
        first, second = (read(lines, x) for lines in self.lines)
        return x, (1.0 - self.share) * first + self.share * second

    def _top(self, own: Given, read: Callable[[BoardLines, Array], Array]) -> Given:
        """Return where the mixture of a line is greatest; station and value may be the board's own."""
        x, mixed = self._along(read)
        at, table = int(np.argmax(mixed)), own.path[:2]
        placed = any(not self._taken((*table, key)) for key in STATION_KEYS)
        return replace(
            own,
            x_mm=own.x_mm if placed else round(float(x[at]), 6),
            value=own.value if not self._taken(own.path) else round(float(mixed[at]), 6),
        )

    def _line(
        self, own: tuple[Given, ...], both: tuple[tuple[Given, ...], ...], top: Given, read: Read
    ) -> tuple[Given, ...]:
        """Return the numbers of a line beside its greatest: mixed and in proportion to it, and the board's own."""
        kept = [number for number in own if not self._taken(number.path)]
        grown = top.value / self._read(read, top.x_mm)
        clear = _stations(both, kept)
        mixed = [
            Given(x_mm=x, value=round(grown * self._read(read, x), 6), path=PATH, play_mm=PLAY_MM)
            for x in clear
            if abs(x - top.x_mm) > APART_MM and x > self.own.tail.corner_x_mm + 1.0
        ]
        return tuple(sorted([*kept, *mixed], key=lambda number: number.x_mm))

    def _rocker(self) -> tuple[tuple[Given, ...], float]:
        """Return the heights of the rocker, the board standing on the lowest point of the mixture, and its station."""
        own, length = self.own, self.own.length_mm
        x, mixed = self._along(lambda lines, x: lines.rocker.at(x))
        at = int(np.argmin(mixed))
        down, lowest = float(mixed[at]), float(x[at])
        if own.lowest_x_mm is not None and not self._taken(("rocker", "lowest")):
            lowest = own.lowest_x_mm

        def height(x_mm: float) -> float:
            return self._read(lambda lines, at_mm: float(lines.rocker.at(at_mm)), x_mm) - down

        tail, nose = own.heights[0], own.heights[-1]
        ends = [
            replace(end, value=round(height(end.x_mm), 6)) if self._taken(end.path) else end for end in (tail, nose)
        ]
        kept = [number for number in own.heights[1:-1] if not self._taken(number.path)]
        feet = [Given(x_mm=at, value=0.0, path=PATH) for at in (NOSE_AND_TAIL_MM, length - NOSE_AND_TAIL_MM)]
        inner = [list(board.heights[1:-1]) for board in (self.first, self.second)]
        clear = _stations([feet, *inner], kept)
        grown = {True: ends[1].value / height(length), False: ends[0].value / height(0.0)}
        found = [
            Given(x_mm=at, value=round(grown[at > lowest] * height(at), 6), path=PATH, play_mm=PLAY_MM)
            for at in clear
            if abs(at - lowest) > APART_MM and APART_MM < at < length - APART_MM
        ]
        return (ends[0], *sorted([*kept, *found], key=lambda number: number.x_mm), ends[1]), round(lowest, 6)

    def _nose(self) -> Nose:
        own, first, second = self.own.nose, self.first.nose, self.second.nose
        if not self._taken(("nose",)):
            return own
        most = second if self.share > MOST else first
        radius = self._size(most.tip_radius_mm, first.tip_radius_mm, second.tip_radius_mm, ("nose", "tip_radius"))
        return replace(most, tip_radius_mm=radius)

    def _tail(self) -> Tail:
        """Return the tail: of the kind of the board of which there is more, where it is not the board's own; its sizes
        mixed, or where the other is of another kind with the other's width where the corners are.
        """
        own, tails = self.own.tail, (self.first.tail, self.second.tail)
        if not self._taken(("tail",)):
            return own
        most = int(self.share > MOST)
        tail, other = tails[most], tails[1 - most]
        alike = other.kind == tail.kind
        if not tail.cut_off:
            first, second = (each.tip_radius_mm for each in tails)
            return replace(tail, tip_radius_mm=self._size(tail.tip_radius_mm, first, second, ("tail", "tip_radius")))
        width = other.block_mm if alike else _width(self.lines[1 - most], tail.corner_x_mm)
        block = self._mix(*((tail.block_mm, width) if most == 0 else (width, tail.block_mm)))

        def size(key: str) -> float:
            if alike:
                return self._mix(*(getattr(each, key) for each in tails))
            return float(getattr(tail, key)) * block / tail.block_mm

        return replace(tail, block_mm=block, depth_mm=size("depth_mm"), corner_radius_mm=size("corner_radius_mm"))

    def _section(self, name: str) -> tuple[Given, ...]:
        """Return the numbers of a quantity of the sections: mixed shares, or the board's own."""
        own = self.own.sections[name]
        if not self._taken(own[0].path[:1]):
            return own
        stations = {number.x_mm for board in (self.first, self.second) for number in board.sections[name]}
        read = _apex if name == "apex" else lambda lines, x_mm: float(lines.sections.shares[name].at(x_mm))
        return tuple(
            Given(x_mm=x, value=self._read(read, x), path=PATH, form="share") for x in _thinned(sorted(stations))
        )


def _apex(lines: BoardLines, x_mm: float) -> float:
    """Return the height of the rail's widest point as a share of the thickness at the stringer."""
    n = lines.section_numbers(x_mm)
    below = under(n, n.inset)
    return float(below / (below + over(n, n.inset)))


def _stations(both: Iterable[Iterable[Given]], own: Sequence[Given]) -> list[float]:
    """Return the stations of numbers of both boards, APART_MM from one another, that need not yield to its own."""
    stations = (number.x_mm for given in both for number in given)
    return sorted(_thinned(x for x in stations if all(abs(x - number.x_mm) > YIELDS_MM for number in own)))


def _thinned(stations: Iterable[float]) -> list[float]:
    """Return stations that are APART_MM from one another; of two nearer ones, the first in this order."""
    kept: list[float] = []
    for x in stations:
        if all(abs(x - other) > APART_MM for other in kept):
            kept.append(x)
    return kept
