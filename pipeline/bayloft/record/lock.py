"""A lock that one process holds at a time; the system itself gives it up when its holder ends, however it ends."""

from __future__ import annotations

import os
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

if sys.platform == "win32":
    import msvcrt
else:
    import fcntl

ASKED_EVERY_S = 0.05
"""Seconds between two looks at a lock that another holds: soon enough for a maker, and no load."""

TRIES = 100
"""For a lock that its last holders take away, file and empty folder, each time just as it is looked for."""


def _granted(file: int) -> bool:
    """Return whether an open file's lock is now ours; at once, and without a fault where another holds it."""
    try:
        if sys.platform == "win32":
            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        else:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except (BlockingIOError, PermissionError):
        return False
    return True


def _in_place(file: int, path: Path) -> bool:
    """Return whether an open file is still the one at its path: the last holder takes it away before it lets go."""
    try:
        return os.path.samestat(os.fstat(file), path.stat())
    except FileNotFoundError:
        return False


def _taken(path: Path) -> int | None:
    """Return the open file of a lock that is now ours, or None where another holds it; its folder is made if need be.

    Raises OSError where the file cannot be made.
    """
    for left in reversed(range(TRIES)):
        try:
            path.parent.mkdir(parents=True, exist_ok=True)
            file = os.open(path, os.O_RDWR | os.O_CREAT, 0o666)
        except FileNotFoundError:
            if not left:
                raise
            continue
        if not _granted(file):
            os.close(file)
            return None
        if _in_place(file, path):
            return file
        os.close(file)
    return None


def _given_up(file: int, path: Path) -> None:
    """Take the file away and give up its lock. Windows keeps a file that is open, so there the lock goes first; a file
    that another has opened by then stays, and is taken away by that one.
    """
    if sys.platform == "win32":
        os.close(file)
        with suppress(OSError):
            path.unlink()
    else:
        with suppress(OSError):
            path.unlink()
        # Workers that were forked meanwhile share the open file: to close it here alone would leave them the lock.
        fcntl.flock(file, fcntl.LOCK_UN)
        os.close(file)


@contextmanager
def held(path: Path, *, before_waiting: Callable[[], None] | None) -> Iterator[bool]:
    """Hold the lock of a file, which is there no longer than somebody holds it, and give True.

    before_waiting: called once if another holds the lock, which is then waited for; None: give False at once.

    Raises OSError where the file cannot be made, or the place knows no locks.
    """
    file = _taken(path)
    if file is None and before_waiting is not None:
        before_waiting()
        while file is None:
            time.sleep(ASKED_EVERY_S)
            file = _taken(path)
    if file is None:
        yield False
        return
    try:
        yield True
    finally:
        _given_up(file, path)
