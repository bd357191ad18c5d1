"""The format of a board's `[[plugs]]` tables, as a pydantic model."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field

from bayloft.spec.boards.plug import PlugFace, PlugSide
from bayloft.spec.text.kinds import Cant, FinToe, Name, OffStringer, Typed
from bayloft.spec.text.measures import Length
from bayloft.spec.text.tables import STATION_KEYS, At

MOST_PLUGS = 24
"""Plugs, boxes and pairs of them in one board (common practice, no source)."""

PlugSize = Annotated[float, Typed(Length(low_mm=3, high_mm=400))]
PlugDepth = Annotated[float, Typed(Length(low_mm=1, high_mm=150))]
PlugCorner = Annotated[float, Typed(Length(low_mm=0, high_mm=200))]


class PlugTable(At):
    """A plug or a box that is let into deck or bottom, by the maker's own measure; its station is that of its
    middle.
    """

    model_config = ConfigDict(
        json_schema_extra={
            "required": ["name", "face", "deep"],
            "oneOf": [{"required": [key]} for key in STATION_KEYS],
        }
    )

    name: Name | None = Field(default=None, description="What it is.", examples=["leash plug"])
    face: PlugFace | None = Field(default=None, description="The face that it is let into.", examples=["deck"])
    round: PlugSize | None = Field(
        default=None, description="Diameter of a round one; else it is `long` and `wide`.", examples=["1 1/8 in"]
    )
    long: PlugSize | None = Field(default=None, description="Length, along the board.", examples=["10 1/2 in"])
    wide: PlugSize | None = Field(default=None, description="Width.", examples=["1 in"])
    corner_radius: PlugCorner | None = Field(
        default=None,
        description="Radius of the corners; half the width, so that its ends are round, if left out.",
        examples=["1/4 in"],
    )
    deep: PlugDepth | None = Field(
        default=None, description="Depth of its pocket from the face, at its middle.", examples=["3/4 in"]
    )
    off_stringer: OffStringer | None = Field(
        default=None,
        description="Its middle off the stringer; on the stringer if left out.",
        examples=["3 in"],
    )
    side: PlugSide | None = Field(
        default=None, description="Which side of the stringer, of one that is off it.", examples=["port", "both"]
    )
    toe: FinToe | None = Field(
        default=None,
        description="Turn of the front towards the stringer, of one that is off it: an angle, or by how much its front "
        "end is nearer to the stringer than its rear end.",
        examples=["3 deg"],
    )
    cant: Cant | None = Field(
        default=None,
        description="Outward lean of the pocket, of one that is off the stringer, from square to the board's flat "
        "plane; square to the face that it is in, if left out.",
        examples=["5 deg"],
    )
