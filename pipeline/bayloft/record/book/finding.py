"""The files of a book: specs and archives in a folder and below it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from bayloft.errors import BayloftError
from bayloft.record.book.past_board import Unread

SPEC_SUFFIX, ARCHIVE_SUFFIX = ".toml", ".zip"

MOST_ENTRIES = 100_000
"""Files and folders that are looked at: more is a disk, and not a folder of boards."""


class BookError(BayloftError):
    """A folder that is no book of boards: why, and what to do."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """Specs and archives of a folder, as paths, in the order of their names; and folders that could not be read."""

    specs: tuple[Path, ...]
    archives: tuple[Path, ...]
    unread: tuple[Unread, ...]


def found_in(folder: Path) -> Found:
    """Return the specs and archives in a folder and below it. Hidden folders are left out, links are followed, and
    each folder is looked at once, however many links lead to it.

    Raises
    ------
    BookError : no such folder, or more than MOST_ENTRIES files and folders in it.
    """
    if not folder.is_dir():
        what = "a file, not a folder" if folder.exists() else "no such folder"
        raise BookError(f"{folder}: {what}; name the folder that your boards are in")
    unread: list[Unread] = []
    files = [path for path in _walked(folder, unread) if path.suffix.lower() in (SPEC_SUFFIX, ARCHIVE_SUFFIX)]
    files.sort()
    return Found(
        specs=tuple(path for path in files if path.suffix.lower() == SPEC_SUFFIX),
        archives=tuple(path for path in files if path.suffix.lower() == ARCHIVE_SUFFIX),
        unread=tuple(sorted(unread, key=lambda each: each.file)),
    )


def _walked(folder: Path, unread: list[Unread]) -> Iterator[Path]:
    """Yield the files in a folder and below it; what cannot be read is added to `unread`."""
    waiting, been, seen = [folder], set[tuple[int, int]](), 0
    while waiting:
        place = waiting.pop()
        try:
            status = place.stat()
            if (status.st_dev, status.st_ino) in been:
                continue
            been.add((status.st_dev, status.st_ino))
            with os.scandir(place) as entries:
                for entry in entries:
                    seen += 1
                    if seen > MOST_ENTRIES:
                        raise BookError(
                            f"{folder}: more than {MOST_ENTRIES:,} files and folders are in it; name the folder that "
                            "your boards are in"
                        )
                    if entry.name.startswith("."):
                        continue
                    if entry.is_dir():
                        waiting.append(place / entry.name)
                    elif entry.is_file():
                        yield place / entry.name
        except OSError as error:
            name = os.path.relpath(place, folder)
            unread.append(Unread(file=Path(name).as_posix(), why=f"this folder cannot be read: {error.strerror}"))
