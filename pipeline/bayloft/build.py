"""The whole pipeline: specs to lofted boards to a folder of files for each, all or nothing."""

from __future__ import annotations

import datetime
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from functools import partial
from importlib.metadata import version
from pathlib import Path
from time import perf_counter
from typing import Any, Literal

import bayloft.drawing.faults as drawing
import bayloft.foam.faults as foam
import bayloft.laminating.faults as laminating
import bayloft.solid.faults as solid
from bayloft.delivery import board_files
from bayloft.errors import Fault, SpecError, gathered
from bayloft.findings import CheckError
from bayloft.record import report
from bayloft.record.folder import claimed
from bayloft.record.whole import whole_files, writing
from bayloft.solid.draft import Draft, drafted
from bayloft.solid.loft import LoftedBoard, loft
from bayloft.spec.loading import load_board, may_be_board
from bayloft.tolerances import CHORD_MM, CHORD_RANGE_MM
from bayloft.workers import Workers, spread

VERSION = version("bayloft")


def silent(_name: str) -> None:
    """Tell nobody."""


Told = Callable[[str], None]
"""Called with the name of a board: as it is finished, or before another command is waited for that has its folder."""

Named = str | os.PathLike[str]
"""A file or a folder by its name."""

Renewed = Literal["", "shape", "day"]

Seconds = Mapping[str, float]
"""How long each stage took, by its name."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Built:
    """A board that was built or checked: its report as plain values, and the folder it is in (None for a check);
    how long each stage of it took. renewed: why a cut made the templates anew too: those that were there were of
    another "shape" or "day".
    """

    report: dict[str, Any]
    folder: Path | None
    seconds: Seconds = field(default_factory=dict)
    renewed: Renewed = ""


def specs_in(places: Named | Iterable[Named]) -> tuple[Path, ...]:
    """Return the board specs named: files as they are; for a folder, those in its `boards` folder, or else those in
    itself that are not of another kind.

    Raises
    ------
    SpecError
        For a folder without board specs.
    """
    found: list[Path] = []
    for place in map(Path, [places] if isinstance(places, (str, os.PathLike)) else places):
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


ROOMS = (solid, laminating, foam, drawing)
"""The rooms above the lines and the surface that tell what of a draft keeps them from their work."""


def loaded(paths: Sequence[Path]) -> tuple[Draft, ...]:
    """Return the boards of all specs, drafted.

    Raises
    ------
    SpecError
        With the faults of all files together; two boards of one name are a fault.
    """
    drafts: dict[str, Draft] = {}
    faults: list[Fault] = []
    for path in paths:
        with gathered(faults):
            board = load_board(path)
            faults += board_files.name_faults(board)
            draft = drafted(board)
            faults += [fault for room in ROOMS for fault in room.faults(draft)]
            if board.slug in drafts:
                other = drafts[board.slug].board.source.file
                problem = f"another board of this name is in {other}: both would go to {board.slug}/"
                faults.append(board.source.fault(("name",), board.name, problem, hint="give one of them another name"))
            drafts[board.slug] = draft
    if faults:
        raise SpecError(tuple(dict.fromkeys(faults)))
    return tuple(drafts.values())


def checked_tolerance(tolerance_mm: float) -> float:
    """Return a chord tolerance in mm within CHORD_RANGE_MM, or raise SpecError."""
    low, high = CHORD_RANGE_MM
    if not low <= tolerance_mm <= high:
        problem = f"a chord tolerance of {tolerance_mm:g} mm is outside what a board can use"
        allowed = f"{low:g} to {high:g} mm; {CHORD_MM:g} is the default"
        raise SpecError((Fault(file="--tolerance", line=None, path=(), value="", problem=problem, allowed=allowed),))
    return tolerance_mm


def passed(draft: Draft, tolerance_mm: float) -> LoftedBoard:
    """Return the loft of a draft, or raise CheckError where it fails its own checks."""
    shape = loft(draft, tolerance_mm)
    if shape.failures:
        raise CheckError(draft.board.name, shape.failures)
    return shape


def _build_one(
    draft: Draft, folder: Path, new: Path, *, tolerance_mm: float, date: datetime.date | None
) -> tuple[dict[str, Any], Seconds]:
    seconds: dict[str, float] = {}
    with timed(seconds, "loft and checks"):
        shape = passed(draft, tolerance_mm)
    with timed(seconds, "drawings and files"), writing(folder):
        said = board_files.write(shape, new, VERSION, date)
    return said, seconds


def _check_one(draft: Draft, *, tolerance_mm: float) -> tuple[dict[str, Any], Seconds]:
    seconds: dict[str, float] = {}
    with timed(seconds, "loft and checks"):
        shape = passed(draft, tolerance_mm)
    with timed(seconds, "drawings"):
        board_files.rehearse(shape, VERSION)
    return report.report(shape, None, VERSION), seconds


@contextmanager
def timed(seconds: dict[str, float], stage: str) -> Iterator[None]:
    """Note how long a stage took, by its name."""
    start = perf_counter()
    yield
    seconds[stage] = perf_counter() - start


def build_boards(
    places: Named | Iterable[Named],
    out: Named = "out",
    *,
    tolerance_mm: float = CHORD_MM,
    jobs: Workers = 1,
    date: datetime.date | None = None,
    told: Told = silent,
    waits: Told = silent,
) -> tuple[Built, ...]:
    """Build boards into folders of `out`, and return their reports.

    All specs are read first, and nothing is written if one has a fault. A board's folder is this command's alone while
    it works. It is made beside its place and put there when whole, one board after the other: a build that fails or is
    interrupted leaves those not yet put there as they were.

    Parameters
    ----------
    places : spec files, or folders of them.
    out : folder for the boards' folders.
    tolerance_mm : chord tolerance of the boards' meshes in mm, within CHORD_RANGE_MM.
    jobs : boards worked on at once, each in a process of its own; or an executor of any kind, such as that of a
        cluster whose workers see the same files under the same names.
    date : written on every template and sheet; none is if left out, for nothing here reads the clock.
    told : called with each board's name as it is done.
    waits : called with a board's name if another command has its folder, which is then waited for.

    Raises
    ------
    SpecError, CheckError, OutputError, WorkerError
        A faulty spec; a shape that fails its own checks; a place that cannot be written, or is not this board's; a
        process that was ended from outside, or an executor that gave work up.
    """
    drafts = loaded(specs_in(places))
    work = partial(_build_one, tolerance_mm=checked_tolerance(tolerance_mm), date=date)
    built = []
    with claimed(folders_of(drafts, out), waits) as claims, spread(jobs, len(drafts)) as mapped:
        made = mapped(work, drafts, [claim.folder for claim in claims], [claim.new for claim in claims])
        for claim, (said, seconds) in zip(claims, made, strict=True):
            claim.put()
            built.append(Built(report=said, folder=claim.folder, seconds=seconds))
            told(claim.name)
    return tuple(built)


def folders_of(drafts: Sequence[Draft], out: Named) -> dict[Path, str]:
    """Return the folder of each board in `out`, with the board's name."""
    return {Path(out) / draft.board.slug: draft.board.name for draft in drafts}


def check_boards(
    places: Named | Iterable[Named], *, tolerance_mm: float = CHORD_MM, jobs: Workers = 1, told: Told = silent
) -> tuple[Built, ...]:
    """Make every check of a build, draw every file and write none; parameters and errors as for `build_boards`."""
    drafts = loaded(specs_in(places))
    work = partial(_check_one, tolerance_mm=checked_tolerance(tolerance_mm))
    built = []
    with spread(jobs, len(drafts)) as mapped:
        for draft, (said, seconds) in zip(drafts, mapped(work, drafts), strict=True):
            built.append(Built(report=said, folder=None, seconds=seconds))
            told(draft.board.name)
    return tuple(built)


def start(folder: Named, kind: Literal["board", "blank", "plank"] = "board") -> tuple[Path, ...]:
    """Write a commented spec of a board with its fin, a blank or a plank, and schemas into a folder, and return the
    files.

    Raises
    ------
    OutputError
        If one of the files is there already, or the folder cannot be written.
    """
    from bayloft.spec import schema, starter  # noqa: PLC0415

    if kind == "blank":
        texts = {starter.BLANK_FILE: starter.blank_text(), starter.BLANK_SCHEMA_FILE: schema.text_of("blank")}
        return whole_files(folder, texts, replace=False)
    if kind == "plank":
        texts = {starter.PLANK_FILE: starter.plank_text(), starter.PLANK_SCHEMA_FILE: schema.text_of("plank")}
        return whole_files(folder, texts, replace=False)
    texts = {starter.BOARD_FILE: starter.board_text(), starter.FIN_FILE: starter.fin_text()}
    return whole_files(folder, texts | schema.texts(), replace=False)


def write_schemas(folder: Named) -> tuple[Path, ...]:
    """Write the JSON Schemas of all kinds of spec into a folder, over former ones, and return the files.

    Raises
    ------
    OutputError
        If the folder cannot be written.
    """
    from bayloft.spec import schema  # noqa: PLC0415

    return whole_files(folder, schema.texts(), replace=True)
