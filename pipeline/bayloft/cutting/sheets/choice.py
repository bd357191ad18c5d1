"""Which parts of a set a job cuts, and which stock and cutter it takes out of a shop."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from bayloft.drawing.part import Part
from bayloft.errors import Fault, SpecError
from bayloft.spec.shops.shop import Cutter, Machine, Shop, Stock
from bayloft.spec.text.source import nearest
from bayloft.units import at_least, at_most, both

SAME_THICKNESS_MM = 0.05
"""mm within which sheets are of one thickness: finer than callipers tell on plywood."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What is asked for: one stock and one cutter by name, else those that `chosen` takes; parts by runs of their
    numbers, or all, else all but those that are cut on request.
    """

    stock: str | None = None
    cutter: str | None = None
    parts: frozenset[range] | Literal["all"] | None = None

    @property
    def whole_set(self) -> bool:
        """Whether no parts are picked out by number."""
        return not isinstance(self.parts, frozenset)


ALL = Wanted()


def part_numbers(text: str) -> frozenset[range] | Literal["all"]:
    """Return the runs of numbers in a text like "1, 51-53", or "all".

    Raises
    ------
    SpecError : anything else.
    """
    if text.strip().lower() == "all":
        return "all"
    runs = []
    for item in text.split(","):
        found = re.fullmatch(r"\s*([0-9]{1,3})\s*(?:-\s*([0-9]{1,3})\s*)?", item)
        if found is None or int(found[1]) > int(found[2] or found[1]):
            fault = _parts_fault(
                f'"{text}"', "this names no parts", 'numbers and runs of them, as "1, 51-53"; or "all"'
            )
            raise SpecError((fault,))
        runs.append(range(int(found[1]), int(found[2] or found[1]) + 1))
    return frozenset(runs)


def numbers_text(numbers: Collection[int]) -> str:
    """Return the text that `part_numbers` reads as these numbers."""
    starts = sorted(number for number in numbers if number - 1 not in numbers)
    ends = sorted(number for number in numbers if number + 1 not in numbers)
    return ", ".join(f"{low}" if low == high else f"{low}-{high}" for low, high in zip(starts, ends, strict=True))


def chosen_parts(parts: Sequence[Part], wanted: Wanted, board: str) -> tuple[Part, ...]:
    """Return the parts that are wanted.

    Raises
    ------
    SpecError : a number that no part of the board has, a run in which it has none.
    """
    if not isinstance(wanted.parts, frozenset):
        return tuple(part for part in parts if wanted.parts == "all" or not part.on_request)
    numbers = {part.number for part in parts}
    missing = [run for run in wanted.parts if numbers.isdisjoint(run)]
    if missing:
        there = "; ".join(f"{part.number} {part.title}" for part in parts)
        asked = ", ".join(map(numbers_text, sorted(missing, key=min)))
        raise SpecError((_parts_fault(asked, f"{board} has no part of this number", there),))
    return tuple(part for part in parts if any(part.number in run for run in wanted.parts))


def _parts_fault(value: str, problem: str, allowed: str) -> Fault:
    return Fault(file="--parts", line=None, path=(), value=value, problem=problem, allowed=allowed)


def chosen(shop: Shop, wanted: Wanted) -> tuple[tuple[Stock, ...], Cutter, Machine]:
    """Return the stock asked for, or else all stock as thick as the first; the cutter asked for, or else the first that
    goes through it; and the router. Of stock and cutters that the job does not take nothing is asked.

    Raises
    ------
    SpecError : a name that the shop does not have; a shop that has nothing to cut with; stock that the cutter does not
        go through, that does not lie on the bed, or that is no thicker than the tabs.
    """
    faults = [
        shop.source.fault(
            (key,), "", f"this shop has no {what}, so nothing can be cut from sheets", hint="full-size prints need none"
        )
        for key, what, there in (
            ("stock", "stock", shop.stock),
            ("cutters", "cutters but balls", shop.straight) if shop.cutters else ("cutters", "cutters", shop.cutters),
            ("machine", "router", shop.machine),
        )
        if not there
    ]
    if faults or shop.machine is None:
        raise SpecError(tuple(faults))
    cutters, sheets = {each.name: each for each in shop.straight}, {each.name: each for each in shop.stock}
    faults = [
        _unknown(option, asked, tuple(names), shop)
        for option, asked, names in (("--stock", wanted.stock, sheets), ("--cutter", wanted.cutter, cutters))
        if asked is not None and asked not in names
    ]
    if faults:
        raise SpecError(tuple(faults))
    first = sheets[wanted.stock] if wanted.stock is not None else shop.stock[0]
    alike = (each for each in shop.stock if abs(each.thickness_mm - first.thickness_mm) <= SAME_THICKNESS_MM)
    stock = (first,) if wanted.stock is not None else tuple(alike)
    reaching = [each for each in shop.straight if all(_through(each, one, shop) for one in stock)]
    cutter = cutters[wanted.cutter] if wanted.cutter is not None else (reaching or shop.straight)[0]
    faults = [fault for each in stock for fault in _unfit(each, cutter, shop, shop.machine)]
    if faults:
        raise SpecError(tuple(faults))
    return stock, cutter, shop.machine


def _through(cutter: Cutter, stock: Stock, shop: Shop) -> bool:
    return cutter.depth_mm >= stock.thickness_mm + shop.cutting.below_mm


def _unfit(stock: Stock, cutter: Cutter, shop: Shop, machine: Machine) -> Iterator[Fault]:
    """Yield what keeps stock from being cut with a cutter on a router, with what of this shop would do instead."""
    cutting = shop.cutting
    others = (each for each in shop.stock if each is not stock and not any(_off_bed(each, machine)))
    other = next((each for each in others if any(_through(one, each, shop) for one in shop.straight)), None)
    instead = f'--stock "{other.name}"' if other else ""
    if not _through(cutter, stock, shop):
        needed = stock.thickness_mm + cutting.below_mm
        longer = next((f'--cutter "{each.name}"' for each in shop.straight if _through(each, stock, shop)), "")
        yield shop.source.fault(
            (*cutter.path, "cutting_depth"),
            both(cutter.depth_mm),
            f"{cutter.name} does not go through {stock.name}" + ("" if longer else ", nor does any other cutter"),
            f"at least {at_least(needed)}: the thickness and {cutting.below_mm:g} mm below it",
            longer or instead or "a longer cutter, or thinner stock",
        )
    for key, size, most, hint in _off_bed(stock, machine):
        yield shop.source.fault(
            (*stock.path, key),
            both(size),
            f"{stock.name} is longer than the router's bed",
            f"at most {at_most(most)}",
            f"{hint}; or {instead}" if instead else hint,
        )
    if cutting.tabs and cutting.tab_height_mm >= stock.thickness_mm:
        yield shop.source.fault(
            ("cutting", "tab_height"),
            both(cutting.tab_height_mm),
            f"{stock.name} is no thicker than the tabs",
            f"less than {both(stock.thickness_mm)}",
            "what holds a part is sawn through: half the thickness is enough",
        )


def _off_bed(stock: Stock, machine: Machine) -> Iterator[tuple[str, float, float, str]]:
    """Yield in which direction a sheet is longer than the bed: key, size, limit and what to do."""
    bed = machine.bed_length_mm, machine.bed_width_mm
    hint = (
        "lay the sheet the other way: bed_length is the travel along the sheet's length"
        if stock.length_mm <= bed[1] and stock.width_mm <= bed[0]
        else "saw the sheets to size first, and give that size and the number of sheets"
    )
    for key, size, most in (("length", stock.length_mm, bed[0]), ("width", stock.width_mm, bed[1])):
        if size > most:
            yield key, size, most, hint


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
