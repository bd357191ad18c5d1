"""Folders of outputs: each is one command's alone while it writes, is made beside its place and put there when whole;
what others put there is never replaced.
"""

from __future__ import annotations

import os
import secrets
import shutil
import unicodedata
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from operator import itemgetter
from pathlib import Path

from bayloft.errors import OutputError
from bayloft.record.heading import FILE_NAME, Written, written_in
from bayloft.record.lock import held
from bayloft.record.whole import writing

CUT, MACHINE, CARVE = "cut", "machine", "carve"
"""Folders in a board's own, each replaced alone as long as it belongs to the same shape."""

INSIDE = (CUT, MACHINE, CARVE)

LOCK, NEW, FORMER = "lock", "new-", "former"
"""What the work folder holds: the lock; what is being made; what is being replaced, as long as its place is empty."""


BEFORE, BEHIND = ".", ".bayloft"
"""Round the name of a board's folder: its work folder, hidden beside it, which is there while a command writes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A board's folder while this command has it to itself. folder: as it was named; real: where it lies, links
    followed, so that a linked folder stays one; work: the work folder; new: an empty folder in it that is nobody
    else's, to be filled and then put in place.
    """

    folder: Path
    real: Path
    work: Path
    new: Path
    name: str

    @property
    def written(self) -> Written | None:
        """What the report of the files that are there says; None without one."""
        return written_in(self.real)

    def refuse_others(self) -> None:
        """Raise OutputError where the folder is no folder, another board's, or holds files that are not ours."""
        if os.path.lexists(self.real) and not self.real.is_dir():
            problem = "a file of this name is in the way of the board's folder; move or rename it"
            raise OutputError(f"{self.folder}: {problem}")
        for said in (self.written, *(written_in(self.real / inside) for inside in INSIDE)):
            if said is not None and said.name != self.name:
                raise OutputError(
                    f'{self.folder}: holds the board "{said.name}", and "{self.name}" would take its place; give one '
                    "of them another name, or use -o; if it is the same board under a new name, move that folder away"
                )
        self._refuse_strangers(self.real)

    def _refuse_strangers(self, folder: Path) -> None:
        if strangers := _strangers(folder):
            names = ", ".join(strangers[:5]) + (" ..." if len(strangers) > 5 else "")
            raise OutputError(f"{self.folder}: holds files that bayloft did not write ({names}); move them, or use -o")

    def put_files(self, inside: str, files: Mapping[str, bytes]) -> None:
        """Put files, by their names, in the place of what the folder has `inside` it. Raises OutputError as `put`."""
        with writing(self.folder):
            (self.new / inside).mkdir()
            for name, data in files.items():
                (self.new / inside / name).write_bytes(data)
        self.put(inside)

    def put(self, inside: str = "") -> None:
        """Put the new folder, or what it has `inside` it, in the place of the former one. Two renames do it; the next
        command that writes here undoes the first if this one is ended between them.

        Raises
        ------
        OutputError
            If the place cannot be written, or holds files that are not ours: all is as it was.
        """
        target, former = self.real / inside, self.work / f"{FORMER}{inside}"
        with writing(self.folder):
            try:
                target.parent.mkdir(parents=True, exist_ok=True)
                if os.path.lexists(target):
                    _move(target, former, self.folder)
                    # Where it lies now nobody puts anything any more.
                    self._refuse_strangers(former)
                _move(self.new / inside, target, self.folder)
            finally:
                _heal(self.real, self.work)


def _strangers(folder: Path) -> list[str]:
    """Return the files in a folder that no report in it or further in lists: they are not ours to replace. A link is a
    file here, wherever it leads.
    """

    def named(path: Path) -> str:
        # Some disks give names back decomposed.
        return unicodedata.normalize("NFC", path.relative_to(folder).as_posix())

    if folder.is_symlink():
        return [folder.name]
    present = {named(path) for path in folder.rglob("*") if path.is_symlink() or not path.is_dir()}
    ours: set[str] = set()
    for report in folder.rglob(FILE_NAME):
        if said := written_in(report.parent):
            ours |= {named(report.parent / name) for name in (FILE_NAME, *said.files)}
    return sorted(present - ours)


def _move(source: Path, target: Path, folder: Path) -> None:
    """Rename a folder; raise OutputError with the names of its files that other programs have open where the system
    forbids it for that reason, as Windows does.
    """
    try:
        source.rename(target)
    except PermissionError:
        if names := _in_use(source):
            raise OutputError(
                f"{folder}: open in another program: {', '.join(names)}; close them there and run this again; the "
                "former files are as they were"
            ) from None
        raise


def _in_use(folder: Path) -> list[str]:
    """Return the files of a folder that cannot be renamed, not even to their own names: other programs hold them."""
    names = []
    for path in sorted(folder.rglob("*")):
        try:
            if path.is_file():
                path.rename(path)
        except PermissionError:
            names.append(path.relative_to(folder).as_posix())
    return names


def _heal(real: Path, work: Path) -> None:
    """Put a folder back that was moved away and has no successor in its place; throw away the rest of what is left of
    commands that have ended. The caller holds the lock.
    """
    for inside in ("", *INSIDE):
        former, target = work / f"{FORMER}{inside}", real / inside
        if not os.path.lexists(former):
            continue
        if os.path.lexists(target):
            # Under this name nobody takes it for whole again, however far the next lines come.
            former.rename(work / f"{NEW}{secrets.token_hex(4)}")
        else:
            target.parent.mkdir(parents=True, exist_ok=True)
            former.rename(target)
    for rest in work.glob(f"{NEW}*"):
        shutil.rmtree(rest, ignore_errors=True)


def _heal_others(folder: Path) -> None:
    """Heal the boards in a folder that commands have left which ended in the middle; those of living ones stay."""
    for work in sorted(folder.glob(f"{BEFORE}*{BEHIND}")):
        with suppress(OSError), held(work / LOCK, before_waiting=None) as free:
            if free:
                _heal(work.with_name(work.name.removeprefix(BEFORE).removesuffix(BEHIND)), work)
        with suppress(OSError):
            work.rmdir()


@contextmanager
def _claimed(folder: Path, real: Path, name: str, waits: Callable[[str], None]) -> Iterator[Place]:
    """Give a board's folder to this command alone, healed, with an empty new folder; leave nothing of these behind."""
    work = real.with_name(f"{BEFORE}{real.name}{BEHIND}")
    with ExitStack() as stack:
        with writing(folder):
            stack.callback(_taken_away, [work, *(parent for parent in work.parents if not parent.exists())])
            stack.enter_context(held(work / LOCK, before_waiting=lambda: waits(name)))
            _heal(real, work)
            new = work / f"{NEW}{secrets.token_hex(4)}"
            new.mkdir()
        try:
            yield Place(folder=folder, real=real, work=work, new=new, name=name)
        finally:
            with writing(folder):
                _heal(real, work)


def _taken_away(folders: Sequence[Path]) -> None:
    """Take folders away from the innermost outwards, as long as they are empty."""
    with suppress(OSError):
        for folder in folders:
            folder.rmdir()


@contextmanager
def claimed(boards: Mapping[Path, str], waits: Callable[[str], None]) -> Iterator[tuple[Place, ...]]:
    """Give the folders of boards (by folder, their names) to this command alone, in the order given.

    A folder that another command has is waited for, and `waits` called with the board's name first. What commands that
    were ended in the middle have left there is healed.

    Raises
    ------
    OutputError
        If a place cannot be written, is another board's, or holds files that bayloft did not write: all such places.
    """
    reals = {folder: Path(os.path.realpath(folder)) for folder in boards}
    places: dict[Path, Place] = {}
    with ExitStack() as stack:
        # In one order, whatever was asked for: two commands never wait for one another.
        for folder, real in sorted(reals.items(), key=itemgetter(1)):
            if twin := next((place.folder for place in places.values() if place.real == real), None):
                raise OutputError(f"{folder}: leads to the same place as {twin}; make it a folder of its own")
            places[folder] = stack.enter_context(_claimed(folder, real, boards[folder], waits))
        for parent in {place.real.parent for place in places.values()}:
            _heal_others(parent)
        refusals = []
        for folder in boards:
            try:
                places[folder].refuse_others()
            except OutputError as error:
                refusals.append(str(error))
        if refusals:
            raise OutputError("\n".join(refusals))
        yield tuple(places[folder] for folder in boards)
