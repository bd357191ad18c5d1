"""The format of a board, table by table, as pydantic models: keys, kinds of values, and what they mean to a maker.

A root table lets every key be absent, so that one missing table hides no fault of
the others; `required` names the keys that loading asks for.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Annotated, Any, ClassVar, Literal, TypeAlias, Union

from pydantic import ConfigDict, Discriminator, Field, Tag, create_model

from bayloft.spec.boards.board import TAIL_STRAIGHTNESS
from bayloft.spec.boards.ends import NOSES, TAILS, EndKind
from bayloft.spec.boards.section_models import MOST_ENTRIES, BottomAt, DeckAt, RailsKey
from bayloft.spec.text.kinds import (
    BoardLength,
    CornerRadius,
    EndHeight,
    Flat,
    Height,
    Mark,
    Name,
    Radius,
    Straightness,
    TailDepth,
    Thickness,
    TipThickness,
    TurnOver,
    Width,
)
from bayloft.spec.text.tables import AsRead, At, Edited, ReadNumber, Table, in_part, readable

MOST_TURNS = 6
"""Hips of an outline, and steps of a foil (common practice, no source)."""

HollowEnd = Literal["nose", "tail", "both"]

if TYPE_CHECKING:
    ReadWidth: TypeAlias = float | ReadNumber
    ReadHeight: TypeAlias = float | ReadNumber
    ReadThickness: TypeAlias = float | ReadNumber
else:
    ReadWidth, ReadHeight = readable("width", Width, "16 3/4 in"), readable("height", EndHeight, "2 1/4 in")
    ReadThickness = readable("thickness", Thickness, "1 3/4 in")


class MarkedTable(Table):
    """A table whose numbers were read with one tape."""

    read_to: Mark | None = Field(
        default=None,
        description="Finest mark of the tape with which this table was read, where it is another than the file's.",
        examples=["1/8 in"],
    )


class WidePoint(At, AsRead):
    """The greatest width and its station."""

    model_config = ConfigDict(json_schema_extra=in_part)

    width: Width = Field(description="Greatest width of the board.", examples=["21 1/4 in", 540])


class WidthAt(At, AsRead):
    """A measured width."""

    width: Width = Field(description="Full width there.", examples=["18 in"])


class TurnAt(At):
    """A place where a line may change its bend: a hip of the outline, or a step of the foil."""

    over: TurnOver = Field(description="Length over which the line turns there.", examples=["4 in"])


class OutlineTable(MarkedTable):
    """The board seen from above. Widths are full widths, as callipers or a tape across the board give them."""

    model_config = ConfigDict(json_schema_extra=in_part)

    nose_width: ReadWidth | None = Field(
        default=None, description="Full width 12 in (304.8 mm) from the nose tip.", examples=["16 3/4 in"]
    )
    tail_width: ReadWidth | None = Field(
        default=None, description="Full width 12 in (304.8 mm) from the tail end.", examples=["14 3/4 in"]
    )
    wide_point: WidePoint = Field(
        description="The greatest width, and how far ahead of or behind the centre it is.",
        examples=[{"width": "21 1/4 in", "ahead_of_centre": "2 in"}],
    )
    widths: list[WidthAt] = Field(
        default=[],
        max_length=MOST_ENTRIES,
        description="More measured widths, anywhere between the ends; only what you want to pin down.",
        examples=[[{"from_tail": "2 ft", "width": "18 in"}]],
    )
    hollow: HollowEnd | None = Field(
        default=None, description="Where the outline may bend inward: a pulled-in nose or tail.", examples=["tail"]
    )
    hips: list[TurnAt] = Field(
        default=[],
        max_length=MOST_TURNS,
        description="Where the outline may step in: hips, wings. Widths on both sides of it say by how much.",
        examples=[[{"from_tail": "14 in", "over": "4 in"}]],
    )


class EndTable(Table):
    """A nose or a tail: its kind, and the keys that its row of `ends` gives it."""

    model_config = ConfigDict(json_schema_extra=in_part)

    kind: str

    def number(self, key: str) -> float | None:
        """Return the number of a key in mm; None where it is left out, and where this kind has no such key."""
        found = getattr(self, key, None)
        return None if found is None else float(found)


def _end_table(end: str, row: EndKind) -> type[EndTable]:
    """Return the table of a kind of "nose" or "tail"."""

    def key(meaning: str, usual: float | None, of_block: str, example: object) -> Any:
        left_out = "the fairest" if usual is None else of_block.format(usual)
        return Field(default=None, description=f"{meaning}; {left_out} if left out.", examples=[example])

    kind: Any = Literal[row.kind]
    fields: dict[str, Any] = {"kind": (kind, Field(description=f"The {end}'s kind.", examples=[row.kind]))}
    if row.curve is None:
        fields["tip_radius"] = (Radius | None, key("Radius of the tip in plan", row.tip_radius_mm, "{:g} mm", "35 mm"))
    else:
        fields["block"] = (Width, Field(description=row.block_means, examples=["6 in"]))
        if row.depth_share is not None:
            usual = key(row.depth_means, row.depth_share, "{:.3g} of the block", "3/4 in")
            fields["depth"] = (TailDepth | None, usual)
        if row.corner_share is not None:
            usual = key("Radius of the corners in plan", row.corner_share, "{:g} of the block", "1/2 in")
            fields["corner_radius"] = (CornerRadius | None, usual)
        meaning = (
            "How straight the outline runs into the corners: little gathers its bend there, much draws it straight"
        )
        fields["straightness"] = (Straightness | None, key(meaning, TAIL_STRAIGHTNESS, "{:g}", 1.0))
    return create_model(f"{row.kind.title()}{end.title()}", __base__=EndTable, __doc__=f"{row.meaning}.", **fields)


def _of_its_kind(end: str, rows: Mapping[str, EndKind]) -> Any:
    """Return the type of a table that is one of the kinds of an end."""

    def tag(typed: object) -> str | None:
        kind = typed.get("kind") if isinstance(typed, dict) else None
        return kind if isinstance(kind, str) and kind in rows else None

    tagged = tuple(Annotated[_end_table(end, row), Tag(kind)] for kind, row in rows.items())
    return Annotated[Union[tagged], Discriminator(tag)]  # noqa: UP007


if TYPE_CHECKING:
    NoseTable: TypeAlias = EndTable
    TailTable: TypeAlias = EndTable
else:
    NoseTable, TailTable = _of_its_kind("nose", NOSES), _of_its_kind("tail", TAILS)


class HeightAt(At, AsRead):
    """A measured rocker height."""

    height: Height = Field(description="Height of the bottom at the stringer above the flat.", examples=["1/2 in"])


class RockerTable(MarkedTable):
    """Heights of the bottom at the stringer, the board standing on a flat plane at its lowest point."""

    model_config = ConfigDict(json_schema_extra=in_part)

    nose: ReadHeight = Field(description="Nose rocker: height under the nose tip.", examples=["4 3/4 in"])
    tail: ReadHeight = Field(description="Tail rocker: height under the tail end.", examples=["2 1/4 in"])
    lowest: At | None = Field(
        default=None,
        description="Station of the lowest point; found if left out, and assumed where no heights are given.",
        examples=[{"behind_centre": "4 in"}],
    )
    flat: Flat | None = Field(
        default=None,
        description="Length of bottom that lies flat on the floor, half of it to either side of the lowest point.",
        examples=["20 in"],
    )
    heights: list[HeightAt] = Field(
        default=[],
        max_length=MOST_ENTRIES,
        description="More measured heights; without any, the bend that is usual.",
        examples=[[{"from_nose": "12 in", "height": "2 1/4 in"}]],
    )


class Thickest(At, AsRead):
    """The greatest thickness and its station."""

    model_config = ConfigDict(json_schema_extra=in_part)

    thickness: Thickness = Field(description="Greatest thickness at the stringer.", examples=["2 3/4 in"])


class ThicknessAt(At, AsRead):
    """A measured thickness."""

    thickness: TipThickness = Field(description="Deck minus bottom at the stringer.", examples=["2 in"])


class ThicknessTable(MarkedTable):
    """Deck minus bottom at the stringer."""

    model_config = ConfigDict(json_schema_extra=in_part)

    thickest: Thickest = Field(
        description="The greatest thickness and its station.",
        examples=[{"thickness": "2 3/4 in", "ahead_of_centre": "3 in"}],
    )
    nose: ReadThickness | None = Field(
        default=None, description="Thickness 12 in (304.8 mm) from the nose tip.", examples=["1 5/8 in"]
    )
    tail: ReadThickness | None = Field(
        default=None, description="Thickness 12 in (304.8 mm) from the tail end.", examples=["1 3/4 in"]
    )
    nose_tip: TipThickness | None = Field(
        default=None,
        description="Thickness at the very nose, before it is rounded; fairest if left out.",
        examples=["1/2 in"],
    )
    tail_end: TipThickness | None = Field(
        default=None,
        description="Thickness at the very tail, before it is rounded; fairest if left out.",
        examples=["5/8 in"],
    )
    thicknesses: list[ThicknessAt] = Field(
        default=[],
        max_length=MOST_ENTRIES,
        description="More measured thicknesses.",
        examples=[[{"from_tail": "2 ft", "thickness": "2 3/8 in"}]],
    )
    hollow: HollowEnd | None = Field(
        default=None,
        description="Where the foil may bend the other way, thin towards an end: an S.",
        examples=["nose"],
    )
    steps: list[TurnAt] = Field(
        default=[],
        max_length=MOST_TURNS,
        description="Where the foil may step down. Thicknesses on both sides of it say by how much.",
        examples=[[{"from_nose": "3 ft", "over": "8 in"}]],
    )


class ShapeSpec(Edited):
    """The shape of a board or of a blank, in the numbers a maker measures with a tape, a straightedge and callipers."""

    required: ClassVar[tuple[str, ...]] = (
        "edition",
        "name",
        "length",
        "outline",
        "nose",
        "tail",
        "rocker",
        "thickness",
    )

    name: Name | None = Field(
        default=None, description="Name of the board; its outputs' folder too.", examples=["Whimbrel"]
    )
    length: BoardLength | None = Field(
        default=None, description="Straight distance from the tail end to the nose tip.", examples=["7 ft 4 in", 2235]
    )
    read_to: Mark | None = Field(
        default=None,
        description="Finest mark of the tape with which all was read: lines pass within half of it; left out, exactly.",
        examples=["1/16 in", "1 mm"],
    )
    outline: OutlineTable | None = Field(default=None, description="The shape seen from above.")
    nose: NoseTable | None = Field(default=None, description="The nose: its kind.", examples=[{"kind": "round"}])
    tail: TailTable | None = Field(
        default=None, description="The tail: its kind, and the sizes of that kind.", examples=[{"kind": "round"}]
    )
    rocker: RockerTable | None = Field(
        default=None,
        description="The bottom's curve along the stringer.",
        examples=[{"nose": "4 3/4 in", "tail": "2 1/4 in"}],
    )
    thickness: ThicknessTable | None = Field(default=None, description="Thicknesses at the stringer.")
    rails: RailsKey | None = Field(
        default=None,
        description="The rail at stations, or a file that holds it for several boards.",
        examples=["../rails/even.toml"],
    )
    deck: list[DeckAt] = Field(default=[], max_length=MOST_ENTRIES, description="The deck at stations.")
    bottom: list[BottomAt] = Field(default=[], max_length=MOST_ENTRIES, description="The bottom at stations.")
