"""Many boards at once on any executor: threads, processes, a cluster; the same bytes from each."""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, CancelledError, Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest

from bayloft.build import build_boards, check_boards
from bayloft.errors import SpecError
from bayloft.findings import CheckError
from bayloft.laminating.faults import faults
from bayloft.spec.loading import load_board
from bayloft.workers import WorkerError, spread

from ..demo import draft
from .small_board import KNOT


@contextmanager
def cluster() -> Iterator[Executor]:
    """Give the executor of a cluster of two processes on this machine."""
    distributed = pytest.importorskip("distributed", reason="dask.distributed is not installed: pip install .[dask]")
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1"
        ) as here,
        distributed.Client(here) as client,
        client.get_executor() as executor,
    ):
        yield executor


@contextmanager
def threads() -> Iterator[Executor]:
    with ThreadPoolExecutor(2) as executor:
        yield executor


def digests(out: Path) -> dict[str, str]:
    files = sorted(path for path in out.rglob("*") if path.is_file())
    return {path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


@pytest.fixture(scope="module", name="places")
def _places(tmp_path_factory: pytest.TempPathFactory) -> Path:
    place = tmp_path_factory.mktemp("specs")
    (place / "knot.toml").write_text(KNOT, "utf-8")
    (place / "ruff.toml").write_text(KNOT.replace("Knot", "Ruff").replace("1100 mm", "1120 mm"), "utf-8")
    return place


@pytest.fixture(scope="module", name="expected")
def _expected(places: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    out = tmp_path_factory.mktemp("out")
    build_boards(places, out, jobs=2)
    found = digests(out)
    assert {name.split("/")[0] for name in found} == {"knot", "ruff"}
    return found


@pytest.mark.parametrize("kind", [cluster, threads], ids=lambda kind: kind.__name__)
def test_every_executor_gives_the_bytes_of_the_default_one(
    places: Path, expected: dict[str, str], tmp_path: Path, kind: Any
) -> None:
    told: list[str] = []
    with kind() as executor:
        built = build_boards(places, tmp_path, jobs=executor, told=told.append)
        # It is not ours, and goes on.
        assert executor.submit(len, "still here").result() == 10
    assert digests(tmp_path) == expected
    assert [one.report["name"] for one in built] == told == ["Knot", "Ruff"]


def test_a_cluster_is_given_drafts_with_fins_and_a_fault_comes_back_as_itself(tmp_path: Path) -> None:
    drafts = [draft("spoonbill"), draft("turnstone")]
    with cluster() as executor:
        with spread(executor, 2) as mapped:
            assert list(mapped(faults, drafts)) == [faults(drawn) for drawn in drafts]
        with spread(executor, 2) as mapped, pytest.raises(SpecError, match=r"gone\.toml: no such file"):
            list(mapped(load_board, [tmp_path / "gone.toml", tmp_path / "too.toml"]))


def test_what_is_begun_is_waited_for_and_the_rest_withdrawn() -> None:
    begun, free, ended = threading.Event(), threading.Event(), []

    def work(piece: int) -> None:
        if piece == 0:
            begun.wait(60)
            raise CheckError("Knot", ())
        begun.set()
        free.wait(60)
        ended.append(piece)

    with ThreadPoolExecutor(2) as executor:
        # It lets the second go on only once the block is being left.
        watch = threading.Timer(0.2, free.set)
        watch.start()
        with pytest.raises(CheckError), spread(executor, 9) as mapped:
            list(mapped(work, range(9)))
        told = list(ended)
    assert 1 in told
    assert ended == told
    assert len(ended) < 9


class Failing(Executor):
    """An executor that gives up what it is given."""

    def __init__(self, error: Exception) -> None:
        self.error = error

    def submit(self, *_: Any, **__: Any) -> Future[Any]:
        future: Future[Any] = Future()
        future.set_exception(self.error)
        return future


@pytest.mark.parametrize(
    "error", [BrokenExecutor("gone"), CancelledError("gone")], ids=lambda error: type(error).__name__
)
def test_an_executor_that_gives_work_up_is_told(places: Path, tmp_path: Path, error: Exception) -> None:
    with pytest.raises(WorkerError, match="give fewer at once to the executor"):
        build_boards(places, tmp_path / "out", jobs=Failing(error))
    assert not (tmp_path / "out").exists()


def test_one_board_goes_to_the_executor_too(places: Path) -> None:
    with pytest.raises(WorkerError):
        check_boards(places / "knot.toml", jobs=Failing(BrokenExecutor("gone")))
