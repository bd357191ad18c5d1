"""Off-cuts: the rectangles of a sheet that stay whole."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import Polygon, box, intersects, prepare, union_all

from bayloft.cutting.sheets.layout import OffCut
from bayloft.drawing.part import Part
from bayloft.spec.shops.shop import Cutter, Stock
from bayloft.tolerances import FLATTENING_MM, LEAST_OFF_CUT_MM

STEP_MM = 10.0
"""Off-cuts are told in whole steps: what is left over is not sawn to the millimetre."""


def off_cuts(stock: Stock, parts: Sequence[Part], cutter: Cutter) -> tuple[OffCut, ...]:
    """Return rectangles of a sheet that no cutter touches as it goes round parts, none over another: the largest, then
    the largest of the rest, down to those with a side below LEAST_OFF_CUT_MM. In whole steps of STEP_MM.
    """
    cut = union_all([Polygon(part.outline.flattened(FLATTENING_MM)) for part in parts]).buffer(cutter.diameter_mm)
    prepare(cut)
    along, across = int(stock.length_mm / STEP_MM), int(stock.width_mm / STEP_MM)
    x, y = np.meshgrid(np.arange(along) * STEP_MM, np.arange(across) * STEP_MM)
    free = ~intersects(cut, box(x, y, x + STEP_MM, y + STEP_MM))
    found = []
    for row, column, rows, columns in _rectangles(free, int(np.ceil(LEAST_OFF_CUT_MM / STEP_MM))):
        found.append(
            OffCut(x_mm=column * STEP_MM, y_mm=row * STEP_MM, length_mm=columns * STEP_MM, width_mm=rows * STEP_MM)
        )
    return tuple(found)


def _rectangles(free: NDArray[np.bool_], least: int) -> Iterator[tuple[int, int, int, int]]:
    """Yield the largest rectangle of free cells (row, column, rows, columns), then the largest of what it leaves."""
    left = free.copy()
    while True:
        area, row, column, rows, columns = _largest(left, least)
        if not area:
            return
        yield row, column, rows, columns
        left[row : row + rows, column : column + columns] = False


def _largest(free: NDArray[np.bool_], least: int) -> tuple[int, int, int, int, int]:
    """Return the area, first row and column, rows and columns of the largest rectangle of free cells whose sides are
    `least` cells or more; area 0 where there is none.

    For each row the free cells above every place are a row of bars, and the largest rectangle under bars is found with
    a stack of those still open.
    """
    best = (0, 0, 0, 0, 0)
    bars = np.zeros(free.shape[1], dtype=np.int64)
    for row, cells in enumerate(free):
        bars = np.where(cells, bars + 1, 0)
        open_bars: list[tuple[int, int]] = []
        for column, height in enumerate([*bars.tolist(), 0]):
            start = column
            while open_bars and open_bars[-1][1] >= height:
                start, rows = open_bars.pop()
                columns = column - start
                if min(rows, columns) >= least and rows * columns > best[0]:
                    best = rows * columns, row - rows + 1, start, rows, columns
            open_bars.append((start, height))
    return best
