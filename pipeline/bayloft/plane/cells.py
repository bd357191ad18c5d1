"""A sheet as a grid of cells, all of it one whole number: bit by bit, row by row, which cells are taken.

A part moved by whole cells lies free where none of its cells meets a taken one. For all places at once that is one OR
of the sheet's number shifted by each of the part's cells, and a run of cells in a row needs two shifts, of a number in
which each bit already stands for the cells behind it. Whole numbers leave no rounding: every machine finds the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import binary_fill_holes
from shapely import Polygon

Array = NDArray[np.float64]

DOTS_PER_CELL = 6
"""Dots along the edge of a shape for every cell it crosses: the corner of a cell that slips between two dots is no
deeper than a twelfth of a cell's side, which the shape is larger by."""

MOST_CELLS = 2000
"""Along a sheet: beyond it the work grows and no sheet is fuller."""

_ROUNDING = 1e-6
"""In cells: a shape as long as the grid has room in it."""


@dataclass(frozen=True, kw_only=True)
class Raster:
    """A rectangle of `across` rows of `along` cells, each of `cell_mm` (x, y)."""

    along: int
    across: int
    cell_mm: tuple[float, float]

    @classmethod
    def over(cls, size_mm: tuple[float, float], cell_mm: float) -> Raster:
        """Return a grid over a rectangle, of cells of `cell_mm` or a little less, that fill it without a rest."""
        along, across = (max(int(np.ceil(size / cell_mm - _ROUNDING)), 1) for size in size_mm)
        return cls(along=along, across=across, cell_mm=(size_mm[0] / along, size_mm[1] / across))

    @cached_property
    def first_column(self) -> int:
        """The cells at the least x of every row."""
        return ((1 << (self.along * self.across)) - 1) // ((1 << self.along) - 1)


@dataclass(frozen=True, kw_only=True, eq=False)
class Cells:
    """The cells that a shape touches, as runs (row, first, length), in a frame of `along` by `across` cells."""

    grid: Raster
    runs: tuple[tuple[int, int, int], ...]
    along: int
    across: int

    @classmethod
    def of(cls, outline: Polygon, frame: tuple[float, float, float, float], grid: Raster) -> Cells:
        """Return the cells that a polygon touches when the frame round it, least and greatest x and y, lies with its
        least corner on the grid's.
        """
        points = np.asarray(outline.exterior.segmentize(min(grid.cell_mm) / DOTS_PER_CELL).coords)
        # The last bits differ between machines, cells must not.
        places = np.maximum(np.round((points - np.array(frame[:2])) / grid.cell_mm, 5), 0.0)
        size = (np.array(frame[2:]) - np.array(frame[:2])) / grid.cell_mm
        along, across = np.maximum(np.ceil(size - 10 * _ROUNDING), 1).astype(int).tolist()
        x, y = np.minimum(places.astype(int), [along - 1, across - 1]).T
        touched = np.zeros((across, along), dtype=np.bool_)
        touched[y, x] = True
        filled = np.pad(binary_fill_holes(touched), ((0, 0), (1, 1))).astype(np.int8)
        rows, ends = np.nonzero(np.diff(filled, axis=1))
        runs = [(row, first, last - first) for row, first, last in zip(rows[::2], ends[::2], ends[1::2], strict=True)]
        return cls(grid=grid, runs=tuple((int(a), int(b), int(c)) for a, b, c in runs), along=along, across=across)

    @cached_property
    def bits(self) -> int:
        """The shape at the grid's first cell."""
        return sum(((1 << length) - 1) << (row * self.grid.along + first) for row, first, length in self.runs)

    @cached_property
    def inside(self) -> int:
        """The places at which the shape is on the grid."""
        columns, rows = self.grid.along - self.along + 1, self.grid.across - self.across + 1
        if min(columns, rows) < 1:
            return 0
        return ((1 << columns) - 1) * (self.grid.first_column & ((1 << (self.grid.along * rows)) - 1))

    @cached_property
    def shifts(self) -> tuple[tuple[int, int], ...]:
        """For every run, by power of two: how far the sheet is shifted for it."""
        return tuple(dict.fromkeys(self._shifts()))

    def _shifts(self) -> Iterator[tuple[int, int]]:
        for row, first, length in self.runs:
            start, level = row * self.grid.along + first, length.bit_length() - 1
            yield level, start
            yield level, start + length - (1 << level)


class Taken:
    """The cells of a sheet that are taken. Made, filled and dropped inside one nesting."""

    def __init__(self, grid: Raster) -> None:
        self.grid = grid
        self._bits = 0
        self._runs = [0]

    def take(self, shape: Cells, x: int, y: int) -> None:
        """Take the cells of a shape at a place."""
        self._bits |= shape.bits << (y * self.grid.along + x)
        self._runs = [self._bits]

    def first_free(self, shape: Cells) -> tuple[int, int] | None:
        """Return the free place (x, y) of a shape with the least x, and of these the least y; None where none is."""
        self._know(max(level for level, _ in shape.shifts))
        hit, runs = 0, self._runs
        for level, shift in shape.shifts:
            hit |= runs[level] >> shift
        free = shape.inside & ~hit
        if not free:
            return None
        x = _lowest(self._first_row(free, self.grid.across - shape.across + 1))
        column = shape.inside & (self.grid.first_column << x)
        return x, _lowest(free & column) // self.grid.along

    def _know(self, level: int) -> None:
        """Make the numbers up to a level: each bit tells whether any of 2 ** level cells from its own on is taken."""
        while len(self._runs) <= level:
            last = self._runs[-1]
            self._runs.append(last | last >> (1 << (len(self._runs) - 1)))

    def _first_row(self, bits: int, rows: int) -> int:
        """Return all rows laid over one another."""
        while rows > 1:
            upper = (rows + 1) // 2
            cut = upper * self.grid.along
            bits, rows = (bits & ((1 << cut) - 1)) | bits >> cut, upper
        return bits


def _lowest(bits: int) -> int:
    return (bits & -bits).bit_length() - 1
