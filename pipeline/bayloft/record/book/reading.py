"""Specs and archives read for a book, and boards lofted for their volume."""

from __future__ import annotations

import json
import math
import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from bayloft.errors import SpecError
from bayloft.record.archived import MANIFEST, REPORT, SPEC, changed, listed
from bayloft.record.archived_spec import board_in
from bayloft.record.book.index import Known, file_bytes, seen_of
from bayloft.record.book.past_board import PastBoard, Unread, past_board_of
from bayloft.record.zip_reading import ArchiveError
from bayloft.spec.boards.board import Board
from bayloft.spec.boards.board_models import BoardSpec
from bayloft.spec.loading import board_of
from bayloft.spec.parsing import OtherKindError, refuse_other_kind
from bayloft.spec.text.kept import kept_files
from bayloft.spec.text.remarks import remarks
from bayloft.spec.text.source import Source, read

SHAPES = ("roll", "vee", "concave", "double_concave", "chine")
"""The quantities of a section that give a bottom its shape."""

LEAST = 1e-3
"""mm, or share, from which a bottom has a shape: less is a mixture's rounding."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadSpec:
    """What was read of a spec: what is known of it, None where that cannot be kept; or why it cannot be read. rough:
    its numbers are not those of the board before it is lofted.
    """

    known: Known | None
    rough: bool = False
    unread: Unread | None = None


def read_spec(path: Path, folder: Path, *, lofts: bool) -> ReadSpec:
    """Return what a book in a folder says of a spec; lofts: with the numbers and the volume of the lofted board."""
    file = _name(path, folder)
    with kept_files() as kept:
        try:
            source = read(path)
            if not _may_be_board(source):
                return ReadSpec(known=_known(kept, folder, None))
            board = board_of(source)
            text = kept[path].decode("utf-8-sig", "replace")
            rough = board.aim is not None or bool(board.origin and board.origin.blend)
            board, volume = _lofted(board) if lofts else (board, None)
        except SpecError as error:
            return ReadSpec(known=None, unread=Unread(file=file, why=_first(error, path)))
    # Without them it cannot be loaded.
    blank, plank = board.blank.file if board.blank else None, board.stringer.plank if board.stringer else None
    for named in filter(None, (blank, plank)):
        data = file_bytes(named)
        if data is not None:
            kept[named] = data
    listed = past_board(board, file, volume, remarks(text))
    return ReadSpec(known=_known(kept, folder, listed), rough=rough and not lofts)


def past_board(board: Board, file: str, volume_mm3: float | None, words: str) -> PastBoard:
    """Return a board as a book lists it."""
    return PastBoard(
        file=file,
        name=board.name,
        metric=board.metric,
        length_mm=board.length_mm,
        width_mm=board.wide_point.value,
        thickness_mm=board.thickest.value,
        volume_mm3=volume_mm3,
        tail=board.tail.kind,
        bottom=_bottom(board),
        fins=tuple(at.fin.name for at in board.fins for _ in range(2 if at.off_stringer_mm > 0.0 else 1)),
        words=words,
    )


def read_archive(members: Mapping[str, bytes], path: Path, folder: Path) -> Known:
    """Return what a book in a folder says of an archive, of its manifest, report and specs.

    Raises
    ------
    ArchiveError : they are not as they were written, or the report tells no sizes.
    """
    digests = listed(members[MANIFEST])
    texts = {name: digest for name, digest in digests.items() if name in members}
    wrong = [*changed(members, texts), *sorted(set(members) - set(digests) - {MANIFEST})]
    if wrong:
        raise ArchiveError(f"{path}: {wrong[0]} is not as it was written")
    said, file = _report(path, members[REPORT]), _name(path, folder)
    board = board_in(members, said["name"])
    fins = tuple(each["fin"] for each in said["standing"] for _ in each["sides"])
    values = {
        "file": file,
        "name": said["name"],
        "metric": said["unit"] == "mm",
        "length_mm": said["length"]["mm"],
        "width_mm": _size(said, "outline.wide_point", "width"),
        "thickness_mm": _size(said, "thickness.thickest", "thickness"),
        "volume_mm3": said["integrals"]["volume_mm3"],
        "tail": "",
        "bottom": (),
        "fins": fins,
        "words": "",
    }
    if board is not None:
        if board.origin and board.origin.blend:
            board, _ = _lofted(board)
        own = Path(board.source.file).name
        text = next((data for name, data in members.items() if name.startswith(SPEC) and Path(name).name == own), b"")
        values |= {"tail": board.tail.kind, "bottom": _bottom(board), "words": remarks(text.decode("utf-8", "replace"))}
    listed_board = past_board_of(values)
    if listed_board is None:
        raise ArchiveError(f"{path}: its {REPORT} tells no sizes")
    return Known(files=(), seen=seen_of(members), board=listed_board)


def _report(path: Path, data: bytes) -> dict[str, Any]:
    try:
        said = json.loads(data)
        shape = (said["name"], said["unit"], said["length"]["mm"], said["integrals"]["volume_mm3"])
        if all(isinstance(text, str) for text in shape[:2]) and all(math.isfinite(size) for size in shape[2:]):
            for each in said["standing"]:
                _ = each["fin"], each["sides"]
            for each in said["dimensions"]:
                _ = each["key"], each["what"], each["lofted_mm"]
            return dict(said)
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError):
        pass
    raise ArchiveError(f"{path}: its {REPORT} tells no sizes")


def _size(said: dict[str, Any], key: str, what: str) -> object:
    """Return a size of a report as it was lofted, mm; None where it has none. A number that says how it was read has a
    key of its own inside.
    """
    for each in said["dimensions"]:
        if each["what"] == what and each["key"].startswith(key):
            return each["lofted_mm"]
    return None


def _bottom(board: Board) -> tuple[str, ...]:
    shapes = [name.replace("_", " ") for name in SHAPES if any(abs(g.value) > LEAST for g in board.sections[name])]
    return (*(shapes or ["flat"]), *(["channels"] if board.channels else []))


def _lofted(board: Board) -> tuple[Board, float]:
    """Return a board as it is lofted, and its volume in mm3. Raises SpecError where no fair line passes its numbers."""
    from bayloft.solid.draft import drafted  # noqa: PLC0415 - a book of known volumes needs none of it
    from bayloft.solid.integrals import integrals  # noqa: PLC0415

    draft = drafted(board)
    return draft.board, integrals(draft.body).volume_mm3


def _may_be_board(source: Source) -> bool:
    """Return whether a file is to be listed: one with keys of a board's, that is not whole and of another kind."""
    if not any(key in source.values for key in ("edition", *BoardSpec.own_keys())):
        return False
    try:
        refuse_other_kind(BoardSpec, source)
    except OtherKindError:
        return False
    return True


def _first(error: SpecError, path: Path) -> str:
    """Return the first fault on one line, with its file where it is another."""
    fault = next((each for each in error.faults if each.file == str(path)), error.faults[0])
    told = str(replace(fault, value="", allowed="", hint="")).removeprefix(str(path)).lstrip(": ")
    more = len(error.faults) - 1
    line = f"line {told}" if told[:1].isdigit() else told
    return f"{line} (and {more} more)" if more else line


def _known(kept: Mapping[Path, bytes], folder: Path, board: PastBoard | None) -> Known:
    parts = {_name(path, folder): data for path, data in kept.items()}
    return Known(files=tuple(sorted(parts)), seen=seen_of(parts), board=board)


def _name(path: Path, folder: Path) -> str:
    return Path(os.path.relpath(path, folder)).as_posix()
