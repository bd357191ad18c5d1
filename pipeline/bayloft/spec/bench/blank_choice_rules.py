"""A board's `[blank]` table to trusted values."""

from __future__ import annotations

from bayloft.spec.bench.blank_choice import USUAL_COVER_MM, BlankChoice
from bayloft.spec.bench.blank_choice_models import BlankTable
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.references import named_file

TABLE = "blank"


def trusted_blank_choice(table: BlankTable | None, reading: Reading) -> BlankChoice | None:
    """Return the blank that a board names, to be loaded by whoever needs it; None where there is none, or where its
    file is told as a fault.
    """
    if table is None:
        return None
    cover = table.least_cover
    if cover is None:
        cover = reading.assume_mm((TABLE, "least_cover"), USUAL_COVER_MM, "what is usually planed and sanded off")
    file = named_file(table.file, (TABLE, "file"), reading, example="../blanks/attic-green.toml")
    return None if file is None else BlankChoice(file=file, least_cover_mm=cover)
