"""Section numbers that contradict one another: where, by how much, and what would do."""

from __future__ import annotations

from bayloft.errors import Fault
from bayloft.lines.board import BoardLines
from bayloft.spec.board import Board


def crossings(board: Board, lines: BoardLines) -> list[Fault]:
    """Return a fault for each section number that makes a section cross itself."""
    return []
