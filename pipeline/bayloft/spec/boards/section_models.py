"""The format of a board's sections, rails, deck and bottom, as pydantic models, and of a file of shared rails."""

from __future__ import annotations

from typing import Annotated, ClassVar, Literal

from pydantic import ConfigDict, Discriminator, Field, Tag

from bayloft.spec.boards.quantities import RailKind
from bayloft.spec.text.kinds import (
    Apex,
    BottomDepth,
    ChannelFade,
    ChannelPlace,
    DeckDepth,
    DropDown,
    DropInside,
    EdgeRadius,
    Mark,
    RailRadius,
    ShapeWidth,
    Shoulder,
    Tuck,
)
from bayloft.spec.text.tables import AsRead, At, Edited, MaybeAt, Table

MOST_ENTRIES = 200
"""Entries of one list. A long board measured every 20 mm has 150."""
MOST_CHANNELS = 4
"""Channels to each side of the stringer (common practice, no source)."""
MOST_DROPS = 2
"""Drops of the deck at one station: one says how domed the deck is, another is a check."""

DeckShape = Literal["domed", "flat", "rolled", "concave", "chine"]
BottomShape = Literal["flat", "roll", "vee", "concave", "double concave", "chine"]


class DropAt(Table):
    """A drop of the deck: from a straightedge that lies level across the deck at the stringer, down to the deck."""

    inside: DropInside = Field(
        description="Where it is measured: how far inside the rail's widest point.", examples=["2 in"]
    )
    down: DropDown = Field(description="From the straightedge down to the deck.", examples=["3/8 in"])


class RailAt(MaybeAt, AsRead):
    """The rail at a station: its kind, or numbers, or a kind and numbers that stand above what it says. What an entry
    without a kind leaves out runs on from its neighbours.
    """

    kind: RailKind | None = Field(
        default=None,
        description="Kind of rail: it says all of the rail that no number beside it says.",
        examples=["60/40"],
    )
    apex: Apex | None = Field(
        default=None,
        description="Height of the rail's widest point, as a share of the thickness.",
        examples=[0.4, "40 %"],
    )
    radius: RailRadius | None = Field(
        default=None,
        description="Radius of the rail at its widest point, as a radius gauge gives it.",
        examples=["1/2 in"],
    )
    shoulder: Shoulder | None = Field(
        default=None,
        description="How long the rail rolls into the deck: from 0.35, crisp, to 1, long.",
        examples=[0.6],
    )
    tuck: Tuck | None = Field(
        default=None,
        description="How far inside the widest point the underside of the rail meets the bottom.",
        examples=["1 in"],
    )
    edge_radius: EdgeRadius | None = Field(
        default=None, description="Radius of the bottom edge; 0 is a crease.", examples=["1/16 in"]
    )
    drops: list[DropAt] = Field(
        default=[],
        max_length=MOST_DROPS,
        description="Drops of the deck near the rail, from a straightedge across it; they say how domed it is.",
        examples=[[{"inside": "2 in", "down": "3/8 in"}]],
    )


RailList = Annotated[list[RailAt], Field(min_length=1, max_length=MOST_ENTRIES)]


class DeckAt(MaybeAt, AsRead):
    """The deck's shape at a station. A chine may be cut off another shape at the same station: they add up."""

    shape: DeckShape = Field(
        description="domed, flat, rolled (flat in the middle), concave (hollow), or a chine cut off along the rail.",
        examples=["domed"],
    )
    depth: DeckDepth | None = Field(
        default=None,
        description="Fall from the stringer to the rail, without the rail's own rounding (domed, rolled); hollow's "
        "depth (concave); height of the chine.",
        examples=["3/8 in"],
    )
    flat: ShapeWidth | None = Field(
        default=None,
        description="Width in the middle that stays flat. Domed: nothing; rolled: half the width.",
        examples=["8 in"],
    )
    width: ShapeWidth | None = Field(
        default=None,
        description="Chine: how far in from the widest point it reaches; 2.5 x depth if left out.",
        examples=["1 1/2 in"],
    )


class BottomAt(MaybeAt, AsRead):
    """The bottom's shape at a station. Entries at the same station add up: a vee with a concave in it."""

    shape: BottomShape = Field(
        description="flat, roll (falls away round), vee (falls away straight), concave, double concave, or a chine "
        "cut off along the rail.",
        examples=["vee"],
    )
    depth: BottomDepth | None = Field(
        default=None,
        description="Fall from stringer to rail edge (roll, vee), hollow's depth, or height of the chine.",
        examples=["1/8 in"],
    )
    flat: ShapeWidth | None = Field(
        default=None, description="Roll: width in the middle that stays flat; nothing if left out.", examples=["6 in"]
    )
    width: ShapeWidth | None = Field(
        default=None,
        description="Concave: width of the hollow; rail to rail if left out. Chine: how far in from the tuck it "
        "reaches; 2.5 x depth if left out.",
        examples=["10 in"],
    )


class ChannelTable(Table):
    """A channel: a strip sunk into the bottom to both sides of the stringer and parallel to it."""

    off_stringer: ChannelPlace = Field(description="From the stringer to the channel's inner side.", examples=["3 in"])
    width: ShapeWidth = Field(description="Width of the channel, its sloping sides included.", examples=["2 in"])
    depth: BottomDepth = Field(description="How deep it is sunk into the bottom.", examples=["3/16 in"])
    begins: At = Field(description="Where it begins, nearer to the nose.", examples=[{"from_tail": "28 in"}])
    ends: At | None = Field(
        default=None,
        description="Where it ends, nearer to the tail; left out, it runs out over the end of a cut-off tail.",
        examples=[{"from_tail": "4 in"}],
    )
    fade: ChannelFade | None = Field(
        default=None,
        description="Length over which it runs in and out at each end; a quarter of its length if left out.",
        examples=["6 in"],
    )


def _rails_tag(typed: object) -> str:
    return "file" if isinstance(typed, str) else "list"


RailsKey = Annotated[
    Annotated[str, Tag("file")] | Annotated[RailList, Tag("list")],
    Discriminator(_rails_tag),
]


class RailsSpec(Edited):
    """Rails that several boards share: entries at stations, as in a board."""

    required: ClassVar[tuple[str, ...]] = ("edition", "rails")
    model_config = ConfigDict(title="Rails", json_schema_extra={"required": list(required)})

    read_to: Mark | None = Field(
        default=None,
        description="Finest mark of the tape with which these rails were read; left out, that of the board's file.",
        examples=["1/16 in", "1 mm"],
    )
    rails: RailList | None = Field(
        default=None, description="The rail at one station or more.", examples=[[{"kind": "60/40"}]]
    )
