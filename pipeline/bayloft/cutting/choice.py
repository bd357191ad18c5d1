"""Which parts of a set a job cuts, and which stock and cutter it takes out of a shop."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from bayloft.drawing.part import Part
from bayloft.errors import Fault, KeyPath, SpecError
from bayloft.spec.shop import Cutter, Machine, Shop, Stock
from bayloft.spec.source import nearest
from bayloft.units import at_least, both

SAME_THICKNESS_MM = 0.05
"""mm within which sheets are of one thickness: finer than callipers tell on plywood."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is asked for by name or number: one stock, one cutter, some parts of the set; None: all or the first."""

    stock: str | None = None
    cutter: str | None = None
    parts: frozenset[int] | None = None


ALL = Wanted()


def part_numbers(text: str) -> frozenset[int]:
    """Return the numbers in a text like "1, 6-11".

    Raises
    ------
    SpecError : anything else.
    """
    numbers: set[int] = set()
    for item in text.split(","):
        found = re.fullmatch(r"\s*([0-9]{1,3})\s*(?:-\s*([0-9]{1,3})\s*)?", item)
        if found is None or int(found[1]) > int(found[2] or found[1]):
            fault = _parts_fault(f'"{text}"', "this names no parts", 'numbers and runs of them, as "1, 6-11"')
            raise SpecError((fault,))
        numbers.update(range(int(found[1]), int(found[2] or found[1]) + 1))
    return frozenset(numbers)


def chosen_parts(parts: Sequence[Part], wanted: Wanted, board: str) -> tuple[Part, ...]:
    """Return the parts that are wanted.

    Raises
    ------
    SpecError : a number that no part of the board has.
    """
    if wanted.parts is None:
        return tuple(parts)
    missing = wanted.parts - {part.number for part in parts}
    if missing:
        there = "; ".join(f"{part.number} {part.title}" for part in parts)
        asked = ", ".join(map(str, sorted(missing)))
        raise SpecError((_parts_fault(asked, f"{board} has no part of this number", there),))
    return tuple(part for part in parts if part.number in wanted.parts)


def _parts_fault(value: str, problem: str, allowed: str) -> Fault:
    return Fault(file="--parts", line=None, path=(), value=value, problem=problem, allowed=allowed)


def chosen(shop: Shop, wanted: Wanted) -> tuple[tuple[Stock, ...], Cutter, Machine]:
    """Return the stock and the cutter asked for, or else the first cutter and all stock as thick as the first stock;
    and the router.

    Raises
    ------
    SpecError : a name that the shop does not have, a shop that has nothing to cut with, or a cutter that does not go
        through the stock.
    """
    faults = [
        shop.source.fault(
            (key,), "", f"this shop has no {what}, so nothing can be cut from sheets", hint="full-size prints need none"
        )
        for key, what, there in (
            ("stock", "stock", shop.stock),
            ("cutters", "cutters", shop.cutters),
            ("machine", "router", shop.machine),
        )
        if not there
    ]
    if faults or shop.machine is None:
        raise SpecError(tuple(faults))
    stock_name, cutter_name = wanted.stock, wanted.cutter
    cutters, sheets = {each.name: each for each in shop.cutters}, {each.name: each for each in shop.stock}
    faults = [
        _unknown(option, asked, tuple(names), shop)
        for option, asked, names in (("--stock", stock_name, sheets), ("--cutter", cutter_name, cutters))
        if asked is not None and asked not in names
    ]
    if faults:
        raise SpecError(tuple(faults))
    cutter = cutters[cutter_name] if cutter_name is not None else shop.cutters[0]
    first = sheets[stock_name] if stock_name is not None else shop.stock[0]
    alike = (each for each in shop.stock if abs(each.thickness_mm - first.thickness_mm) <= SAME_THICKNESS_MM)
    stock = (first,) if stock_name is not None else tuple(alike)
    needed = max(each.thickness_mm for each in stock) + shop.cutting.below_mm
    if cutter.depth_mm < needed:
        reaching = next((f'--cutter "{each.name}"' for each in shop.cutters if each.depth_mm >= needed), "")
        path: KeyPath = (*cutter.path, "cutting_depth")
        problem = f"{cutter.name} does not go through {first.name}"
        allowed = f"at least {at_least(needed)}: the thickness and {shop.cutting.below_mm:g} mm below it"
        raise SpecError((shop.source.fault(path, both(cutter.depth_mm), problem, allowed, reaching),))
    return stock, cutter, shop.machine


def _unknown(option: str, asked: str, names: tuple[str, ...], shop: Shop) -> Fault:
    near = nearest(asked, names)
    return Fault(
        file=option,
        line=None,
        path=(),
        value=f'"{asked}"',
        problem=f"{shop.source.file} has none of this name",
        allowed=", ".join(f'"{name}"' for name in names),
        hint=f'{option} "{near}"' if near else "",
    )
