"""The format of a sheet of readings, as pydantic models: what was taken off a board that exists."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import ConfigDict, Field

from bayloft.spec.boards.models import NoseTable, TailTable
from bayloft.spec.text.kinds import BoardLength, Height, Laminate, Mark, Name, TipThickness, Width
from bayloft.spec.text.tables import At, Root

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
