"""A shop as trusted values: its stock, cutters, machine and paper; millimetres, mm per minute, turns per minute."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.errors import KeyPath
from bayloft.spec.text.given import Assumed
from bayloft.spec.text.source import Source
from bayloft.tolerances import LEAST_PRINTED_MM

Way = Literal["climb", "conventional"]
Entry = Literal["ramp", "helix"]
CutterKind = Literal["flat", "ball"]
JointKind = Literal["dovetail", "half-lap", "splice"]
DialectName = Literal["arcs", "arcs-dwell", "arcs-numbered", "lines", "lines-numbered"]
PaperKind = Literal["A4", "Letter", "A3", "roll"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Sheets of one size: how many, `length_mm` along the face grain, width and thickness; `margin_mm` is kept free
    along every edge. `grained`: parts that ask for it lie along the length.
    """

    name: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    sheets: int
    margin_mm: float
    grained: bool
    path: KeyPath


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutter:
    """A straight end mill or a drill ("flat"), or one with a round end ("ball"): diameter and cutting depth in mm,
    flutes, chip load in mm per flute, spindle turns per minute, depth of one pass in mm.
    """

    name: str
    diameter_mm: float
    depth_mm: float
    flutes: int
    chip_load_mm: float
    spindle_rpm: float
    pass_mm: float
    path: KeyPath
    kind: CutterKind = "flat"

    @property
    def radius_mm(self) -> float:
        """Half the diameter in mm: of a ball, the radius of its end too."""
        return self.diameter_mm / 2.0

    @property
    def feed_mm_min(self) -> float:
        """The feed in mm per minute: chip load x flutes x turns (Machinery's Handbook, milling; from memory)."""
        return self.chip_load_mm * self.flutes * self.spindle_rpm


@dataclass(frozen=True, slots=True, kw_only=True)
class Machine:
    """A router: its bed (x along the sheet's length, y across), the height above the stock at which it travels, its
    greatest feed, its rapid speed, and the `dialect` of G-code that its controller reads.
    """

    bed_length_mm: float
    bed_width_mm: float
    travel_height_mm: float
    greatest_feed_mm_min: float
    rapid_mm_min: float
    dialect: DialectName
    path: KeyPath


@dataclass(frozen=True, slots=True, kw_only=True)
class Gantry:
    """What a router that carves boards has besides: travel upright, the holder (a cylinder) and how far the cutter
    stands out of it, the clearance kept round it, in mm; how a block is roughed (depth of a level, allowance) and
    finished (cusp in mm, feed in mm per minute, None: the cutter's own); foam of the block beside the cleared ground
    and over and under the board; dowels and tabs; the cutters by name, empty: the first ball.
    """

    z_travel_mm: float
    holder_mm: float
    stick_out_mm: float
    clearance_mm: float
    level_mm: float
    allowance_mm: float
    cusp_mm: float
    finishing_feed_mm_min: float | None
    frame_mm: float
    margin_mm: float
    dowel_mm: float
    dowel_in_bed_mm: float
    tab_width_mm: float
    tab_height_mm: float
    roughing_cutter: str
    finishing_cutter: str
    path: KeyPath


@dataclass(frozen=True, slots=True, kw_only=True)
class Cutting:
    """How parts are cut out: the cutter's way round, entry and its slope in degrees, tabs that hold a part (how many at
    least, at most how far apart, length along the contour and height left standing in mm), how far below the stock the
    cutter goes, the least gap between parts (never less than the cutter's diameter), and the joint of parts cut in
    pieces with the gap of its fit in mm.
    """

    way: Way
    entry: Entry
    ramp_deg: float
    tabs: int
    tab_spacing_mm: float
    tab_length_mm: float
    tab_height_mm: float
    below_mm: float
    gap_mm: float
    joint: JointKind
    fit_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Paper:
    """What full-size prints come on: the kind, its width and height in mm (of a roll: its width and greatest length),
    the margin that the printer cannot reach, and the overlap of neighbouring pages.
    """

    kind: PaperKind
    width_mm: float
    height_mm: float
    margin_mm: float
    overlap_mm: float

    @property
    def widest_margin_mm(self) -> float:
        """The widest margin that leaves LEAST_PRINTED_MM of a page, negative where the page itself is too small."""
        return (
            min(side - least for side, least in zip((self.width_mm, self.height_mm), LEAST_PRINTED_MM, strict=True)) / 2
        )

    @property
    def has_room(self) -> bool:
        """Whether the margins leave LEAST_PRINTED_MM of a page, but for rounding."""
        return round(self.margin_mm - self.widest_margin_mm, 6) <= 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Shop:
    """A shop file: stock and cutters (the first that serves is used unless another is asked for), machine, cutting and
    paper. A shop without a router has no stock, no cutters and no machine; one that carves boards has a gantry, and
    need not have stock.
    """

    name: str
    stock: tuple[Stock, ...]
    cutters: tuple[Cutter, ...]
    machine: Machine | None
    gantry: Gantry | None
    cutting: Cutting
    paper: Paper
    assumed: tuple[Assumed, ...]
    source: Source

    @property
    def straight(self) -> tuple[Cutter, ...]:
        """The cutters that cut templates: all but balls."""
        return tuple(each for each in self.cutters if each.kind == "flat")
