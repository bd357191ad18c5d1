"""What of a board keeps its fins from being laid up."""

from __future__ import annotations

from bayloft.errors import Fault, gathered
from bayloft.laminating.layup import fin_panel
from bayloft.solid.draft import Draft


def faults(draft: Draft) -> tuple[Fault, ...]:
    """Return the faults of fins that no panel can be laid up for."""
    found: list[Fault] = []
    for fin in draft.fins:
        with gathered(found):
            fin_panel(fin.fin, fin.lines)
    return tuple(found)
