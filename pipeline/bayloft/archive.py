"""What `archive` and `verify` do: a board kept in one file; such a file held against its own numbers and its spec."""

from __future__ import annotations

import json
import os.path
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from bayloft.build import VERSION, Named, loaded, passed
from bayloft.delivery.archive_files import archive_files
from bayloft.export.zipped import stored
from bayloft.record.archived import MANIFEST, README, REPORT, SURFACE, changed, listed
from bayloft.record.archived_spec import board_in
from bayloft.record.surface_text import SurfaceTextError, body_of
from bayloft.record.whole import whole_files
from bayloft.record.zip_reading import ArchiveError, members_of
from bayloft.solid.body import Body
from bayloft.solid.closest import Nearest
from bayloft.solid.draft import drafted
from bayloft.solid.integrals import integrals
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.plank_loading import load_plank
from bayloft.spec.text.kept import kept_files
from bayloft.spec.text.naming import LONGEST_NAME
from bayloft.tolerances import CHORD_MM

SAME_VOLUME, SAME_SURFACE_MM = 1e-9, 1e-3
"""Relative, and mm: within which an archive agrees with itself, and with what this version lofts of its spec."""

BOARD_MM = (200.0, 20_000.0)
"""mm that a board is at least long, and that no control point of one lies beyond."""
LOOKED_AT, ALONG_MM = (400, 101), 1e-6
"""Places in u and v at which a surface is looked at, and mm by which rounding may lead back along the board."""

SAMPLED = (60, 31)
"""Places in u and v whose distance is taken where two nets are not alike."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Agreement:
    """One thing that an archive was held against: whether it agrees, and in words by how much."""

    agrees: bool
    said: str


def archive_board(spec: Path, out: Named = "archives") -> Path:
    """Write a board's archive into a folder, over a former one, and return it.

    Raises
    ------
    SpecError, CheckError, OutputError
        A faulty file; a shape that fails its own checks; a folder that cannot be written.
    """
    with kept_files() as kept:
        (draft,) = loaded([spec])
        board = draft.board
        if board.blank is not None:
            load_blank(board.blank.file)
        if board.stringer is not None and board.stringer.plank is not None:
            load_plank(board.stringer.plank)
    shape = passed(draft, CHORD_MM)
    # What a spec names lies in the folder above its own, at most.
    paths = {Path(os.path.realpath(path)): data for path, data in kept.items()}
    root = Path(os.path.commonpath([path.parent for path in paths]))
    files = {path.relative_to(root).as_posix(): data for path, data in paths.items()}
    own = Path(os.path.realpath(spec)).relative_to(root).as_posix()
    members = archive_files(shape, own, files, VERSION)
    (written,) = whole_files(out, {f"{board.slug}.zip": stored(members)}, replace=True)
    return written


def verified(path: Path) -> Iterator[Agreement]:
    """Yield what an archive agrees with: its manifest; its surface with the volume it states; what this version lofts
    of the spec in it.

    Raises
    ------
    ArchiveError : a file that is no archive of a board, or must not be opened.
    """
    members = members_of(path)
    lacking = [name for name in (README, MANIFEST, REPORT, SURFACE) if name not in members]
    if lacking:
        raise ArchiveError(f"{path}: no archive of a board: {', '.join(lacking)} is not in it")
    yield _manifest(members)
    said, body = _report(path, members[REPORT]), _body(path, members[SURFACE])
    stated = said["integrals"]["volume_mm3"]
    own = integrals(body).volume_mm3
    off = abs(own / stated - 1.0)
    yield Agreement(
        agrees=off <= SAME_VOLUME, said=f"surface: {own / 1e6:.6f} L, stated {stated / 1e6:.6f} L, {off:.1e} apart"
    )
    yield _lofted(members, body, str(said["name"]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class KeptBoard:
    """A board as an archive keeps it: its name, its surface, and whether it is told in mm."""

    name: str
    body: Body
    metric: bool


def kept_board(path: Path) -> KeptBoard:
    """Return the board of an archive: the surface in it, whatever its spec would loft to.

    Raises
    ------
    ArchiveError : a file that is no archive of a board, or must not be opened; one whose surface is no board's, or has
        another volume than the archive states.
    """
    members = members_of(path)
    lacking = [name for name in (REPORT, SURFACE) if name not in members]
    if lacking:
        raise ArchiveError(f"{path}: no archive of a board: {', '.join(lacking)} is not in it")
    said, body = _report(path, members[REPORT]), _body(path, members[SURFACE])
    if not _is_board(body):
        raise ArchiveError(f"{path}: {SURFACE} is no board's surface: its sections do not follow one another")
    if abs(integrals(body).volume_mm3 / said["integrals"]["volume_mm3"] - 1.0) > SAME_VOLUME:
        raise ArchiveError(f"{path}: its surface has another volume than it states; `bayloft verify` tells more")
    return KeptBoard(name=str(said["name"])[:LONGEST_NAME], body=body, metric=said.get("unit") == "mm")


def _is_board(body: Body) -> bool:
    """Whether a surface is one side of a board: of a board's size, from tail to nose, on the port side."""
    x, y, z = np.moveaxis(
        body.port.grid(np.linspace(0.0, 1.0, LOOKED_AT[0]), np.linspace(0.0, 1.0, LOOKED_AT[1])), -1, 0
    )
    small, large = BOARD_MM
    return bool(
        body.starboard is None
        and body.end in ("closed", "wall")
        and np.abs(body.port.net).max() <= large
        and np.ptp(x) >= small
        and (np.diff(x, axis=0) > -ALONG_MM).all()
        and y.min() >= -ALONG_MM
        and np.ptp(z) > 0.0
    )


def _manifest(members: dict[str, bytes]) -> Agreement:
    digests = listed(members[MANIFEST])
    wrong = list(changed(members, digests))
    more = sorted(set(members) - set(digests) - {MANIFEST})
    if wrong or more:
        told = [*(f"{name} is changed or gone" for name in wrong), *(f"{name} is not listed" for name in more)]
        return Agreement(agrees=False, said=f"manifest: {'; '.join(told[:5])}")
    return Agreement(agrees=True, said=f"manifest: all {len(digests)} files are as they were written")


def _report(path: Path, data: bytes) -> dict[str, Any]:
    try:
        said = json.loads(data)
        if float(said["integrals"]["volume_mm3"]) > 0.0 and said["name"]:
            return dict(said)
    except (ValueError, KeyError, TypeError, RecursionError):
        pass
    raise ArchiveError(f"{path}: its {REPORT} tells no name and no volume")


def _body(path: Path, data: bytes) -> Body:
    try:
        return body_of(data.decode("ascii"))
    except (SurfaceTextError, UnicodeDecodeError) as error:
        raise ArchiveError(f"{path}: {SURFACE} cannot be read: {error}") from error


def _lofted(members: dict[str, bytes], body: Body, name: str) -> Agreement:
    """Return how what this version lofts of the spec in an archive agrees with its surface."""
    board = board_in(members, name)
    if board is None:
        return Agreement(agrees=False, said=f"spec: none in it is of {name}, or this version does not read it")
    new = drafted(board).body
    apart = _apart_mm(body, new)
    return Agreement(agrees=apart <= SAME_SURFACE_MM, said=f"spec: lofts to the same surface within {apart:.6f} mm")


def _apart_mm(one: Body, other: Body) -> float:
    """Return how far two bodies lie apart at most: by their nets where these are alike, for a surface lies within what
    its control points move; else at places.
    """
    alike = one.port.net.shape == other.port.net.shape and all(
        np.array_equal(a, b)
        for a, b in ((one.port.knots_u, other.port.knots_u), (one.port.knots_v, other.port.knots_v))
    )
    if alike:
        return float(np.sqrt(((one.port.net - other.port.net) ** 2).sum(axis=-1)).max())
    places = one.port.grid(np.linspace(0.0, 1.0, SAMPLED[0]), np.linspace(0.0, 1.0, SAMPLED[1])).reshape(-1, 3)
    return float(np.abs(Nearest(other).feet(places).depth_mm).max())
