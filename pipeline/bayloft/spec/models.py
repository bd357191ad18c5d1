"""The format of a board, table by table, as pydantic models: keys, kinds of values, and what they mean to a maker.

A root table lets every key be absent, so that one missing table hides no fault of
the others; `required` names the keys that loading asks for.
"""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal, get_args

from pydantic import ConfigDict, Discriminator, Field, Tag

from bayloft.spec.board import NoseKind
from bayloft.spec.kinds import (
    BoardLength,
    Cant,
    CornerRadius,
    EndHeight,
    FinToe,
    Height,
    Name,
    OffStringer,
    Radius,
    Station,
    TailDepth,
    Thickness,
    TipThickness,
    Width,
)
from bayloft.spec.section_models import MOST_CHANNELS, MOST_ENTRIES, BottomAt, ChannelTable, DeckAt, RailsKey
from bayloft.spec.slots import SlotTable
from bayloft.spec.tables import At, Edited, Table
from bayloft.spec.template_models import TemplatesTable

MOST_FINS = 12
"""Fins and pairs of fins under one board (common practice, no source)."""

HollowEnd = Literal["nose", "tail", "both"]


class WidePoint(At):
    """The greatest width and its station."""

    width: Width = Field(description="Greatest width of the board.", examples=["21 1/4 in", 540])


class WidthAt(At):
    """A measured width."""

    width: Width = Field(description="Full width there.", examples=["18 in"])


class OutlineTable(Table):
    """The board seen from above. Widths are full widths, as callipers or a tape across the board give them."""

    nose_width: Width | None = Field(
        default=None, description="Full width 12 in (304.8 mm) from the nose tip.", examples=["16 3/4 in"]
    )
    tail_width: Width | None = Field(
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


class NoseTable(Table):
    """The nose."""

    kind: NoseKind = Field(description="round or pointed.", examples=["round"])
    tip_radius: Radius | None = Field(
        default=None, description="Radius of the tip in plan. Round: fairest; pointed: 5 mm.", examples=["5 mm"]
    )


class ClosedTail(Table):
    """A tail that closes to a tip."""

    kind: Literal["round", "pin", "thumb"] = Field(description="The tail's kind.", examples=["round"])
    tip_radius: Radius | None = Field(
        default=None,
        description="Radius of the tip in plan. Round: fairest; pin: 6 mm; thumb: 35 mm.",
        examples=["35 mm"],
    )


class SquareTail(Table):
    """A tail cut off square."""

    kind: Literal["square"] = Field(description="The tail's kind.", examples=["square"])
    block: Width = Field(
        description="Width of the cut-off end, measured as if its corners were sharp.", examples=["6 in"]
    )
    corner_radius: CornerRadius | None = Field(
        default=None, description="Radius of the corners in plan; 0 if left out.", examples=["1/2 in"]
    )


class SquashTail(Table):
    """A tail cut off in a bow (squash) or in two straight cuts that meet at the stringer (diamond)."""

    kind: Literal["squash", "diamond"] = Field(description="The tail's kind.", examples=["squash"])
    block: Width = Field(
        description="Width of the cut-off end, measured as if its corners were sharp.", examples=["6 in"]
    )
    depth: TailDepth | None = Field(
        default=None,
        description="How far the corners lie ahead of the tail end. Squash: block / 8; diamond: 0.45 x block.",
        examples=["3/4 in"],
    )
    corner_radius: CornerRadius | None = Field(
        default=None,
        description="Radius of the corners in plan. Squash: 0.08 x block; diamond: 0.",
        examples=["1/2 in"],
    )


class SwallowTail(Table):
    """A tail with a notch between two tips."""

    kind: Literal["swallow"] = Field(description="The tail's kind.", examples=["swallow"])
    block: Width = Field(description="Full width between the two tips.", examples=["10 in"])
    depth: TailDepth | None = Field(
        default=None,
        description="How far the notch reaches forward; half the block if left out.",
        examples=["4 1/2 in"],
    )


TAILS = (ClosedTail, SquareTail, SquashTail, SwallowTail)


def _tail_tag(typed: object) -> str | None:
    kind = typed.get("kind") if isinstance(typed, dict) else None
    return next((tail.__name__ for tail in TAILS if kind in get_args(tail.model_fields["kind"].annotation)), None)


TailTable = Annotated[
    Annotated[ClosedTail, Tag("ClosedTail")]
    | Annotated[SquareTail, Tag("SquareTail")]
    | Annotated[SquashTail, Tag("SquashTail")]
    | Annotated[SwallowTail, Tag("SwallowTail")],
    Discriminator(_tail_tag),
]


class HeightAt(At):
    """A measured rocker height."""

    height: Height = Field(description="Height of the bottom at the stringer above the flat.", examples=["1/2 in"])


class RockerTable(Table):
    """Heights of the bottom at the stringer, the board standing on a flat plane at its lowest point."""

    nose: EndHeight = Field(description="Nose rocker: height under the nose tip.", examples=["4 3/4 in"])
    tail: EndHeight = Field(description="Tail rocker: height under the tail end.", examples=["2 1/4 in"])
    lowest: At | None = Field(
        default=None,
        description="Station of the lowest point; found if left out.",
        examples=[{"behind_centre": "4 in"}],
    )
    heights: list[HeightAt] = Field(
        default=[],
        max_length=MOST_ENTRIES,
        description="More measured heights.",
        examples=[[{"from_nose": "12 in", "height": "2 1/4 in"}]],
    )


class Thickest(At):
    """The greatest thickness and its station."""

    thickness: Thickness = Field(description="Greatest thickness at the stringer.", examples=["2 3/4 in"])


class ThicknessAt(At):
    """A measured thickness."""

    thickness: TipThickness = Field(description="Deck minus bottom at the stringer.", examples=["2 in"])


class ThicknessTable(Table):
    """Deck minus bottom at the stringer."""

    thickest: Thickest = Field(
        description="The greatest thickness and its station.",
        examples=[{"thickness": "2 3/4 in", "ahead_of_centre": "3 in"}],
    )
    nose: Thickness = Field(description="Thickness 12 in (304.8 mm) from the nose tip.", examples=["1 5/8 in"])
    tail: Thickness = Field(description="Thickness 12 in (304.8 mm) from the tail end.", examples=["1 3/4 in"])
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


class FinAt(Table):
    """A fin, or a pair of fins, on the board."""

    fin: str = Field(description="File of the fin, seen from this file.", examples=["../fins/whimbrel-flex.toml"])
    from_tail: Station = Field(description="Rear end of the fin's base from the tail end.", examples=["8 in"])
    off_stringer: OffStringer | None = Field(
        default=None,
        description="Rear end of the base off the stringer; with it, a pair; without, one fin on the stringer.",
        examples=["4 3/8 in"],
    )
    toe: FinToe | None = Field(
        default=None,
        description="Turn of the front of a pair towards the stringer: an angle, or by how much its front end is "
        "nearer to the stringer than its rear end.",
        examples=["3 deg", "1/8 in"],
    )
    cant: Cant | None = Field(
        default=None, description="Outward lean of a pair from square to the board's flat plane.", examples=["5 deg"]
    )
    slot: SlotTable | None = Field(default=None, description="The slot routed for the fin's tab.")


class BoardSpec(Edited):
    """A board, in the numbers a maker measures with a tape, a straightedge and callipers."""

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
    model_config = ConfigDict(title="Board", json_schema_extra={"required": list(required)})

    name: Name | None = Field(
        default=None, description="Name of the board; its outputs' folder too.", examples=["Whimbrel"]
    )
    length: BoardLength | None = Field(
        default=None, description="Straight distance from the tail end to the nose tip.", examples=["7 ft 4 in", 2235]
    )
    outline: OutlineTable | None = Field(default=None, description="The board seen from above.")
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
    channels: list[ChannelTable] = Field(
        default=[], max_length=MOST_CHANNELS, description="Channels sunk into the bottom, the same to both sides."
    )
    fins: list[FinAt] = Field(default=[], max_length=MOST_FINS, description="Fins and pairs of fins.")
    templates: TemplatesTable | None = Field(
        default=None, description="What the templates show beyond the shape itself."
    )
