"""A board seen along the stringer, from ahead and from behind: what of it is not hidden, at full size in mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from bayloft.lines.board import BoardLines
from bayloft.lines.section_places import APEX
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.integrals import parameter_at

Array = NDArray[np.float64]

ROWS, EVERY = 32, 4
"""Sections from an end to the wide point, and the step among the surface's spans round a section in which the strips
between two of them are drawn: the sections themselves have all."""

HAIR_MM = 0.02
"""By how much less is hidden than what covers: a section is not hidden by its own edge."""

MIRROR = np.array([-1.0, 1.0])

LEAST_LINE_MM = 60.0
"""Length of a visible stretch below which it is not drawn."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EndView:
    """What is seen of an end, as (across to the right, up from the flat): the outline of the whole board, the wall of a
    cut-off tail, the rail lines, and of the sections at stations what nothing nearer hides.
    """

    outline: tuple[Contour, ...]
    wall: tuple[Contour, ...]
    rails: tuple[Contour, ...]
    sections: tuple[Contour, ...]

    @property
    def size_mm(self) -> tuple[float, float]:
        """Greatest width, and height of the highest place over the flat."""
        boxes = np.array([contour.bounds for contour in self.outline])
        return float(np.ptp(boxes[:, [0, 2]])), float(boxes[:, 3].max())


def end_view(lines: BoardLines, body: Body, stations_mm: Sequence[float], *, nose: bool) -> EndView:
    """Return the nose from ahead, where port lies to the right, or the tail from behind, where it lies to the left."""
    v = body.port.breaks[1]
    side = 1.0 if nose else -1.0
    own = np.sort([float(parameter_at(body.port, np.array([x]), np.array([APEX]))[0]) for x in stations_mm])
    wide_u = float(lines.outline.wide_u)
    tip, far = (1.0, wide_u) if nose else (0.0, wide_u)
    # Rows are closer towards the tip, where the section grows quickest.
    u = np.unique(np.concatenate([tip + (far - tip) * np.linspace(0.0, 1.0, ROWS) ** 1.5, own]))
    u = u[::-1] if nose else u
    half = body.port.grid(u, v)[..., 1:]
    loops = np.concatenate([half, half[:, ::-1] * MIRROR], axis=1)
    cut_off = body.end == "wall" and not nose
    # The wall is what the first section bounds.
    covered = shapely.Polygon(loops[0]).buffer(0.0) if cut_off else shapely.Polygon()
    sections, last = [], 0
    for row in sorted(int(np.argmin(np.abs(u - at))) for at in own):
        covered = shapely.union_all([covered, *_covering(half[last : row + 1], loops[last : row + 1])])
        hidden = shapely.buffer(covered, -HAIR_MM)
        sections += _open(shapely.difference(shapely.LineString(loops[row]), hidden), side)
        last = row
    outline = shapely.union_all([covered, *_covering(half[last:], loops[last:])])
    rail = half[:, int(np.argmin(np.abs(v - APEX)))] * (side, 1.0)
    rails = [rail, rail * MIRROR] if cut_off else [np.concatenate([rail[:0:-1], rail * MIRROR])]
    return EndView(
        outline=tuple(_closed(outline, side)),
        wall=(Contour.straight(loops[0] * (side, 1.0), closed=True),) if cut_off else (),
        rails=tuple(Contour.straight(each, closed=False) for each in rails),
        sections=tuple(sections),
    )


def _covering(half: Array, loops: Array) -> list[shapely.Geometry]:
    """Return what rows of sections and the strips between them cover: `half` of each (n, m, 2), and all round it."""
    strips = half[:, np.unique([*range(0, half.shape[1], EVERY), half.shape[1] - 1])]
    a, b, c, d = strips[:-1, :-1], strips[:-1, 1:], strips[1:, :-1], strips[1:, 1:]
    corners = np.concatenate([np.stack(three, axis=2).reshape(-1, 3, 2) for three in ((a, b, c), (b, d, c))])
    shapes = shapely.polygons(np.concatenate([corners, corners * MIRROR]))
    whole = shapely.buffer(shapely.polygons(loops), 0.0)
    # Without those that are seen edge on.
    return [*shapes[shapely.area(shapes) > HAIR_MM**2], *whole[shapely.area(whole) > HAIR_MM**2]]


def _open(visible: shapely.Geometry, side: float) -> list[Contour]:
    """Return the visible stretches of a line, but for the shortest."""
    parts = shapely.get_parts(shapely.line_merge(visible))
    return [
        Contour.straight(shapely.get_coordinates(part) * (side, 1.0), closed=False)
        for part in parts
        if part.length >= LEAST_LINE_MM
    ]


def _closed(outline: shapely.Geometry, side: float) -> list[Contour]:
    """Return the outer edges of a region."""
    return [
        Contour.straight(shapely.get_coordinates(part.exterior)[:-1] * (side, 1.0), closed=True)
        for part in shapely.get_parts(outline)
    ]
