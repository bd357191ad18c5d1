"""A shop file to trusted values, with every fault of it told at once."""

from __future__ import annotations

import os

from bayloft.errors import SpecError
from bayloft.spec.parsing import tables_of
from bayloft.spec.shops.gantry_rules import trusted_gantry
from bayloft.spec.shops.shop import Shop
from bayloft.spec.shops.shop_models import ShopSpec
from bayloft.spec.shops.shop_rules import (
    all_there,
    trusted_cutters,
    trusted_cutting,
    trusted_machine,
    trusted_paper,
    trusted_stock,
)
from bayloft.spec.shops.shop_units import one_system_each


def load_shop(path: str | os.PathLike[str]) -> Shop:
    """Return the shop of a shop file; what it does not say is assumed, cautiously, and listed in `assumed`.

    Raises
    ------
    SpecError : every fault of the file.
    """
    reading, spec = tables_of(ShopSpec, path)
    one_system_each(reading)
    stock = trusted_stock(spec.stock or (), reading)
    cutters = trusted_cutters(spec.cutters or (), reading)
    machine = trusted_machine(spec.machine, reading) if spec.machine else None
    gantry = trusted_gantry(spec.gantry, cutters, reading) if spec.gantry else None
    cutting = trusted_cutting(spec.cutting, stock, reading)
    paper = trusted_paper(spec.paper, reading)
    all_there(stock, cutters, machine, reading, carves=spec.gantry is not None)
    if reading.faults or spec.name is None:
        raise SpecError(tuple(reading.faults))
    return Shop(
        name=spec.name,
        stock=stock,
        cutters=cutters,
        machine=machine,
        gantry=gantry,
        cutting=cutting,
        paper=paper,
        assumed=tuple(reading.assumed),
        source=reading.source,
    )
