"""The index of a book: what its files said when they were last read, each held against what they hold now."""

from __future__ import annotations

import json
import stat
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path
from typing import Any

from bayloft.record.book.past_board import PastBoard, past_board_of, values_of
from bayloft.tolerances import MAX_SPEC_BYTES

INDEX = ".bayloft-book.json"
FORMAT = 1
MOST_BYTES, MOST_FILES = 64 * 2**20, 1000
"""Bytes of an index, and files that one board is read from: more is none of ours."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is known of a file: the other files that it was read with, seen from the book's folder; the SHA-256 of all
    that was read; the board, None where it is of another kind.
    """

    files: tuple[str, ...]
    seen: str
    board: PastBoard | None


def seen_of(parts: Mapping[str, bytes]) -> str:
    """Return the SHA-256 of what was read, by its names."""
    each = sorted((name, sha256(data).hexdigest()) for name, data in parts.items())
    return sha256(json.dumps(each).encode()).hexdigest()


class Reader:
    """The files of a book as they are now, each read once."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self._read: dict[str, bytes | None] = {}

    def now(self, names: Iterable[str]) -> str | None:
        """Return what `seen_of` gives for files by their names, seen from the folder; None where one is gone."""
        parts = {}
        for name in names:
            data = self._bytes(name)
            if data is None:
                return None
            parts[name] = data
        return seen_of(parts)

    def _bytes(self, name: str) -> bytes | None:
        if name not in self._read:
            self._read[name] = file_bytes(self.folder / name)
        return self._read[name]


def file_bytes(path: Path, most: int = MAX_SPEC_BYTES) -> bytes | None:
    """Return what is in a file, or None where there is none that can be read, or more than `most` in it."""
    try:
        if not stat.S_ISREG(path.stat().st_mode):
            return None
        with path.open("rb") as file:
            data = file.read(most + 1)
    except (OSError, ValueError):
        return None
    return data if len(data) <= most else None


def index_text(known: Mapping[str, Known], version: str) -> str:
    """Return the text of an index."""
    entries = {
        file: {"files": each.files, "seen": each.seen, "board": None if each.board is None else values_of(each.board)}
        for file, each in sorted(known.items())
    }
    said = json.dumps(entries, sort_keys=True)
    head = {"format": FORMAT, "version": version, "sha256": sha256(said.encode("ascii")).hexdigest()}
    return json.dumps({**head, "boards": said}) + "\n"


def index_in(folder: Path, version: str) -> dict[str, Known]:
    """Return what the index in a folder says, by file; nothing where there is none, or one of another version, damaged,
    or not ours.
    """
    data = file_bytes(folder / INDEX, MOST_BYTES)
    try:
        said = json.loads(data or b"")
        entries = said["boards"]
        if (said["format"], said["version"]) != (FORMAT, version):
            return {}
        if sha256(entries.encode("ascii")).hexdigest() != said["sha256"]:
            return {}
        return {file: _known(file, entry) for file, entry in json.loads(entries).items()}
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        return {}


def _known(file: str, entry: dict[str, Any]) -> Known:
    """Return an entry of an index; raises ValueError, KeyError or TypeError where it is none."""
    files, seen = entry["files"], entry["seen"]
    board = None if entry["board"] is None else past_board_of(entry["board"])
    good = (
        isinstance(seen, str)
        and isinstance(files, list)
        and len(files) <= MOST_FILES
        and all(isinstance(name, str) and not Path(name).is_absolute() for name in files)
        and (entry["board"] is None or (board is not None and board.file == file))
    )
    if not good:
        raise ValueError("not an entry of an index")
    return Known(files=tuple(files), seen=seen, board=board)
