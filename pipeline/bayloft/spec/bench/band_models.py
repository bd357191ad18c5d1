"""The format of a board's `[bands]` table, as a pydantic model."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bayloft.spec.bench.bands import Flats
from bayloft.spec.text.kinds import Typed
from bayloft.spec.text.measures import Angle, AnglesOrCount, Length
from bayloft.spec.text.tables import At, Table

MOST_FLATS, MOST_STATIONS = 5, 40
"""Flats on deck or bottom, and stations at which they are marked (common practice, no source)."""

SLOPES_DEG, APART_DEG = (5.0, 85.0), 3.0
"""Least and greatest slope of a flat from level, and least difference of two: a flat nearer to deck, bottom or
side is none (common practice, no source)."""

SoleLength = Annotated[float, Typed(Length(low_mm=50, high_mm=1200))]

FlatsTyped = Annotated[
    Flats, Typed(AnglesOrCount(angle=Angle(low_deg=SLOPES_DEG[0], high_deg=SLOPES_DEG[1]), most=MOST_FLATS))
]


class BandsTable(Table):
    """The flats that are planed onto the squared foam before its rails are rounded; nothing here changes the board."""

    deck: FlatsTyped | None = Field(
        default=None,
        description="Flats on the deck's side of the rail, from the middle outward: how far each slopes from level, or "
        "how many there are, found so that equal foam is left at their corners; none if left out.",
        examples=[["20 deg", "45 deg"], 2],
    )
    bottom: FlatsTyped | None = Field(
        default=None,
        description="Flats on the bottom's side of the rail, likewise; none if left out.",
        examples=[["40 deg"], 1],
    )
    sole: SoleLength | None = Field(
        default=None,
        description="Length of the plane's or the sanding block's stiff sole: how far it would cut into a hollow is "
        "told; 12 in, or 300 mm, if left out.",
        examples=["12 in", "400 mm"],
    )
    stations: list[At] = Field(
        default=[],
        max_length=MOST_STATIONS,
        description="Where the pencil lines are measured; each foot (300 mm) from either end, and the middle, "
        "if left out.",
        examples=[[{"from_tail": "12 in"}, {"ahead_of_centre": 0}, {"from_nose": "12 in"}]],
    )
