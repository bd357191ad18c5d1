"""How a program goes down into the wood, from a map of heights cut by an independent reader (pygcode): no check here
knows anything of the moves that were planned, nor of the proof.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import radians, tan
from typing import TYPE_CHECKING

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.ndimage import label

from bayloft.cutting.routing.toolpath import job_of, toolpath
from bayloft.delivery.programs import cut_files
from bayloft.drawing.sheet import Drawing

from .gcode_ways import ways

if TYPE_CHECKING:
    from conftest import Bench

Array = NDArray[np.float64]

CELL_MM = 0.25

STEEPER = 1.05
"""Share by which a short move may be steeper than the ramp: its ends are written to 1e-4 mm."""


class Wood:
    """The heights of a piece of stock, in cells, as a cutter goes over it."""

    def __init__(self, low: tuple[float, float], high: tuple[float, float], radius_mm: float) -> None:
        self.x, self.y = (np.arange(a, b, CELL_MM) + CELL_MM / 2 for a, b in zip(low, high, strict=True))
        self.heights = np.zeros((len(self.y), len(self.x)))
        self.radius = radius_mm

    def under(self, start: Array, end: Array) -> float:
        """Return the depth of wood that a move's end is driven into."""
        away = np.hypot(self.x[None] - end[0], self.y[:, None] - end[1])
        # By a cell's diagonal within the rim: a cell is as deep as its middle.
        below = self.heights[away < self.radius - CELL_MM]
        return float((np.minimum(below, start[2]) - end[2]).max(initial=0.0))

    def cut(self, start: Array, end: Array) -> None:
        """Take away what a straight move goes through: in each cell as deep as the tip comes while it is over it."""
        along = end[:2] - start[:2]
        length = float(np.hypot(*along))
        ahead = along / length if length else np.array([1.0, 0.0])
        columns, rows = (
            slice(*np.searchsorted(cells, (min(a, b) - self.radius, max(a, b) + self.radius)))
            for cells, a, b in ((self.x, start[0], end[0]), (self.y, start[1], end[1]))
        )
        x, y = self.x[None, columns] - start[0], self.y[rows, None] - start[1]
        half = np.sqrt(np.maximum(self.radius**2 - (x * ahead[1] - y * ahead[0]) ** 2, 0.0))
        at = x * ahead[0] + y * ahead[1]
        first, last = np.maximum(at - half, 0.0), np.minimum(at + half, length)
        over = (half > 0.0) & (first <= last)
        slope = (end[2] - start[2]) / length if length else 0.0
        lowest = start[2] + slope * (last if slope < 0.0 else first) if length else min(start[2], end[2])
        before = self.heights[rows, columns]
        self.heights[rows, columns] = np.where(over, np.minimum(before, lowest), before)


def cut_out(text: str, wood: Wood, ramp_deg: float) -> list[tuple[float, Array]]:
    """Cut wood by a file; return each descent steeper than the ramp: how deep it is driven into wood, and its end."""
    steep = []
    for word, points in ways(text):
        for start, end in pairwise(points):
            drop, flat = start[2] - end[2], np.hypot(*(end - start)[:2])
            if drop > STEEPER * tan(radians(ramp_deg)) * flat + 1e-3:
                steep.append((wood.under(start, end), end))
            if word != "G0":
                wood.cut(start, end)
    return steep


def thick(bench: Bench) -> Bench:
    """Return a bench with tabs of 12 mm in stock of 18 mm, cut in one pass."""
    return bench._replace(
        stock=replace(bench.stock, thickness_mm=18.0),
        cutter=replace(bench.cutter, pass_mm=20.0),
        cutting=replace(bench.cutting, tab_height_mm=12.0),
    )


def in_passes(bench: Bench) -> Bench:
    """Return the same, cut in passes of 3 mm: four of them go down behind each tab."""
    return thick(bench)._replace(cutter=bench.cutter)


def by_helix(bench: Bench) -> Bench:
    return bench._replace(cutting=replace(bench.cutting, entry="helix"))


def in_lines(bench: Bench) -> Bench:
    return bench._replace(machine=replace(bench.machine, dialect="lines"))


def many_tabs(bench: Bench) -> Bench:
    """Return a bench with tabs that leave little room between them."""
    return bench._replace(cutting=replace(bench.cutting, tab_spacing_mm=30.0))


BENCHES = [lambda bench: bench, thick, in_passes, by_helix, in_lines, many_tabs]
NAMES = ["usual", "thick", "in-passes", "by-helix", "in-lines", "many-tabs"]


@pytest.mark.parametrize("change", BENCHES, ids=NAMES)
def test_nothing_is_driven_into_the_wood_and_only_tabs_are_left(bench: Bench, tag: Drawing, change: object) -> None:
    bench = change(bench)  # type: ignore[operator]
    path = toolpath(job_of("sheet 1", [tag], *bench))
    wood = Wood((90.0, 590.0), (190.0, 670.0), 3.0)
    steep = cut_out(cut_files("sheet 1", [tag], *bench).cut, wood, bench.cutting.ramp_deg)
    hole = np.array([110.0, 610.0])
    assert max(depth for depth, end in steep if np.hypot(*(end[:2] - hole)) > 0.1) < 0.01
    assert max(depth for depth, end in steep if np.hypot(*(end[:2] - hole)) <= 0.1) > 2.0
    # Round the plate all is gone but the tabs, each of its length and height.
    depth, top = bench.stock.thickness_mm + 0.3, bench.cutting.tab_height_mm - bench.stock.thickness_mm
    x, y = wood.x[None], wood.y[:, None]
    beyond = np.hypot(np.maximum(np.abs(x - 140.0) - 40.0, 0.0), np.maximum(np.abs(y - 630.0) - 30.0, 0.0))
    middle = np.abs(beyond - 3.0) < CELL_MM
    stands, count = label(middle & (wood.heights > -depth + 0.01), np.ones((3, 3)))
    outside = [tab for tab in path.tabs if max(abs(tab.x_mm - 140.0) - 40.0, abs(tab.y_mm - 630.0) - 30.0) > 0.0]
    assert count == len(outside) >= 4
    for number in range(1, count + 1):
        rows, columns = np.nonzero(stands == number)
        length = max(np.ptp(rows), np.ptp(columns)) * CELL_MM + CELL_MM
        assert length == pytest.approx(bench.cutting.tab_length_mm, abs=2 * CELL_MM)
        assert wood.heights[rows, columns].max() == pytest.approx(top, abs=1e-3)
        assert wood.heights[rows, columns].min() == pytest.approx(top, abs=1e-3)
    band = (beyond > CELL_MM) & (beyond < 6.0 - CELL_MM) & (wood.heights > -depth + 0.01)
    tabs = np.array([(tab.x_mm, tab.y_mm) for tab in outside])
    rows, columns = np.nonzero(band)
    far = np.hypot(wood.x[columns][:, None] - tabs[:, 0], wood.y[rows][:, None] - tabs[:, 1]).min(axis=1)
    assert far.max() < np.hypot(bench.cutting.tab_length_mm / 2 + 3.0, 3.0)
    plate = wood.heights[(np.abs(x - 140.0) < 38.0) & (np.abs(y - 630.0) < 28.0) & (np.hypot(x - 158, y - 630) > 16.0)]
    assert (plate == 0.0).mean() > 0.85
