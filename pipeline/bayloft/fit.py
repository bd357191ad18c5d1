"""What `fit` does: a board in one blank, with proofs and a drawing; or every blank of a rack, ranked."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from importlib.metadata import version
from pathlib import Path

from bayloft.delivery.fit_files import fit_deliveries
from bayloft.errors import Fault, SpecError, gathered
from bayloft.foam.asking import FittedBoard, fitted
from bayloft.foam.blocks import FoamBlock, block_for, on_rack
from bayloft.foam.fitting import BoardInBlank
from bayloft.record.heading import shape_digest
from bayloft.record.whole import whole_files
from bayloft.solid.draft import Draft, drafted
from bayloft.spec.bench.blank_choice import MOST_COVER_MM, USUAL_COVER_MM
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import load_board
from bayloft.spec.text.naming import slug_of
from bayloft.spec.text.options import typed_mm
from bayloft.tape import along
from bayloft.workers import Workers, spread


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A block of a rack: the least cover at the places that blanks are ranked by, mm, or why it was sorted out."""

    block: FoamBlock
    cover_mm: float | None
    why: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Rack:
    """The blocks of a rack, ranked, and the cover wanted in mm; whether the board is told in mm."""

    ranked: tuple[Ranked, ...]
    wanted_mm: float
    metric: bool


def wanted_cover(typed: str) -> float:
    """Return a cover typed as a length, in mm. Raises SpecError for what is none, or more than any block has."""
    return typed_mm("--cover", typed, (0.0, MOST_COVER_MM), "no cover that a block has")


def fit_blank(
    spec: Path, blank: Path | None = None, wanted_mm: float | None = None, folder: str | os.PathLike[str] | None = None
) -> tuple[FittedBoard, tuple[Path, ...]]:
    """Return how a board lies in a blank, and the cards of it that were written into a folder, if one is named. Blank
    and cover wanted: those of the board's own file where they are left out.

    Raises
    ------
    SpecError
        With the faults of both files, and every number of either through which no fair line passes, and where neither
        names a blank.
    OutputError
        If the cards cannot be written.
    """
    draft, (rack,) = _loaded(spec, [blank])
    found = fitted(draft, rack, cover_of(draft.board) if wanted_mm is None else wanted_mm)
    if folder is None:
        return found, ()
    name = f"{draft.board.slug}-in-{slug_of(rack.blank.name)}"
    digest = shape_digest(draft, version("bayloft"), found.fit.block.body)
    drawn = fit_deliveries(found, name, digest, None)
    return found, whole_files(folder, {each.name: each.content() for each in drawn}, replace=True)


def cover_of(board: Board) -> float:
    """Return the cover wanted over a board, mm: of its own file, or what is usual."""
    return USUAL_COVER_MM if board.blank is None else board.blank.least_cover_mm


def rank_rack(spec: Path, rack: Path, jobs: Workers, wanted_mm: float | None = None) -> Rack:
    """Return the blanks of a folder, those with most cover first; those too short, too narrow or too thin last; jobs:
    as for `build_boards`.

    Raises
    ------
    SpecError
        With the faults of all files, and for a folder without blanks.
    """
    paths = sorted(rack.glob("*.toml"))
    if not paths:
        problem = "this folder holds no blanks" if rack.is_dir() else "no such folder"
        hint = "a folder of .toml files like specs/blanks"
        raise SpecError((Fault(file=str(rack), line=None, path=(), value="", problem=problem, hint=hint),))
    draft, blocks = _loaded(spec, paths)
    with spread(jobs, len(blocks)) as mapped:
        ranked: list[Ranked] = list(mapped(_ranked, [(draft, block) for block in blocks]))
    ordered = sorted(ranked, key=lambda one: (one.cover_mm is None, -(one.cover_mm or 0.0), one.block.blank.name))
    return Rack(
        ranked=tuple(ordered),
        wanted_mm=cover_of(draft.board) if wanted_mm is None else wanted_mm,
        metric=draft.board.metric,
    )


def _loaded(spec: Path, paths: Sequence[Path | None]) -> tuple[Draft, list[FoamBlock]]:
    """Return a board's draft and blocks of the rack; None: the one that the board names."""
    faults: list[Fault] = []
    drafts: list[Draft] = []
    blocks: list[FoamBlock] = []
    with gathered(faults):
        drafts.append(drafted(load_board(spec)))
    for path in paths:
        named = path or next((draft.board.blank.file for draft in drafts if draft.board.blank), None)
        if named is None:
            if drafts:
                problem, hint = "names no blank", 'a [blank] table in it, file = "../blanks/middling.toml", or --blank'
                faults.append(Fault(file=str(spec), line=None, path=("blank",), value="", problem=problem, hint=hint))
            continue
        with gathered(faults):
            blocks.append(on_rack(load_blank(named)))
    if faults:
        raise SpecError(tuple(faults))
    return drafts[0], blocks


def _ranked(pair: tuple[Draft, FoamBlock]) -> Ranked:
    """Return how a board lies in one blank of a rack."""
    draft, block = pair
    board, shape = draft.board, block.blank.shape
    metric = board.metric
    for what, own, other in (
        ("short", board.length_mm, shape.length_mm),
        ("narrow", board.wide_point.value, shape.wide_point.value),
        ("thin", board.thickest.value, shape.thickest.value),
    ):
        if other < own:
            return Ranked(
                block=block,
                cover_mm=None,
                why=f"too {what}: {along(other, metric=metric)} for {along(own, metric=metric)}",
            )
    in_hand = block_for(board, draft.lines, block)
    return Ranked(block=in_hand, cover_mm=BoardInBlank(board, draft.body, in_hand).ranked[0].cover_mm, why="")
