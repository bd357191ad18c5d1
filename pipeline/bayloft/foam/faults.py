"""What of a board keeps its stringer from being cut."""

from __future__ import annotations

from bayloft.errors import Fault, gathered
from bayloft.solid.draft import Draft
from bayloft.spec.plank_loading import load_plank


def faults(draft: Draft) -> tuple[Fault, ...]:
    """Return the faults of the file of the plank that a new stringer is cut from."""
    found: list[Fault] = []
    stringer = draft.board.stringer
    if stringer is not None and stringer.plank is not None:
        with gathered(found):
            load_plank(stringer.plank)
    return tuple(found)
