"""What `fit` does: a board in one blank, with proofs and a drawing; or every blank of a rack, ranked."""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from bayloft.delivery.deliveries import of_sheet
from bayloft.drawing.sheets.blank_sheet import blank_sheet
from bayloft.errors import Fault, SpecError, gathered
from bayloft.foam.fitting import BoardInBlank, Fit
from bayloft.foam.remedies import Remedy, remedies
from bayloft.lines.drafting import board_lines
from bayloft.record.folder import whole_files
from bayloft.solid.board import board_body
from bayloft.solid.draft import Draft, drafted
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.blanks.blank import Blank
from bayloft.spec.loading import load_board
from bayloft.spec.text.naming import slug_of
from bayloft.units import both, length_mm
from bayloft.workers import spread

MOST_WANTED_MM = 60.0
"""mm, cover beyond which no block is (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class FittedBoard:
    """A board in a blank, what would make it fit where it does not, and the files of the drawing."""

    fit: Fit
    wanted_mm: float
    remedies: tuple[Remedy, ...]
    files: tuple[Path, ...]

    @property
    def short_mm(self) -> float:
        """By how much the sure cover is less than what is wanted; 0 where it is enough."""
        return max(self.wanted_mm - self.fit.sure_mm, 0.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Ranked:
    """A blank of a rack: the least cover at the places that blanks are ranked by, mm, or why it was sorted out."""

    blank: Blank
    cover_mm: float | None
    why: str


def wanted_cover(typed: str) -> float:
    """Return a cover typed as a length, in mm. Raises SpecError for what is none, or more than any block has."""
    problem, allowed = "", f"0 to {both(MOST_WANTED_MM)}"
    try:
        mm = length_mm(typed, "mm")
    except ValueError as error:
        mm, problem = 0.0, str(error)
    if not 0.0 <= mm <= MOST_WANTED_MM:
        problem = "no cover that a block has"
    if problem:
        raise SpecError((Fault(file="--cover", line=None, path=(), value=typed, problem=problem, allowed=allowed),))
    return mm


def fit_blank(spec: Path, blank: Path, wanted_mm: float, folder: str | os.PathLike[str] | None = None) -> FittedBoard:
    """Return how a board lies in a blank, and write the drawing of it into a folder, if one is named.

    Raises
    ------
    SpecError
        With the faults of both files, and every number of either through which no fair line passes.
    OutputError
        If the drawing cannot be written.
    """
    draft, block = _loaded(spec, [blank])
    inside = _inside(draft, block[0])
    found = inside.fit()
    needed = wanted_mm + block[0].error_mm + (found.cover_mm - found.floor_mm)
    better = () if found.sure_mm >= wanted_mm else tuple(remedies(inside, needed))
    files: tuple[Path, ...] = ()
    if folder is not None:
        name = f"{draft.board.slug}-in-{slug_of(block[0].name)}"
        drawn = of_sheet(blank_sheet(found), name, f"{draft.board.name} in {block[0].name}")
        files = whole_files(folder, {each.name: each.content() for each in drawn}, replace=True)
    return FittedBoard(fit=found, wanted_mm=wanted_mm, remedies=better, files=files)


def rank_rack(spec: Path, rack: Path, jobs: int) -> tuple[Ranked, ...]:
    """Return the blanks of a folder, those with most cover first; those too short, too narrow or too thin last.

    Raises
    ------
    SpecError
        With the faults of all files, and for a folder without blanks.
    """
    paths = sorted(rack.glob("*.toml"))
    if not paths:
        problem = "this folder holds no blanks"
        hint = "a folder of .toml files like specs/blanks"
        raise SpecError((Fault(file=str(rack), line=None, path=(), value="", problem=problem, hint=hint),))
    draft, blanks = _loaded(spec, paths)
    with spread(min(jobs, len(blanks))) as mapped:
        ranked: list[Ranked] = list(mapped(_ranked, [(draft, blank) for blank in blanks]))
    return tuple(sorted(ranked, key=lambda one: (one.cover_mm is None, -(one.cover_mm or 0.0), one.blank.name)))


def _loaded(spec: Path, paths: Sequence[Path]) -> tuple[Draft, list[Blank]]:
    faults: list[Fault] = []
    drafts: list[Draft] = []
    blanks: list[Blank] = []
    with gathered(faults):
        drafts.append(drafted(load_board(spec)))
    for path in paths:
        with gathered(faults):
            blanks.append(load_blank(path))
    if faults:
        raise SpecError(tuple(faults))
    return drafts[0], blanks


def _ranked(pair: tuple[Draft, Blank]) -> Ranked:
    """Return how a board lies in one blank of a rack."""
    draft, blank = pair
    board, shape = draft.board, blank.shape
    for what, own, block in (
        ("short", board.length_mm, shape.length_mm),
        ("narrow", board.wide_point.value, shape.wide_point.value),
        ("thin", board.thickest.value, shape.thickest.value),
    ):
        if block < own:
            return Ranked(blank=blank, cover_mm=None, why=f"too {what}: {block:.0f} mm for {own:.0f} mm")
    return Ranked(blank=blank, cover_mm=_inside(draft, blank).ranked[0].cover_mm, why="")


def _inside(draft: Draft, blank: Blank) -> BoardInBlank:
    return BoardInBlank(draft.board, draft.body, blank, board_body(board_lines(blank.shape)))
