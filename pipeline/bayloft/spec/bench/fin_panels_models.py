"""The format of a board's `[panels]` table, as a pydantic model."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bayloft.spec.text.kinds import Typed
from bayloft.spec.text.measures import Length
from bayloft.spec.text.tables import Table

SawCut = Annotated[float, Typed(Length(low_mm=0, high_mm=12))]
FinsApart = Annotated[float, Typed(Length(low_mm=2, high_mm=200))]
BoltWidth = Annotated[float, Typed(Length(low_mm=200, high_mm=3000))]


class PanelsTable(Table):
    """How the fins of the set are cut from panels of glass; nothing here changes the board."""

    saw: SawCut | None = Field(
        default=None,
        description="Width that the saw takes between the margins of two fins; 2 mm if left out.",
        examples=["2 mm"],
    )
    between: FinsApart | None = Field(
        default=None,
        description="Kept between the outlines of two fins; the margins of both and the saw's cut if left out.",
        examples=["1 in"],
    )
    bolt: BoltWidth | None = Field(
        default=None,
        description="Width of the bolt that the cloth comes on, which no panel of several fins exceeds; 27 in if left "
        "out.",
        examples=["30 in"],
    )
