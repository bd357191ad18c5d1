"""The whole pipeline: specs to lofted boards to a folder of files for each, all or nothing."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version
from pathlib import Path
from typing import Any

from bayloft.drawing.stringer_profile import stringer_outline
from bayloft.errors import Fault, SpecError
from bayloft.findings import CheckError
from bayloft.lines.fairing import board_lines
from bayloft.lines.fin import fin_lines
from bayloft.lines.footing import stands_whole
from bayloft.record import board_files, report
from bayloft.record.folder import replacing, text_files
from bayloft.shop.layup import fin_panel
from bayloft.solid.board import board_body
from bayloft.solid.loft import LoftedBoard, lofted
from bayloft.spec.board import Board
from bayloft.spec.loading import load_board, may_be_board
from bayloft.tolerances import CHORD_MM, CHORD_RANGE_MM

VERSION = version("bayloft")


def silent(_name: str) -> None:
    """Tell nobody."""


Told = Callable[[str], None]
"""Called with the name of each board as it is finished."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A board that was built or checked: its report as plain values, and the folder it is in (None for a check)."""

    report: dict[str, Any]
    folder: Path | None


def specs_in(places: Iterable[Path]) -> tuple[Path, ...]:
    """Return the board specs named: files as they are; for a folder, those in its `boards` folder, or else those in
    itself that are not of another kind.

    Raises
    ------
    SpecError
        For a folder without board specs.
    """
    found: list[Path] = []
    for place in places:
        if not place.is_dir():
            found.append(place)
            continue
        boards = place / "boards"
        if boards.is_dir():
            inside = sorted(boards.glob("*.toml"))
        else:
            inside = [path for path in sorted(place.glob("*.toml")) if may_be_board(path)]
        if not inside:
            problem = "this folder holds no specs"
            hint = "name a board's .toml file, or the folder above `boards`"
            raise SpecError((Fault(file=str(place), line=None, path=(), value="", problem=problem, hint=hint),))
        found += inside
    return tuple(dict.fromkeys(found))


def loaded(paths: Sequence[Path]) -> tuple[Board, ...]:
    """Return the boards of all specs, with fair lines through their numbers.

    Raises
    ------
    SpecError
        With the faults of all files together; two boards of one name are a fault.
    """
    boards: dict[str, Board] = {}
    faults: list[Fault] = []
    for path in paths:
        try:
            board = load_board(path)
            fins = {placement.fin.slug: placement.fin for placement in board.fins}
            lines = {slug: fin_lines(fin) for slug, fin in fins.items()}
            for slug, fin in fins.items():
                fin_panel(fin, lines[slug])
            board_curves = board_lines(board)
            stands_whole(board, board_curves, lines)
            if board.templates.deck_skin_mm:
                stringer_outline(board, board_body(board_curves))
        except SpecError as error:
            faults += error.faults
            continue
        if board.slug in boards:
            problem = (
                f"another board of this name is in {boards[board.slug].source.file}: both would go to {board.slug}/"
            )
            faults.append(board.source.fault(("name",), board.name, problem, hint="give one of them another name"))
        boards[board.slug] = board
    if faults:
        raise SpecError(tuple(dict.fromkeys(faults)))
    return tuple(boards.values())


def checked_tolerance(tolerance_mm: float) -> float:
    """Return a chord tolerance in mm within CHORD_RANGE_MM, or raise SpecError."""
    low, high = CHORD_RANGE_MM
    if not low <= tolerance_mm <= high:
        problem = f"a chord tolerance of {tolerance_mm:g} mm is outside what a board can use"
        allowed = f"{low:g} to {high:g} mm; {CHORD_MM:g} is the default"
        raise SpecError((Fault(file="--tolerance", line=None, path=(), value="", problem=problem, allowed=allowed),))
    return tolerance_mm


def passed(board: Board, tolerance_mm: float) -> LoftedBoard:
    """Return the loft of a board, or raise CheckError where it fails its own checks."""
    shape = lofted(board, tolerance_mm)
    if shape.failures:
        raise CheckError(board.name, shape.failures)
    return shape


def _build_one(board: Board, out: Path, tolerance_mm: float, date: datetime.date | None) -> Built:
    shape = passed(board, tolerance_mm)
    folder = out / board.slug
    with replacing(folder) as place:
        said = board_files.write(shape, place, VERSION, date)
    return Built(report=said, folder=folder)


def _check_one(board: Board, tolerance_mm: float) -> Built:
    return Built(report=report.report(passed(board, tolerance_mm), None, VERSION), folder=None)


def each(work: Callable[[Board], Built], boards: Sequence[Board], jobs: int, told: Told) -> tuple[Built, ...]:
    """Return the work done on every board, in order; the first error ends it once running boards are done."""
    built = []
    if jobs <= 1 or len(boards) == 1:
        for board in boards:
            built.append(work(board))
            told(board.name)
        return tuple(built)
    pool: Executor
    with ProcessPoolExecutor(max_workers=min(jobs, len(boards))) as pool:
        try:
            for board, result in zip(boards, pool.map(work, boards), strict=True):
                built.append(result)
                told(board.name)
        except BaseException:
            pool.shutdown(wait=True, cancel_futures=True)
            raise
    return tuple(built)


def build_boards(
    places: Iterable[Path],
    out: Path = Path("out"),
    *,
    tolerance_mm: float = CHORD_MM,
    jobs: int = 1,
    date: datetime.date | None = None,
    told: Told = silent,
) -> tuple[Built, ...]:
    """Build boards into folders of `out`, and return their reports.

    All specs are read first, and nothing is written if one has a fault. Each board's folder is made beside its place
    and put there when whole: a build that fails or is interrupted leaves the former one as it was.

    Parameters
    ----------
    places : spec files, or folders of them.
    out : folder for the boards' folders.
    tolerance_mm : chord tolerance of the boards' meshes in mm, within CHORD_RANGE_MM.
    jobs : boards worked on at once, each in a process of its own.
    date : written on every template and sheet; none is if left out, for nothing here reads the clock.
    told : called with each board's name as it is done.

    Raises
    ------
    SpecError, CheckError, OutputError
        A faulty spec; a shape that fails its own checks; a place that cannot be written.
    """
    boards = loaded(specs_in(places))
    work = partial(_build_one, out=out, tolerance_mm=checked_tolerance(tolerance_mm), date=date)
    return each(work, boards, jobs, told)


def check_boards(
    places: Iterable[Path], *, tolerance_mm: float = CHORD_MM, jobs: int = 1, told: Told = silent
) -> tuple[Built, ...]:
    """Make every check of a build and write nothing; parameters and errors as for `build_boards`."""
    boards = loaded(specs_in(places))
    work = partial(_check_one, tolerance_mm=checked_tolerance(tolerance_mm))
    return each(work, boards, jobs, told)


def start(folder: Path) -> tuple[Path, ...]:
    """Write a commented board spec with its fin and the schemas into a folder, and return the files.

    Raises
    ------
    OutputError
        If one of the files is there already, or the folder cannot be written.
    """
    from bayloft.spec import schema, starter  # noqa: PLC0415

    texts = {starter.BOARD_FILE: starter.board_text(), starter.FIN_FILE: starter.fin_text()}
    return text_files(folder, texts | schema.texts(), replace=False)


def write_schemas(folder: Path) -> tuple[Path, ...]:
    """Write the JSON Schemas of all kinds of spec into a folder, over former ones, and return the files.

    Raises
    ------
    OutputError
        If the folder cannot be written.
    """
    from bayloft.spec import schema  # noqa: PLC0415

    return text_files(folder, schema.texts(), replace=True)


def default_jobs() -> int:
    """Return how many boards to work on at once by default: the processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
