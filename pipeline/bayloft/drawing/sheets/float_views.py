"""The pictures of a board afloat: from the side with the water level, and from above with the waterplane."""

from __future__ import annotations

from typing import Literal

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, Point, Polygon, box, polygonize, unary_union

from bayloft.drawing.curves.board_curves import plan_outline, rail_line, side_view
from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.drawing.sheets.card import (
    BLUE,
    BLUE_LINE,
    BOARD_LINE,
    EDGE_LINE,
    FINE_LINE,
    GREY,
    INK,
    LABEL_MM,
    MIDDLE_LINE,
    SECOND_LINE,
    WORDS_MM,
    Line,
    straight,
)
from bayloft.floating.float_words import kilograms
from bayloft.floating.floats import ENDS, BoardFloats, FloatLie
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.solid.measure import places, section
from bayloft.solid.plane_cut import Plane
from bayloft.solid.waterline import over_plane
from bayloft.tape import fine

Array = NDArray[np.float64]

SCALES = (5.0, 6.0, 8.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0, 18.0, 20.0)
WATER_TINT = Layer(name="WATER_TINT", weight_mm=0.0, colour="#dde9ef", fill="#dde9ef")
LEVEL_LINE = Layer(name="LEVEL", weight_mm=0.5, colour="#1f4e6e")
OUTLINE_MM = 0.05
"""mm within which the outline is drawn."""
BEYOND_MM = 6.0
"""How far the water's line is drawn beyond the board's ends, on paper."""
ARROW_MM, HEAD_MM = 9.0, (0.9, 2.6)
"""Length of the arrow of a weight, half the width and length of its head."""
NOTCH_MM = 1.0
"""How far from the tail end the stringer begins in a notch, at least."""
WALL_PLACES = 241
ANCHORS: tuple[Literal["start", "middle", "end"], ...] = ("start", "middle", "end")
"""How the notes at tail, centre and nose stand about their places."""


def afloat_points(points: Array, plane: Plane) -> Array:
    """Return places (n, 2) along the water and over it of points (n, 2) as (x, z) in the board's axes, mm."""
    x, z = points[:, 0], points[:, 1] - plane.height_mm
    return np.column_stack([x + plane.slope * z, z - plane.slope * x]) / plane.steepness


def float_profile(draft: Draft, floats: BoardFloats, lie: FloatLie, scale: float) -> Drawing:
    """Return the board from the side at 1 : `scale`, the water on y = 0, tail to the left, with the weights, and with
    draft and freeboard at tail, centre and nose.
    """
    side = afloat_points(side_view(draft.lines, draft.body).points, lie.plane) / scale
    rail = afloat_points(rail_line(draft.body).points, lie.plane) / scale
    left, right = float(side[:, 0].min()), float(side[:, 0].max())
    low, high = float(side[:, 1].min()), float(side[:, 1].max())
    under = Polygon(side).buffer(0.0).intersection(box(left - 1.0, low - 1.0, right + 1.0, 0.0))
    contours: list[Line] = [(WATER_TINT, each) for each in _filled(under)]
    contours.append((SECOND_LINE, Contour.straight(rail, closed=False)))
    contours.append((BOARD_LINE, Contour.straight(side, closed=True)))
    contours.append(straight(LEVEL_LINE, (left - BEYOND_MM, 0.0), (right + BEYOND_MM, 0.0)))
    contours += _level_mark(right + BEYOND_MM - 2.0)
    drawn = Drawing(name="profile", contours=tuple(contours))
    return drawn.joined(_weights(floats, lie, scale, high), _notes(draft, lie, scale, low))


def _level_mark(x: float) -> list[Line]:
    """Return the mark of a water level: a triangle on it, two short lines under it."""
    return [
        straight(BLUE_LINE, (x - 1.5, 2.6), (x + 1.5, 2.6), (x, 0.0), closed=True),
        straight(BLUE_LINE, (x - 1.2, -0.9), (x + 1.2, -0.9)),
        straight(BLUE_LINE, (x - 0.6, -1.8), (x + 0.6, -1.8)),
    ]


def _weights(floats: BoardFloats, lie: FloatLie, scale: float, high: float) -> Drawing:
    """Return the arrows of load and of what the water bears, the one over the board, the other under its middle."""
    load = np.array([floats.load_at_mm])
    x, y = (afloat_points(load, lie.plane)[0] / scale).tolist()
    start = max(y, high) + ARROW_MM
    borne = (afloat_points(np.array([lie.below.centre_mm]), lie.plane)[0] / scale).tolist()
    contours = [
        straight(EDGE_LINE, (x, start), (x, y + HEAD_MM[1])),
        _head(x, y, 1.0, Layer(name="LOAD_HEAD", weight_mm=0.05, colour="#000000", fill="#000000")),
        (BLUE_LINE, Contour.circle(borne, 0.9)),
        straight(MIDDLE_LINE, (borne[0], borne[1] - 6.0), (borne[0], borne[1] + 6.0)),
    ]
    label = Label(
        text=kilograms(floats.asked.load_kg),
        x_mm=x + 1.6,
        y_mm=start - WORDS_MM,
        height_mm=WORDS_MM,
        layer=INK,
        bold=True,
    )
    return Drawing(name="weights", contours=tuple(contours), labels=(label,))


def _head(x: float, tip: float, up: float, layer: Layer) -> Line:
    half, length = HEAD_MM
    return straight(layer, (x, tip), (x - half, tip + up * length), (x + half, tip + up * length), closed=True)


def _notes(draft: Draft, lie: FloatLie, scale: float, low: float) -> Drawing:
    """Return under the profile, at tail, centre and nose, how deep the bottom and how high the deck is."""
    metric, length = draft.board.metric, draft.board.length_mm
    deck_mm = float(over_plane(places(draft.body, [length / 2.0], (1.0,))[0, 0], lie.plane))
    x = [float(draft.body.port.at(0.0, 0.0)[0]), length / 2.0, length]
    found = afloat_points(np.column_stack([x, [lie.plane.height_mm + lie.plane.slope * each for each in x]]), lie.plane)
    labels = []
    for n, (end, at) in enumerate(zip(ENDS, (found[:, 0] / scale).tolist(), strict=True)):
        anchor = ANCHORS[n]
        where = "tail, at its notch" if end == "tail" and x[0] > NOTCH_MM else end
        draws, clear = lie.drafts_mm[n], lie.freeboards_mm[n]
        deep = f"draws {fine(draws, metric=metric)}" if draws >= 0.0 else f"bottom {fine(-draws, metric=metric)} clear"
        told = f"deck {fine(abs(clear), metric=metric)} {'clear' if clear >= 0.0 else 'UNDER'}"
        for i, (words, caps, layer) in enumerate(
            ((where, LABEL_MM, GREY), (deep, WORDS_MM, BLUE), (told, WORDS_MM, INK))
        ):
            y = low - 5.5 - (0.0, 5.6, 11.4)[i]
            labels.append(Label(text=words, x_mm=at, y_mm=y, height_mm=caps, layer=layer, anchor=anchor))
    centre = float(found[1, 0]) / scale
    line = straight(FINE_LINE, (centre, low - 1.5), (centre, max(deck_mm / scale, 0.0) + 1.5))
    return Drawing(name="notes", contours=(line,), labels=tuple(labels))


def float_plan(draft: Draft, lie: FloatLie, scale: float) -> Drawing:
    """Return the board from above at 1 : `scale`, its tail end at x = 0, the stringer on y = 0, with the waterplane."""
    half = plan_outline(draft.lines, draft.body, OUTLINE_MM).scaled(1.0 / scale)
    contours: list[Line] = []
    for piece in waterplane(draft, lie):
        scaled = piece.scaled(1.0 / scale)
        contours += [(WATER_TINT, scaled), (WATER_TINT, scaled.mirrored())]
    for points in lie.line.pieces:
        own = Contour.straight(points[:, :2] / scale, closed=False)
        contours += [(LEVEL_LINE, own), (LEVEL_LINE, own.mirrored())]
    outline = Contour.joined(half, half.mirrored().reversed(), closed=True)
    length = draft.board.length_mm / scale
    contours += [(BOARD_LINE, outline), straight(MIDDLE_LINE, (-3.0, 0.0), (length + 3.0, 0.0))]
    return Drawing(name="plan", contours=tuple(contours))


def waterplane(draft: Draft, lie: FloatLie) -> list[Contour]:
    """Return what of the port half the water's plane cuts, seen from above, at full size."""
    body, plane = draft.body, lie.plane
    length = draft.board.length_mm
    lines = [LineString([(0.0, 0.0), (length, 0.0)])]
    ends = []
    for piece in lie.line.pieces:
        flat = piece[:, :2].copy()
        flat[np.abs(flat[:, 1]) < OUTLINE_MM, 1] = 0.0
        lines.append(LineString(flat))
        ends += [point for point in (flat[0], flat[-1]) if point[1] > 0.0]
    if body.end == "wall":
        edge = body.port.grid([0.0], np.linspace(body.wall_corner, 1.0, WALL_PLACES))[0][:, :2]
        wall = np.concatenate([edge, np.array(ends).reshape(-1, 2)])
        lines.append(LineString(wall[np.argsort(wall[:, 1], kind="stable")]))
    found = []
    for area in polygonize([unary_union(lines)]).geoms:
        at = area.representative_point()
        own = section(body, at.x, per_span=2).points
        if Polygon(own).buffer(0.0).contains(Point(at.y, plane.height_mm + plane.slope * at.x)):
            found.append(Contour.straight(np.array(area.exterior.coords)[:-1], closed=True))
    return found


def _filled(area: object) -> list[Contour]:
    """Return the outer lines of an area of shapely."""
    parts = getattr(area, "geoms", [area])
    return [
        Contour.straight(np.array(part.exterior.coords)[:-1], closed=True)
        for part in parts
        if isinstance(part, Polygon) and not part.is_empty
    ]
