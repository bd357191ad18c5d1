"""The format of a fin, table by table, as pydantic models."""

from __future__ import annotations

from typing import ClassVar

from pydantic import ConfigDict, Field

from bayloft.spec.fin import FoilKind
from bayloft.spec.kinds import (
    Bow,
    FinRake,
    FinSize,
    FinThickness,
    FinTipRadius,
    FinTipThickness,
    Name,
    TabHeight,
    TabPlace,
    TrailingEdge,
)
from bayloft.spec.layup_models import CoreTable, LayupTable
from bayloft.spec.tables import Root, Table


class Planform(Table):
    """The fin seen from the side."""

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


class Foil(Table):
    """The fin's thickness."""

    kind: FoilKind | None = Field(
        default=None, description="double: both faces curved; flat: inside face flat.", examples=["double"]
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
    planform: Planform = Planform()
    foil: Foil = Foil()
    tab: TabTable | None = Field(default=None, description="A tab below the base, for a box or a slot.")
    layup: LayupTable = LayupTable()
    core: CoreTable | None = Field(default=None, description="A core of wood or foam under skins of cloth.")
