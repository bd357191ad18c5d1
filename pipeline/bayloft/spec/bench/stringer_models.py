"""The format of a board's `[stringer]` table, as a pydantic model."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from bayloft.spec.text.kinds import (
    ClampSpacing,
    GlueLine,
    GlueSpread,
    Kerf,
    Name,
    PigmentShare,
    Remark,
    ScarfRatio,
    StringerAllowance,
    StringerThickness,
    StripCount,
    WoodDensity,
    WoodStiffness,
)
from bayloft.spec.text.tables import Table

Rip = Literal["beside the old stringer", "through the old stringer"]


class StringerTable(Table):
    """A new stringer that the halves of the blank are glued onto; nothing here changes the board."""

    wood: Name = Field(description="Its wood, in your own words.", examples=["western red cedar"])
    density: WoodDensity | None = Field(
        default=None,
        description="Density of the wood: of a piece weighed and measured, or of a table; the plank's if left out.",
        examples=["380 kg/m3"],
    )
    source: Remark | None = Field(
        default=None, description="Where that density is from.", examples=["an off-cut, weighed"]
    )
    stiffness: WoodStiffness | None = Field(
        default=None,
        description="Modulus of elasticity of the wood along the grain: with the foam's, how much of a bend springs "
        "back.",
        examples=["7.7 GPa"],
    )
    thickness: StringerThickness = Field(description="Finished thickness.", examples=["1/2 in", "6 mm"])
    strips: StripCount | None = Field(
        default=None, description="Strips side by side that make the thickness; 1 if left out.", examples=[2]
    )
    glue_line: GlueLine | None = Field(
        default=None, description="Thickness of the glue in a joint.", examples=["0.3 mm"]
    )
    kerf: Kerf | None = Field(
        default=None, description="What the saw takes where the blank is ripped and wood is cut.", examples=["3 mm"]
    )
    rip: Rip | None = Field(
        default=None,
        description="How the blank is ripped: twice, beside the old stringer, which is lost; or once, through it, and "
        "each half keeps half of it.",
        examples=["through the old stringer"],
    )
    allowance: StringerAllowance | None = Field(
        default=None,
        description="Left on at deck and bottom edge, and planed off with the foam.",
        examples=["3 mm"],
    )
    spread: GlueSpread | None = Field(
        default=None,
        description="Glue on a joint, of the glue's own sheet; without it no mass of glue is told.",
        examples=["300 g/m2"],
    )
    pigment: PigmentShare | None = Field(
        default=None, description="Pigment in the glue, as a share of the glue's mass.", examples=["3 %"]
    )
    clamps_every: ClampSpacing | None = Field(
        default=None, description="Greatest distance of two clamps.", examples=["8 in"]
    )
    scarf: ScarfRatio | None = Field(
        default=None,
        description="Slope of a scarf, should the plank be too short: 1 through the thickness to so much along.",
        examples=["1:12"],
    )
    plank: str | None = Field(
        default=None,
        description="File of the plank, seen from this file.",
        examples=["../planks/greenhouse-bench.toml"],
    )
