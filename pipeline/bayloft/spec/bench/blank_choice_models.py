"""The format of a board's `[blank]` table, as a pydantic model."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bayloft.spec.bench.blank_choice import MOST_COVER_MM
from bayloft.spec.text.kinds import Typed
from bayloft.spec.text.measures import Length
from bayloft.spec.text.tables import Table

Cover = Annotated[float, Typed(Length(low_mm=0, high_mm=MOST_COVER_MM))]


class BlankTable(Table):
    """The blank that the board is to come out of; nothing here changes the board."""

    file: str = Field(description="File of the blank, seen from this file.", examples=["../blanks/attic-green.toml"])
    least_cover: Cover | None = Field(
        default=None,
        description="Foam wanted over the board everywhere, to be planed and sanded off; 3 mm if left out.",
        examples=["1/8 in"],
    )
