"""The sheet of a lifted board: what was read off it, on the lines that were drawn through it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

import numpy as np

from bayloft.drawing.labels import shortened, spread, text_width_mm
from bayloft.drawing.sheet import DIMENSION, FAINT, FRAME, LETTERING, QUIET, THIN, VISIBLE, Drawing, Label, Layer
from bayloft.lines.board import BoardLines
from bayloft.plane.contour import Contour
from bayloft.units import both


class ReadMark(NamedTuple):
    """A reading: of what, its station, as read and as drawn, and what it may be off to either side; lengths in mm."""

    what: str
    x_mm: float
    read_mm: float
    drawn_mm: float
    play_mm: float


PAGE_MM, MARGIN_MM = (420.0, 297.0), 14.0
NAME_CAPS_MM, CAPS_MM, SMALL_CAPS_MM = 4.5, 2.2, 1.7
CROSS_MM = 1.6
VIEW_MM, OFF_MM = 42.0, 15.0
"""Height of a line's view, and of the strip below it that shows how far off each reading is."""
GAP_MM, HEAD_MM = 17.0, 16.0
PLACES = 241
READ_LINES = ("width", "rocker", "thickness")
"""What the sheet has a view for."""


def readings_sheet(name: str, lines: BoardLines, readings: Sequence[ReadMark]) -> Drawing:
    """Return the sheet, A3: half-outline, rocker and thickness, heights of the two latter enlarged; below each how far
    off every reading the line is, against the play of the reading.
    """
    inner = PAGE_MM[0] - 2 * MARGIN_MM
    scale = inner / lines.length_mm
    views: tuple[tuple[str, str, Callable[[np.ndarray], np.ndarray], float], ...] = (
        ("width", "half-outline", lines.outline.at, 0.5),
        ("rocker", "rocker", lines.rocker.at, 1.0),
        ("thickness", "thickness", lines.foil.at, 1.0),
    )
    top = PAGE_MM[1] - 2 * MARGIN_MM - HEAD_MM
    count = len(readings)
    plays = sorted({mark.play_mm for mark in readings})
    within = f"within {plays[0]:.3g} mm of each" if len(plays) == 1 else f"within {plays[0]:.3g} to {plays[-1]:.3g} mm"
    said = f"{count} readings, lines {within}; tail at the left, {both(lines.length_mm)} long"
    heading = shortened(f"{name}: readings and lines", NAME_CAPS_MM, inner, bold=True)
    labels = (
        Label(text=heading, x_mm=0.0, y_mm=top + 8.0, height_mm=NAME_CAPS_MM, layer=LETTERING, bold=True),
        Label(text=said, x_mm=0.0, y_mm=top + 3.0, height_mm=CAPS_MM, layer=QUIET),
    )
    frame = (FRAME, Contour.straight([[0.0, top], [inner, top]], closed=False))
    sheet = Drawing(name="readings", contours=(frame,), labels=labels, page_mm=PAGE_MM)
    for kind, caption, curve, share in views:
        marks = sorted((mark for mark in readings if mark.what == kind), key=lambda mark: mark.x_mm)
        top -= VIEW_MM + OFF_MM + GAP_MM
        sheet = sheet.joined(_view(caption, curve, marks, share, scale, lines.length_mm).moved(0.0, top))
    return sheet.moved(MARGIN_MM, MARGIN_MM)


def _view(
    caption: str,
    curve: Callable[[np.ndarray], np.ndarray],
    marks: Sequence[ReadMark],
    share: float,
    scale: float,
    length_mm: float,
) -> Drawing:
    """Return one line with its readings over the strip of what it is off them, from (0, 0) upward."""
    inner = length_mm * scale
    # Crowded towards the ends, where an outline turns quickly.
    x = length_mm * (1.0 - np.cos(np.linspace(0.0, np.pi, PLACES))) / 2.0
    y = curve(x)
    high = max([float(y.max()), *(mark.read_mm * share for mark in marks)])
    rise = VIEW_MM / high
    base = OFF_MM + 4.0
    middle = OFF_MM / 2.0
    contours: list[tuple[Layer, Contour]] = [
        (THIN, _line(0.0, base, inner, base)),
        (VISIBLE, Contour.straight(np.column_stack([x * scale, base + y * rise]), closed=False)),
        (THIN, _line(0.0, middle, inner, middle)),
        *((FAINT, _line(0.0, middle + side, inner, middle + side)) for side in (-middle + 2.0, middle - 2.0)),
    ]
    labels = [
        Label(
            text=f"{caption}, heights {rise / scale:.1f} times as large as lengths",
            x_mm=0.0,
            y_mm=base + VIEW_MM + 3.0,
            height_mm=CAPS_MM,
            layer=LETTERING,
        ),
        Label(
            text="below: drawn less read, mm; between the lines is what each may be off to either side",
            x_mm=inner,
            y_mm=base + VIEW_MM + 3.0,
            height_mm=SMALL_CAPS_MM,
            anchor="end",
            layer=QUIET,
        ),
    ]
    said = [f"{round(mark.drawn_mm - mark.read_mm, 1) + 0.0:+.1f}" for mark in marks]
    widths = [text_width_mm(text, SMALL_CAPS_MM) for text in said]
    under = spread([mark.x_mm * scale for mark in marks], widths, 0.0, inner, 1.0)
    for (_, at, read, drawn, play_mm), text, middle_of in zip(marks, said, under.tolist(), strict=True):
        across, up = at * scale, base + read * share * rise
        contours += [
            (DIMENSION, _line(across - CROSS_MM, up, across + CROSS_MM, up)),
            (DIMENSION, _line(across, up - CROSS_MM, across, up + CROSS_MM)),
            (VISIBLE, _line(across, middle, across, middle + (drawn - read) / play_mm * (middle - 2.0))),
        ]
        labels.append(
            Label(text=text, x_mm=middle_of, y_mm=-2.2, height_mm=SMALL_CAPS_MM, anchor="middle", layer=QUIET)
        )
    return Drawing(name=caption, contours=tuple(contours), labels=tuple(labels))


def _line(x0: float, y0: float, x1: float, y1: float) -> Contour:
    return Contour.straight([[x0, y0], [x1, y1 if abs(y1 - y0) + abs(x1 - x0) > 1e-6 else y1 + 1e-3]], closed=False)
