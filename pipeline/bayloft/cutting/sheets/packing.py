"""Copies of parts laid out one by one, each at the first free place of the sheets."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from shapely import Polygon

from bayloft.cutting.sheets.layout import edge_mm, room_mm
from bayloft.drawing.part import Part
from bayloft.plane.cells import DOTS_PER_CELL, MOST_CELLS, Cells, Raster, Taken
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import Cutter, Stock
from bayloft.tolerances import FLATTENING_MM, NESTING_SLACK_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Copy:
    """One part to be placed: its index in the list of parts, the number of the copy, whether it is turned over."""

    which: int
    copy: int
    mirrored: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Spot:
    """Where a copy lies: on which sheet, turned by how much, its outline's least x and y, and its greatest x."""

    item: Copy
    sheet: int
    turned_deg: float
    corner_mm: tuple[float, float]
    reach_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """Spots on sheets of stock, and what was left over."""

    spots: tuple[Spot, ...]
    stock: tuple[Stock, ...]
    left: tuple[Copy, ...]

    @property
    def cost(self) -> tuple[float, ...]:
        """The less the better: copies left over, sheets begun, how far the last is used, how far all are."""
        reaches = [
            max((spot.reach_mm for spot in self.spots if spot.sheet == sheet), default=0.0)
            for sheet in range(len(self.stock))
        ]
        return len(self.left), len(self.stock), round(sum(reaches[-1:]), 3), round(sum(reaches), 3)


ROUNDING_MM = 1e-6
"""mm by which a part may be larger than the room it fits."""


def turns_deg(part: Part, stock: Stock) -> tuple[float, ...]:
    """Return how a part may lie on a sheet: along the grain, or also across where it or the sheet has none."""
    return (0.0, 180.0) if part.along_grain and stock.grained else (0.0, 180.0, 90.0, 270.0)


def rooms_mm(part: Part, stock: Stock, cutter: Cutter) -> tuple[tuple[float, float], ...]:
    """Return the greatest size, along and across a part's own axes, that comes out of a sheet, for each way in which
    the part may lie on it.
    """
    room = room_mm(stock, cutter)
    return (room, room[::-1]) if 90.0 in turns_deg(part, stock) else (room,)


def size_mm(part: Part) -> tuple[float, float]:
    """Return the length and width of a part's outline."""
    left, bottom, right, top = part.outline.bounds
    return right - left, top - bottom


def fits(size: tuple[float, float], room: tuple[float, float]) -> bool:
    """Whether a size has room."""
    return size[0] <= room[0] + ROUNDING_MM and size[1] <= room[1] + ROUNDING_MM


def as_laid(part: Part, *, mirrored: bool, turned_deg: float) -> Contour:
    """Return the outline of a part turned over or not, then turned, about the origin of its drawing."""
    outline = part.outline.mirrored().reversed() if mirrored else part.outline
    return outline.turned(turned_deg) if turned_deg else outline


class Packer:
    """Lays copies out in any order, on grids of one fineness. Made, filled and dropped inside one nesting."""

    def __init__(
        self, parts: Sequence[Part], stock: Sequence[Stock], cutter: Cutter, *, gap_mm: float, cell_mm: float
    ) -> None:
        self._parts, self._stock, self._cutter = parts, stock, cutter
        rooms = {room_mm(each, cutter) for each in stock}
        side = max(cell_mm, max(max(room) for room in rooms) / MOST_CELLS)
        # Half the gap, half a step between the dots of an edge, and what the offset's own arcs lack.
        self._clear_mm = gap_mm / 2 + side / (2 * DOTS_PER_CELL) + NESTING_SLACK_MM
        self._grids = {
            room: Raster.over((room[0] + 2 * self._clear_mm, room[1] + 2 * self._clear_mm), side) for room in rooms
        }
        self._shapes: dict[tuple[int, bool, float, tuple[float, float]], tuple[Cells, float]] = {}

    def packed(self, order: Iterable[Copy]) -> Packing:
        """Return the packing that comes of laying copies out one by one: each goes to the first sheet with room for it,
        else to a new one, of the first stock of which there is one left.
        """
        sheets: list[tuple[Stock, Taken]] = []
        spots, left = [], []
        for item in order:
            spot = next(filter(None, (self._laid(item, at, *sheet) for at, sheet in enumerate(sheets))), None)
            unused = (each for each in self._stock if sum(stock is each for stock, _ in sheets) < each.sheets)
            for stock in unused if spot is None else ():
                taken = Taken(self._grids[room_mm(stock, self._cutter)])
                spot = self._laid(item, len(sheets), stock, taken)
                if spot is not None:
                    sheets.append((stock, taken))
                    break
            if spot is None:
                left.append(item)
            else:
                spots.append(spot)
        return Packing(spots=tuple(spots), stock=tuple(stock for stock, _ in sheets), left=tuple(left))

    def _laid(self, item: Copy, sheet: int, stock: Stock, taken: Taken) -> Spot | None:
        """Lay a copy where it reaches least far along a sheet, and return the spot; None where there is no room."""
        best: tuple[tuple[float, int], float, Cells, tuple[int, int]] | None = None
        room = room_mm(stock, self._cutter)
        for deg in turns_deg(self._parts[item.which], stock):
            shape, length_mm = self._shape(item, deg, room)
            place = taken.first_free(shape)
            if place is None:
                continue
            rank = round(place[0] * taken.grid.cell_mm[0] + length_mm, 3), place[1]
            if best is None or rank < best[0]:
                best = rank, deg, shape, place
        if best is None:
            return None
        (reach, _), deg, shape, (x, y) = best
        taken.take(shape, x, y)
        edge = edge_mm(stock, self._cutter)
        corner = edge + x * taken.grid.cell_mm[0], edge + y * taken.grid.cell_mm[1]
        return Spot(item=item, sheet=sheet, turned_deg=deg, corner_mm=corner, reach_mm=edge + reach)

    def _shape(self, item: Copy, deg: float, room: tuple[float, float]) -> tuple[Cells, float]:
        """Return the cells that a copy and half the gap round it touch, and its outline's length along the sheet."""
        key = item.which, item.mirrored, deg, room
        if key not in self._shapes:
            outline = as_laid(self._parts[item.which], mirrored=item.mirrored, turned_deg=deg)
            left, bottom, right, top = outline.bounds
            clear = self._clear_mm
            frame = left - clear, bottom - clear, right + clear, top + clear
            grown = Polygon(outline.flattened(FLATTENING_MM)).buffer(clear)
            self._shapes[key] = Cells.of(grown, frame, self._grids[room]), right - left
        return self._shapes[key]
