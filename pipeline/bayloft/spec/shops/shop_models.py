"""The format of a shop file, table by table, as pydantic models."""

from __future__ import annotations

from typing import ClassVar

from pydantic import ConfigDict, Field

from bayloft.spec.shops.shop import CutterKind, DialectName, Entry, JointKind, PaperKind, Way
from bayloft.spec.text.kinds import (
    BedSize,
    BlockMargin,
    CarvingAllowance,
    ChipLoad,
    Cusp,
    CutBelow,
    CutterDiameter,
    CuttingDepth,
    Dowel,
    DowelInBed,
    Feed,
    Flutes,
    FoamTab,
    FrameWidth,
    HeldHeight,
    HolderClearance,
    HolderDiameter,
    JointFit,
    LevelDepth,
    Name,
    PaperMargin,
    PaperOverlap,
    PartGap,
    PassDepth,
    RampAngle,
    RollLength,
    RollWidth,
    SheetCount,
    SpindleRpm,
    StickOut,
    StockMargin,
    StockSize,
    StockThickness,
    TabCount,
    TabLength,
    TabSpacing,
    TravelHeight,
    ZTravel,
)
from bayloft.spec.text.tables import Root, Table

CAUTIOUS = "cautious, take yours from the cutter maker's data sheet and the router's manual"
"""Said wherever a speed or a depth stands that the maker did not give."""

MOST_ENTRIES = 40


class StockTable(Table):
    """Sheets of one size."""

    name: Name = Field(description="What the sheets are called.", examples=["birch ply 6"])
    length: StockSize = Field(description="Length of a sheet, along the grain of its faces.", examples=["2440 mm"])
    width: StockSize = Field(description="Width of a sheet.", examples=["1220 mm"])
    thickness: StockThickness = Field(description="Thickness, as measured.", examples=["6 mm"])
    sheets: SheetCount | None = Field(default=None, description="How many there are; 1 if left out.", examples=[4])
    margin: StockMargin | None = Field(
        default=None, description="Kept free along every edge, for clamps and rough edges.", examples=["15 mm"]
    )
    grained: bool | None = Field(
        default=None, description="Whether the faces have a grain; false for board without one.", examples=[True]
    )


class CutterTable(Table):
    """A straight end mill, a drill, or a cutter with a round end."""

    name: Name = Field(description="What the cutter is called.", examples=["6 mm straight"])
    diameter: CutterDiameter = Field(description="Diameter of the cutting edges.", examples=["6 mm"])
    cutting_depth: CuttingDepth = Field(
        description="Length of the cutting edges: how deep it can cut.", examples=["22 mm"]
    )
    flutes: Flutes | None = Field(default=None, description="Number of cutting edges; 2 if left out.", examples=[2])
    chip_load: ChipLoad | None = Field(
        default=None,
        description=f"How far it goes forward per cutting edge and turn. If left out: {CAUTIOUS}.",
        examples=["0.06 mm/flute"],
    )
    rpm: SpindleRpm | None = Field(
        default=None, description=f"Turns of the spindle per minute. If left out: {CAUTIOUS}.", examples=[16000]
    )
    pass_depth: PassDepth | None = Field(
        default=None, description=f"Depth of one pass. If left out: {CAUTIOUS}.", examples=["3 mm"]
    )
    kind: CutterKind | None = Field(
        default=None,
        description="Its end: flat, or a ball, which finishes boards and cuts no templates; flat if left out.",
        examples=["ball"],
    )


class MachineTable(Table):
    """The router."""

    bed_length: BedSize = Field(description="Travel along the sheet's length (x).", examples=["2500 mm"])
    bed_width: BedSize = Field(description="Travel along the sheet's width (y).", examples=["1250 mm"])
    travel_height: TravelHeight | None = Field(
        default=None,
        description="Height above the stock at which it travels, clear of every clamp.",
        examples=["15 mm"],
    )
    greatest_feed: Feed | None = Field(
        default=None,
        description=f"Greatest feed while cutting. If left out: {CAUTIOUS}.",
        examples=["3000 mm/min"],
    )
    rapid: Feed | None = Field(
        default=None, description="Speed of travel in the air, for the estimate of time.", examples=["5000 mm/min"]
    )
    dialect: DialectName | None = Field(
        default=None,
        description="What G-code the controller reads: arcs or lines only; with a wait for the spindle (dwell), with "
        "numbered lines.",
        examples=["arcs"],
    )


class GantryTable(Table):
    """What a router that carves boards has besides."""

    z_travel: ZTravel = Field(description="Travel up and down.", examples=["220 mm"])
    holder_diameter: HolderDiameter = Field(
        description="Diameter of what holds the cutter, at its widest: collet nut or spindle.", examples=["65 mm"]
    )
    stick_out: StickOut = Field(description="How far the cutter stands out of it.", examples=["90 mm"])
    clearance: HolderClearance | None = Field(
        default=None, description="Kept between the holder and the foam.", examples=["5 mm"]
    )
    level_depth: LevelDepth | None = Field(
        default=None, description=f"Depth of one level of roughing. If left out: {CAUTIOUS}.", examples=["12 mm"]
    )
    allowance: CarvingAllowance | None = Field(
        default=None, description="What roughing leaves for finishing.", examples=["1 mm"]
    )
    cusp: Cusp | None = Field(
        default=None, description="Height of the ridges between finishing passes.", examples=["0.1 mm"]
    )
    finishing_feed: Feed | None = Field(
        default=None, description="Feed of finishing; the cutter's own if left out.", examples=["3000 mm/min"]
    )
    frame: FrameWidth | None = Field(
        default=None, description="Foam of the block left beside the cleared ground, to clamp.", examples=["30 mm"]
    )
    margin: BlockMargin | None = Field(
        default=None, description="Foam over and under the board in the block, at least.", examples=["3 mm"]
    )
    dowel: Dowel | None = Field(
        default=None, description="Diameter of the two dowels that the block is turned over on.", examples=["10 mm"]
    )
    dowel_in_bed: DowelInBed | None = Field(
        default=None, description="How deep a dowel goes into the spoil board on the bed.", examples=["12 mm"]
    )
    tab_width: FoamTab | None = Field(
        default=None, description="Width of the two tabs of foam that hold the board.", examples=["40 mm"]
    )
    tab_height: FoamTab | None = Field(default=None, description="Height of these tabs.", examples=["25 mm"])
    roughing_cutter: Name | None = Field(
        default=None, description="Cutter that roughs; the finishing one if left out.", examples=["12 mm ball"]
    )
    finishing_cutter: Name | None = Field(
        default=None, description="Cutter that finishes; the first ball if left out.", examples=["12 mm ball"]
    )


class CuttingTable(Table):
    """How parts are cut out and joined."""

    way: Way | None = Field(
        default=None,
        description="Which way round the cutter goes: with its turn (climb) or against it (conventional).",
        examples=["conventional"],
    )
    entry: Entry | None = Field(
        default=None, description="How the cutter goes into the stock: never straight down.", examples=["ramp"]
    )
    ramp: RampAngle | None = Field(default=None, description="Slope of ramp or helix.", examples=["3 deg"])
    tabs: TabCount | None = Field(
        default=None, description="Tabs left round each part, at least; 0 for none.", examples=[4]
    )
    tab_spacing: TabSpacing | None = Field(
        default=None, description="How far apart tabs are at most.", examples=["350 mm"]
    )
    tab_length: TabLength | None = Field(default=None, description="Length of a tab.", examples=["10 mm"])
    tab_height: HeldHeight | None = Field(
        default=None, description="Height of a tab, left standing at the bottom of the stock.", examples=["1.5 mm"]
    )
    below: CutBelow | None = Field(
        default=None,
        description="How far below the stock the last pass goes, into the spoil board.",
        examples=["0.3 mm"],
    )
    gap: PartGap | None = Field(
        default=None, description="Between parts, at least; never less than the cutter's diameter.", examples=["8 mm"]
    )
    joint: JointKind | None = Field(
        default=None, description="Joint of parts that are cut in pieces.", examples=["dovetail"]
    )
    fit: JointFit | None = Field(default=None, description="Gap of that joint's fit.", examples=["0.15 mm"])


class PaperTable(Table):
    """What full-size prints come on."""

    kind: PaperKind | None = Field(default=None, description="Kind of paper.", examples=["A4"])
    width: RollWidth | None = Field(default=None, description="Width of a roll.", examples=["610 mm"])
    length: RollLength | None = Field(
        default=None, description="Greatest length printed from a roll at once.", examples=["5 m"]
    )
    margin: PaperMargin | None = Field(
        default=None, description="Edge that the printer cannot reach.", examples=["6 mm"]
    )
    overlap: PaperOverlap | None = Field(
        default=None, description="By how much neighbouring pages overlap.", examples=["10 mm"]
    )


class ShopSpec(Root):
    """A shop: its stock, cutters, router and paper; a shop with a printer alone has only paper."""

    required: ClassVar[tuple[str, ...]] = ("name",)
    model_config = ConfigDict(title="Shop", json_schema_extra={"required": list(required)})

    name: Name | None = Field(default=None, description="Name of the shop.", examples=["Saltmarsh Boatshed"])
    stock: list[StockTable] | None = Field(
        default=None, min_length=1, max_length=MOST_ENTRIES, description="Sheets that parts are cut from."
    )
    cutters: list[CutterTable] | None = Field(
        default=None,
        min_length=1,
        max_length=MOST_ENTRIES,
        description="The router's cutters; the first that goes through the stock cuts, unless another is asked for.",
    )
    machine: MachineTable | None = Field(default=None, description="The router.")
    gantry: GantryTable | None = Field(default=None, description="What a router that carves boards has besides.")
    cutting: CuttingTable = CuttingTable()
    paper: PaperTable = PaperTable()

    @classmethod
    def own_keys(cls) -> tuple[str, ...]:
        """Return the tables that no other kind of file has."""
        return ("stock", "cutters", "machine", "gantry", "cutting", "paper")
