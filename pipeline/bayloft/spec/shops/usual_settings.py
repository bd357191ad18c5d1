"""What a shop file's numbers usually are: whatever lies outside is done as asked, but not in silence."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from bayloft.errors import KeyPath, spelled
from bayloft.findings import Finding
from bayloft.spec.shops.shop import Cutter, Cutting, Gantry, Machine, Shop, Stock
from bayloft.spec.text.measures import plain
from bayloft.spec.text.vocabulary import toml

Entry = Stock | Cutter | Machine | Gantry | Cutting
"""What the tables of a shop that are looked at are read as."""


class Usual(NamedTuple):
    """What a key of a table, `field` of the shop, usually is, in `unit`; and what goes wrong outside of it."""

    key: str
    field: str
    low: float
    high: float
    unit: str
    reason: str


DIAMETERS = "diameters"
"""Unit of a row that is judged by the cutter's own diameter."""

_SLIP = "a slip of unit or digit, perhaps"
_BED = "less takes no template, more is no small shop's"
_WASTE = "more is wood that no part is cut from"

USUAL: dict[str, tuple[Usual, ...]] = {
    "stock": (
        Usual("length", "length_mm", 200, 3700, "mm", _SLIP),
        Usual("width", "width_mm", 200, 2200, "mm", _SLIP),
        Usual("thickness", "thickness_mm", 2, 25, "mm", "thinner bends along a pencil, thicker takes many passes"),
        Usual("margin", "margin_mm", 0, 100, "mm", _WASTE),
    ),
    "cutters": (
        Usual("diameter", "diameter_mm", 0.8, 16, "mm", "thinner ones snap, wider ones round off inside corners"),
        Usual("cutting_depth", "depth_mm", 1, 8, DIAMETERS, "a short one hardly goes through, a long one snaps"),
        Usual("flutes", "flutes", 1, 4, "", "more leave the chips no room"),
        Usual("chip_load", "chip_load_mm", 0.003, 0.05, DIAMETERS, "less rubs and burns, more snaps the cutter"),
        Usual("rpm", "spindle_rpm", 5_000, 30_000, "rpm", "slower tears the wood, faster burns it and the cutter"),
        Usual("pass_depth", "pass_mm", 0.1, 1, DIAMETERS, "less takes hours, more bends or snaps the cutter"),
    ),
    "machine": (
        Usual("bed_length", "bed_length_mm", 200, 4000, "mm", _BED),
        Usual("bed_width", "bed_width_mm", 200, 3000, "mm", _BED),
        Usual("travel_height", "travel_height_mm", 5, 60, "mm", "lower runs into clamps, higher takes long"),
        Usual("greatest_feed", "greatest_feed_mm_min", 300, 15_000, "mm/min", _SLIP),
        Usual("rapid", "rapid_mm_min", 500, 30_000, "mm/min", _SLIP),
    ),
    "gantry": (
        Usual("z_travel", "z_travel_mm", 100, 600, "mm", "less takes no block, more is no small shop's"),
        Usual("holder_diameter", "holder_mm", 20, 130, "mm", _SLIP),
        Usual("stick_out", "stick_out_mm", 30, 250, "mm", "a short one keeps the holder in the foam, a long one whips"),
        Usual("clearance", "clearance_mm", 2, 20, "mm", "less rubs where a block bows, more takes wide waste"),
        Usual("level_depth", "level_mm", 3, 40, "mm", "less takes hours, more tears foam and bends the cutter"),
        Usual("allowance", "allowance_mm", 0.5, 4, "mm", "less shows the roughing, more loads the finishing cutter"),
        Usual("cusp", "cusp_mm", 0.05, 0.8, "mm", "less takes hours, more is much to sand"),
        Usual("finishing_feed", "finishing_feed_mm_min", 500, 15_000, "mm/min", _SLIP),
        Usual("frame", "frame_mm", 10, 120, "mm", "less breaks where it is clamped, more is foam for nothing"),
        Usual("margin", "margin_mm", 1, 30, "mm", "less leaves the skin of a block that bows, more is for nothing"),
        Usual("dowel", "dowel_mm", 6, 25, "mm", "thinner ones bend and crush foam, thicker ones weaken the waste"),
        Usual("dowel_in_bed", "dowel_in_bed_mm", 6, 30, "mm", "less lets it lean, more goes through the spoil board"),
        Usual("tab_width", "tab_width_mm", 20, 80, "mm", "a narrow one breaks, a wide one is much to take off"),
        Usual("tab_height", "tab_height_mm", 12, 50, "mm", "a low one breaks, a high one is much to take off"),
    ),
    "cutting": (
        Usual("ramp", "ramp_deg", 1, 10, "degrees", "flatter takes hours, steeper is a plunge: no tip cuts that well"),
        Usual("tabs", "tabs", 2, 12, "", "a part swings round a single tab, and each is taken off by hand"),
        Usual("tab_spacing", "tab_spacing_mm", 60, 800, "mm", "more lets long parts whip, less is much to take off"),
        Usual("tab_length", "tab_length_mm", 4, 30, "mm", "shorter ones break, longer ones are hard to take off"),
        Usual("tab_height", "tab_height_mm", 0.8, 6, "mm", "lower ones break, higher ones are hard to take off"),
        Usual("below", "below_mm", 0.1, 1, "mm", "less leaves a skin where a sheet bows, more spoils what is under it"),
        Usual("gap", "gap_mm", 0, 50, "mm", _WASTE),
        Usual("fit", "fit_mm", 0.05, 0.5, "mm", "tighter does not go together, looser does not hold a part true"),
    ),
}
"""By table, in the order of the keys. All of it is common practice, no source, and from memory."""


def unusual(shop: Shop) -> tuple[Finding, ...]:
    """Return a warning ("unusual") for every number given in a shop file that lies outside of what is usual; none for
    what bayloft assumes, nor for a shop without a router. `where` names the file, without its folder, line and key.
    """
    if shop.machine is None:
        return ()
    given: list[tuple[KeyPath, Entry]] = [(each.path, each) for each in shop.stock]
    given += [(each.path, each) for each in shop.cutters]
    given += [(shop.machine.path, shop.machine), (("cutting",), shop.cutting)]
    given += [(shop.gantry.path, shop.gantry)] if shop.gantry else []
    return tuple(finding for path, entry in given for finding in _outside(shop, path, entry))


def _outside(shop: Shop, path: KeyPath, entry: Entry) -> Iterator[Finding]:
    for usual in USUAL[str(path[0])]:
        key = (*path, usual.key)
        typed = shop.source.typed(key)
        # That parts without tabs come loose is said of each sheet (cutting/routing/reach.py).
        if typed is None or (usual.key == "tabs" and typed == 0):
            continue
        value, low, high = float(getattr(entry, usual.field)), usual.low, usual.high
        unit, whose = usual.unit, ""
        if isinstance(entry, Cutter) and unit == DIAMETERS:
            low, high = low * entry.diameter_mm, high * entry.diameter_mm
            unit, whose = "mm", f" for a cutter of {plain(entry.diameter_mm)} mm"
        # But for rounding: 1/8 in of a cutter of 1/8 in is one diameter.
        if low - 1e-9 <= value <= high + 1e-9:
            continue
        span = f"{plain(low)} to {plain(high)} {unit}".rstrip()
        yield Finding(
            code="unusual",
            severity="warning",
            where=f"{Path(shop.source.file).name}:{shop.source.line(key)}: {spelled(key)}",
            measured=value,
            limit=low if value < low else high,
            unit=unit,
            text=f"{toml(typed)} is unusual{whose}: {span} is usual; {usual.reason} (common practice, no source)",
        )
