"""Speed and memory as ratios against floors measured in the same run: `python tests/bench/run.py`.

Every figure is the least of a few runs, its floor likewise; the last column says what the project asks for. Exit code 1
where a ratio is above it.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from bayloft.export import stl
from bayloft.lines.drafting import board_lines
from bayloft.solid.board import board_body
from bayloft.solid.meshing import Grid, meshed
from bayloft.spec.loading import load_board

ROOT = Path(__file__).parents[2]
SPECS = ROOT / "specs"
BOARD = SPECS / "boards" / "whimbrel.toml"
RUNS = 3
SOLVES, UNKNOWNS = 2000, 40
BOARDS = 1000


def least(work: Callable[[], object], runs: int = RUNS) -> float:
    """Return the least wall time of some runs, in seconds."""
    times = []
    for _ in range(runs):
        start = time.perf_counter()
        work()
        times.append(time.perf_counter() - start)
    return min(times)


def python(*arguments: str | Path) -> None:
    subprocess.run([sys.executable, *map(str, arguments)], check=True, stdout=subprocess.DEVNULL)


def keep_bytecode(folder: str) -> None:
    """Let the children keep compiled modules, as an installed Python does, whatever is set where this runs: the first
    run compiles them, and the least of several counts.
    """
    os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
    os.environ["PYTHONPYCACHEPREFIX"] = str(Path(folder) / "bytecode")


def libraries(out: str) -> list[str]:
    """Return every module but bayloft's own that a build of one board has loaded when it is done, in that order."""
    code = (
        "import sys; from pathlib import Path; from bayloft import cli; from bayloft.build import build_boards;"
        "build_boards([Path(sys.argv[1])], Path(sys.argv[2])); print(*sys.modules)"
    )
    said = subprocess.run([sys.executable, "-c", code, str(BOARD), out], capture_output=True, text=True, check=True)
    return [name for name in said.stdout.split() if not name.startswith(("bayloft", "__"))]


def memory_folder() -> Path:
    """Return a memory-backed folder where the system has one."""
    shared = Path("/dev/shm")
    return shared if shared.is_dir() and os.access(shared, os.W_OK) else Path(tempfile.gettempdir())


def peak_mb() -> float:
    """Return the peak memory in MB of one default build of one board, by the system's own account."""
    code = (
        "import resource, subprocess, sys; subprocess.run(sys.argv[1:], check=True, stdout=subprocess.DEVNULL);"
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss)"
    )
    with tempfile.TemporaryDirectory() as out:
        build = [sys.executable, "-m", "bayloft", "build", str(BOARD), "-o", out]
        said = subprocess.run([sys.executable, "-c", code, *build], capture_output=True, text=True, check=True).stdout
    return int(said) / (1024 * 1024 if sys.platform == "darwin" else 1024)


def million_triangles() -> tuple[float, float]:
    """Return the times of meshing and writing a million triangles of STL, and of writing the same bytes raw."""
    body = board_body(board_lines(load_board(BOARD)))
    grid = Grid(
        u=np.linspace(0.0, 1.0, 840), v=np.unique(np.concatenate([np.linspace(0.0, 1.0, 300), body.port.joints]))
    )
    place = memory_folder() / "bayloft-bench.stl"

    def work() -> None:
        stl.write(meshed(body, grid), place, name="bench")

    try:
        took = least(work, 5)
        data = place.read_bytes()
        return took, least(lambda: place.write_bytes(data), 5)
    finally:
        place.unlink(missing_ok=True)


def lines_of_all() -> tuple[float, float]:
    """Return the times of drawing the lines of all demo boards, read before and drawn once, and of as much dense linear
    algebra of the size that their programs have.
    """
    boards = [load_board(path) for path in sorted((SPECS / "boards").glob("*.toml"))]
    for board in boards:
        board_lines(board)
    matrix = np.random.default_rng(0).normal(size=(SOLVES, UNKNOWNS, UNKNOWNS)) + UNKNOWNS * np.eye(UNKNOWNS)
    values = np.ones((SOLVES, UNKNOWNS, 1))
    return least(lambda: [board_lines(board) for board in boards]), least(lambda: np.linalg.solve(matrix, values))


def thousand_boards(folder: Path) -> Path:
    """Return a book of a thousand boards: the demo boards under other names, with the fins that they stand on."""
    for inside in ("fins", "rails", "blanks", "planks"):
        shutil.copytree(SPECS / inside, folder / inside)
    (folder / "boards").mkdir()
    texts = [path.read_text("utf-8") for path in sorted((SPECS / "boards").glob("*.toml"))]
    for number in range(BOARDS):
        text = re.sub(r'(?m)^name = "(.*)"', rf'name = "\1 {number}"', texts[number % len(texts)])
        (folder / "boards" / f"{number:04}.toml").write_text(text, "utf-8")
    return folder


def books(folder: Path) -> tuple[float, float, float, float]:
    """Return the times of listing a thousand boards for the first time, of loading them all, of listing them again, and
    of a Python that reads and digests the same files.
    """
    place = thousand_boards(folder)
    first = least(lambda: python("-m", "bayloft", "book", place), 1)
    files = sorted((place / "boards").glob("*.toml"))
    loads = least(lambda: [load_board(file) for file in files], 1)
    again = least(lambda: python("-m", "bayloft", "book", place))
    code = (
        "import hashlib, json, pathlib, sys;"
        "[hashlib.sha256(path.read_bytes()).digest() for path in pathlib.Path(sys.argv[1]).rglob('*.toml')]"
    )
    return first, loads, again, least(lambda: python("-c", code, place))


def main() -> int:
    """Measure everything, print one row for each figure, and return 1 if any is above what is asked."""
    rows: list[tuple[str, float, float, float]] = []
    with tempfile.TemporaryDirectory() as folder:
        keep_bytecode(folder)
        build = ("-m", "bayloft", "build", "-o", f"{folder}/out")
        load = "import importlib, sys; [importlib.import_module(name) for name in sys.argv[1:]]"
        used = libraries(f"{folder}/out")
        imports = least(lambda: python("-c", load, *used))
        bare = least(lambda: python("-c", "import bayloft.build"))
        one = least(lambda: python(*build, BOARD, "--jobs", "1"))
        every = least(lambda: python(*build, SPECS, "--jobs", "1"))
        every_parallel = least(lambda: python(*build, SPECS, "--jobs", "2"))
        rows.append(("build one board / import its libraries", one, imports, 2.5))
        boards = len(list((SPECS / "boards").glob("*.toml")))
        rows.append(("build all demo boards / one board's own work", every - bare, one - bare, float(boards)))
        rows.append(("all demo boards with two jobs / with one", every_parallel, every, 1.0))
        rows.append(("1 M triangles of STL / raw write of its bytes", *million_triangles(), 6.0))
        rows.append(("lines of the demo boards / 2000 solves of 40", *lines_of_all(), 50.0))
        rows.append(("bayloft --help / 1 second", least(lambda: python("-m", "bayloft", "--help")), 1.0, 0.3))
        first, loads, again, reads = books(Path(folder) / "book")
        rows.append(("a book of 1000 boards / 1000 boards loaded", first, loads, 3.0))
        rows.append(("the same once known / its files read", again, reads, 6.0))
        rows.append(("the same once known / 1 second", again, 1.0, 2.0))
        rows.append(("peak memory of a build / 1 MB", peak_mb(), 1.0, 400.0))
    failed = False
    for name, took, floor, limit in rows:
        ratio = took / floor
        failed |= ratio > limit
        verdict = "" if ratio <= limit else "  ABOVE"
        print(f"{name:<48}{took:>10.3f}{floor:>10.3f}{ratio:>10.2f}   at most {limit:g}{verdict}")
    return int(failed)


if __name__ == "__main__":
    sys.exit(main())
