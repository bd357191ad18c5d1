"""Rails of a board at half size: the outer end of every section, as a maker holds a gauge against it."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.contour import Contour
from bayloft.drawing.figures import Figures
from bayloft.drawing.labels import shortened, text_width_mm
from bayloft.drawing.sheet import DIMENSION, LETTERING, QUIET, TINT, VISIBLE, Drawing, Label, Layer
from bayloft.drawing.title_block import TEXTS_WIDTH_MM, Panel

Array = NDArray[np.float64]

SCALE = 2.0
COLUMNS = 3
CAPTION_CAPS_MM, CAPS_MM = 2.5, 1.8
CAPTION_MM, HEADING_MM, GAP_MM = 5.0, 3.6, 2.5
TICK_MM = 1.6

REACH_MM = 21.0
"""How far inboard a rail is shown, on paper."""


def rail_panel(shown: Figures) -> Panel:
    """Return the rails of all sections, starboard looking forward, tail first; a tick shows the height of the apex."""
    high, wide = shown.section_size_mm[1] / SCALE, TEXTS_WIDTH_MM / COLUMNS
    row_mm = HEADING_MM + high + GAP_MM
    height = CAPTION_MM + row_mm * -(-len(shown.sections) // COLUMNS)
    contours: list[tuple[Layer, Contour]] = []
    labels = [
        Label(
            text="RAILS",
            x_mm=0.0,
            y_mm=height - CAPTION_CAPS_MM,
            height_mm=CAPTION_CAPS_MM,
            layer=LETTERING,
            bold=True,
        )
    ]
    after = text_width_mm("RAILS", CAPTION_CAPS_MM, bold=True) + 2.0
    labels.append(Label(text=f"1:{SCALE:g}", x_mm=after, y_mm=height - CAPTION_CAPS_MM, height_mm=CAPS_MM, layer=QUIET))
    for i, (station, section) in enumerate(zip(shown.section_stations, shown.sections, strict=True)):
        row, column = divmod(i, COLUMNS)
        left, top = column * wide, height - CAPTION_MM - row * row_mm
        rail = rail_end(section[-1], REACH_MM * SCALE) / SCALE
        edge = rail[np.argmax(rail[:, 0])]
        shift = np.array([left + REACH_MM - edge[0], top - HEADING_MM - rail[:, 1].max()])
        apex = [[left + REACH_MM + 0.6, edge[1] + shift[1]], [left + REACH_MM + 0.6 + TICK_MM, edge[1] + shift[1]]]
        contours.append((TINT, Contour.straight(rail + shift, closed=True)))
        contours.append((VISIBLE, Contour.straight(rail + shift, closed=False)))
        contours.append((DIMENSION, Contour.straight(apex, closed=False)))
        where = shortened(station.where, CAPS_MM, wide - 2.0)
        labels.append(Label(text=where, x_mm=left, y_mm=top - CAPS_MM, height_mm=CAPS_MM, layer=QUIET))
    drawing = Drawing(name="rails", contours=tuple(contours), labels=tuple(labels))
    return Panel(width_mm=TEXTS_WIDTH_MM, height_mm=height, drawing=drawing)


def rail_end(section: Contour, reach_mm: float) -> Array:
    """Return the points (n, 2) of a section from deck to bottom that lie within `reach_mm` of its greatest x."""
    points = section.points
    limit = float(points[:, 0].max()) - reach_mm
    inside = np.flatnonzero(points[:, 0] > max(limit, 0.0))
    first, last = inside[0], inside[-1]
    before, after = points[first - 1], points[(last + 1) % len(points)]
    return np.vstack([_cut(before, points[first], limit), points[first : last + 1], _cut(after, points[last], limit)])


def _cut(beyond: Array, inside: Array, limit_mm: float) -> Array:
    """Return where a section passes the limit between two points (1, 2), or nothing (0, 2) where neither is beyond."""
    if beyond[0] > max(limit_mm, 0.0):
        return np.empty((0, 2))
    share = min(1.0, (inside[0] - limit_mm) / (inside[0] - beyond[0]))
    return np.asarray(inside + share * (beyond - inside), dtype=np.float64)[None]
