"""The format of a fin, table by table, as pydantic models."""

from __future__ import annotations

from typing import ClassVar

from pydantic import ConfigDict, Field

from bayloft.spec.fins.fin import Family, FoilKind
from bayloft.spec.fins.layup_models import CoreTable, LayupTable
from bayloft.spec.text.kinds import (
    BaseFillet,
    Bow,
    EdgeHeight,
    EdgePlace,
    FinRake,
    FinSize,
    FinThickness,
    FinTipRadius,
    FinTipThickness,
    FinTipWidth,
    GreatestAt,
    Hollow,
    LeadingRadius,
    Mark,
    Name,
    TabHeight,
    TabPlace,
    TrailingEdge,
)
from bayloft.spec.text.tables import AsRead, Root, Table

MOST_EDGE_POINTS = 24


class EdgeAt(AsRead):
    """A measured point of an edge."""

    height: EdgeHeight = Field(description="Height above the base.", examples=["4 in"])
    x: EdgePlace = Field(description="Forward of the rear end of the base; negative aft of it.", examples=["5 1/2 in"])


class PlanformTable(Table):
    """The fin seen from the side."""

    read_to: Mark | None = Field(
        default=None,
        description="Finest mark with which the measured points were read; the edges pass within half of it.",
        examples=["1/16 in", "1 mm"],
    )
    family: Family | None = Field(
        default=None,
        description="Kind of fin; it sets what is usual for the shape numbers that are not given.",
        examples=["raked flex"],
    )
    leading_fullness: Bow | None = Field(
        default=None,
        description="Bow of the leading edge ahead of a straight line, as a share of the depth.",
        examples=[0.15],
    )
    trailing_hollow: Bow | None = Field(
        default=None,
        description="Hollow of the trailing edge ahead of a straight line, as a share of the depth.",
        examples=[0.1],
    )
    tip_radius: FinTipRadius | None = Field(default=None, description="Radius of the tip.", examples=["12 mm"])
    tip_width: FinTipWidth | None = Field(
        default=None,
        description="Length of the fin a tenth of its depth below the tip: how full the tip is.",
        examples=["2 3/4 in"],
    )
    base_fillet: BaseFillet | None = Field(
        default=None,
        description="How far both edges flare out at the base of a glassed-on fin; the base holds both flares.",
        examples=["1/4 in"],
    )
    leading: list[EdgeAt] | None = Field(
        default=None,
        min_length=1,
        max_length=MOST_EDGE_POINTS,
        description="Measured points of the leading edge between base and tip, in place of leading_fullness.",
        examples=[[{"height": "4 in", "x": "5 1/2 in"}]],
    )
    trailing: list[EdgeAt] | None = Field(
        default=None,
        min_length=1,
        max_length=MOST_EDGE_POINTS,
        description="Measured points of the trailing edge between base and tip, in place of trailing_hollow.",
        examples=[[{"height": "4 in", "x": "3/4 in"}]],
    )


class FoilTable(Table):
    """The fin's thickness."""

    kind: FoilKind | None = Field(
        default=None,
        description="double: both faces curved; flat: inside face flat; hollow: inside face hollowed.",
        examples=["double"],
    )
    section: str | None = Field(
        default=None,
        description="A file of foil coordinates (.dat) that gives the shape of both faces, in place of kind.",
        examples=["../sections/knot.dat"],
    )
    hollow: Hollow | None = Field(
        default=None, description="Depth of a hollow inside face at the base; it fades to the tip.", examples=["1.5 mm"]
    )
    greatest_at: GreatestAt | None = Field(
        default=None,
        description="Where the foil is thickest, as a share of the chord from the leading edge.",
        examples=["35 %"],
    )
    leading_radius: LeadingRadius | None = Field(
        default=None, description="Radius of the leading edge as a multiple of the standard foil's.", examples=[1.5]
    )
    thickness: FinThickness | None = Field(
        default=None, description="Greatest thickness, at the base.", examples=["9.5 mm"]
    )
    tip_thickness: FinTipThickness | None = Field(
        default=None, description="Greatest thickness carried out to the tip.", examples=["3 mm"]
    )
    trailing_edge: TrailingEdge | None = Field(
        default=None, description="Thickness of the trailing edge at the base.", examples=["1 mm"]
    )


class TabTable(Table):
    """A tab below the base, for a box or a slot."""

    length: FinSize = Field(description="Length along the base.", examples=["4 in"])
    height: TabHeight = Field(description="Height below the base.", examples=["3/4 in"])
    from_rear: TabPlace | None = Field(
        default=None,
        description="Rear end of the tab from the rear end of the base; centred if left out.",
        examples=["1 in"],
    )


class FinSpec(Root):
    """A fin."""

    required: ClassVar[tuple[str, ...]] = ("name", "base", "depth", "rake")
    model_config = ConfigDict(title="Fin", json_schema_extra={"required": list(required)})

    name: Name | None = Field(
        default=None, description="Name of the fin; its outputs' folder too.", examples=["Whimbrel flex"]
    )
    base: FinSize | None = Field(default=None, description="Length along the board.", examples=["7 in"])
    depth: FinSize | None = Field(default=None, description="Height square off the base.", examples=["9 1/2 in"])
    rake: FinRake | None = Field(
        default=None,
        description="How far the tip lies aft of the middle of the base, or at what angle.",
        examples=["4 in", "30 deg"],
    )
    planform: PlanformTable = PlanformTable()
    foil: FoilTable = FoilTable()
    tab: TabTable | None = Field(default=None, description="A tab below the base, for a box or a slot.")
    layup: LayupTable = LayupTable()
    core: CoreTable | None = Field(default=None, description="A core of wood or foam under skins of cloth.")
