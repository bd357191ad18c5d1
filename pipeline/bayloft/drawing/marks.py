"""Small marks that parts at full size share: the check line, ticks, holes for an awl, the lines of text in a plate."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.drawing.labels import PITCH, wrapped
from bayloft.drawing.sheet import CUT, MARK, SCRIBE, Drawing, Label, Layer
from bayloft.plane.contour import Contour

CHECK_MM = 100.0
TICK_MM = 5.0
CAPS_MM = 3.5

EDGE_TICK_MM = 10.0
"""Length of a tick scribed at an edge, where a pencil picks it up."""

CODE_WITHIN_MM = 45.0
"""How far the middle of a station's code may stand from its tick."""

AWL_MM = 2.0
"""Diameter of a hole through which an awl or a sharp pencil marks the board."""


def line(layer: Layer, *points: tuple[float, float]) -> tuple[Layer, Contour]:
    """Return straight lines through points."""
    return layer, Contour.straight(points, closed=False)


def edge_ticks(x_mm: float, low_mm: float, high_mm: float) -> list[tuple[Layer, Contour]]:
    """Return the scribed ticks of a station on both edges of a part, inward from heights low and high."""
    tick = min(EDGE_TICK_MM, (high_mm - low_mm) / 3)
    ends = ((low_mm, low_mm + tick), (high_mm - tick, high_mm))
    return [line(SCRIBE, (x_mm, low), (x_mm, high)) for low, high in ends]


def check_strokes(x_mm: float, y_mm: float, tick_mm: float = TICK_MM) -> list[Contour]:
    """Return the line of 100 mm from (x, y) to the right, then the ticks at its ends."""
    ends, half = (x_mm, x_mm + CHECK_MM), tick_mm / 2
    strokes = [((ends[0], y_mm), (ends[1], y_mm)), *(((x, y_mm - half), (x, y_mm + half)) for x in ends)]
    return [Contour.straight(points, closed=False) for points in strokes]


def check_line(x_mm: float, y_mm: float) -> Drawing:
    """Return a line of 100 mm to measure a print or a part by, from (x, y) to the right."""
    text = f"check: {CHECK_MM:.0f} mm"
    label = Label(text=text, x_mm=x_mm + CHECK_MM / 2, y_mm=y_mm + 1.5, height_mm=CAPS_MM, anchor="middle")
    return Drawing(
        name="check", contours=tuple((MARK, stroke) for stroke in check_strokes(x_mm, y_mm)), labels=(label,)
    )


def awl_hole(x_mm: float, y_mm: float) -> tuple[Layer, Contour]:
    """Return a hole for an awl."""
    return CUT, Contour.circle((x_mm, y_mm), AWL_MM / 2)


def texts(lines: Sequence[str], x_mm: float, top_mm: float, room_mm: float, caps_mm: float = CAPS_MM) -> list[Label]:
    """Return lines of text that hang from (x, top), broken where they are wider than the room; the first is bold."""
    head, *rest = lines
    broken = [(text, True) for text in wrapped(head, caps_mm, room_mm, bold=True)]
    broken += [(text, False) for line in rest for text in wrapped(line, caps_mm, room_mm)]
    return [
        Label(text=text, x_mm=x_mm, y_mm=top_mm - caps_mm * (1.0 + PITCH * i), height_mm=caps_mm, bold=bold)
        for i, (text, bold) in enumerate(broken)
    ]
