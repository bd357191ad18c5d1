"""The long check of a sheet put together from pages: two marks as far apart as it has room for, and their distance."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.pages.page_grid import Cell, PageGrid

if TYPE_CHECKING:
    from shapely import MultiLineString

Array = NDArray[np.float64]

STEP_MM = 10.0
"""The distance is a whole number of these."""

INSIDE_MM = 18.0
"""Of a mark from its page's cell edges, where other marks are."""

CLEAR_MM = 12.0
"""Of a mark from the lines drawn, where there is room for that."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LongCheck:
    """Two marks, their places in the drawing and the pages they are on: level with one another, or upright."""

    cells: tuple[Cell, Cell]
    places_mm: tuple[tuple[float, float], tuple[float, float]]
    distance_mm: float

    @property
    def text(self) -> str:
        """The distance in words."""
        return f"{self.distance_mm:.0f} mm ({self.distance_mm / 25.4:.2f} in)"


def long_check(grid: PageGrid, lines: MultiLineString) -> LongCheck | None:
    """Return the check over the most pages of one row or column, at most STEP_MM shorter than these have room for, its
    marks clear of the lines if they can be; None where there is one page.
    """
    runs = [(cells[0], cells[-1]) for by in ("row", "column") for cells in _lined_up(grid, by) if len(cells) > 1]
    if not runs:
        return None
    first, last = max(runs, key=lambda run: _span_mm(grid, *run))
    axis = 0 if first.row == last.row else 1
    # From the left or from below.
    near, far = (first, last) if axis == 0 else (last, first)
    (near_low, near_high), (far_low, far_high) = (_room(grid, cell) for cell in (near, far))
    low, high = np.maximum(near_low, far_low), np.minimum(near_high, far_high)
    low[axis], high[axis] = near_low[axis], near_high[axis]
    places, along = _places(low, high), np.array([1.0, 0.0] if axis == 0 else [0.0, 1.0])
    places = np.concatenate([places[_clear(places, lines)], places])
    found: list[LongCheck] = []
    for distance_mm in np.arange((far_high - near_low)[axis] // STEP_MM, 0.0, -1.0) * STEP_MM:
        ends = places + distance_mm * along
        within = ((ends >= far_low) & (ends <= far_high)).all(axis=1)
        clear = within & _clear(ends, lines)
        if within.any():
            chosen = int(np.argmax(clear if clear.any() else within))
            (x, y), (to_x, to_y) = places[chosen].tolist(), ends[chosen].tolist()
            found.append(LongCheck(cells=(near, far), places_mm=((x, y), (to_x, to_y)), distance_mm=float(distance_mm)))
        if clear.any():
            return found[-1]
    return found[0]


def _lined_up(grid: PageGrid, by: str) -> list[list[Cell]]:
    """Return the kept cells by row or by column."""
    return [
        [*cells] for _, cells in groupby(sorted(grid.kept, key=lambda c: (getattr(c, by), c)), lambda c: getattr(c, by))
    ]


def _span_mm(grid: PageGrid, first: Cell, last: Cell) -> float:
    return (last.column - first.column) * grid.cell_mm[0] + (last.row - first.row) * grid.cell_mm[1]


def _room(grid: PageGrid, cell: Cell) -> tuple[Array, Array]:
    """Return the lower left and upper right corner of where on a page a mark may be."""
    left, bottom, right, top = grid.box(cell)
    return np.array([left, bottom]) + INSIDE_MM, np.array([right, top]) - INSIDE_MM


def _places(low: Array, high: Array) -> Array:
    """Return places (n, 2) some STEP_MM apart, those nearest to the middle first."""
    axes = [np.linspace(a, b, max(2, int((b - a) / STEP_MM))) for a, b in zip(low, high, strict=True)]
    places = np.stack(np.meshgrid(*axes), axis=-1).reshape(-1, 2)
    off = np.hypot(*(places - (low + high) / 2).T).round(6)
    return np.asarray(places[np.argsort(off, kind="stable")], dtype=np.float64)


def _clear(points: Array, lines: MultiLineString) -> NDArray[np.bool_]:
    import shapely  # noqa: PLC0415

    # Rounded, because the last bits of a distance differ between machines.
    return np.asarray(shapely.distance(shapely.points(points), lines).round(6) >= CLEAR_MM, dtype=np.bool_)
