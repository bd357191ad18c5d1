"""The errors a user can meet, as data: what is wrong, where it stands, what is allowed."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

MOST_TOLD = 20
"""Faults that one message tells: a screen or two, and more than anybody mends before the next try."""

KeyPath = tuple[str | int, ...]
"""Where a value stands in a spec: table and key names, and 0-based places in lists."""


def spelled(path: KeyPath) -> str:
    """Return a key path as a maker would read it: ``outline.widths[2].width``, list places counted from 1."""
    text = ""
    for step in path:
        if isinstance(step, int):
            text += f"[{step + 1}]"
        else:
            text += f".{step}" if text else step
    return text


@dataclass(frozen=True, slots=True, kw_only=True)
class Fault:
    """One thing wrong with an input: where (file, line, key), the value found, what is allowed, what to do."""

    file: str
    line: int | None
    path: KeyPath
    value: str
    problem: str
    allowed: str = ""
    hint: str = ""

    def __str__(self) -> str:
        where = self.file if self.line is None else f"{self.file}:{self.line}"
        key = spelled(self.path)
        text = f"{where}: {key + ': ' if key else ''}{self.problem}"
        if self.value:
            text += f"\n    found:   {self.value}"
        if self.allowed:
            text += f"\n    allowed: {self.allowed}"
        if self.hint:
            text += f"\n    try:     {self.hint}"
        return text


class BayloftError(Exception):
    """Anything bayloft refuses to do, with a reason a maker can act on."""


class SpecError(BayloftError):
    """A spec that cannot be used: every fault found in it, in the order of the file. The message tells the first
    MOST_TOLD, and how many more there are.
    """

    def __init__(self, faults: tuple[Fault, ...]) -> None:
        self.faults = tuple(sorted(faults, key=lambda fault: (fault.file, fault.line or 0)))
        told = [str(fault) for fault in self.faults[:MOST_TOLD]]
        told += [f"and {len(faults) - MOST_TOLD} more after these"] if len(faults) > MOST_TOLD else []
        count = f"{len(faults)} fault{'' if len(faults) == 1 else 's'} in the spec; nothing was written"
        super().__init__("\n".join([*told, count]))

    def __reduce__(self) -> tuple[type[SpecError], tuple[tuple[Fault, ...]]]:
        return SpecError, (self.faults,)


@contextmanager
def gathered(faults: list[Fault]) -> Iterator[None]:
    """Add to a list the faults for which what is done inside is given up, and go on after it."""
    try:
        yield
    except SpecError as error:
        faults += error.faults


class OutputError(BayloftError):
    """The place for the outputs cannot be used: read-only, full, or in the way of a file."""


_FULL = {
    # Where the system has no error of its own for a share of the disk, it says that the disk is full.
    getattr(errno, "EDQUOT", errno.ENOSPC): "your share of the disk is used up; make room in it",
    errno.ENOSPC: "the disk is full; make room on it",
}


def disk_full(error: BaseException | None) -> str:
    """Return what to do if an error, or one that a library made it of, says that a disk is full; else nothing."""
    while error is not None:
        if isinstance(error, OSError) and error.errno in _FULL:
            return _FULL[error.errno]
        error = error.__cause__ or error.__context__
    return ""
