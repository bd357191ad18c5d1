"""What `compare` does: two boards, each a spec, an archive or a mesh, held against one another."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np

from bayloft.archive import kept_board
from bayloft.build import VERSION, Named, Told, silent
from bayloft.delivery.comparison_files import comparison_files
from bayloft.errors import BayloftError, Fault, SpecError
from bayloft.export.mesh_reader import READERS
from bayloft.record.comparison_entries import comparison_report, title_of
from bayloft.record.figures import report_bytes
from bayloft.record.folder import claimed
from bayloft.record.heading import FILE_NAME, shape_digest
from bayloft.record.mesh_subject import MeshTold, mesh_subject, turned_about
from bayloft.record.whole import writing
from bayloft.record.zip_reading import ArchiveError
from bayloft.solid.compared import ComparedShape
from bayloft.solid.comparison import Align, Comparison, UnalignedError, compared
from bayloft.solid.draft import drafted
from bayloft.solid.mesh_distance import TangledMeshError
from bayloft.solid.meshing import MeshingError
from bayloft.spec.loading import load_board
from bayloft.spec.text.naming import LONGEST_NAME, slug_of

LETTERS = ("a", "b")
LONGEST_SLUG = 60
"""Letters of each name in the name of the folder."""
NEARER = 0.6
"""Share of how far two outlines lie apart, below which a mesh turned end for end is told to be nearer."""
SHARES = np.linspace(0.05, 0.95, 91)


class CompareError(BayloftError):
    """Two shapes that cannot be held against one another: why, and what would do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardsHeld:
    """A comparison that was written: what was found, what a maker should look at, its report, and its folder."""

    found: Comparison
    looks: tuple[str, ...]
    report: dict[str, Any]
    folder: Path


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Subject:
    """One of the two: its name, what is said of it, its shape, whether its lengths are told in mm, what to look at."""

    name: str
    said: Mapping[str, Any]
    shape: ComparedShape
    metric: bool
    looks: tuple[str, ...] = ()
    is_mesh: bool = field(default=False)


def compare_boards(
    a: Path,
    b: Path,
    out: Named = "comparisons",
    *,
    align: Align = "tail",
    told: tuple[MeshTold, MeshTold] = (MeshTold(), MeshTold()),
    waits: Told = silent,
) -> BoardsHeld:
    """Write how B differs from A, as a drawing and a report, into a folder of its own in `out`, and return it.

    Parameters
    ----------
    a, b : specs (.toml), archives (.zip) or meshes.
    out : folder for the folders of comparisons.
    align : what of both is laid on one another; both stand on the flat at their lowest place.
    told : what is told of A and of B where they are meshes.
    waits : called with the comparison's name if another command has its folder, which is then waited for.

    Raises
    ------
    SpecError, ArchiveError, MeshFileError, CompareError, OutputError
        Faulty files, of both; shapes that cannot be compared; a place that cannot be written.
    """
    subjects = _subjects((a, b), told)
    one, other = subjects
    try:
        held = compared((one.name, other.name), one.shape, other.shape, align=align, metric=one.metric)
    except UnalignedError:
        raise CompareError(f"{a}, {b}: one has no wide point; --align tail, nose or centre") from None
    except TangledMeshError as error:
        raise CompareError(f"{a}, {b}: of one that is a mesh, {error}; a mesh of the outer surface alone") from None
    looks = tuple(
        f"{letter.upper()}: {look}" for letter, subject in zip(LETTERS, subjects, strict=True) for look in subject.looks
    ) + _end_for_end(subjects)
    digest = sha256(repr([VERSION, align, *(subject.said for subject in subjects)]).encode()).hexdigest()
    files = comparison_files(held, digest, looks)
    said = comparison_report(held, (one.said, other.said), looks, files, VERSION)
    slug = "-".join(slug_of(subject.name)[:LONGEST_SLUG].strip("-") or "mesh" for subject in subjects)
    with claimed({Path(out) / slug: title_of(held.names)}, waits) as (claim,):
        with writing(claim.folder):
            for name, data in {**files, FILE_NAME: report_bytes(said)}.items():
                (claim.new / name).write_bytes(data)
        claim.put()
    return BoardsHeld(found=held, looks=looks, report=said, folder=claim.folder)


def _subjects(files: tuple[Path, Path], told: tuple[MeshTold, MeshTold]) -> tuple[_Subject, _Subject]:
    """Return both, or raise with the faults of both."""
    found: list[_Subject] = []
    errors: list[BayloftError] = []
    for file, own, letter in zip(files, told, LETTERS, strict=True):
        try:
            found.append(_subject(file, own, letter))
        except BayloftError as error:
            errors.append(error)
    faults = [fault for error in errors if isinstance(error, SpecError) for fault in error.faults]
    if faults and len(errors) == sum(isinstance(error, SpecError) for error in errors):
        raise SpecError(tuple(dict.fromkeys(faults)))
    if len(errors) > 1:
        raise CompareError("\n".join(dict.fromkeys(map(str, errors))))
    if errors:
        raise errors[0]
    return found[0], found[1]


def _subject(file: Path, told: MeshTold, letter: str) -> _Subject:
    kind = file.suffix.lower()
    if kind in (".toml", ".zip"):
        if told.own or told.nose or told.up:
            own = "spec" if kind == ".toml" else "archive"
            problem = f"is no mesh; its unit and axes are known: leave out what is told of {letter.upper()} alone"
            raise CompareError(f"{file}: an {own} {problem}" if own == "archive" else f"{file}: a {own} {problem}")
        return _of_spec(file) if kind == ".toml" else _of_archive(file)
    if kind not in READERS:
        what = "a folder" if file.is_dir() else "of no kind that is compared"
        raise CompareError(
            f"{file}: {what}\n    try:     a spec (.toml), an archive (.zip) or a mesh ({', '.join(READERS)})"
        )
    subject = mesh_subject(file, told, letter)
    return _Subject(
        name=_shown(file.name),
        said={"kind": "mesh", "file": file.name, **subject.said},
        shape=subject.shape,
        metric=subject.metric,
        looks=subject.looks,
        is_mesh=True,
    )


def _of_spec(file: Path) -> _Subject:
    draft = drafted(load_board(file))
    problem, hint = "no mesh follows this shape", f"bayloft check {file}"
    try:
        shape = ComparedShape.of_body(draft.body)
    except MeshingError:
        raise SpecError((Fault(file=str(file), line=None, path=(), value="", problem=problem, hint=hint),)) from None
    said = {"kind": "spec", "file": file.name, "sha256": shape_digest(draft, VERSION)}
    return _Subject(name=draft.board.name, said=said, shape=shape, metric=draft.board.metric)


def _of_archive(file: Path) -> _Subject:
    kept = kept_board(file)
    try:
        shape = ComparedShape.of_body(kept.body)
    except MeshingError:
        raise ArchiveError(f"{file}: no mesh follows its surface") from None
    said = {"kind": "archive", "file": file.name, "sha256": sha256(file.read_bytes()).hexdigest()}
    return _Subject(name=f"{_shown(kept.name)} (archive)", said=said, shape=shape, metric=kept.metric)


def _shown(name: str) -> str:
    """Return a name from elsewhere as it can be printed: as long as a board's, with nothing that a terminal obeys."""
    return "".join(letter for letter in name if letter.isprintable())[:LONGEST_NAME].strip() or "mesh"


def _end_for_end(subjects: tuple[_Subject, _Subject]) -> tuple[str, ...]:
    """Return what is to be said where one that is a mesh would be nearer to the other turned end for end."""
    mesh = next((n for n in (1, 0) if subjects[n].is_mesh), None)
    if mesh is None:
        return ()
    other, own = subjects[1 - mesh].shape, subjects[mesh].shape
    as_it_is, turned = (_unlike_mm(other, shape) for shape in (own, turned_about(own)))
    if turned >= NEARER * as_it_is:
        return ()
    letter, against = LETTERS[mesh], LETTERS[1 - mesh].upper()
    return (
        f"{letter.upper()}: turned end for end it would be nearer to {against}: if its nose is where its tail is taken "
        f"to be, --nose-{letter} the other way",
    )


def _unlike_mm(one: ComparedShape, other: ComparedShape) -> float:
    """Return how far the long lines of two shapes lie apart on the whole, at equal shares of their lengths."""
    a, b = (shape.lines_at(SHARES * shape.length_mm) for shape in (one, other))
    apart = [
        np.abs(a.widths_mm - b.widths_mm),
        np.abs(a.bottom_mm - b.bottom_mm),
        np.abs((a.deck_mm - a.bottom_mm) - (b.deck_mm - b.bottom_mm)),
    ]
    return float(sum(each[np.isfinite(each)].mean() for each in apart if np.isfinite(each).any()))
