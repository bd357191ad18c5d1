"""Work spread over an executor: by default processes that end with the one that started them, whatever ends that."""

from __future__ import annotations

import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, ProcessPoolExecutor, wait
from contextlib import contextmanager, nullcontext, suppress
from multiprocessing import Pipe
from multiprocessing.connection import Connection
from threading import Thread
from typing import Any

from bayloft.errors import BayloftError

ENDING = tuple(getattr(signal, name) for name in ("SIGINT", "SIGTERM", "SIGHUP") if hasattr(signal, name))
"""What asks a command to end; Windows has no SIGHUP."""


Workers = int | Executor
"""How many pieces of work to do at once, each in a process of its own; or an executor that does them: threads,
processes, a cluster."""


class WorkerError(BayloftError):
    """A worker process that somebody else ended, or an executor that gave work up."""


def default_jobs() -> int:
    """Return how many boards to work on at once by default: the processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


@contextmanager
def spread(workers: Workers, pieces: int) -> Iterator[Callable[..., Iterator[Any]]]:
    """Give what `map` is, for so many pieces of work, done by an executor; results in order. One at a time is done
    here.

    An executor that is given is used and left running. When the block is left by an error or a signal, what it has not
    begun is withdrawn and what it has begun is waited for, as far as the executor tells of it.

    Raises WorkerError, from the results, where a worker is ended from outside or the executor gives work up.
    """
    if not isinstance(workers, Executor) and min(workers, pieces) <= 1:
        yield map
        return
    given = isinstance(workers, Executor)
    with nullcontext(workers) if isinstance(workers, Executor) else _own_processes(min(workers, pieces)) as executor:
        futures: list[Future[Any]] = []

        def results(work: Callable[..., Any], *items: Any) -> Iterator[Any]:
            try:
                with _signals_held_back():
                    futures.extend(executor.submit(work, *each) for each in zip(*items, strict=True))
                for future in futures:
                    yield future.result()
            except (BrokenExecutor, CancelledError):
                ended = "a process that worked on a board was ended from outside, perhaps for want of memory"
                instead = "give fewer at once to the executor" if given else "try --jobs 1"
                raise WorkerError(f"{ended}: {instead}") from None

        try:
            yield results
        except BaseException:
            begun = [future for future in futures if not future.cancel()]
            if given:
                wait(begun)
            raise


@contextmanager
def _own_processes(count: int) -> Iterator[Executor]:
    """Give so many processes of this command's own.

    They hold one end of a pipe whose other end this process has, and end when it closes: as soon as the block is left
    by an error or a signal, or this process is no more. What they were doing stays undone.
    """
    watched, open_end = Pipe(duplex=False)
    pool = ProcessPoolExecutor(max_workers=count, initializer=_bound, initargs=(watched, open_end))
    try:
        yield pool
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
