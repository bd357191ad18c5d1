"""Where one board stands out over another, or lies under it: deck and bottom in plan, in tones that need no colour.

Grey is where it stands out, the darker the more; hatched where it lies under, the denser the more; white where both are
alike within the first step.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence

import numpy as np
from contourpy import FillType, contour_generator
from numpy.typing import NDArray
from shapely import LinearRing, LineString, MultiLineString, MultiPolygon, Polygon, get_coordinates, make_valid
from shapely.ops import unary_union

from bayloft.drawing.labels import text_width_mm
from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.drawing.sheets.card import EDGE_LINE, FINE_LINE, GREY, INK, LABEL_MM, Line, box, ending, text
from bayloft.plane.contour import Contour
from bayloft.solid.apart import Apart, ApartPlace, Side, SideMap
from bayloft.tape import change

Array = NDArray[np.float64]

STEPS_MM = {
    True: (0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0),
    False: tuple(25.4 * inches for inches in (1 / 32, 1 / 16, 1 / 8, 1 / 4, 1 / 2, 1.0, 2.0)),
}
"""First steps of the tones, in mm, of a board told in mm and of one in inches; the others are twice and four times as
much."""
TIMES = (1.0, 2.0, 4.0)
COVERED = 8.0
"""First steps that 95 % of the surface alongside A keeps within: the last tone is for all that is beyond."""

TONES = tuple(
    Layer(name=f"OUT_{n}", weight_mm=0.0, colour=grey, fill=grey)
    for n, grey in enumerate(("#dedede", "#b2b2b2", "#7c7c7c"))
)
LEVEL_LINE = Layer(name="LEVEL", weight_mm=0.25, colour="#8a8a8a")
HATCH = Layer(name="HATCH", weight_mm=0.25, colour="#000000")
HATCH_MM, HATCH_WAY = 3.2, 1.0
"""Distance across of the hatch's first lines, of which the denser ones have twice and four times as many; and their
slope."""
SPECK_MM2 = 0.4
"""Area on paper of what is left out of hatch and tones."""
SIMPLER_MM, OVER_MM = 0.03, 0.05
RING_MM = 1.5
SWATCH_MM = (19.0, 5.0)


def first_step_mm(lies: Apart, *, metric: bool) -> float:
    """Return where the first tone begins: the least step whose tones tell apart most of the surface alongside A."""
    steps = STEPS_MM[metric]
    return next((step for step in steps if COVERED * step >= lies.most_alongside_mm), steps[-1])


def side_map(lies: Apart, side: Side, scale: float, step_mm: float) -> Drawing:
    """Return deck or bottom in tones at 1 : `scale`, A's tail at x = 0 and its stringer on y = 0."""
    own = [each for each in lies.maps if each.side == side]
    contours: list[Line] = []
    for layer, times in zip(TONES, TIMES, strict=True):
        contours += [(layer, area) for each in own for area in _areas(each, scale, times * step_mm)]
    bounds = unary_union([area for each in own for area in _polygons(each, scale, step_mm)])
    contours += [(LEVEL_LINE, ring) for ring in _rings(bounds)]
    contours += [(HATCH, line) for line in _hatched(own, scale, step_mm)]
    return Drawing(name=side, contours=tuple(contours))


def most_marked(lies: Apart, side: Side, scale: float, step_mm: float, *, metric: bool) -> Drawing:
    """Return a ring and a figure where B stands out most over A and where it lies deepest, if that is on this side."""
    drawn = Drawing(name="most")
    for place in (lies.greatest, lies.least):
        if place.side == side and abs(place.out_mm) >= step_mm / 2.0:
            drawn = drawn.joined(_ringed(place, scale, metric=metric))
    return drawn


def scale_bar(step_mm: float, *, metric: bool) -> Drawing:
    """Return the bar of tones with the steps under their bounds, hanging from (0, 0)."""
    wide, high = SWATCH_MM
    limits = [*(-times * step_mm for times in reversed(TIMES)), *(times * step_mm for times in TIMES)]
    contours: list[Line] = []
    labels: list[Label] = []
    for n in range(len(limits) + 1):
        left = n * wide
        edge = box(EDGE_LINE, left, -high, left + wide, 0.0)
        if n > len(TIMES):
            contours.append((TONES[n - len(TIMES) - 1], edge[1]))
        elif n < len(TIMES):
            contours += [(HATCH, line) for line in _lines_in(Polygon(edge[1].points), len(TIMES) - n)]
        contours.append(edge)
    for n, limit in enumerate(limits, 1):
        said = change(0.0, limit, metric=metric)
        labels.append(Label(text=said, x_mm=n * wide, y_mm=-high - 4.2, height_mm=2.6, anchor="middle", layer=INK))
    ends = (len(limits) + 1) * wide
    labels += [
        text("B lies under A", 0.0, 2.0, LABEL_MM),
        Label(text="alike", x_mm=ends / 2.0, y_mm=2.0, height_mm=LABEL_MM, anchor="middle", layer=GREY),
        ending("B stands out over A", ends, 2.0, LABEL_MM),
    ]
    return Drawing(name="scale", contours=tuple(contours), labels=tuple(labels))


def _filled(each: SideMap, scale: float, low: float, high: float) -> list[list[Array]]:
    """Return the areas in which B stands out between two distances: an outer line and the holes in it, each (n, 2)."""
    there = np.isfinite(each.out_mm)
    if not there.any():
        return []
    x, y = (np.where(there, axis, 0.0) / scale for axis in (each.x_mm, each.y_mm))
    # Both halves reach a hair over the stringer, or paper shows between them.
    y = np.where(np.abs(y) < OVER_MM / 10.0, -np.sign(y) * OVER_MM, y)
    z = np.ma.masked_array(np.where(there, each.out_mm, 0.0), mask=~there)
    found = contour_generator(x, y, z, fill_type=FillType.OuterOffset).filled(low, high)
    areas = []
    for points, offsets in zip(*found, strict=True):
        rings = [points[first : last - 1] for first, last in itertools.pairwise(offsets.tolist())]
        rings = [np.round(ring, 4) for ring in rings if len(ring) >= 3]
        if rings:
            areas.append(rings)
    return areas


def _areas(each: SideMap, scale: float, least: float) -> list[Contour]:
    """Return where B stands out by so much or more, each area with its holes as one line: out to a hole, round it the
    other way, and back, so that it is not filled.
    """
    found = []
    for rings in _filled(each, scale, least, np.inf):
        if abs(_doubled(rings[0])) / 2.0 < SPECK_MM2:
            continue
        start = rings[0][:1]
        line = [rings[0], start, *(part for hole in rings[1:] for part in (hole, hole[:1], start))]
        points = np.concatenate(line)
        found.append(Contour.straight(points if len(rings) > 1 else rings[0], closed=True))
    return found


def _doubled(ring: Array) -> float:
    after = np.roll(ring, -1, axis=0)
    return float((ring[:, 0] * after[:, 1] - after[:, 0] * ring[:, 1]).sum())


def _polygons(each: SideMap, scale: float, least: float, *, under: bool = False) -> list[Polygon | MultiPolygon]:
    low, high = (-np.inf, -least) if under else (least, np.inf)
    shapes = [make_valid(Polygon(rings[0], rings[1:])) for rings in _filled(each, scale, low, high)]
    return [shape for shape in shapes if shape.area >= SPECK_MM2]


def _rings(area: Polygon | MultiPolygon) -> list[Contour]:
    """Return the lines round an area."""
    found = []
    for polygon in getattr(area, "geoms", [area]):
        if not isinstance(polygon, Polygon) or polygon.is_empty:
            continue
        for ring in (polygon.exterior, *polygon.interiors):
            points = get_coordinates(LinearRing(ring).simplify(SIMPLER_MM))[:-1]
            if len(points) >= 3:
                found.append(Contour.straight(points, closed=True))
    return found


def _hatched(own: Sequence[SideMap], scale: float, step_mm: float) -> list[Contour]:
    """Return the hatch where B lies under A: for each step as many lines again, between those before."""
    lines = []
    for density, times in enumerate(TIMES, 1):
        area = unary_union([part for each in own for part in _polygons(each, scale, times * step_mm, under=True)])
        lines += _lines_in(area, density, alone=True)
    return lines


def _lines_in(area: Polygon | MultiPolygon, density: int, *, alone: bool = False) -> list[Contour]:
    """Return the lines of the hatch in an area: those of a density, or with all less dense ones."""
    if area.is_empty:
        return []
    left, low, right, high = area.bounds
    pitch = HATCH_MM * np.sqrt(2.0) / 2.0 ** (density - 1)
    # y = x + c: the same lines for all areas, so that they meet.
    first, last = int(np.floor((low - right) / pitch)), int(np.ceil((high - left) / pitch))
    numbers = [n for n in range(first, last + 1) if density == 1 or not alone or n % 2]
    if not alone:
        numbers = list(range(first, last + 1))
    lines = MultiLineString([[(left, left + n * pitch), (right, right + n * pitch)] for n in numbers])
    cut = lines.intersection(area)
    parts = [part for part in getattr(cut, "geoms", [cut]) if isinstance(part, LineString) and part.length > 0.2]
    found = [np.round(get_coordinates(part), 4) for part in parts]
    found.sort(key=lambda points: (float(points[0, 1] - points[0, 0]), float(points[0, 0])))
    return [Contour.straight(points[[0, -1]], closed=False) for points in found]


def _ringed(place: ApartPlace, scale: float, *, metric: bool) -> Drawing:
    """Return a ring at a place and its figure beside it, on white."""
    x, y = place.x_mm / scale, place.y_mm / scale
    said = change(0.0, place.out_mm, metric=metric)
    wide = text_width_mm(said, LABEL_MM, bold=True)
    left = x - RING_MM - 1.4 - wide if x > 90.0 else x + RING_MM + 1.4
    white = Layer(name=f"CLEAR_{'OUT' if place.out_mm > 0.0 else 'UNDER'}", weight_mm=0.0, fill="#ffffff")
    foot = y - LABEL_MM / 2.0
    under = box(white, left - 0.6, foot - 0.8, left + wide + 0.6, foot + LABEL_MM + 0.8)
    contours = (under, (FINE_LINE, Contour.circle((x, y), RING_MM)))
    return Drawing(name="most", contours=contours, labels=(text(said, left, foot, LABEL_MM, bold=True),))
