"""The format of a blank, as pydantic models: the words of a board's shape, its foam, and what is in it."""

from __future__ import annotations

from typing import Annotated, ClassVar

from pydantic import ConfigDict, Field

from bayloft.spec.boards.shape_models import ShapeSpec
from bayloft.spec.text.kinds import FoamDensity, FoamStiffness, FoamStrain, Name, Remark, StringerThickness, Typed
from bayloft.spec.text.measures import Length
from bayloft.spec.text.tables import Table

BlankError = Annotated[float, Typed(Length(low_mm=0, high_mm=30))]


class FoamTable(Table):
    """The foam."""

    kind: Name = Field(description="What foam it is, in your own words.", examples=["polyurethane", "EPS"])
    density: FoamDensity | None = Field(
        default=None,
        description="Its density: of a piece weighed and measured, or of a data sheet.",
        examples=["45 kg/m3"],
    )
    source: Remark | None = Field(
        default=None, description="Where that density is from.", examples=["an off-cut, weighed"]
    )
    stiffness: FoamStiffness | None = Field(
        default=None,
        description="Its modulus of elasticity in bending, by its maker's sheet: how much of a bend springs back.",
        examples=["8 MPa"],
    )
    most_strain: FoamStrain | None = Field(
        default=None,
        description="What a face of it may be stretched or squeezed by bending, by its maker's sheet.",
        examples=["0.5 %"],
    )


class OldStringerTable(Table):
    """The stringer that is in the block as it lies on the rack."""

    thickness: StringerThickness = Field(description="Thickness of the stringer.", examples=["1/8 in", "4 mm"])
    wood: Name | None = Field(default=None, description="Its wood.", examples=["basswood"])


class BlankSpec(ShapeSpec):
    """A blank: a block of foam on the rack, measured with tape and straightedge like a board."""

    required: ClassVar[tuple[str, ...]] = (*ShapeSpec.required, "foam")
    model_config = ConfigDict(title="Blank", json_schema_extra={"required": list(required)})

    @classmethod
    def own_keys(cls) -> tuple[str, ...]:
        """Return the keys by which a blank is told from a board's file, which has the others too."""
        return ("foam",)

    foam: FoamTable | None = Field(
        default=None, description="The foam.", examples=[{"kind": "polyurethane", "density": "45 kg/m3"}]
    )
    stringer: OldStringerTable | None = Field(default=None, description="The stringer in it; left out, there is none.")
    error: BlankError | None = Field(
        default=None,
        description="What the block may be less than it was measured, square to any face: dents, a crust, the tape; "
        "half the tape's mark if left out.",
        examples=["2 mm", "1/16 in"],
    )
    price: Remark | None = Field(default=None, description="What it costs, in your own words.", examples=["60"])
    note: Remark | None = Field(default=None, description="What else is to be known.", examples=["a dent at the nose"])
