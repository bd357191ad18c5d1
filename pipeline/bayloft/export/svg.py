"""SVG in millimetres: for laser cutters, for print, and for the drawing sheet."""

from __future__ import annotations

import math
from dataclasses import replace
from io import StringIO
from pathlib import Path
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import NOISE_DECIMALS
from bayloft.drawing.sheet import DRILL, SCRIBE, Drawing, Label, Layer
from bayloft.drawing.stacked import set_out
from bayloft.drawing.strokes import struck
from bayloft.export.lettering import identifier, single_line
from bayloft.export.preflight import ExportError, cutting_problems, drawing_problems
from bayloft.plane.contour import Contour
from bayloft.tolerances import SVG_DECIMALS

if TYPE_CHECKING:
    import svgwrite

Array = NDArray[np.float64]
Style = Literal["cut", "print", "sheet"]

CUT_WEIGHT_MM = 0.02
"""A hairline: laser programs cut lines below some 0.025 mm and engrave thicker ones (common practice, no source)."""

CUT_COLOUR, DRILL_COLOUR, SCRIBE_COLOUR, MARK_COLOUR = "#ff0000", "#0000ff", "#008000", "#000000"
"""Of the cut style: laser and vinyl programs tell operations apart by plain colours (common practice, no source)."""

PRINT_WEIGHT_MM = 0.25
"""A line that every printer shows and a pencil covers (common practice, no source)."""

MARGIN_MM = 5.0
"""Round a drawing that has no page of its own (no source: what most printers leave white)."""

FONTS = "Helvetica Neue, Helvetica, Arial, Liberation Sans, DejaVu Sans, sans-serif"
"""System fonts: nothing is embedded (common practice, no source: one of them is on every system, from memory)."""

CAP_HEIGHT_EM = 0.72
"""Height of a capital of these fonts, in sizes of the font (common practice, no source)."""

LETTER_WIDTH_EM = 0.6
"""Roughly the mean width of a letter of these fonts: it only decides how far a page without a size reaches (from
memory, no source)."""

RADIUS_FIGURES = 7
"""Significant figures of an arc's radius: the last moves a sagitta by a millionth of itself."""

_LARGEST_SWEEP_DEG = 90.0
"""Longer arcs are divided: the centre of a half turn is lost in the rounding of its ends and radius."""


def write(drawing: Drawing, path: Path, *, style: Style) -> None:
    """Write `content` to a file. Raises ExportError as that does, OSError where the file cannot be written."""
    path.write_bytes(content(drawing, style=style))


def content(drawing: Drawing, *, style: Style) -> bytes:
    """Return a drawing at full size, one group per layer with the layer's name as id and "cuts" or "marks" as class.

    `cut` is what a tool follows: every line a whole hairline, in one colour per operation, no fill and no text, which
    a machine's program would fill or drop; marks come first and the cuts that free the part last, small ones before
    those round them. `print` has all lines of one weight, with dashes; `sheet` has the layer's own weight, dashes and
    fill. Labels on SCRIBE are single strokes in all. A drawing without a page gets its contours and, roughly, its
    labels with `MARGIN_MM` round them. Arcs stay arcs. Same drawing, same bytes.

    Raises ExportError for what must not be drawn, and in the cut style for what must not be cut; see preflight.py.
    """
    drawing = set_out(struck(drawing))
    problems = [*drawing_problems(drawing)]
    if style == "cut" and not problems:
        drawing = _for_the_tool(drawing)
        problems += [] if drawing.contours else ["there is nothing to cut or mark"]
        contours = [(identifier(layer.name), contour) for layer, contour in drawing.contours]
        problems += cutting_problems(drawing, contours)
    if problems:
        raise ExportError(drawing.name, tuple(problems))
    text = StringIO(newline="\n")
    _document(drawing, style).write(text)
    return f"{text.getvalue()}\n".encode()


def _document(drawing: Drawing, style: Style) -> svgwrite.Drawing:
    # Without debug=False the library checks every attribute, which is slow and lets "nan" pass all the same: what it is
    # given here is text, and _number makes all numbers.
    import svgwrite  # noqa: PLC0415

    left, bottom, right, top = _page(drawing)
    width, height = _number(right - left), _number(top - bottom)
    document = svgwrite.Drawing(
        size=(f"{width}mm", f"{height}mm"), viewBox=f"0 0 {width} {height}", font_family=FONTS, debug=False
    )
    document.set_desc(title=single_line(drawing.name))
    for layer in drawing.layers:
        group = document.add(document.g(**_stroke(layer, style)))
        for on, contour in drawing.contours:
            if on == layer:
                group.add(document.path(d=_path(contour, left, top)))
        for label in drawing.labels:
            if label.layer == layer:
                group.add(_text(document, label, left, top))
    return document


def _for_the_tool(drawing: Drawing) -> Drawing:
    """Return a drawing's contours alone, in the order in which to cut them."""

    def when(drawn: tuple[Layer, Contour]) -> tuple[bool, float]:
        layer, contour = drawn
        return layer.cuts, abs(contour.area_mm2) if layer.cuts and contour.closed else 0.0

    return replace(drawing, contours=tuple(sorted(drawing.contours, key=when)), labels=())


def _page(drawing: Drawing) -> tuple[float, float, float, float]:
    """Return least x, least y, greatest x, greatest y of the page in mm."""
    if drawing.page_mm is not None:
        return 0.0, 0.0, *drawing.page_mm
    corners = [_corners(label) for label in drawing.labels]
    if drawing.contours:
        corners.append(np.reshape(drawing.bounds, (2, 2)))
    (left, bottom), (right, top) = (limit(np.concatenate(corners), axis=0).tolist() for limit in (np.min, np.max))
    return left - MARGIN_MM, bottom - MARGIN_MM, right + MARGIN_MM, top + MARGIN_MM


def _corners(label: Label) -> Array:
    """Return roughly the corners (4, 2) of a label in mm: nothing here knows a font."""
    size_mm = label.height_mm / CAP_HEIGHT_EM
    width_mm = LETTER_WIDTH_EM * size_mm * len(single_line(label.text))
    start = {"start": 0.0, "middle": -width_mm / 2, "end": -width_mm}[label.anchor]
    below, above = label.height_mm - size_mm, label.height_mm
    box = Contour.straight(
        [[start, below], [start + width_mm, below], [start + width_mm, above], [start, above]], closed=True
    )
    return box.turned(label.turn_deg).moved(label.x_mm, label.y_mm).points


def _stroke(layer: Layer, style: Style) -> dict[str, str]:
    weight_mm = {"cut": CUT_WEIGHT_MM, "print": PRINT_WEIGHT_MM, "sheet": layer.weight_mm}[style]
    stroke = {
        "id": identifier(layer.name),
        "class_": "cuts" if layer.cuts else "marks",
        "fill": layer.fill if style == "sheet" and layer.fill else "none",
        "stroke": _operation_colour(layer) if style == "cut" else layer.colour,
        "stroke_width": _number(weight_mm),
        "stroke_linejoin": "round",
    }
    if layer.dashes_mm and style != "cut":
        stroke["stroke_dasharray"] = " ".join(_number(length) for length in layer.dashes_mm)
    return stroke


def _operation_colour(layer: Layer) -> str:
    if layer.cuts:
        return CUT_COLOUR
    return {DRILL: DRILL_COLOUR, SCRIBE: SCRIBE_COLOUR}.get(layer, MARK_COLOUR)


def _path(contour: Contour, left: float, top: float) -> str:
    """Return path data with y downward: a line or an arc of a quarter turn at most per segment."""
    parts = contour.divided(_LARGEST_SWEEP_DEG)
    places = [f"{_number(x)} {_number(y)}" for x, y in (parts.points * (1, -1) + (-left, top)).tolist()]
    segments = parts.segments
    figures = segments.bulges.tolist(), segments.sagittas_mm.tolist(), segments.radii_mm.tolist()
    ends = places[1:] + places[:1] if contour.closed else places[1:]
    data = [f"M{places[0]}"]
    for end, bulge, sagitta_mm, radius_mm in zip(ends, *figures, strict=True):
        if sagitta_mm < 10.0**-SVG_DECIMALS / 2:
            # The sagitta would vanish in the decimals, and the radius be more than a renderer takes.
            data.append(f"L{end}")
        else:
            # A flat arc's radius is long, and few of its digits are true.
            radius = _number(float(f"{radius_mm:.{RADIUS_FIGURES}g}"))
            # Counter-clockwise with y upward: the sense that SVG, with y downward, calls negative and flags 0.
            data.append(f"A{radius} {radius} 0 0 {int(bulge < 0)} {end}")
    return " ".join([*data, "Z"] if contour.closed else data)


def _text(document: svgwrite.Drawing, label: Label, left: float, top: float) -> svgwrite.text.Text:
    x, y = _number(label.x_mm - left), _number(top - label.y_mm)
    attributes = {"font_size": _number(label.height_mm / CAP_HEIGHT_EM), "fill": label.layer.colour, "stroke": "none"}
    if label.anchor != "start":
        attributes["text_anchor"] = label.anchor
    if label.bold:
        attributes["font_weight"] = "bold"
    if label.turn_deg:
        attributes["transform"] = f"rotate({_number(-label.turn_deg)} {x} {y})"
    return document.text(single_line(label.text), x=[x], y=[y], **attributes)


def _number(value: float) -> str:
    """Return a number with fixed decimals, never a negative zero. Raises ValueError for one that is not finite."""
    if not math.isfinite(value):
        raise ValueError(f"{value} cannot be drawn")
    # As arithmetic.rounded does, which takes ten times as long for a single number.
    return f"{round(round(value, NOISE_DECIMALS), SVG_DECIMALS) + 0.0:.{SVG_DECIMALS}f}"
