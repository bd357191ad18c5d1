"""The format of a board's `[templates]` table, as a pydantic model."""

from __future__ import annotations

from pydantic import Field

from bayloft.spec.text.kinds import DeckSkin, Sanding
from bayloft.spec.text.tables import At, Table

MOST_GAUGES = 40
"""Rail gauges of one board (common practice, no source)."""


class TemplatesTable(Table):
    """What the templates show beyond the shape itself; nothing here changes the board."""

    deck_skin: DeckSkin | None = Field(
        default=None,
        description="Thickness of a skin laid on the deck later: the stringer template is that much lower.",
        examples=["3 mm"],
    )
    sanding: Sanding | None = Field(
        default=None, description="Left on the stringer template all round, to be sanded off.", examples=["1/32 in"]
    )
    rail_gauges: list[At] = Field(
        default=[],
        max_length=MOST_GAUGES,
        description="Stations of the rail gauges; those of the sections on the drawing if left out.",
        examples=[[{"from_tail": "12 in"}, {"ahead_of_centre": "2 in"}, {"from_nose": "12 in"}]],
    )
