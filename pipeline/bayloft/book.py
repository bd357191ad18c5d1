"""What `book` does: the boards of a folder, specs and archives, as they are now; their volumes lofted once and kept."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import dataclass
from functools import partial
from importlib.metadata import version
from pathlib import Path

from bayloft.errors import BayloftError
from bayloft.record.archived import MANIFEST, REPORT, SPEC
from bayloft.record.book.finding import ARCHIVE_SUFFIX, BookError, found_in
from bayloft.record.book.index import INDEX, Known, Reader, index_in, index_text, seen_of
from bayloft.record.book.nearness import Like, like_board
from bayloft.record.book.past_board import PastBoard, Unread
from bayloft.record.book.wanted import ALL, VOLUME, BoardsWanted
from bayloft.record.whole import whole_files
from bayloft.record.zip_reading import members_of
from bayloft.workers import Workers, spread

KEPT_FROM, SPREAD_FROM = 50, 100
"""Specs from which on it is worth while to keep what they say, and to read them in several processes."""

MOST_TEXT_BYTES = 32 * 2**20
"""Bytes of an archive's report and specs that are read for a book."""

LONGEST_WHY = 160
"""Characters of what is told of a file that cannot be read."""


@contextmanager
def unwatched(_files: tuple[Path, ...], _doing: str) -> Iterator[Callable[[str], None]]:
    """Watch nothing."""
    yield lambda _name: None


Watched = Callable[[tuple[Path, ...], str], AbstractContextManager[Callable[[str], None]]]
"""Called with files and what is done with them, reading or lofting; gives what is called as each of them is done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Book:
    """The boards of a folder that are wanted, by length; of how many boards; files and folders that could not be read;
    how many of the boards listed have no volume yet. not_kept: why what was lofted could not be kept.
    """

    boards: tuple[PastBoard, ...]
    of: int
    unread: tuple[Unread, ...]
    unmeasured: int
    not_kept: str = ""


def book(
    folder: str | os.PathLike[str] = ".",
    wanted: BoardsWanted = ALL,
    *,
    measure: bool = False,
    jobs: Workers = 1,
    watched: Watched = unwatched,
) -> Book:
    """Return the boards of the specs and archives in a folder and below it. The files are the truth: what an index in
    the folder says of one counts only while the file, and all that it is read with, are byte for byte as they were.

    Parameters
    ----------
    folder : where to look.
    wanted : which boards. Where it asks for a volume, all boards are lofted that it depends on.
    measure : whether all boards that are wanted are lofted for their volume, as far as they were not before.
    jobs : as for `build_boards`.
    watched : told of what is being lofted.

    Raises
    ------
    BookError, WorkerError
        No such folder, or one with too much in it; a process that was ended from outside.
    """
    return _Reading(Path(folder), jobs, watched).book(wanted, measure=measure)


def like_file(path: Path, *, measure: bool) -> Like:
    """Return the numbers that boards like that of a spec or an archive are near: its length, width and thickness, and
    if `measure`, its volume.

    Raises
    ------
    BookError : it cannot be read, or is no board.
    """
    reading = _Reading(path.parent, 1, unwatched)
    if path.suffix.lower() == ARCHIVE_SUFFIX:
        reading.archive(path)
    else:
        reading.specs([path])
        known = reading.known.get(path)
        if known and known.board and (path in reading.rough or (measure and known.board.volume_mm3 is None)):
            reading.loft([path])
    if path in reading.unread:
        raise BookError(f"{path}: {reading.unread[path].why}")
    known = reading.known.get(path)
    if known is None or known.board is None:
        raise BookError(f"{path}: no board's file")
    sizes = like_board(known.board).sizes
    return Like(sizes={what: size for what, size in sizes.items() if what != VOLUME or measure})


class _Reading:
    """A folder as it is read: what is known of each file, and why others cannot be read."""

    def __init__(self, folder: Path, jobs: Workers, watched: Watched) -> None:
        self.folder, self.jobs, self.watched = folder, jobs, watched
        self.version = version("bayloft")
        self.reader = Reader(folder)
        self.before = index_in(folder, self.version)
        self.known: dict[Path, Known] = {}
        self.rough: set[Path] = set()
        self.unread: dict[Path, Unread] = {}

    def book(self, wanted: BoardsWanted, *, measure: bool) -> Book:
        found = found_in(self.folder)
        self.specs(found.specs)
        for path in found.archives:
            self.archive(path)
        not_kept = ""
        try:
            self.loft(self.rough)
            if measure or VOLUME in wanted.ranges:
                lacking = [(path, board) for path, board in self._boards() if board.volume_mm3 is None]
                self.loft([path for path, board in lacking if wanted.takes(board, volume=False)])
        finally:
            # What was lofted before somebody ended it stays.
            not_kept = self._keep()
        everything = [board for _, board in self._boards()]
        boards = sorted(filter(wanted.takes, everything), key=lambda board: (board.length_mm, board.name, board.file))
        return Book(
            boards=tuple(boards),
            of=len(everything),
            unread=(*found.unread, *(self.unread[path] for path in sorted(self.unread))),
            unmeasured=sum(board.volume_mm3 is None for board in boards),
            not_kept=not_kept,
        )

    def _boards(self) -> list[tuple[Path, PastBoard]]:
        return [(path, each.board) for path, each in self.known.items() if each.board is not None]

    def specs(self, paths: Sequence[Path]) -> None:
        """Note what is known of specs, those that are not as they were last time read anew."""
        new = []
        for path in paths:
            before = self.before.get(self._name(path))
            if before is not None and before.files and self.reader.now(before.files) == before.seen:
                self.known[path] = before
            else:
                new.append(path)
        self._read(new, lofts=False)

    def loft(self, paths: Iterable[Path]) -> None:
        """Give boards of specs the numbers and the volume that they are lofted with."""
        self._read(sorted(paths), lofts=True)

    def _read(self, paths: Sequence[Path], *, lofts: bool) -> None:
        if not paths:
            return
        from bayloft.record.book.reading import read_spec  # noqa: PLC0415 - only where a file is new

        work = partial(read_spec, folder=self.folder, lofts=lofts)
        # To start a process takes as long as to read some.
        few = not lofts and len(paths) < SPREAD_FROM and isinstance(self.jobs, int)
        watched = unwatched if few else self.watched
        with (
            watched(tuple(paths), "lofting" if lofts else "reading") as told,
            spread(1 if few else self.jobs, len(paths)) as mapped,
        ):
            for path, read in zip(paths, mapped(work, paths), strict=True):
                self.known.pop(path, None)
                self.rough.discard(path)
                if read.known is not None:
                    self.known[path] = read.known
                if read.rough:
                    self.rough.add(path)
                if read.unread is not None:
                    self.unread[path] = _short(read.unread)
                told(path.stem)

    def archive(self, path: Path) -> None:
        """Note what is known of an archive, or why it cannot be read."""
        try:
            members = members_of(path, _is_text, MOST_TEXT_BYTES)
            before = self.before.get(self._name(path))
            if not {MANIFEST, REPORT} <= set(members):
                self.known[path] = Known(files=(), seen=seen_of(members), board=None)
            elif before is not None and not before.files and seen_of(members) == before.seen:
                self.known[path] = before
            else:
                from bayloft.record.book.reading import read_archive  # noqa: PLC0415 - only where a file is new

                self.known[path] = read_archive(members, path, self.folder)
        except BayloftError as error:
            why = str(error).removeprefix(str(path)).lstrip(": ")
            self.unread[path] = _short(Unread(file=self._name(path), why=why))

    def _keep(self) -> str:
        """Write the index anew where that saves work, and return why it could not be written, if so."""
        kept = {self._name(path): each for path, each in self.known.items() if path not in self.rough}
        # A board with a volume was lofted, or lies in an archive, which takes as long to read as many specs.
        costly = any(each.board and each.board.volume_mm3 is not None for each in kept.values())
        if kept == self.before or not (costly or len(kept) >= KEPT_FROM):
            return ""
        try:
            whole_files(self.folder, {INDEX: index_text(kept, self.version)}, replace=True)
        except BayloftError as error:
            return str(error)
        return ""

    def _name(self, path: Path) -> str:
        return Path(os.path.relpath(path, self.folder)).as_posix()


def _is_text(name: str) -> bool:
    return name in (MANIFEST, REPORT) or name.startswith(SPEC)


def _short(unread: Unread) -> Unread:
    why = " ".join(unread.why.split())
    return Unread(file=unread.file, why=why if len(why) <= LONGEST_WHY else f"{why[:LONGEST_WHY]} ...")
