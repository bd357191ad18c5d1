"""What tests of several folders share: expected texts that lie beside the tests, and one flag to write them anew."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

import pytest

from bayloft.drawing.sheet import CUT, DRILL, SCRIBE, Drawing
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import Cutter, Cutting, Machine, Stock

from .demo import CUTTING


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--rewrite", action="store_true", help="write the expected texts anew; read their diff before you keep them"
    )


QUICK = ("unit/spec", "unit/plane", "unit/record", "unit/test_units.py", "unit/test_house.py", "bad_input")
"""Tests of text, values, lines and arcs, and of the house: half a minute on one processor."""


SLOW = (
    "properties/test_random_boards.py",
    "truth/test_thirty_boards.py",
    "cli/test_whole_or_nothing.py",
    "cli/test_cut.py",
)
"""The slowest files, which two processes take first, so that neither waits for the other in the end."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    here = Path(__file__).parent
    for item in items:
        if item.path.relative_to(here).as_posix().startswith(QUICK):
            item.add_marker(pytest.mark.quick)

    def turn(item: pytest.Item) -> int:
        file = item.path.relative_to(here).as_posix()
        return SLOW.index(file) if file in SLOW else len(SLOW)

    items.sort(key=turn)


@pytest.fixture
def same_text(request: pytest.FixtureRequest) -> Callable[[str, Path], None]:
    """Assert that a text is the one in a file, or write it there under --rewrite."""
    rewrite = request.config.getoption("--rewrite")

    def compare(text: str, expected: Path) -> None:
        if rewrite:
            expected.write_text(text, encoding="utf-8", newline="\n")
        assert expected.exists(), f"no {expected.name}: run with --rewrite, then read it"
        assert text == expected.read_text(encoding="utf-8")

    return compare


class Bench(NamedTuple):
    """What a sheet is cut with at the Saltmarsh Boatshed: `cut_files("name", drawings, *bench)`."""

    stock: Stock
    cutter: Cutter
    machine: Machine
    cutting: Cutting


@pytest.fixture
def bench() -> Bench:
    return Bench(
        stock=Stock(
            name="birch ply",
            length_mm=2440.0,
            width_mm=1220.0,
            thickness_mm=6.0,
            sheets=1,
            margin_mm=10.0,
            grained=True,
            path=("stock", 0),
        ),
        cutter=Cutter(
            name="6 mm end mill",
            diameter_mm=6.0,
            depth_mm=22.0,
            flutes=2,
            chip_load_mm=0.05,
            spindle_rpm=18000.0,
            pass_mm=3.0,
            path=("cutters", 0),
        ),
        machine=Machine(
            bed_length_mm=2440.0,
            bed_width_mm=1220.0,
            travel_height_mm=5.0,
            greatest_feed_mm_min=3000.0,
            rapid_mm_min=5000.0,
            dialect="arcs",
            path=("machine",),
        ),
        cutting=CUTTING,
    )


@pytest.fixture
def tag() -> Drawing:
    """A plate of 80 x 60 mm with an opening, a hole of the cutter's width, a wider one and a scribed line."""
    return Drawing(
        name="tag",
        contours=(
            (CUT, Contour.straight([[0, 0], [80, 0], [80, 60], [0, 60]], closed=True)),
            (CUT, Contour.circle((58, 30), 15)),
            (DRILL, Contour.circle((10, 10), 3)),
            (DRILL, Contour.circle((15, 40), 10)),
            (SCRIBE, Contour.straight([[30, 5], [30, 50]], closed=False)),
        ),
    ).moved(100.0, 600.0)
