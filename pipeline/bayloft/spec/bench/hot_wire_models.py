"""The format of a board's `[hot_wire]` table, as a pydantic model."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bayloft.spec.text.kinds import Typed
from bayloft.spec.text.measures import Length
from bayloft.spec.text.tables import Table

WireKerf = Annotated[float, Typed(Length(low_mm=0.1, high_mm=6))]
WireLeftOn = Annotated[float, Typed(Length(low_mm=0, high_mm=25.4))]
WireLead = Annotated[float, Typed(Length(low_mm=10, high_mm=500))]


class HotWireTable(Table):
    """Asks for the paths of a hot wire round the board's outline and its profile; nothing here changes the board."""

    kerf: WireKerf | None = Field(
        default=None, description="Width that the wire melts away, tried on your foam.", examples=["1.5 mm"]
    )
    left_on: WireLeftOn | None = Field(
        default=None,
        description="What is left on beside the cut, to be planed off; 3 mm, or 1/8 in, if left out.",
        examples=["1/8 in", "3 mm"],
    )
    lead: WireLead | None = Field(
        default=None,
        description="How far the wire's path is led out behind the tail; 50 mm, or 2 in, if left out.",
        examples=["2 in"],
    )
