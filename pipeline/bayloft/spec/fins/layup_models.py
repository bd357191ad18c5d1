"""The tables of a fin's layup and core, as pydantic models."""

from __future__ import annotations

from pydantic import Field

from bayloft.spec.fins.layup import CAUTIOUS, Warp
from bayloft.spec.text.kinds import (
    ClothWeight,
    CoreDensity,
    CoreThickness,
    FibreShare,
    GlassDensity,
    Name,
    PanelMargin,
    PliesPerSession,
    Pot,
    ResinDensity,
    SkinPlies,
)
from bayloft.spec.text.tables import Table


class LayupTable(Table):
    """What the fin is laid up of, and how much at once."""

    cloth: ClothWeight | None = Field(
        default=None,
        description="Weight of the cloth, per square yard or square metre.",
        examples=["7.5 oz/yd2", "250 g/m2"],
    )
    fibre_share: FibreShare | None = Field(
        default=None, description="Share of glass in the laminate, by mass.", examples=[0.5]
    )
    glass_density: GlassDensity | None = Field(
        default=None, description="Density of the glass.", examples=["2.56 g/cm3"]
    )
    resin_density: ResinDensity | None = Field(
        default=None, description="Density of the cured resin.", examples=["1.2 g/cm3"]
    )
    plies_per_session: PliesPerSession | None = Field(
        default=None,
        description=f"Most plies laid before the panel has cooled. If left out: {CAUTIOUS}.",
        examples=[6],
    )
    pot: Pot | None = Field(
        default=None, description=f"Most resin mixed at once. If left out: {CAUTIOUS}.", examples=["200 g"]
    )
    margin: PanelMargin | None = Field(
        default=None, description="How far the panel goes beyond the fin's outline.", examples=["20 mm"]
    )
    warp: Warp | None = Field(
        default=None,
        description="Which way the cloth's warp lies where fins share a panel: along the base, up the depth, or any; "
        "square to the base one way or the other if left out.",
        examples=["base"],
    )


class CoreTable(Table):
    """A core of wood or foam, foiled and then covered with skins of cloth."""

    material: Name = Field(description="What the core is made of.", examples=["western red cedar"])
    density: CoreDensity = Field(description="Density of the core.", examples=["350 kg/m3"])
    thickness: CoreThickness = Field(description="Thickness of the core before it is foiled.", examples=["1/4 in"])
    skin_plies: SkinPlies | None = Field(
        default=None, description="Plies on each face; as many as fill the foil if left out.", examples=[3]
    )
