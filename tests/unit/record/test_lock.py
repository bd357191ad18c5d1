"""One process at a time: the lock of a place, and workers that are told to end by their parent alone."""

from __future__ import annotations

import signal
import sys
from contextlib import ExitStack
from pathlib import Path

import pytest

from bayloft.record import lock
from bayloft.workers import ENDING, spread


def test_one_holds_it_and_nothing_is_left(tmp_path: Path) -> None:
    path = tmp_path / "work" / "lock"
    with lock.held(path, before_waiting=None) as first:
        assert first
        with lock.held(path, before_waiting=None) as second:
            assert not second
    assert list(path.parent.iterdir()) == []
    with lock.held(path, before_waiting=None) as again:
        assert again


def test_a_lock_is_waited_for_and_that_is_told_once(tmp_path: Path) -> None:
    path = tmp_path / "lock"
    with ExitStack() as stack:
        stack.enter_context(lock.held(path, before_waiting=None))
        told = []

        def tell() -> None:
            told.append("waiting")
            stack.close()

        with lock.held(path, before_waiting=tell) as mine:
            assert mine
        assert told == ["waiting"]


@pytest.mark.skipif(sys.platform == "win32", reason="Windows keeps a file that is open")
def test_a_lock_taken_away_while_it_is_opened_is_no_lock(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The last holder takes its file away between our opening of it and our locking: what we hold then, nobody sees."""
    path, real = tmp_path / "lock", lock._granted
    with ExitStack() as stack:
        stack.enter_context(lock.held(path, before_waiting=None))

        def granted(file: int) -> bool:
            stack.close()
            return real(file)

        monkeypatch.setattr(lock, "_granted", granted)
        with lock.held(path, before_waiting=None) as mine:
            assert mine
            with lock.held(path, before_waiting=None) as other:
                assert not other


def test_a_place_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    with (
        pytest.raises(OSError, match=r"Not a directory|File exists"),
        lock.held(tmp_path / "file" / "lock", before_waiting=None),
    ):
        pass


@pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX signals")
def test_signals_that_ask_to_end_are_kept_from_workers_from_the_first() -> None:
    before = signal.pthread_sigmask(signal.SIG_BLOCK, [])
    with spread(2, 2) as mapped:
        for mask in mapped(signal.pthread_sigmask, [signal.SIG_BLOCK] * 2, [[], []]):
            assert set(ENDING) <= mask
    assert signal.pthread_sigmask(signal.SIG_BLOCK, []) == before


def test_one_job_needs_no_process() -> None:
    with spread(1, 2) as mapped:
        assert mapped is map
