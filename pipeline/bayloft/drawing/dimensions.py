"""Dimension lines with arrowheads, extension lines and texts; leaders."""

from __future__ import annotations

import numpy as np

from bayloft.drawing.contour import Contour
from bayloft.drawing.labels import text_width_mm
from bayloft.drawing.sheet import ARROW, DIMENSION, LETTERING, Drawing, Label, Layer

ARROW_MM = (2.0, 0.6)
"""Length and width of an arrowhead: ISO 129-1 leaves the size to the drawing; slender heads suit thin lines."""

GAP_MM = 1.0
"""Between the feature and its extension line."""

OVERSHOOT_MM = 1.5
"""By which an extension line passes the dimension line."""

LIFT_MM = 0.8
"""Between a dimension line and the text above it."""


def _line(layer: Layer, *points: tuple[float, float]) -> tuple[Layer, Contour]:
    return layer, Contour.straight(np.array(points), closed=False)


def arrowhead(tip: tuple[float, float], towards_deg: float, layer: Layer = ARROW) -> tuple[Layer, Contour]:
    """Return an arrowhead whose tip is at `tip` and which points in a direction, degrees counter-clockwise from +x."""
    length, width = ARROW_MM
    head = Contour.straight([[0.0, 0.0], [-length, width / 2], [-length, -width / 2]], closed=True)
    return layer, head.turned(towards_deg).moved(*tip)


def horizontal(
    x_mm: tuple[float, float], y_mm: float, text: str, *, from_y_mm: tuple[float, float], height_mm: float = 2.2
) -> Drawing:
    """Return a level dimension line at `y_mm` from x[0] to x[1] > x[0], extension lines from features at `from_y_mm`.

    The text stands above the middle; where it is wider than the line, beyond its right end. Where two heads do not fit
    between the extension lines, they point at them from outside.
    """
    (left, right), length = x_mm, x_mm[1] - x_mm[0]
    contours = []
    for x, feature in zip(x_mm, from_y_mm, strict=True):
        away = float(np.sign(y_mm - feature))
        if abs(y_mm - feature) > GAP_MM:
            contours.append(_line(DIMENSION, (x, feature + away * GAP_MM), (x, y_mm + away * OVERSHOOT_MM)))
    width = text_width_mm(text, height_mm)
    beside = width > length - 1.0
    outside = length < 2.5 * ARROW_MM[0]
    reach = 2.0 * ARROW_MM[0] if outside else 0.0
    end = right + max(reach, OVERSHOOT_MM + width if beside else 0.0)
    contours.append(_line(DIMENSION, (left - reach, y_mm), (end, y_mm)))
    contours += [
        arrowhead((left, y_mm), 0.0 if outside else 180.0),
        arrowhead((right, y_mm), 180.0 if outside else 0.0),
    ]
    x, anchor = (end - width / 2, "middle") if beside else ((left + right) / 2, "middle")
    label = Label(text=text, x_mm=x, y_mm=y_mm + LIFT_MM, height_mm=height_mm, anchor=anchor, layer=LETTERING)  # type: ignore[arg-type]
    return Drawing(name="dimension", contours=tuple(contours), labels=(label,))


def upright(x_mm: float, y_mm: tuple[float, float]) -> Drawing:
    """Return an upright dimension line without text from y[0] up to y[1]; heads outside where it is short."""
    (low, high), x = y_mm, x_mm
    outside = high - low < 2.5 * ARROW_MM[0]
    reach = 2.0 * ARROW_MM[0] if outside else 0.0
    return Drawing(
        name="dimension",
        contours=(
            _line(DIMENSION, (x, low - reach), (x, high + reach)),
            arrowhead((x, low), 90.0 if outside else 270.0),
            arrowhead((x, high), 270.0 if outside else 90.0),
        ),
    )


def leader(tip: tuple[float, float], knee: tuple[float, float], text: str, *, height_mm: float = 2.2) -> Drawing:
    """Return a leader from an arrowhead at `tip` to `knee`, and a text that goes on from there, away from the tip."""
    slant = float(np.degrees(np.arctan2(tip[1] - knee[1], tip[0] - knee[0])))
    away = 1.0 if knee[0] >= tip[0] else -1.0
    shelf = (knee[0] + away * ARROW_MM[0], knee[1])
    label = Label(
        text=text,
        x_mm=shelf[0] + away * LIFT_MM,
        y_mm=shelf[1] - height_mm / 2,
        height_mm=height_mm,
        anchor="start" if away > 0 else "end",
        layer=LETTERING,
    )
    return Drawing(
        name="leader", contours=(_line(DIMENSION, tip, knee, shelf), arrowhead(tip, slant)), labels=(label,)
    )
