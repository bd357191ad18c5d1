"""What keeps a board from coming out of its blank, and its stringer out of its plank."""

from __future__ import annotations

from bayloft.errors import Fault, gathered
from bayloft.solid.draft import Draft
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.plank_loading import load_plank


def faults(draft: Draft) -> tuple[Fault, ...]:
    """Return the faults of the files of the blank and of the plank that a board names."""
    found: list[Fault] = []
    stringer = draft.board.stringer
    if stringer is not None and stringer.plank is not None:
        with gathered(found):
            load_plank(stringer.plank)
    if draft.board.blank is not None:
        with gathered(found):
            load_blank(draft.board.blank.file)
    return tuple(found)
