"""What of a board keeps its files from being told apart."""

from __future__ import annotations

from bayloft.delivery.board_files import name_faults
from bayloft.errors import Fault
from bayloft.solid.draft import Draft


def faults(draft: Draft) -> tuple[Fault, ...]:
    """Return the faults of fins whose files would be called like others of the board."""
    return name_faults(draft.board)
