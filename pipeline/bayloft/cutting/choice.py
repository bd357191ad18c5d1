"""Which stock and which cutter a job takes out of a shop."""

from __future__ import annotations

from bayloft.errors import Fault, KeyPath, SpecError
from bayloft.spec.shop import Cutter, Machine, Shop, Stock
from bayloft.spec.source import nearest
from bayloft.units import at_least, both

SAME_THICKNESS_MM = 0.05
"""mm within which sheets are of one thickness: finer than callipers tell on plywood."""


def chosen(shop: Shop, stock_name: str | None, cutter_name: str | None) -> tuple[tuple[Stock, ...], Cutter, Machine]:
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
