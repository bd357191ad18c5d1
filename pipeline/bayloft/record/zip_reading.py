"""Zip files from elsewhere, read without unpacking: their size, their names and their members checked first."""

from __future__ import annotations

import stat
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path, PurePosixPath
from typing import BinaryIO

from bayloft.errors import BayloftError
from bayloft.export.zipped import small_directory

MOST_MEMBERS, MOST_BYTES, MOST_TIMES = 1000, 512 * 2**20, 50
"""Members, bytes of all together once unpacked, and how many times larger than it is stored a member may be: more is
no archive of a board, and may be made to fill a disk."""


class ArchiveError(BayloftError):
    """A file that is no archive, or one that must not be opened: why."""


def members_of(
    path: Path, wanted: Callable[[str], bool] = lambda _name: True, most_bytes: int = MOST_BYTES
) -> dict[str, bytes]:
    """Return the members of a zip by their names, or those of them that are wanted.

    Raises
    ------
    ArchiveError : no such file, no zip, a damaged one, or one with names that lead elsewhere, linked or duplicate
        members, or more in it than an archive has; or more than `most_bytes` in those that are wanted.
    """
    try:
        if path.exists() and not stat.S_ISREG(path.stat().st_mode):
            raise ArchiveError(f"{path}: is not a file")
        with path.open("rb") as file, zipfile.ZipFile(_listed(path, file)) as archive:
            entries = archive.infolist()
            _refuse(path, entries)
            chosen = [entry for entry in entries if wanted(entry.filename)]
            if (size := sum(entry.file_size for entry in chosen)) > most_bytes:
                raise ArchiveError(f"{path}: {size} bytes of texts in it, at most {most_bytes}")
            members = {}
            for entry in chosen:
                with archive.open(entry) as opened:
                    # What is said of a size in a file is not what comes out of it.
                    data = opened.read(entry.file_size + 1)
                if len(data) != entry.file_size:
                    raise ArchiveError(f"{path}: {entry.filename} has another size than the file says")
                members[entry.filename] = data
            return members
    except FileNotFoundError:
        raise ArchiveError(f"{path}: no such file") from None
    except _UNREADABLE as error:
        raise ArchiveError(f"{path}: cannot be read as a zip: {error}") from error


_UNREADABLE = (
    *(OSError, zipfile.BadZipFile, zipfile.LargeZipFile, NotImplementedError, RuntimeError, EOFError),
    *(zlib.error, ValueError),
)
"""What the library makes of damaged zips."""


def _listed(path: Path, opened: BinaryIO) -> BinaryIO:
    """Return an opened zip whose list of members may be read. Raises ArchiveError for others."""
    if not small_directory(opened):
        raise ArchiveError(f"{path}: cannot be read as a zip: none, or one of more members than an archive has")
    return opened


def _refuse(path: Path, entries: list[zipfile.ZipInfo]) -> None:
    """Raise ArchiveError for a zip that must not be opened."""
    problems = []
    names = [entry.filename for entry in entries]
    if len(entries) > MOST_MEMBERS:
        problems.append(f"{len(entries)} members, at most {MOST_MEMBERS}")
    if (size := sum(entry.file_size for entry in entries)) > MOST_BYTES:
        problems.append(f"{size} bytes once unpacked, at most {MOST_BYTES}")
    for entry in entries[:MOST_MEMBERS]:
        name, mode = entry.filename, entry.external_attr >> 16
        pure = PurePosixPath(name)
        if entry.file_size > MOST_TIMES * max(entry.compress_size, 1):
            problems.append(f"{name!r} is packed to less than a {MOST_TIMES}th")
        if pure.is_absolute() or ".." in pure.parts or "\\" in name or ":" in name or not name.isprintable():
            problems.append(f"{name!r} leads out of the archive, or is no name")
        if stat.S_ISLNK(mode) or entry.is_dir():
            problems.append(f"{name!r} is a link or a folder")
        if entry.flag_bits & 1:
            problems.append(f"{name!r} is locked with a password")
    twice = sorted({name for name in names if names.count(name) > 1}) if len(names) <= MOST_MEMBERS else []
    problems += [f"{name!r} is in it twice" for name in twice]
    if problems:
        raise ArchiveError("\n    ".join([f"{path}: not opened", *problems[:10]]))
