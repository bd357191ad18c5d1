"""The grid of pages that a drawing at full size takes on a paper: which way round, how many, and which are needed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import product
from math import ceil
from string import ascii_uppercase

import numpy as np

from bayloft.drawing.labels import Box, bounds, corners
from bayloft.drawing.sheet import Drawing
from bayloft.spec.shops.shop import Paper
from bayloft.tolerances import MARK_FLATTENING_MM

Size = tuple[float, float]

AROUND_MM = 3.0
"""Kept free round a drawing, so that no line of it lies where two papers end."""

LEAST_CELL_MM = 60.0
"""Least side of what one page adds to the sheet: marks, names and a check mark need as much."""

_DECIMALS = 3


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class Cell:
    """A place in the grid: row from the top, column from the left, both from 0."""

    row: int
    column: int

    @property
    def name(self) -> str:
        """The row's letter and the column's number: A1, A2, B1; after Z come AA, AB."""
        letters, left = "", self.row + 1
        while left:
            left, digit = divmod(left - 1, len(ascii_uppercase))
            letters = ascii_uppercase[digit] + letters
        return f"{letters}{self.column + 1}"

    @property
    def beside(self) -> tuple[Cell, Cell, Cell, Cell]:
        """The places to the left, to the right, above and below."""
        steps = ((0, -1), (0, 1), (-1, 0), (1, 0))
        left, right, above, below = (Cell(row=self.row + down, column=self.column + on) for down, on in steps)
        return left, right, above, below


@dataclass(frozen=True, slots=True, kw_only=True)
class PageGrid:
    """Cells of one size side by side over a drawing, each in the middle of the page that is printed for it: the page
    shows half an overlap more on every side. `corner_mm` is the upper left corner of the first cell in the drawing;
    `kept` are the cells that are printed, row by row.
    """

    page_mm: Size
    margin_mm: float
    overlap_mm: float
    corner_mm: Size
    rows: int
    columns: int
    kept: tuple[Cell, ...]

    @property
    def cell_mm(self) -> Size:
        """Width and height of a cell."""
        wide, high = (side - 2 * self.margin_mm - self.overlap_mm for side in self.page_mm)
        return wide, high

    @property
    def size_mm(self) -> Size:
        """Width and height of the whole grid."""
        return self.columns * self.cell_mm[0], self.rows * self.cell_mm[1]

    def box(self, cell: Cell) -> Box:
        """Return a cell's box in the drawing."""
        (left, top), (wide, high) = self.corner_mm, self.cell_mm
        return (
            left + cell.column * wide,
            top - (cell.row + 1) * high,
            left + (cell.column + 1) * wide,
            top - cell.row * high,
        )

    def window(self, cell: Cell) -> Box:
        """Return what of the drawing a cell's page shows: its box and half an overlap round it."""
        left, bottom, right, top = self.box(cell)
        half = self.overlap_mm / 2
        return left - half, bottom - half, right + half, top + half


def page_grid(drawing: Drawing, paper: Paper) -> PageGrid:
    """Return the grid of the fewest pages on which a drawing at full size can be printed, pages upright or lying; of
    equally many the upright ones.

    Cells through which no line or label runs are left out, but for those that hold the others together: every kept cell
    shares a side with another. A roll's pages are as long as the drawing needs, and alike.

    Raises ValueError for a paper of which margin and overlap leave less than LEAST_PRINTED_MM or LEAST_CELL_MM, and
    for no lines.
    """
    if not drawing.contours:
        raise ValueError(f"no lines are drawn on {drawing.name}")
    cell_mm = min(paper.width_mm, paper.height_mm) - 2 * paper.margin_mm - paper.overlap_mm
    if not paper.has_room or cell_mm < LEAST_CELL_MM:
        raise ValueError(f"margin and overlap leave too little of the paper {paper}")
    upright, lying = (paper.width_mm, paper.height_mm), (paper.height_mm, paper.width_mm)
    grids = [_grid(drawing, paper, page, lengthwise) for lengthwise, page in ((1, upright), (0, lying))]
    return min(grids, key=lambda grid: len(grid.kept))


def extent(drawing: Drawing) -> Box:
    """Return the box round all contours and labels of a drawing."""
    boxes = np.array([contour.bounds for _, contour in drawing.contours] + [bounds(label) for label in drawing.labels])
    (left, bottom), (right, top) = boxes[:, :2].min(axis=0).tolist(), boxes[:, 2:].max(axis=0).tolist()
    return left, bottom, right, top


def _grid(drawing: Drawing, paper: Paper, page: Size, lengthwise: int) -> PageGrid:
    """Return the grid of pages of a size; of a roll, the side `lengthwise` (0 x, 1 y) is cut to the need."""
    left, bottom, right, top = extent(drawing)
    # Rounded, so that the last bits of a drawing's extent neither move it on its pages nor add one.
    needs = [round(side + 2 * AROUND_MM, _DECIMALS) for side in (right - left, top - bottom)]
    lost = 2 * paper.margin_mm + paper.overlap_mm
    cells = [side - lost for side in page]
    columns, rows = (ceil(need / cell) for need, cell in zip(needs, cells, strict=True))
    if paper.kind == "roll":
        share = ceil(needs[lengthwise] / (columns, rows)[lengthwise])
        cells[lengthwise] = min(cells[lengthwise], max(float(share), LEAST_CELL_MM))
    over = [(count * cell - need) / 2 for count, cell, need in zip((columns, rows), cells, needs, strict=True)]
    grid = PageGrid(
        page_mm=(cells[0] + lost, cells[1] + lost),
        margin_mm=paper.margin_mm,
        overlap_mm=paper.overlap_mm,
        corner_mm=(round(left - AROUND_MM - over[0], _DECIMALS), round(top + AROUND_MM + over[1], _DECIMALS)),
        rows=rows,
        columns=columns,
        kept=tuple(Cell(row=row, column=column) for row, column in product(range(rows), range(columns))),
    )
    return _without_empty(grid, drawing)


def _without_empty(grid: PageGrid, drawing: Drawing) -> PageGrid:
    """Return the grid with the cells that are needed of those kept."""
    from shapely import LinearRing, LineString, Polygon, STRtree, box  # noqa: PLC0415

    drawn: list[LineString] = [Polygon(corners(label)) for label in drawing.labels]
    for _, contour in drawing.contours:
        points = contour.flattened(MARK_FLATTENING_MM)
        drawn.append((LinearRing if contour.closed and len(points) > 2 else LineString)(points))
    boxes = [box(*grid.box(cell)) for cell in grid.kept]
    met = STRtree(drawn).query(boxes, predicate="intersects")[0].tolist()
    return replace(grid, kept=tuple(sorted(_held_together({grid.kept[i] for i in met}))))


def _held_together(cells: Iterable[Cell]) -> set[Cell]:
    """Return the cells with as many more as it takes for all to hang together by their sides."""
    kept = set(cells)
    while len(groups := _groups(kept)) > 1:
        near, far = min(
            product(groups[0], set().union(*groups[1:])),
            key=lambda pair: (abs(pair[0].row - pair[1].row) + abs(pair[0].column - pair[1].column), pair),
        )
        rows, columns = sorted((near.row, far.row)), sorted((near.column, far.column))
        kept |= {Cell(row=near.row, column=column) for column in range(columns[0], columns[1] + 1)}
        kept |= {Cell(row=row, column=far.column) for row in range(rows[0], rows[1] + 1)}
    return kept


def _groups(cells: set[Cell]) -> list[set[Cell]]:
    """Return the cells in groups that hang together by their sides, that of the first cell first."""
    left, groups = set(cells), []
    while left:
        group, edge = set(), {min(left)}
        while edge:
            group |= edge
            edge = {other for cell in edge for other in cell.beside if other in left} - group
        left -= group
        groups.append(group)
    return groups
