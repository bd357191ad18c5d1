"""What of a board keeps its templates from being drawn."""

from __future__ import annotations

from bayloft.drawing.templates.stringer_profile import template_outline
from bayloft.errors import Fault, gathered
from bayloft.solid.draft import Draft


def faults(draft: Draft) -> tuple[Fault, ...]:
    """Return the faults of what is taken off the stringer."""
    found: list[Fault] = []
    # As lofted the outline is always one.
    if draft.board.templates.deck_skin_mm:
        with gathered(found):
            template_outline(draft)
    return tuple(found)
