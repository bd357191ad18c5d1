"""Parts made to fit the stock: whole where a sheet has room, else in pieces, and laid on sheets; or what would do."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import floor
from typing import get_args

from bayloft.cutting.joining.pieces import NoPieceError, pieced
from bayloft.cutting.sheets.choice import numbers_text
from bayloft.cutting.sheets.layout import Layout, edge_mm, room_mm
from bayloft.cutting.sheets.nesting import NoRoomError, nested, no_room
from bayloft.cutting.sheets.packing import fits, rooms_mm, size_mm
from bayloft.drawing.part import Part
from bayloft.spec.shops.shop import Cutter, Cutting, JointKind, Stock
from bayloft.units import at_least

Rooms = Sequence[tuple[float, float]]
"""Greatest lengths and widths of a part, along and across its own axes."""


def laid_out(
    parts: Sequence[Part], stock: Sequence[Stock], cutter: Cutter, cutting: Cutting
) -> tuple[Layout, tuple[Part, ...]]:
    """Return parts on sheets, and what they were laid out as: themselves where any sheet has room, else their pieces.

    Raises
    ------
    NoRoomError : every part that comes out of no sheet, or else those that are left when all sheets are full.
    """
    whole = fitted(parts, stock, cutter, cutting, whole=True)
    try:
        return nested(whole, stock, cutter, cutting), whole
    except NoRoomError:
        # There may be too few of the sheets that alone have room for long parts: then these come in pieces too.
        pieces = fitted(parts, stock, cutter, cutting, whole=False)
        if len(pieces) == len(whole):
            raise
        return nested(pieces, stock, cutter, cutting), pieces


def fitted(
    parts: Sequence[Part], stock: Sequence[Stock], cutter: Cutter, cutting: Cutting, *, whole: bool
) -> tuple[Part, ...]:
    """Return parts as they are cut from stock: `whole` where any sheet has room for them, or only where the largest
    has; else in pieces for the largest, and only if that cannot be for a smaller one.

    Raises
    ------
    NoRoomError : every part that comes out of no sheet, with what would do.
    """
    found: list[Part] = []
    refused: list[tuple[Part, NoPieceError]] = []
    for part in parts:
        rooms = _rooms(part, stock, cutter)
        if whole and any(fits(size_mm(part), room) for room in rooms):
            found.append(part)
            continue
        try:
            found += _in_pieces(part, rooms, cutting)
        except NoPieceError as error:
            refused.append((part, error))
    if refused:
        left = {part.number for part in parts} - {part.number for part, _ in refused}
        what = "it" if len(refused) == 1 else "them"
        without = [f'--parts "{numbers_text(left)}" leaves {what} out'] if left else []
        raise NoRoomError(
            tuple(
                no_room(
                    part,
                    size_mm(part),
                    stock,
                    cutter,
                    str(error),
                    "; or ".join([*_remedies(part, stock, cutter, cutting), *without]),
                )
                for part, error in refused
            )
        )
    return tuple(found)


def _rooms(part: Part, stock: Sequence[Stock], cutter: Cutter) -> Rooms:
    """Return the rooms for a part, those of the largest stock first."""
    large_first = sorted(stock, key=lambda each: -room_mm(each, cutter)[0] * room_mm(each, cutter)[1])
    return [room for each in large_first for room in rooms_mm(part, each, cutter)]


def _in_pieces(part: Part, rooms: Rooms, cutting: Cutting) -> tuple[Part, ...]:
    """Return a part in pieces for the first room that has it, or raise NoPieceError as the nearest to it does."""
    refusals = []
    for room in rooms:
        try:
            return pieced(part, *room, cutting)
        except NoPieceError as error:
            refusals.append((error, size_mm(part)[1] <= room[1]))
    # Of a room that is wide enough more can be told.
    raise next((error for error, wide_enough in refusals if wide_enough), refusals[0][0])


def _remedies(part: Part, stock: Sequence[Stock], cutter: Cutter, cutting: Cutting) -> Iterator[str]:
    """Yield what would bring a refused part out of the stock; each has been tried."""
    rooms = _rooms(part, stock, cutter)
    for joint in get_args(JointKind):
        if joint != cutting.joint and _comes_out(part, rooms, replace(cutting, joint=joint)):
            yield f'joint = "{joint}" under [cutting]'
            return
    high = size_mm(part)[1]
    for each in stock:
        margin = floor(10.0 * ((each.width_mm - high) / 2 - cutter.diameter_mm)) / 10.0
        if 0.0 <= margin < each.margin_mm:
            freed = _rooms(part, [replace(each, margin_mm=margin)], cutter)
            if _comes_out(part, freed, cutting):
                yield f'margin = "{margin:g} mm" for {each.name}'
                return
    first = stock[0]
    wide = replace(first, width_mm=high + 2.0 * edge_mm(first, cutter))
    if wide.width_mm > first.width_mm and _comes_out(part, _rooms(part, [wide], cutter), cutting):
        yield f"sheets at least {at_least(wide.width_mm)} wide, on a bed as wide"


def _comes_out(part: Part, rooms: Rooms, cutting: Cutting) -> bool:
    try:
        _in_pieces(part, rooms, cutting)
    except NoPieceError:
        return False
    return True
