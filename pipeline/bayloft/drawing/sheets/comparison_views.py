"""The lines of two boards over one another: outline, rocker, foil and half sections."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.labels import spread, text_width_mm
from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.drawing.sheets.card import GREY, INK, LABEL_MM, MIDDLE_LINE, ROW_LINE, SECOND_LINE, Line, straight, text
from bayloft.plane.contour import Contour
from bayloft.solid.compared import ComparedShape, LongLines
from bayloft.solid.comparison import Comparison
from bayloft.solid.slicing import heights, reach
from bayloft.tape import change, station

Array = NDArray[np.float64]

A_LINE = Layer(name="LINE_A", weight_mm=0.35, dashes_mm=(1.8, 1.0), colour="#000000")
B_LINE = Layer(name="LINE_B", weight_mm=0.5, colour="#000000")

FIGURES_MM = 2.6
"""Height of the figures under the lines."""
ROW_MM = 4.6
"""From one row of figures to the next."""
SECTION_PLACES = 81
UNDER_MM = LABEL_MM + 6.4
"""Under a section: its caption, and the gap to the next."""
SECTION_SCALES = (2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0)


def section_stations_mm(held: Comparison) -> tuple[float, ...]:
    """Return the stations of A at which sections are drawn and differences told: the trade's near tail and nose, the
    centre, and half way.
    """
    length, off = held.a.length_mm, held.off_mm
    ends = (off, length - off) if length > 3.0 * off else (length / 6.0, 5.0 * length / 6.0)
    middle = length / 2.0
    return ends[0], (ends[0] + middle) / 2.0, middle, (middle + ends[1]) / 2.0, ends[1]


def reach_mm(held: Comparison) -> tuple[float, float]:
    """Return from where to where both reach along, mm from A's tail end."""
    return min(0.0, held.shift_mm), max(held.a.length_mm, held.shift_mm + held.b.length_mm)


def outline_view(held: Comparison, scale: float) -> Drawing:
    """Return both outlines, A's tail at x = 0 and the stringer on y = 0, with the widths' differences below."""
    contours: list[Line] = []
    for layer, shape, shift in _both(held):
        contours += [(layer, line.moved(shift / scale, 0.0)) for line in outlines(shape.lines, scale)]
    left, right = (end / scale for end in reach_mm(held))
    contours.append(straight(MIDDLE_LINE, (left, 0.0), (right, 0.0)))
    widths = [shape.widths_mm for shape in _at_stations(held)]
    return _with_figures(held, Drawing(name="outline", contours=tuple(contours)), scale, widths[0], widths[1])


def rocker_view(held: Comparison, scale: float, times: float) -> Drawing:
    """Return the bottoms at the stringer over the flat at y = 0, heights `times` as large, with their differences."""
    contours: list[Line] = []
    for layer, shape, shift in _both(held):
        lines = shape.lines
        contours += _along(layer, lines.x_mm + shift, lines.bottom_mm * times, scale)
    left, right = (end / scale for end in reach_mm(held))
    contours.append(straight(SECOND_LINE, (left, 0.0), (right, 0.0)))
    a, b = (lines.bottom_mm for lines in _at_stations(held))
    return _with_figures(held, Drawing(name="rocker", contours=tuple(contours)), scale, a, b)


def foil_view(held: Comparison, scale: float, times: float) -> Drawing:
    """Return the thicknesses at the stringer over a straight line, `times` as large, with their differences."""
    contours: list[Line] = []
    for layer, shape, shift in _both(held):
        lines = shape.lines
        contours += _along(layer, lines.x_mm + shift, (lines.deck_mm - lines.bottom_mm) * times, scale)
    left, right = (end / scale for end in reach_mm(held))
    contours.append(straight(SECOND_LINE, (left, 0.0), (right, 0.0)))
    a, b = (lines.deck_mm - lines.bottom_mm for lines in _at_stations(held))
    return _with_figures(held, Drawing(name="foil", contours=tuple(contours)), scale, a, b)


def section_views(held: Comparison, room_mm: tuple[float, float], gap_mm: float) -> tuple[Drawing, float]:
    """Return the port half sections of both in rows of cells, hanging from (0, 0), at the largest scale that the room
    has, however many stand side by side; and that scale.
    """
    cells = [
        (x, [_half_section(shape, x - shift) for _, shape, shift in _both(held)]) for x in section_stations_mm(held)
    ]
    tall = max((float(np.ptp(np.concatenate(both)[:, 1])) for _, both in cells if all(map(len, both))), default=1.0)
    wide = max((float(half[:, 0].max()) for _, both in cells for half in both if len(half)), default=1.0)

    def fits(scale: float, columns: int) -> bool:
        across = wide / scale * columns + gap_mm * (columns - 1)
        return across <= room_mm[0] and -(-len(cells) // columns) * (tall / scale + UNDER_MM) <= room_mm[1]

    scale, columns = next(
        ((s, n) for s in SECTION_SCALES for n in (1, 2, 3) if fits(s, n)), (SECTION_SCALES[-1], len(cells))
    )
    cell = (room_mm[0] - gap_mm * (columns - 1)) / columns
    drawn = Drawing(name="sections")
    for n, (x, both) in enumerate(cells):
        left, top = (n % columns) * (cell + gap_mm), -(n // columns) * (tall / scale + UNDER_MM)
        low = min((float(half[:, 1].min()) for half in both if len(half)), default=0.0)
        foot = top - tall / scale
        contours: list[Line] = [
            (layer, Contour.straight((half - [0.0, low]) / scale, closed=False).moved(left, foot))
            for (layer, _, _), half in zip(_both(held), both, strict=True)
            if len(half) > 1
        ]
        contours.append(straight(MIDDLE_LINE, (left, foot - 1.0), (left, top + 1.0)))
        said = f"{station(x, metric=held.metric)} from tail"
        label = text(said, left, foot - LABEL_MM - 1.8, LABEL_MM, GREY)
        drawn = drawn.joined(Drawing(name="section", contours=tuple(contours), labels=(label,)))
    return drawn, scale


def outlines(lines: LongLines, scale: float) -> list[Contour]:
    """Return the outline of a shape from its own tail end: closed, and of a notched tail with the notch."""
    x = lines.x_mm
    port, starboard = lines.port_mm, lines.starboard_mm
    there = np.isfinite(port).all(axis=1) & np.isfinite(starboard).all(axis=1)
    if there.sum() < 2:
        return []
    x, port, starboard = x[there], port[there], starboard[there]
    parts = [np.column_stack([x, port[:, 1]]), np.column_stack([x, -starboard[:, 1]])[::-1]]
    notch = (port[:, 0] > 0.0) & (starboard[:, 0] > 0.0) & (x < x[-1] / 2.0)
    if notch.any():
        last = int(np.flatnonzero(notch).max())
        parts.append(np.column_stack([x, -starboard[:, 0]])[: last + 1])
        parts.append(np.column_stack([x, port[:, 0]])[: last + 1][::-1])
    return [Contour.straight(np.concatenate(parts) / scale, closed=True)]


def _both(held: Comparison) -> tuple[tuple[Layer, ComparedShape, float], tuple[Layer, ComparedShape, float]]:
    """Return A and B with their lines' layers, and how far each is moved along."""
    return (A_LINE, held.a, 0.0), (B_LINE, held.b, held.shift_mm)


def _at_stations(held: Comparison) -> tuple[LongLines, LongLines]:
    at = np.array(section_stations_mm(held))
    return held.a.lines_at(at), held.b.lines_at(at - held.shift_mm)


def _along(layer: Layer, x: Array, heights_mm: Array, scale: float) -> list[Line]:
    there = np.isfinite(heights_mm)
    if there.sum() < 2:
        return []
    points = np.column_stack([x[there], heights_mm[there]]) / scale
    return [(layer, Contour.straight(points, closed=False))]


def _with_figures(held: Comparison, drawn: Drawing, scale: float, a: Array, b: Array) -> Drawing:
    """Return a view with a tick at each station and by how much B differs there, in a row below it."""
    _, low, _, high = drawn.bounds
    y = low - 1.6 - FIGURES_MM
    x = [at / scale for at in section_stations_mm(held)]
    said = [
        change(one, other, metric=held.metric) if np.isfinite([one, other]).all() else "–"
        for one, other in zip(a.tolist(), b.tolist(), strict=True)
    ]
    left, right = (end / scale for end in reach_mm(held))
    middles = spread(x, [text_width_mm(each, FIGURES_MM) for each in said], left, right, 1.0)
    ticks = tuple(straight(ROW_LINE, (at, low - 1.0), (at, high + 1.0)) for at in x)
    labels = tuple(
        Label(text=each, x_mm=float(middle), y_mm=y, height_mm=FIGURES_MM, anchor="middle", layer=INK)
        for each, middle in zip(said, middles, strict=True)
    )
    return Drawing(name=drawn.name, contours=(*ticks, *drawn.contours), labels=labels)


def _half_section(shape: ComparedShape, x_mm: float) -> Array:
    """Return the port half of a section (n, 2) as (y, z), from the bottom at the stringer round to the deck; empty
    where there is none.
    """
    cut = shape.slices.at(x_mm)
    first, last = reach(cut, 1.0)
    if not np.isfinite(last):
        return np.zeros((0, 2))
    turn = np.sin(np.linspace(0.0, np.pi / 2.0, SECTION_PLACES))
    y = first + (last - first) * np.clip(turn, 1e-6, 1.0 - 1e-6)
    low, high = heights(cut, y)
    half = np.concatenate([np.column_stack([y, low]), np.column_stack([y, high])[::-1]])
    return np.asarray(half[np.isfinite(half).all(axis=1)], dtype=np.float64)
