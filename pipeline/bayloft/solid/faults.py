"""What of a board's plugs cannot be let into its surface."""

from __future__ import annotations

from bayloft.errors import Fault, gathered
from bayloft.solid.draft import Draft
from bayloft.solid.plugs import pockets


def faults(draft: Draft) -> tuple[Fault, ...]:
    """Return the faults of the pockets of a board's plugs."""
    found: list[Fault] = []
    with gathered(found):
        pockets(draft.board, draft.body)
    return tuple(found)
