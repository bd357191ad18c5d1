"""Dimension lines with arrowheads, extension lines and texts; leaders."""

from __future__ import annotations

import numpy as np

from bayloft.drawing.labels import text_width_mm
from bayloft.drawing.sheet import ARROW, DIMENSION, LETTERING, MARK, TEXT, Drawing, Label, Layer
from bayloft.plane.contour import Contour

ARROW_MM = (2.0, 0.6)
"""Length and width of an arrowhead: ISO 129-1 leaves the size to the drawing; slender heads suit thin lines."""

GAP_MM = 1.0
"""Between the feature and its extension line."""

OVERSHOOT_MM = 1.5
"""By which an extension line passes the dimension line."""

LIFT = 0.42
"""Between a dimension line and the text above it, in cap heights: brackets reach below the text's line."""

SHELF_MM = 0.8
"""Between a leader's end and its text."""


SHEET_LAYERS = (DIMENSION, ARROW, LETTERING)
PART_LAYERS = (MARK, MARK, TEXT)
"""Layers of lines, heads and texts: on a sheet, and on a part, which has no layers that only paper knows."""

Layers = tuple[Layer, Layer, Layer]


def _line(layer: Layer, *points: tuple[float, float]) -> tuple[Layer, Contour]:
    return layer, Contour.straight(np.array(points), closed=False)


def arrowhead(tip: tuple[float, float], towards_deg: float, layer: Layer = ARROW) -> tuple[Layer, Contour]:
    """Return an arrowhead whose tip is at `tip` and which points in a direction, degrees counter-clockwise from +x."""
    length, width = ARROW_MM
    head = Contour.straight([[0.0, 0.0], [-length, width / 2], [-length, -width / 2]], closed=True)
    return layer, head.turned(towards_deg).moved(*tip)


def _between(low: float, high: float, layer: Layer) -> tuple[float, list[tuple[Layer, Contour]]]:
    """Return the heads of a level dimension line at y = 0, and by how much the line passes both ends.

    Where two heads do not fit between the ends they stand outside.
    """
    outside = high - low < 2.5 * ARROW_MM[0]
    heads = [arrowhead((low, 0.0), 0.0 if outside else 180.0, layer)]
    heads.append(arrowhead((high, 0.0), 180.0 if outside else 0.0, layer))
    return 2.0 * ARROW_MM[0] if outside else 0.0, heads


def horizontal(
    x_mm: tuple[float, float],
    y_mm: float,
    text: str,
    *,
    from_y_mm: tuple[float, float],
    height_mm: float = 2.2,
    layers: Layers = SHEET_LAYERS,
) -> Drawing:
    """Return a level dimension line at `y_mm` from x[0] to x[1] > x[0], extension lines from features at `from_y_mm`.

    The text stands above the middle; where it is wider than the line, beyond its right end.
    """
    (left, right), (lines, heads, texts) = x_mm, layers
    contours = []
    for x, feature in zip(x_mm, from_y_mm, strict=True):
        away = float(np.sign(y_mm - feature))
        if abs(y_mm - feature) > GAP_MM:
            contours.append(_line(lines, (x, feature + away * GAP_MM), (x, y_mm + away * OVERSHOOT_MM)))
    width = text_width_mm(text, height_mm)
    beside = width > right - left - GAP_MM
    past, pointed = _between(left, right, heads)
    end = right + past + (OVERSHOOT_MM + width if beside else 0.0)
    contours.append(_line(lines, (left - past, y_mm), (end, y_mm)))
    contours += [(layer, head.moved(0.0, y_mm)) for layer, head in pointed]
    label = Label(
        text=text,
        x_mm=end - width / 2 if beside else (left + right) / 2,
        y_mm=y_mm + LIFT * height_mm,
        height_mm=height_mm,
        anchor="middle",
        layer=texts,
    )
    return Drawing(name="dimension", contours=tuple(contours), labels=(label,))


def upright(
    x_mm: float,
    y_mm: tuple[float, float],
    *,
    from_x_mm: tuple[float, float] | None = None,
    layers: Layers = SHEET_LAYERS,
) -> Drawing:
    """Return an upright dimension line without text from y[0] up to y[1], extension lines from features if given."""
    (low, high), (lines, heads, _) = y_mm, layers
    contours = []
    for y, feature in zip(y_mm, from_x_mm or (x_mm, x_mm), strict=True):
        away = float(np.sign(x_mm - feature))
        if abs(x_mm - feature) > GAP_MM:
            contours.append(_line(lines, (feature + away * GAP_MM, y), (x_mm + away * OVERSHOOT_MM, y)))
    past, pointed = _between(low, high, heads)
    contours.append(_line(lines, (x_mm, low - past), (x_mm, high + past)))
    contours += [(layer, head.turned(90.0).moved(x_mm, 0.0)) for layer, head in pointed]
    return Drawing(name="dimension", contours=tuple(contours))


def leader(
    tip: tuple[float, float],
    knee: tuple[float, float],
    text: str,
    *,
    height_mm: float = 2.2,
    layers: Layers = SHEET_LAYERS,
) -> Drawing:
    """Return a leader from an arrowhead at `tip` to `knee`, and a text that goes on from there, away from the tip."""
    lines, heads, texts = layers
    slant = float(np.degrees(np.arctan2(tip[1] - knee[1], tip[0] - knee[0])))
    away = 1.0 if knee[0] >= tip[0] else -1.0
    shelf = (knee[0] + away * ARROW_MM[0], knee[1])
    label = Label(
        text=text,
        x_mm=shelf[0] + away * SHELF_MM,
        y_mm=shelf[1] - height_mm / 2,
        height_mm=height_mm,
        anchor="start" if away > 0 else "end",
        layer=texts,
    )
    contours = (_line(lines, tip, knee, shelf), arrowhead(tip, slant, heads))
    return Drawing(name="leader", contours=contours, labels=(label,))
