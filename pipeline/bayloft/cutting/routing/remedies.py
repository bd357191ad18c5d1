"""What would do where parts cannot be cut as they are drawn: another cutter of the shop, or a job without them."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.cutting.routing.tasks import Operation
from bayloft.cutting.routing.toolpath import job_of, toolpath
from bayloft.cutting.sheets.choice import numbers_text
from bayloft.cutting.sheets.layout import Layout, Placed
from bayloft.findings import CheckError, Finding
from bayloft.spec.shops.shop import Cutter, Machine, Shop, Stock

THROUGH: tuple[Operation, ...] = ("cut",)
"""What the cutter that is asked for must do; scribed lines and holes go to others."""


def remedies(failures: Sequence[Finding], layout: Layout, shop: Shop, machine: Machine) -> str:
    """Return what would bring parts out of a layout that failed: a cutter with which each of them has been tried, and
    the options that leave them out; nothing where not every failure is one of a part.
    """
    there = {placed.name: (placed, sheet.stock) for sheet in layout.sheets for placed in sheet.placed}
    named = dict.fromkeys(finding.where for finding in failures)
    if not all(name in there for name in named):
        return ""
    refused = [there[name] for name in named]
    found = [
        f'--cutter "{cutter.name}"'
        for cutter in shop.straight
        if cutter is not layout.cutter and all(_cut_with(cutter, *each, shop, machine) for each in refused)
    ][:1]
    left = {placed.given.number for placed, _ in there.values()} - {placed.given.number for placed, _ in refused}
    if left:
        found.append(f'--parts "{numbers_text(left)}" leaves {"it" if len(refused) == 1 else "them"} out')
    return "; or ".join(found)


def _cut_with(cutter: Cutter, placed: Placed, stock: Stock, shop: Shop, machine: Machine) -> bool:
    """Whether a part can be cut out with a cutter."""
    job = job_of(placed.name, [placed.part.drawing], stock, cutter, machine, shop.cutting, THROUGH)
    try:
        toolpath(job)
    except CheckError:
        return False
    return True
