"""The format of a sheet of readings, as pydantic models: what was taken off a board that exists."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import ConfigDict, Field

from bayloft.spec.boards.shape_models import NoseTable, TailTable
from bayloft.spec.fins.fin_models import MOST_EDGE_POINTS, FoilTable, TabTable
from bayloft.spec.text.kinds import (
    BoardLength,
    Cloths,
    EdgeHeight,
    EdgePlace,
    FibreShare,
    FinRake,
    FinSize,
    GaugedInside,
    Height,
    Laminate,
    Mark,
    Name,
    TipThickness,
    Width,
)
from bayloft.spec.text.tables import At, Root, Table

MOST_READINGS = 400

Datum = Literal["lowest", "centre", "tail and nose"]


class ReadingAt(At):
    """What was read at one station; what was not read is left out."""

    width: Width | None = Field(default=None, description="Full width.", examples=["18 1/4 in"])
    rocker: Height | None = Field(default=None, description="Height of the bottom at the stringer.", examples=["1 in"])
    thickness: TipThickness | None = Field(default=None, description="Deck minus bottom at the stringer.")
    rail: Height | None = Field(default=None, description="Height of the rail's widest point above the bottom.")
    drop: Height | None = Field(
        default=None, description="Drop of the deck under a straightedge at the stringer, `drop_inside` the rail."
    )
    concave: Height | None = Field(
        default=None, description="Depth of a hollow under a straightedge across the bottom."
    )
    roll: Height | None = Field(default=None, description="How far the bottom falls away round, stringer to rail.")
    vee: Height | None = Field(default=None, description="How far the bottom falls away straight, stringer to rail.")


class ClothsTable(Table):
    """The cloths over a glassed board, from which its laminate's thickness is worked out."""

    deck: Cloths = Field(description="Cloths of the deck, a + between them.", examples=["6 oz + 4 oz"])
    bottom: Cloths = Field(description="Cloths of the bottom, a + between them.", examples=["6 oz"])
    fibre_share: FibreShare | None = Field(
        default=None, description="Share of glass in the laminate by mass; half if left out.", examples=[0.5]
    )


class ReadingsSpec(Root):
    """What was taken off a board with tape, straightedge and callipers."""

    required: ClassVar[tuple[str, ...]] = ("name", "length", "accuracy", "nose", "tail", "readings")
    model_config = ConfigDict(title="Readings", json_schema_extra={"required": list(required)})

    @classmethod
    def own_keys(cls) -> tuple[str, ...]:
        """Return the keys by which a sheet is told from a board's file, which has the others too."""
        return ("accuracy", "readings")

    name: Name | None = Field(default=None, description="Name of the board.", examples=["Avocet"])
    length: BoardLength | None = Field(
        default=None, description="Straight distance from the tail end to the nose tip.", examples=["6'10", 2082]
    )
    accuracy: Mark | None = Field(
        default=None,
        description="What a reading may be off, to either side; the board's lines pass within it.",
        examples=["1 mm", "1/32 in"],
    )
    measured: Literal["foam", "glassed"] = Field(
        default="foam", description="Whether foam was measured, or a glassed board over its laminate."
    )
    laminate: Laminate | None = Field(
        default=None, description="Thickness of a glassed board's laminate on one face.", examples=["1 mm", "1/32 in"]
    )
    cloths: ClothsTable | None = Field(default=None, description="Its cloths, in place of the laminate's thickness.")
    rocker_datum: Datum | None = Field(
        default=None,
        description="What the rocker was read from: the floor or straightedge that touches the bottom at its `lowest` "
        "point, one that is level with it at the `centre`, or a line from `tail and nose` down to the bottom.",
        examples=["centre"],
    )
    drop_inside: Width | None = Field(
        default=None, description="How far inside the rail the deck's drops were read; 2 in if left out."
    )
    nose: NoseTable | None = Field(default=None, description="The nose: its kind.", examples=[{"kind": "round"}])
    tail: TailTable | None = Field(default=None, description="The tail: its kind, and the sizes of that kind.")
    readings: list[ReadingAt] | None = Field(
        default=None,
        max_length=MOST_READINGS,
        description="The readings, in any order.",
        examples=[[{"from_tail": "12 in", "width": "14 3/4 in", "thickness": "1 5/8 in"}]],
    )


class TracedAt(Table):
    """What was read of a fin's tracing at one height; an edge that was not read is left out."""

    height: EdgeHeight = Field(description="Height above the base.", examples=["4 in"])
    leading: EdgePlace | None = Field(
        default=None, description="Leading edge there, forward of the rear end of the base.", examples=["5 1/2 in"]
    )
    trailing: EdgePlace | None = Field(
        default=None, description="Trailing edge there, forward of the rear end of the base; negative aft of it."
    )


class TracedFinSpec(Root):
    """A fin traced on paper: what a fin's file has, and the points of its edges."""

    required: ClassVar[tuple[str, ...]] = ("name", "accuracy", "base", "depth", "rake", "traced")
    model_config = ConfigDict(title="Tracing", json_schema_extra={"required": list(required)})

    @classmethod
    def own_keys(cls) -> tuple[str, ...]:
        """Return the keys by which a tracing is told from a fin's file, which has the others too."""
        return ("traced",)

    name: Name | None = Field(default=None, description="Name of the fin.", examples=["Turnstone keel"])
    accuracy: Mark | None = Field(
        default=None, description="What a point may be off, square to the edge.", examples=["1 mm", "1/32 in"]
    )
    base: FinSize | None = Field(default=None, description="Length along the board.", examples=["8 1/2 in"])
    depth: FinSize | None = Field(default=None, description="Height of the tip, square off the base.")
    rake: FinRake | None = Field(default=None, description="How far the tip lies aft of the middle of the base.")
    foil: FoilTable = FoilTable()
    tab: TabTable | None = Field(default=None, description="A tab below the base.")
    traced: list[TracedAt] | None = Field(
        default=None,
        min_length=2,
        max_length=2 * MOST_EDGE_POINTS,
        description="The points, in any order.",
        examples=[[{"height": "2 in", "leading": "6 in", "trailing": "1/2 in"}]],
    )


class GaugedAt(At):
    """A point of a rail as a contour gauge took it; width and thickness once at each station."""

    width: Width | None = Field(default=None, description="Full width of the board there.")
    thickness: TipThickness | None = Field(default=None, description="Thickness at the stringer there.")
    inside: GaugedInside = Field(description="How far inside the rail's widest point it lies.", examples=["1/4 in"])
    height: Height = Field(description="Its height above the bottom at the stringer.", examples=["1 1/8 in"])


class GaugedRailsSpec(Root):
    """Rails taken off a board with a contour gauge, at one station or more."""

    required: ClassVar[tuple[str, ...]] = ("name", "accuracy", "length", "gauged")
    model_config = ConfigDict(title="Gauged rails", json_schema_extra={"required": list(required)})

    @classmethod
    def own_keys(cls) -> tuple[str, ...]:
        """Return the keys by which gauged rails are told from other files."""
        return ("gauged",)

    name: Name | None = Field(default=None, description="Name of the rails.", examples=["Avocet rails"])
    length: BoardLength | None = Field(default=None, description="Length of the board.", examples=["6'10"])
    accuracy: Mark | None = Field(
        default=None, description="What a point may be off, square to the rail.", examples=["0.5 mm", "1/64 in"]
    )
    gauged: list[GaugedAt] | None = Field(
        default=None,
        max_length=MOST_READINGS,
        description="The points, in any order.",
        examples=[[{"from_nose": "16 in", "width": 17, "thickness": 2, "inside": "1/4 in", "height": "1 1/2 in"}]],
    )
