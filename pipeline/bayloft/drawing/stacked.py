"""Figures to work by, with stacked fractions: how a length is written as one, and how it is set.

A label whose anchor is "axis" carries such a figure as plain text (``16 3/16+``, ``7/16``, ``10``): whole figures end
at its anchor point, a fraction follows over and under a level bar. What reads the text reads it in one line.
"""

from __future__ import annotations

import re
from dataclasses import replace

from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.plane.contour import Contour

DIGIT, WIDEST_DIGIT = 0.774, 1.056
"""Advance of a bold figure in cap heights: in the face of a PDF (Adobe's metrics of Helvetica Bold, 556 of 718), and at
most in the faces of a browser (labels.py)."""

FRACTION = 0.62
"""Height of the figures of a fraction, in heights of the whole figures."""

AFTER, CLEAR, BAR, BEYOND = 0.22, 0.115, 0.06, 0.04
"""In heights of the whole figures: a fraction begins so far after the axis; bar and figures are so far apart; the bar
is so thick, and so much longer than the figures to each side."""

STACK = BAR / 2.0 + CLEAR + FRACTION - 0.5
"""How far a stack reaches above and below whole figures, in their heights."""

# 11/16 is no 1 and 1/16: a whole figure ends with a space, or before what is no part of a fraction.
_FIGURE = re.compile(
    r"(?P<sign>[-−]?)(?:(?P<whole>[0-9]+)(?: |(?![0-9/])))?(?:(?P<over>[0-9]+)/(?P<under>[0-9]+))?(?P<more>\+?)"
)


def is_stack(text: str) -> bool:
    """Whether a text is a figure that can stand on an axis: whole, fraction, or both, with or without "+"."""
    return bool(text) and _FIGURE.fullmatch(text) is not None


def reach_mm(text: str, height_mm: float) -> tuple[float, float]:
    """Return how far a figure reaches before its axis and after it, at most, in any face.

    Raises ValueError for a text that is no figure.
    """
    whole, over, under, more = _parts(text)
    after = AFTER * height_mm if over else 0.0
    if over:
        own, widest = (max(len(over), len(under)) * width * FRACTION * height_mm for width in (DIGIT, WIDEST_DIGIT))
        after += (own + widest) / 2.0
    after += WIDEST_DIGIT * 1.3 * FRACTION * height_mm if more else 0.0
    return len(whole) * WIDEST_DIGIT * height_mm, after


def unstacked(label: Label) -> Drawing:
    """Return a label whose anchor is "axis" as plain labels, and the bar of its fraction on a layer of its own.

    Raises ValueError for a text that is no figure.
    """
    whole, over, under, more = _parts(label.text)
    high, small = label.height_mm, FRACTION * label.height_mm
    at = replace(label, x_mm=0.0, y_mm=0.0, turn_deg=0.0)
    labels = [replace(at, text=whole, anchor="end")] if whole else []
    contours: list[tuple[Layer, Contour]] = []
    end = 0.0
    if over:
        figures = max(len(over), len(under))
        own, widest = figures * DIGIT * small, figures * WIDEST_DIGIT * small
        centre, middle = AFTER * high + own / 2.0, high / 2.0
        apart = (CLEAR + BAR / 2.0) * high
        labels += [
            replace(at, text=text, x_mm=centre, y_mm=y, height_mm=small, anchor="middle")
            for text, y in ((over, middle + apart), (under, middle - apart - small))
        ]
        half, thick = own / 2.0 + BEYOND * high, BAR * high / 2.0
        bar = [[-half, -thick], [half, -thick], [half, thick], [-half, thick]]
        colour = label.layer.colour
        ink = Layer(name=f"BAR{colour.lstrip('#')}", weight_mm=0.0, colour=colour, fill=colour)
        contours.append((ink, Contour.straight(bar, closed=True).moved(centre, middle)))
        end = centre + widest / 2.0
    if more:
        labels.append(replace(at, text="+", x_mm=end, y_mm=(high - small) / 2.0, height_mm=small, anchor="start"))
    drawn = Drawing(name=label.text, contours=tuple(contours), labels=tuple(labels))
    return drawn.turned(label.turn_deg).moved(label.x_mm, label.y_mm)


def set_out(drawing: Drawing) -> Drawing:
    """Return a drawing with its stacked figures as plain labels and bars."""
    stacks = [label for label in drawing.labels if label.anchor == "axis"]
    if not stacks:
        return drawing
    plain = replace(drawing, labels=tuple(label for label in drawing.labels if label.anchor != "axis"))
    return plain.joined(*map(unstacked, stacks))


def _parts(text: str) -> tuple[str, str, str, str]:
    match = _FIGURE.fullmatch(text)
    if match is None:
        raise ValueError(f"{text!r} is no figure that can be stacked")
    return match["sign"] + (match["whole"] or ""), match["over"] or "", match["under"] or "", match["more"]
