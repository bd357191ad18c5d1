"""The format of a board's `[blank]` table, as a pydantic model."""

from __future__ import annotations

from pydantic import Field

from bayloft.spec.text.kinds import Cover
from bayloft.spec.text.tables import Table


class BlankTable(Table):
    """The blank that the board is to come out of; nothing here changes the board."""

    file: str = Field(description="File of the blank, seen from this file.", examples=["../blanks/attic-green.toml"])
    least_cover: Cover | None = Field(
        default=None,
        description="Foam wanted over the board everywhere, to be planed and sanded off; 3 mm if left out.",
        examples=["1/8 in"],
    )
