"""Nesting: parts laid on sheets, none over another, on as few sheets and as little of the last as is found."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from bayloft.cutting.sheets.layout import CutSheet, Layout, placed_at, room_mm
from bayloft.cutting.sheets.off_cuts import off_cuts
from bayloft.cutting.sheets.packing import Copy, Packer, Packing, fits, rooms_mm, size_mm
from bayloft.drawing.part import Part
from bayloft.errors import BayloftError, Fault
from bayloft.spec.shops.shop import Cutter, Cutting, Stock
from bayloft.units import at_most, both

SEARCH_CELL_MM, FINAL_CELL_MM = 8.0, 1.5
"""mm, side of a cell while orders are tried, and for the best of them."""

PLACINGS = 4000
"""Copies placed while orders are tried beyond the first ones: the more copies, the fewer orders, in the same time."""

SEED = 5


class NoRoomError(BayloftError):
    """Parts that the stock has no room for: of each its number and title, size, room and what would do."""

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = faults
        super().__init__("\n".join([*map(str, faults), "nothing was written"]))

    def __reduce__(self) -> tuple[type[NoRoomError], tuple[tuple[Fault, ...]]]:
        return NoRoomError, (self.faults,)


def gap_mm(cutter: Cutter, cutting: Cutting) -> float:
    """Return the least gap between two parts: the one asked for, or the cutter's diameter if that is more."""
    return max(cutter.diameter_mm, cutting.gap_mm)


def nested(parts: Sequence[Part], stock: Sequence[Stock], cutter: Cutter, cutting: Cutting) -> Layout:
    """Return the layout of parts on sheets of stock, begun in the order given.

    Bottom-left by true outlines, within a cell of the grid: each copy goes where it reaches least far along the sheet,
    in the best of its turns. Orders of the copies are tried, large before small first, then changes of the best, kept
    where they are no worse. Along the grain a part lies at 0 or 180 degrees, else also at 90 and 270. The same parts
    and stock give the same layout on every machine.

    Raises
    ------
    NoRoomError : every part that is larger than all stock, or else those that are left when all sheets are full.
    """
    _refuse_too_large(parts, stock, cutter)
    gap = gap_mm(cutter, cutting)
    best = _best(parts, stock, cutter, gap)
    if best.left:
        raise _left_over(best, parts, stock, cutter, gap)
    sheets = []
    for at, each in enumerate(best.stock):
        placed = tuple(
            placed_at(
                parts[spot.item.which],
                spot.item.copy,
                mirrored=spot.item.mirrored,
                turned_deg=spot.turned_deg,
                corner_mm=spot.corner_mm,
            )
            for spot in sorted(best.spots, key=lambda spot: (spot.item.which, spot.item.copy))
            if spot.sheet == at
        )
        free = off_cuts(each, [one.part for one in placed], cutter)
        sheets.append(CutSheet(number=at + 1, stock=each, placed=placed, off_cuts=free))
    return Layout(sheets=tuple(sheets), cutter=cutter, gap_mm=gap)


def _best(parts: Sequence[Part], stock: Sequence[Stock], cutter: Cutter, gap: float) -> Packing:
    """Return the best packing found: orders are tried on coarse cells, the better ones laid out on fine ones."""
    coarse, fine = (Packer(parts, stock, cutter, gap_mm=gap, cell_mm=cell) for cell in (SEARCH_CELL_MM, FINAL_CELL_MM))
    orders = _large_first(parts)
    costs = [coarse.packed(order).cost for order in orders]
    cost = min(costs)
    first = order = orders[costs.index(cost)]
    chance = random.Random(SEED)
    for _ in range(PLACINGS // len(order) if len(order) > 1 else 0):
        out, into = (int(chance.random() * len(order)) for _ in range(2))
        tried = [*order]
        tried.insert(into, tried.pop(out))
        tried_cost = coarse.packed(tried).cost
        if tried_cost <= cost:
            order, cost = tried, tried_cost
    return min((fine.packed(each) for each in (order, first)), key=lambda packing: packing.cost)


def _large_first(parts: Sequence[Part]) -> list[list[Copy]]:
    """Return the copies of all parts in four orders: by longer side, by shorter, by area of outline and of its box."""
    copies = [
        Copy(which=which, copy=copy, mirrored=copy > part.count - part.mirrored)
        for which, part in enumerate(parts)
        for copy in range(1, part.count + 1)
    ]
    sizes = []
    for part in parts:
        left, bottom, right, top = part.outline.bounds
        sides = right - left, top - bottom
        sizes.append((max(sides), sides[0] * sides[1], abs(part.outline.area_mm2), min(sides)))
    keys = [{copy: (-round(sizes[copy.which][by], 3), copy.which, copy.copy) for copy in copies} for by in range(4)]
    return [sorted(copies, key=key.__getitem__) for key in keys]


def _refuse_too_large(parts: Sequence[Part], stock: Sequence[Stock], cutter: Cutter) -> None:
    faults = []
    for part in parts:
        size = size_mm(part)
        if not any(fits(size, room) for each in stock for room in rooms_mm(part, each, cutter)):
            faults.append(no_room(part, size, stock, cutter, "larger than every sheet"))
    if faults:
        raise NoRoomError(tuple(faults))


def no_room(
    part: Part, size: tuple[float, float], stock: Sequence[Stock], cutter: Cutter, problem: str, hint: str = ""
) -> Fault:
    """Return the fault of a part that is too large for all stock, with the room that there is."""
    rooms = "; ".join(
        f"{' x '.join(map(at_most, room_mm(each, cutter)))} on {each.name}{' along its grain' * each.grained}"
        for each in stock
    )
    return Fault(
        file=f"{part.board or 'the set'}: part {part.number}, {part.title}",
        line=None,
        path=(),
        value=" x ".join(map(both, size)),
        problem=problem,
        allowed=f"at most {rooms}: the sheet less margins and cutter",
        hint=hint,
    )


def _left_over(
    packing: Packing, parts: Sequence[Part], stock: Sequence[Stock], cutter: Cutter, gap: float
) -> NoRoomError:
    """Return the refusal of parts that are left when all sheets are full, with how many sheets would do."""
    left = dict.fromkeys(f"{parts[item.which].number} {parts[item.which].title}" for item in packing.left)
    used = Counter(each.name for each in packing.stock)
    full = ", ".join(f"{count} of {name}" for name, count in used.items())
    more = _enough(parts, stock, cutter, gap, len(packing.left))
    sheets = f"sheets = {more.sheets} of {more.name} in the shop file" if more else "more sheets in the shop file"
    fault = Fault(
        file=parts[0].board or "the set",
        line=None,
        path=(),
        value="; ".join(left),
        problem=f"the sheets are full ({full}) and {len(packing.left)} of the parts are left",
        hint=f"{sheets}, or fewer parts at once with --parts",
    )
    return NoRoomError((fault,))


def _enough(parts: Sequence[Part], stock: Sequence[Stock], cutter: Cutter, gap: float, left: int) -> Stock | None:
    """Return the largest stock with the fewest sheets found that all parts have room on, or None."""
    largest = max(stock, key=lambda each: each.length_mm * each.width_mm)

    def packed(sheets: int) -> tuple[Stock, Packing]:
        more = replace(largest, sheets=sheets)
        return more, _best(parts, [more if each is largest else each for each in stock], cutter, gap)

    # Where one part left fits a sheet, each does on a sheet of its own.
    most, packing = packed(largest.sheets + left)
    if packing.left:
        return None
    for sheets in range(sum(each is most for each in packing.stock), most.sheets):
        more, packing = packed(sheets)
        if not packing.left:
            return more
    return most
