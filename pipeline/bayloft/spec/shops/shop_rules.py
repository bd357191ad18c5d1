"""A shop's tables to trusted numbers: what is assumed where nothing is given, and what cannot be worked with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from bayloft.errors import KeyPath, spelled
from bayloft.spec.shops.shop import Cutter, Cutting, DialectName, Machine, Paper, PaperKind, Stock
from bayloft.spec.shops.shop_models import (
    CAUTIOUS,
    CutterTable,
    CuttingTable,
    MachineTable,
    PaperTable,
    StockTable,
)
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.tolerances import LEAST_PRINTED_MM
from bayloft.units import at_least, at_most, both

STOCK_MARGIN_MM = 15.0
"""Kept free along a sheet's edges: a clamp's foot (common practice, no source)."""
FLUTES = 2
"""Of the straight cutters most shops have (common practice, no source)."""
CHIP_LOAD_SHARE = 0.01
"""Chip load as a share of the cutter's diameter: low for plywood, on purpose (common practice, no source; no
advice)."""
SPINDLE_RPM = 12_000.0
"""Turns per minute: a small router's lower speeds, which burn least (common practice, no source)."""
PASS_SHARE = 0.5
"""Depth of a pass as a share of the cutter's diameter: cautious (common practice, no source)."""
TRAVEL_HEIGHT_MM = 15.0
"""Above the stock: over the heads of screws and low clamps (common practice, no source)."""
GREATEST_FEED_MM_MIN, RAPID_MM_MIN = 1500.0, 3000.0
"""What even a light router does (common practice, no source)."""
DIALECT: DialectName = "arcs"
"""What most controllers read (from memory, no source)."""
RAMP_DEG = 3.0
"""An end mill hardly cuts at its middle: it goes forward far more than down (common practice, no source)."""
TABS, TAB_SPACING_MM, TAB_LENGTH_MM, TAB_HEIGHT_MM = 4, 350.0, 10.0, 1.5
"""Tabs round a part, how far apart in mm at most, their length and height in mm: one to a side of a small part, and no
more wood than a chisel takes off (common practice, no source)."""
TAB_SHARE = 0.5
"""A tab that nobody gave a height is no higher than this share of the thinnest stock, which is cut through beside it
(common practice, no source)."""
BELOW_MM = 0.3
"""Below the stock: as much as a clamped sheet bows or differs in thickness (common practice, no source)."""
GAP_MM = 8.0
"""Between parts: a 6 mm cutter and a little wood (common practice, no source)."""
FIT_MM = 0.15
"""Gap of a joint that goes together by hand and does not rattle (common practice, no source)."""

PAPER_SIZES_MM: dict[PaperKind, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "Letter": (215.9, 279.4),
    "A3": (297.0, 420.0),
}
"""Width and height in mm: ISO 216; 8.5 x 11 in, ANSI/ASME Y14.1 size A (from memory)."""
ROLL_LENGTH_MM = 5000.0
"""What most plotters print at once (from memory, no source)."""
PAPER_MARGIN_MM = 6.0
"""What desk printers cannot reach (common practice, no source)."""
PAPER_OVERLAP_MM = 10.0
"""Room for a glue stick (common practice, no source)."""
TOO_LITTLE_LEFT = "the margins leave too little of a page for its marks and its check boxes"


def trusted_stock(tables: Sequence[StockTable], reading: Reading) -> tuple[Stock, ...]:
    """Return the stock; margins that leave nothing of a sheet, and a name given twice, are faults."""
    found = []
    for place, table in enumerate(tables):
        path: KeyPath = ("stock", place)
        margin = table.margin
        if margin is None:
            reason = "room for clamps and rough edges"
            margin = reading.assume_mm((*path, "margin"), STOCK_MARGIN_MM, reason)
        if 2 * margin >= (least := min(table.length, table.width)):
            allowed = f"less than half the sheet's lesser side, {both(least / 2)}"
            reading.fault((*path, "margin"), "the margins leave nothing of the sheet", allowed=allowed, mm=margin)
        if table.sheets is None:
            reading.assume((*path, "sheets"), "1", "no number is given")
        if table.grained is None:
            reading.assume((*path, "grained"), "true", "plywood and planks have a grain")
        found.append(
            Stock(
                name=table.name,
                length_mm=table.length,
                width_mm=table.width,
                thickness_mm=table.thickness,
                sheets=table.sheets or 1,
                margin_mm=margin,
                grained=table.grained is not False,
                path=path,
            )
        )
    _named_once(found, reading)
    return tuple(found)


def trusted_cutters(tables: Sequence[CutterTable], reading: Reading) -> tuple[Cutter, ...]:
    """Return the cutters; a pass deeper than the cutting edges, and a name given twice, are faults."""
    found = []
    for place, table in enumerate(tables):
        path: KeyPath = ("cutters", place)
        chip, rpm, depth = table.chip_load, table.rpm, table.pass_depth
        if table.flutes is None:
            reading.assume((*path, "flutes"), str(FLUTES), "the usual number")
        if chip is None:
            chip = CHIP_LOAD_SHARE * table.diameter
            reading.assume((*path, "chip_load"), f"{plain(chip)} mm/flute", CAUTIOUS)
        if rpm is None:
            reading.assume((*path, "rpm"), f"{SPINDLE_RPM:.0f}", CAUTIOUS)
        if depth is None:
            usual = min(PASS_SHARE * table.diameter, table.cutting_depth)
            depth = reading.assume_mm((*path, "pass_depth"), usual, CAUTIOUS)
        elif depth > table.cutting_depth:
            allowed = f"at most the cutting depth, {both(table.cutting_depth)}"
            reading.fault((*path, "pass_depth"), "deeper than the cutting edges are long", allowed=allowed, mm=depth)
        found.append(
            Cutter(
                name=table.name,
                diameter_mm=table.diameter,
                depth_mm=table.cutting_depth,
                flutes=table.flutes or FLUTES,
                chip_load_mm=chip,
                spindle_rpm=float(rpm or SPINDLE_RPM),
                pass_mm=depth,
                path=path,
                kind=table.kind or "flat",
            )
        )
    _named_once(found, reading)
    return tuple(found)


def trusted_machine(table: MachineTable, reading: Reading) -> Machine:
    """Return the router."""
    height, feed, rapid = table.travel_height, table.greatest_feed, table.rapid
    if height is None:
        reason = "clear of low clamps; more where yours are higher"
        height = reading.assume_mm(("machine", "travel_height"), TRAVEL_HEIGHT_MM, reason)
    if feed is None:
        feed = GREATEST_FEED_MM_MIN
        reading.assume(("machine", "greatest_feed"), f"{feed:.0f} mm/min", CAUTIOUS)
    if rapid is None:
        rapid = RAPID_MM_MIN
        reading.assume(("machine", "rapid"), f"{rapid:.0f} mm/min", "for the estimate of time only")
    if table.dialect is None:
        reading.assume(("machine", "dialect"), DIALECT, "most controllers read arcs; lines where yours does not")
    return Machine(
        bed_length_mm=table.bed_length,
        bed_width_mm=table.bed_width,
        travel_height_mm=height,
        greatest_feed_mm_min=feed,
        rapid_mm_min=rapid,
        dialect=table.dialect or DIALECT,
        path=("machine",),
    )


def trusted_cutting(table: CuttingTable, stock: Sequence[Stock], reading: Reading) -> Cutting:
    """Return how parts are cut out."""
    thinnest = min(stock, key=lambda each: each.thickness_mm, default=None)
    usual_tab = min(TAB_HEIGHT_MM, TAB_SHARE * thinnest.thickness_mm) if thinnest else TAB_HEIGHT_MM

    def length(key: str, given: float | None, usual_mm: float, reason: str) -> float:
        return given if given is not None else _assumed_mm(reading, key, usual_mm, reason, told=bool(stock))

    def word(key: str, usual: str, reason: str) -> None:
        if stock and getattr(table, key) is None:
            reading.assume(("cutting", key), usual, reason)

    word("way", "conventional", "it does not pull a light router into the cut")
    word("entry", "ramp", "no cutter is driven straight down")
    word("ramp", f"{RAMP_DEG:g} degrees", CAUTIOUS)
    word("tabs", str(TABS), "a part must not come loose")
    word("joint", "dovetail", "it needs no other part")
    return Cutting(
        way=table.way or "conventional",
        entry=table.entry or "ramp",
        ramp_deg=table.ramp if table.ramp is not None else RAMP_DEG,
        tabs=table.tabs if table.tabs is not None else TABS,
        tab_spacing_mm=length("tab_spacing", table.tab_spacing, TAB_SPACING_MM, "a part must not come loose"),
        tab_length_mm=length("tab_length", table.tab_length, TAB_LENGTH_MM, "a part must not come loose"),
        tab_height_mm=length("tab_height", table.tab_height, usual_tab, "it holds, and a chisel takes it off"),
        below_mm=length("below", table.below, BELOW_MM, "just through the stock"),
        gap_mm=length("gap", table.gap, GAP_MM, "wood that holds between two cuts"),
        joint=table.joint or "dovetail",
        fit_mm=length("fit", table.fit, FIT_MM, "a joint that goes together by hand"),
    )


def trusted_paper(table: PaperTable, reading: Reading) -> Paper:
    """Return the paper; a roll without a width, a sheet with a size of its own, and margins that leave too little of a
    page are faults.
    """
    kind = table.kind
    if kind is None:
        kind = "A4" if table.width is None else "roll"
        reading.assume(("paper", "kind"), kind, "no kind is given" if kind == "A4" else "a width is given")
    width, height = PAPER_SIZES_MM.get(kind, (table.width or 0.0, table.length or ROLL_LENGTH_MM))
    if kind == "roll" and table.width is None:
        reading.missing(("paper", "width"))
    if kind == "roll" and table.length is None:
        reading.assume_mm(("paper", "length"), ROLL_LENGTH_MM, "what most plotters print at once")
    for key in ("width", "length") if kind != "roll" else ():
        if (size := getattr(table, key)) is not None:
            hint = 'leave it out, or kind = "roll"'
            reading.fault(("paper", key), f"{kind} has a size of its own", hint=hint, mm=size)
    margin, overlap = table.margin, table.overlap
    if margin is None:
        margin = reading.assume_mm(("paper", "margin"), PAPER_MARGIN_MM, "what most printers cannot reach")
    if overlap is None:
        overlap = reading.assume_mm(("paper", "overlap"), PAPER_OVERLAP_MM, "room for glue")
    paper = Paper(kind=kind, width_mm=width, height_mm=height, margin_mm=margin, overlap_mm=overlap)
    if kind != "roll":
        _room_on_sheet(paper, reading)
    elif table.width is not None:
        _room_on_roll(paper, reading)
    return paper


def _room_on_sheet(paper: Paper, reading: Reading) -> None:
    if paper.has_room:
        return
    others = [replace(paper, kind=kind, width_mm=w, height_mm=h) for kind, (w, h) in PAPER_SIZES_MM.items()]
    larger = next((other.kind for other in others if other.has_room), None)
    reading.fault(
        ("paper", "margin"),
        TOO_LITTLE_LEFT,
        allowed=f"at most {at_most(paper.widest_margin_mm)} on {paper.kind}",
        hint=f'kind = "{larger}"' if larger else "",
        mm=paper.margin_mm,
    )


def _room_on_roll(paper: Paper, reading: Reading) -> None:
    if paper.has_room:
        return
    for key, side, least in zip(("width", "length"), (paper.width_mm, paper.height_mm), LEAST_PRINTED_MM, strict=True):
        if side < least + 2 * paper.margin_mm:
            reading.fault(
                ("paper", key),
                TOO_LITTLE_LEFT,
                allowed=f"at least {at_least(least + 2 * paper.margin_mm)} with this margin, or a margin of "
                f"at most {at_most(paper.widest_margin_mm)}",
                mm=side,
            )


def all_there(
    stock: Sequence[Stock], cutters: Sequence[Cutter], machine: Machine | None, reading: Reading, *, carves: bool
) -> None:
    """Tell of a table that is missing beside the others; a shop that carves boards needs no stock. What of them fits
    together a job asks of those it takes.
    """
    there = {"stock": bool(stock) or carves, "cutters": bool(cutters), "machine": machine is not None}
    for key, given in there.items():
        if not given and any(there.values()) and not reading.explained((key,)):
            reading.missing((key,))


def _named_once(entries: Sequence[Stock] | Sequence[Cutter], reading: Reading) -> None:
    first: dict[str, KeyPath] = {}
    for entry in entries:
        if entry.name in first:
            problem = f"{spelled(first[entry.name])} has this name already"
            reading.fault((*entry.path, "name"), problem, hint="give one of them another name")
        first.setdefault(entry.name, entry.path)


def _assumed_mm(reading: Reading, key: str, mm: float, reason: str, *, told: bool) -> float:
    return reading.assume_mm(("cutting", key), mm, reason) if told else mm
