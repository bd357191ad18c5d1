"""Outlines laid head to foot on the smallest rectangle that is found, each with its margin round it."""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from shapely import Polygon

from bayloft.plane.cells import DOTS_PER_CELL, Cells, Raster, Taken
from bayloft.plane.contour import Contour
from bayloft.tolerances import NESTING_SLACK_MM

SEARCH_CELL_MM, FINAL_CELL_MM = 4.0, 1.0
"""mm, side of a cell while ways of laying are tried, and for the best of them."""

WIDTHS = 24
"""Widths of the rectangle that are tried, besides those that the outlines themselves ask for."""

BEST, PLACINGS = 3, 400
"""How many of the best ways are tried further, and outlines placed while one of them is changed."""

SEED = 5

ROUNDING = 1e-6
"""In cells."""


@dataclass(frozen=True, slots=True, kw_only=True)
class NestShape:
    """An outline to be laid: its points in mm, counter-clockwise; the margin to the rectangle's edges; half of what is
    kept between it and one like it; whether it may lie as it is drawn (False), as its mirror image in the x axis
    (True), or both.
    """

    points: tuple[tuple[float, float], ...]
    margin_mm: float
    clear_mm: float
    flips: tuple[bool, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NestSpot:
    """How an outline lies: mirrored in its x axis or not, turned counter-clockwise about its origin, moved."""

    flipped: bool
    turned_deg: float
    moved_mm: tuple[float, float]

    def laid(self, contour: Contour) -> Contour:
        """Return a contour of the outline's drawing where it lies."""
        turned = contour.mirrored().reversed() if self.flipped else contour
        return (turned.turned(self.turned_deg) if self.turned_deg else turned).moved(*self.moved_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Nest:
    """A spot for each outline on a rectangle from (0, 0), of whole mm, margins included."""

    spots: tuple[NestSpot, ...]
    size_mm: tuple[float, float]

    @property
    def area_mm2(self) -> float:
        """Area of the rectangle."""
        return self.size_mm[0] * self.size_mm[1]

    @property
    def turned(self) -> Nest:
        """The nest with its rectangle turned by a quarter, counter-clockwise."""
        along, across = self.size_mm
        spots = tuple(
            NestSpot(
                flipped=spot.flipped,
                turned_deg=(spot.turned_deg + 90.0) % 360.0,
                moved_mm=(round(across - spot.moved_mm[1], 3) + 0.0, spot.moved_mm[0]),
            )
            for spot in self.spots
        )
        return Nest(spots=spots, size_mm=(across, along))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Order:
    """One way to lay outlines: on so many mm across, in this order, each in the way that is given or in its best."""

    across_mm: float
    order: tuple[int, ...]
    ways: tuple[int | None, ...]


def nested(shapes: Sequence[NestShape], angles_deg: Sequence[float], *, most_across_mm: float) -> Nest | None:
    """Return outlines on the rectangle of least area that is found; None where they have no room side by side within
    `most_across_mm`, a limit of its height alone.

    All lie at the same one of the angles, or head to foot with it; a mirror image at the angle's mirror image, so that
    a direction of the rectangle is the same on every outline and its image. Each goes where it reaches least far along;
    widths, orders and ways are tried. Cells are whole numbers: every machine finds the same.
    """
    found: list[tuple[tuple[float, float], float, _Order]] = []
    for angle in angles_deg:
        layer = _Layer(shapes, angle, SEARCH_CELL_MM)
        for tried in layer.first_orders(most_across_mm):
            cost = layer.cost(tried)
            if cost is not None:
                found.append((cost, angle, tried))
    found.sort(key=lambda each: each[0])
    nests = []
    for cost, angle, tried in found[:BEST]:
        order = _changed(_Layer(shapes, angle, SEARCH_CELL_MM), tried, cost, most_across_mm)
        nests += _finished(_Layer(shapes, angle, FINAL_CELL_MM), order, most_across_mm)
    return min(nests, key=lambda nest: (nest.area_mm2, nest.size_mm), default=None)


def _changed(layer: _Layer, order: _Order, cost: tuple[float, float], most_across_mm: float) -> _Order:
    """Return an order after chance changes of it, each kept where it is no worse."""
    chance, count = random.Random(SEED), len(order.order)
    for _ in range(PLACINGS // count if count > 2 else 0):
        places, ways = [*order.order], [*order.ways]
        places.insert(int(chance.random() * count), places.pop(int(chance.random() * count)))
        which = int(chance.random() * count)
        choices = [None, *range(len(layer.ways(which)))]
        ways[which] = choices[int(chance.random() * len(choices))]
        across = min(order.across_mm + (int(chance.random() * 5) - 2) * SEARCH_CELL_MM, most_across_mm)
        tried = _Order(across_mm=across, order=tuple(places), ways=tuple(ways))
        tried_cost = layer.cost(tried)
        if tried_cost is not None and tried_cost <= cost:
            order, cost = tried, tried_cost
    return order


def _finished(layer: _Layer, order: _Order, most_across_mm: float) -> list[Nest]:
    """Return the nests of an order on a fine grid, on widths about its own."""
    steps = range(-2 * int(SEARCH_CELL_MM), int(SEARCH_CELL_MM) + 1)
    widths = [order.across_mm + step for step in steps if order.across_mm + step <= most_across_mm]
    nests = (layer.nest(replace(order, across_mm=width)) for width in widths)
    return [nest for nest in nests if nest is not None and nest.size_mm[1] <= most_across_mm]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Way:
    """An outline turned: mirrored or not, by how much; its bounds; the cells of it with all that is kept clear."""

    flipped: bool
    turned_deg: float
    bounds: tuple[float, float, float, float]
    cells: Cells


class _Layer:
    """Lays outlines at one angle on grids of one fineness. Made, filled and dropped inside one nesting."""

    def __init__(self, shapes: Sequence[NestShape], angle_deg: float, cell_mm: float) -> None:
        self._shapes, self._angle, self._cell = shapes, angle_deg, cell_mm
        # Half a step between the dots of an edge, and what the offset's own arcs lack.
        self._beyond = cell_mm / (2 * DOTS_PER_CELL) + NESTING_SLACK_MM
        self._known: dict[NestShape, tuple[_Way, ...]] = {}

    def ways(self, which: int) -> tuple[_Way, ...]:
        """Return the ways in which an outline may lie."""
        shape = self._shapes[which]
        if shape not in self._known:
            self._known[shape] = tuple(
                self._way(shape, flipped, ((-self._angle if flipped else self._angle) + half) % 360.0)
                for flipped in shape.flips
                for half in (0.0, 180.0)
            )
        return self._known[shape]

    def _way(self, shape: NestShape, flipped: bool, turned_deg: float) -> _Way:
        spot = NestSpot(flipped=flipped, turned_deg=turned_deg, moved_mm=(0.0, 0.0))
        outline = spot.laid(Contour.straight(shape.points, closed=True))
        clear, round_it = shape.clear_mm + self._beyond, self._round(shape)
        left, low, right, high = outline.bounds
        frame = left - round_it, low - round_it, right + round_it, high + round_it
        any_grid = Raster(along=1, across=1, cell_mm=(self._cell, self._cell))
        cells = Cells.of(Polygon(outline.points).buffer(clear), frame, any_grid)
        return _Way(flipped=flipped, turned_deg=turned_deg, bounds=outline.bounds, cells=cells)

    def _round(self, shape: NestShape) -> float:
        """Return how far its frame goes beyond an outline: whichever of margin and half the gap is more."""
        return max(shape.margin_mm, shape.clear_mm) + self._beyond

    def _high(self, which: int, way: _Way) -> float:
        """Return how much of the rectangle's height an outline takes alone."""
        return way.bounds[3] - way.bounds[1] + 2 * self._shapes[which].margin_mm

    @cached_property
    def _along(self) -> int:
        """Cells in which all outlines have room behind one another."""
        return sum(max(way.cells.along for way in self.ways(i)) for i in range(len(self._shapes)))

    def first_orders(self, most_across_mm: float) -> list[_Order]:
        """Return what is tried first: large before small, on widths from the least to all outlines side by side."""
        count = range(len(self._shapes))
        sides = [[self._high(i, way) for way in self.ways(i)] for i in count]
        least, most = max(min(own) for own in sides), min(sum(max(own) for own in sides), most_across_mm)
        if least > most:
            return []
        own = {round(side, 3) for each in sides for side in each if least <= side <= most}
        widths = sorted({*own, *(round(width, 3) for width in np.linspace(least, most, WIDTHS).tolist())})
        outlines = [Polygon(shape.points) for shape in self._shapes]
        sizes = [[round(float(size), 3) for size in (shape.area, shape.length)] for shape in outlines]
        orders = dict.fromkeys(tuple(sorted(count, key=lambda i: (-sizes[i][by], i))) for by in range(2))
        return [_Order(across_mm=width, order=order, ways=(None,) * len(order)) for width in widths for order in orders]

    def cost(self, order: _Order) -> tuple[float, float] | None:
        """Return area and length in cells of what an order takes: the less the better; None where it has no room."""
        laid = self._laid(order)
        if laid is None:
            return None
        along = max(x + way.cells.along for way, x, _ in laid)
        return float(along * max(y + way.cells.across for way, _, y in laid)), float(along)

    def nest(self, order: _Order) -> Nest | None:
        """Return the nest that comes of an order, measured by its outlines; None where it has no room."""
        laid = self._laid(order)
        if laid is None:
            return None
        corners, sizes = [], []
        for (way, x, y), shape in zip(laid, self._shapes, strict=True):
            off = self._round(shape) - shape.margin_mm
            corners.append([x * self._cell + off, y * self._cell + off])
            left, bottom, right, top = way.bounds
            sizes.append([right - left + 2 * shape.margin_mm, top - bottom + 2 * shape.margin_mm])
        boxes = np.column_stack([corners, np.add(corners, sizes)])
        low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
        spots = []
        for (way, _, _), shape, box in zip(laid, self._shapes, boxes, strict=True):
            corner = box[:2] - low + shape.margin_mm - np.array(way.bounds[:2])
            x, y = (np.round(np.round(corner, 6), 3) + 0.0).tolist()
            spots.append(NestSpot(flipped=way.flipped, turned_deg=way.turned_deg, moved_mm=(x, y)))
        size = np.ceil(np.round(high - low, 3))
        return Nest(spots=tuple(spots), size_mm=(float(size[0]), float(size[1])))

    def _laid(self, order: _Order) -> list[tuple[_Way, int, int]] | None:
        """Return each outline's way and cell, in the order of the outlines; None where one has no room."""
        beyond = max(self._round(shape) - shape.margin_mm for shape in self._shapes)
        across = math.ceil((order.across_mm + 2 * beyond) / self._cell - ROUNDING)
        grid = Raster(along=self._along, across=across, cell_mm=(self._cell, self._cell))
        taken = Taken(grid)
        found: dict[int, tuple[_Way, int, int]] = {}
        for which in order.order:
            ways, own = self.ways(which), order.ways[which]
            best: tuple[tuple[int, int], _Way, Cells, tuple[int, int]] | None = None
            for way in ways if own is None else (ways[own],):
                cells = replace(way.cells, grid=grid)
                place = taken.first_free(cells)
                if place is None:
                    continue
                rank = place[0] + cells.along, place[1]
                if best is None or rank < best[0]:
                    best = rank, way, cells, place
            if best is None:
                return None
            _, way, cells, place = best
            taken.take(cells, *place)
            found[which] = (way, *place)
        return [found[which] for which in range(len(found))]
