"""Grids of cells against polygons: what is touched, and which places are free."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Polygon, box, intersects

from bayloft.plane.cells import DOTS_PER_CELL, Cells, Raster, Taken

GRID = Raster(along=60, across=40, cell_mm=(5.0, 4.0))
HOOK = Polygon([(0, 0), (83, 0), (83, 12), (31, 12), (31, 57), (0, 57)])
LEAF = Polygon([(0, 20), (30, 0), (95, 17), (60, 41), (20, 33)])


def cells(shape: Cells) -> np.ndarray:
    found = np.zeros((shape.across, shape.along), dtype=bool)
    for row, first, length in shape.runs:
        found[row, first : first + length] = True
    return found


@pytest.mark.parametrize("polygon", [HOOK, LEAF], ids=["hook", "leaf"])
def test_the_cells_are_those_that_the_polygon_meets(polygon: Polygon) -> None:
    shape = Cells.of(polygon, polygon.bounds, GRID)
    wide, high = GRID.cell_mm
    x, y = np.meshgrid(np.arange(shape.along) * wide, np.arange(shape.across) * high)
    squares = box(x, y, x + wide, y + high)
    # A cell of which no more than a corner is met may be left out: that much the polygon is grown by.
    slip = min(GRID.cell_mm) / DOTS_PER_CELL / 2
    assert (cells(shape) | ~intersects(polygon.buffer(-slip), squares)).all()
    assert (~cells(shape) | intersects(polygon.buffer(slip), squares)).all()


def test_a_shape_as_large_as_the_grid_has_one_place() -> None:
    whole = box(0.0, 0.0, 300.0, 160.0)
    shape = Cells.of(whole, whole.bounds, GRID)
    assert (shape.along, shape.across, shape.inside) == (60, 40, 1)
    wider = box(0.0, 0.0, 300.1, 160.0)
    assert Cells.of(wider, wider.bounds, GRID).inside == 0


def test_the_place_is_the_leftmost_and_of_these_the_lowest_free_one() -> None:
    rng = np.random.default_rng(7)
    shape = Cells.of(LEAF, LEAF.bounds, GRID)
    hook, mask = Cells.of(HOOK, HOOK.bounds, GRID), cells(shape)
    for _ in range(20):
        taken, table = Taken(GRID), np.zeros((GRID.across, GRID.along), dtype=bool)
        for _ in range(4):
            x = int(rng.integers(GRID.along - hook.along + 1))
            y = int(rng.integers(GRID.across - hook.across + 1))
            taken.take(hook, x, y)
            table[y : y + hook.across, x : x + hook.along] |= cells(hook)
        places = [
            (x, y)
            for x in range(GRID.along - shape.along + 1)
            for y in range(GRID.across - shape.across + 1)
            if not (table[y : y + shape.across, x : x + shape.along] & mask).any()
        ]
        assert taken.first_free(shape) == (min(places) if places else None)


def test_a_grid_fills_its_rectangle() -> None:
    grid = Raster.over((2398.0, 1178.0), 8.0)
    assert (grid.along * grid.cell_mm[0], grid.across * grid.cell_mm[1]) == pytest.approx((2398.0, 1178.0), abs=1e-9)
    assert max(grid.cell_mm) <= 8.0
