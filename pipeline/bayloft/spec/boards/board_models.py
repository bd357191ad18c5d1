"""The format of a board: its shape, what it is derived from, its fins, and what the bench asks of it."""

from __future__ import annotations

from pydantic import ConfigDict, Field

from bayloft.spec.bench.band_models import BandsTable
from bayloft.spec.bench.blank_choice_models import BlankTable
from bayloft.spec.bench.fin_panels_models import PanelsTable
from bayloft.spec.bench.floating_models import FloatTable
from bayloft.spec.bench.glass_models import GlassTable
from bayloft.spec.bench.hot_wire_models import HotWireTable
from bayloft.spec.bench.shaping_models import ShapingTable
from bayloft.spec.bench.stringer_models import StringerTable
from bayloft.spec.boards.board import Scaled
from bayloft.spec.boards.deriving import Keep
from bayloft.spec.boards.plug_models import MOST_PLUGS, PlugTable
from bayloft.spec.boards.section_models import MOST_CHANNELS, ChannelTable
from bayloft.spec.boards.shape_models import ShapeSpec
from bayloft.spec.boards.slots import SlotTable
from bayloft.spec.boards.template_models import TemplatesTable
from bayloft.spec.text.kinds import BoardLength, Cant, FinToe, Litres, OffStringer, ShareOfOther, Station
from bayloft.spec.text.tables import Table

MOST_FINS = 12
"""Fins and pairs of fins under one board (common practice, no source)."""


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


class FromTable(Table):
    """The board that this one is derived from: what is not said here is as on that one, scaled."""

    board: str = Field(description="File of that board, seen from this file.", examples=["dunlin.toml"])
    length: BoardLength | None = Field(
        default=None, description="Length of this board; the other's if left out.", examples=["6'8"]
    )
    keep: Keep | None = Field(
        default=None,
        description="What stays as it is, whatever the length: proportions, or thickness and rails in inches; "
        "proportions if left out.",
        examples=["thickness and rails"],
    )
    blended_with: str | None = Field(
        default=None,
        description="File of a second board, brought to the same length, whose lines are mixed in.",
        examples=["fulmar.toml"],
    )
    share: ShareOfOther | None = Field(
        default=None, description="How much of the second board is in it.", examples=["30 %"]
    )


class BoardSpec(ShapeSpec):
    """A board, in the numbers a maker measures with a tape, a straightedge and callipers."""

    model_config = ConfigDict(
        title="Board",
        json_schema_extra={
            "required": ["edition", "name"],
            "oneOf": [{"required": ["from"]}, {"required": list(ShapeSpec.required[2:])}],
        },
    )

    @classmethod
    def own_keys(cls) -> tuple[str, ...]:
        """Return the keys by which a board is told from files of other kinds."""
        return ("from", *super().own_keys())

    from_: FromTable | None = Field(
        default=None,
        alias="from",
        description="The board that this one is derived from; numbers given beside it come before.",
        examples=[{"board": "dunlin.toml", "length": "6'8"}],
    )
    volume: Litres | None = Field(
        default=None,
        description="Volume to reach, without fins: the thickness given is scaled so that the board has it.",
        examples=["32 L"],
    )
    volume_by: Scaled | None = Field(
        default=None,
        description="What is scaled to reach the volume: thickness, width or both; the thickness if left out.",
        examples=["width"],
    )
    channels: list[ChannelTable] = Field(
        default=[], max_length=MOST_CHANNELS, description="Channels sunk into the bottom, the same to both sides."
    )
    fins: list[FinAt] = Field(default=[], max_length=MOST_FINS, description="Fins and pairs of fins.")
    plugs: list[PlugTable] = Field(
        default=[], max_length=MOST_PLUGS, description="Plugs and boxes that are let into deck or bottom."
    )
    templates: TemplatesTable | None = Field(
        default=None, description="What the templates show beyond the shape itself."
    )
    blank: BlankTable | None = Field(default=None, description="The blank that the board is to come out of.")
    stringer: StringerTable | None = Field(
        default=None, description="A new stringer that the halves of the blank are glued onto."
    )
    shaping: ShapingTable | None = Field(
        default=None, description="Asks for the shaping cards: what is measured and planed at each station."
    )
    glass: GlassTable | None = Field(default=None, description="How the board is glassed: cloths, laps and coats.")
    panels: PanelsTable | None = Field(
        default=None, description="How the fins are cut from panels of glass, and their cloth from the roll."
    )
    hot_wire: HotWireTable | None = Field(
        default=None,
        description="Asks for the paths of a hot wire round outline and profile, in the machine's package.",
    )
    float_: FloatTable | None = Field(
        default=None,
        alias="float",
        description="Asks how the board lies in still water under a load.",
        examples=[{"load": "75 kg", "at": {"behind_centre": "4 in"}}],
    )
    bands: BandsTable | None = Field(
        default=None, description="The flats that are planed onto the squared foam before its rails are rounded."
    )
