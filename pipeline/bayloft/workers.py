"""Work spread over processes that end with the one that started them, whatever ends that."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager, suppress
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from threading import Thread
from typing import Any

from bayloft.errors import BayloftError

ENDING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
"""What asks a command to end; Windows has no SIGHUP."""


class WorkerError(BayloftError):
    """A worker process that somebody else ended."""


@contextmanager
def spread(jobs: int) -> Iterator[Callable[..., Iterator[Any]]]:
    """Give what `map` is, for up to `jobs` pieces of work at once, each in a process of its own; results in order.

    Workers hold one end of a pipe whose other end this process has, and end when it closes: as soon as the block is
    left by an error or a signal, or this process is no more. What they were doing stays undone.

    Raises WorkerError, from the results, where a worker is ended from outside.
    """
    if jobs <= 1:
        yield map
        return
    watched, open_end = Pipe(duplex=False)
    pool = ProcessPoolExecutor(max_workers=jobs, initializer=_bound, initargs=(watched, open_end))

    def results(work: Callable[..., Any], *items: Any) -> Iterator[Any]:
        try:
            with _signals_held_back():
                found = pool.map(work, *items)
            yield from found
        except BrokenProcessPool:
            ended = "a process that worked on a board was ended from outside, perhaps for want of memory"
            raise WorkerError(f"{ended}: try --jobs 1") from None

    try:
        yield results
    except BaseException:
        open_end.close()
        raise
    finally:
        pool.shutdown(cancel_futures=True)
        open_end.close()
        watched.close()


@contextmanager
def _signals_held_back() -> Iterator[None]:
    """Keep back what asks this process to end while workers are started, which never get it thus: a key pressed at the
    terminal goes to all processes, and one of them is enough to answer it.
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, ENDING)
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _bound(watched: Connection, open_end: Connection) -> None:
    """Bind this process, a worker, to the one that started it."""
    open_end.close()
    # Windows cannot keep signals back.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with, args=(watched,), daemon=True).start()


def _end_with(watched: Connection) -> None:
    with suppress(EOFError, OSError):
        watched.recv_bytes()
    # At once and from any depth: all that a worker makes lies in folders that nobody has put in place.
    os._exit(1)
