"""The format of a plank, as pydantic models: its size, its wood, its knots and splits."""

from __future__ import annotations

from typing import ClassVar

from pydantic import ConfigDict, Field

from bayloft.spec.text.kinds import (
    Crook,
    KnotClearance,
    KnotLength,
    KnotSize,
    Name,
    PlankLength,
    PlankPlace,
    PlankThickness,
    PlankWidth,
    Remark,
    WoodDensity,
)
from bayloft.spec.text.tables import Edited, Table

MOST_KNOTS = 60
"""Knots and splits of one plank (common practice, no source)."""


class KnotTable(Table):
    """A knot or a split, by its middle."""

    from_end: PlankPlace = Field(
        description="Its middle from the end of the plank that the tape begins at.", examples=["20 in"]
    )
    from_edge: PlankPlace = Field(
        description="Its middle from the near edge; of a plank with crook the hollow one.", examples=["2 in"]
    )
    across: KnotSize = Field(description="How wide it is, across the plank.", examples=["1 in"])
    along: KnotLength | None = Field(
        default=None, description="How long it is, of a split; as long as wide if left out.", examples=["9 in"]
    )


class PlankSpec(Edited):
    """A plank of wood, measured on one face with the tape laid from one end, along the edge that is near you."""

    required: ClassVar[tuple[str, ...]] = ("edition", "name", "length", "width", "thickness", "wood")
    model_config = ConfigDict(title="Plank", json_schema_extra={"required": list(required)})

    @classmethod
    def own_keys(cls) -> tuple[str, ...]:
        """Return the key by which a plank is told from a board's file, which has the sizes too."""
        return ("wood",)

    name: Name | None = Field(default=None, description="What you call it.", examples=["Greenhouse bench"])
    length: PlankLength | None = Field(default=None, description="Sound length, end to end.", examples=["10'2"])
    width: PlankWidth | None = Field(
        default=None, description="Width, at the end that the tape begins at.", examples=["7 1/4 in"]
    )
    width_other_end: PlankWidth | None = Field(
        default=None, description="Width at the other end; the same if left out.", examples=["7 in"]
    )
    thickness: PlankThickness | None = Field(
        default=None, description="Thickness once both faces are planed.", examples=["7/8 in"]
    )
    crook: Crook | None = Field(
        default=None,
        description="How far the near edge lies hollow of a straight line between its ends; the other edge bows with "
        "it. Lay the hollow edge near you. Straight if left out.",
        examples=["1/4 in"],
    )
    wood: Name | None = Field(default=None, description="Its wood, in your own words.", examples=["western red cedar"])
    density: WoodDensity | None = Field(
        default=None, description="Its density: weighed and measured, or of a table.", examples=["380 kg/m3"]
    )
    source: Remark | None = Field(
        default=None, description="Where that density is from.", examples=["the plank, weighed"]
    )
    avoid: list[KnotTable] = Field(
        default=[], max_length=MOST_KNOTS, description="Knots and splits to keep clear of, on both faces."
    )
    clearance: KnotClearance | None = Field(
        default=None, description="Sound wood kept round each of them.", examples=["3 mm"]
    )
    price: Remark | None = Field(default=None, description="What it costs, in your own words.", examples=["12"])
    note: Remark | None = Field(default=None, description="What else is to be known.", examples=["bolt holes filled"])
