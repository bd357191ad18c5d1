"""The board of the spec in an archive."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from tempfile import TemporaryDirectory

from bayloft.errors import SpecError
from bayloft.record.archived import SPEC
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import load_board


def board_in(members: Mapping[str, bytes], name: str) -> Board | None:
    """Return the board of a name, of the specs among an archive's members; None where this version reads none of it.

    The members' names must have been looked at, as `zip_reading.members_of` does.
    """
    with TemporaryDirectory(prefix="bayloft-") as place:
        root = Path(place)
        for member, data in members.items():
            if member.startswith(SPEC):
                (root / member).parent.mkdir(parents=True, exist_ok=True)
                (root / member).write_bytes(data)
        for file in sorted(root.rglob("*.toml")):
            try:
                board = load_board(file)
            except SpecError:
                continue
            if board.name == name:
                return board
    return None
