"""The format of a board's `[shaping]` table, as a pydantic model."""

from __future__ import annotations

from pydantic import Field

from bayloft.spec.text.kinds import PlanerPass
from bayloft.spec.text.tables import At, Table

MOST_STATIONS = 40
"""Stations of one board's cards (common practice, no source)."""


class ShapingTable(Table):
    """Asks for the shaping cards; nothing here changes the board."""

    stations: list[At] = Field(
        default=[],
        max_length=MOST_STATIONS,
        description="Where the board is measured while it is shaped; each foot (300 mm) from either end, and the "
        "middle, if left out.",
        examples=[[{"from_tail": "12 in"}, {"ahead_of_centre": 0}, {"from_nose": "12 in"}]],
    )
    pass_depth: PlanerPass | None = Field(
        default=None,
        description="What the planer takes off at one pass; with it, and a blank, the passes are counted.",
        examples=["1/32 in", "1 mm"],
    )
