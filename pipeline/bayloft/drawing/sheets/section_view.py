"""Sections of a board on its sheet, both halves, looking forward: each in a cell of its own."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bayloft.drawing.curves.figures import Figures, Station
from bayloft.drawing.dimensions import horizontal, upright
from bayloft.drawing.labels import text_width_mm
from bayloft.drawing.sheet import CENTRE, CUT_FACE, LETTERING, QUIET, THIN, Drawing, Label
from bayloft.plane.contour import Contour
from bayloft.tape import along
from bayloft.units import both

CAPTION_CAPS_MM, CAPS_MM, SMALL_CAPS_MM = 2.5, 2.2, 1.8
BELOW_MM, ABOVE_MM = 6.6, 6.6
"""Room below a section for its width, and above it for its heading and the centre line's end."""

WIDTH_ROW_MM = 1.5
STUB_MM = 1.6
BESIDE_MM = 6.0
"""Least distance between neighbouring sections."""

LEAST_DIMENSION_MM = 5.0
"""Thickness on paper that holds two arrowheads and its figure beside them; below it the heading tells the thickness."""

LEAST_CELL_MM = 62.0
"""Width that holds a heading and the figure of the width."""

ROOM_MM = (BESIDE_MM, BELOW_MM + ABOVE_MM)


def section_view(shown: Figures, scale: float, columns: int, size_mm: tuple[float, float]) -> Drawing:
    """Return the sections at 1 : `scale` in rows from the upper left, tail first, their caption over them.

    They are spread over a rectangle of `size_mm` from (0, 0).
    """
    rows = -(-len(shown.sections) // columns)
    wide, high = size_mm[0] / columns, size_mm[1] / rows
    cell_height = shown.section_size_mm[1] / scale + ROOM_MM[1]
    y = size_mm[1] + 1.2
    title = Label(text="SECTIONS", x_mm=0.0, y_mm=y, height_mm=CAPTION_CAPS_MM, layer=LETTERING, bold=True)
    after = text_width_mm(title.text, CAPTION_CAPS_MM, bold=True) + 2.0
    note = Label(text="looking forward", x_mm=after, y_mm=y, height_mm=SMALL_CAPS_MM, layer=QUIET)
    view = Drawing(name="sections", labels=(title, note))
    for i, (station, section) in enumerate(zip(shown.section_stations, shown.sections, strict=True)):
        row, column = divmod(i, columns)
        x, y = (column + 0.5) * wide, size_mm[1] - (row + 0.5) * high - cell_height / 2
        view = view.joined(_cell(station, section, scale, shown).moved(x, y))
    return view


def _cell(station: Station, section: tuple[Contour, ...], scale: float, shown: Figures) -> Drawing:
    """Return one section with its centre line at x = 0 and its cell's lower edge at y = 0."""
    room_mm = shown.section_size_mm[1] / scale
    low = min(contour.bounds[1] for contour in section)
    high, half = max(contour.bounds[3] for contour in section), max(contour.bounds[2] for contour in section) / scale
    spare = (room_mm - (high - low) / scale) / 2
    shift = BELOW_MM + spare - low / scale
    shapes = tuple((CUT_FACE, contour.scaled(1.0 / scale).moved(0.0, shift)) for contour in section)
    bottom, top = BELOW_MM + spare, BELOW_MM + spare + (high - low) / scale
    stubs = tuple(
        (CENTRE, Contour.straight([[0.0, a], [0.0, b]], closed=False))
        for a, b in ((bottom - STUB_MM, bottom), (top, top + STUB_MM))
    )
    drawn = Drawing(name="section", contours=shapes + stubs)
    fragments, title, notes = [], station.where, [f"{along(station.x_mm, metric=shown.board.metric)} from tail"]
    if title == notes[0]:
        # A title in mm has told it.
        notes = [] if shown.board.metric else [f"{station.x_mm:.1f} mm"]
    if station.width_mm is not None:
        edge = section[0].points[np.argmax(np.abs(section[0].points[:, 0]))]
        apex = float(edge[1]) / scale + shift
        row = bottom - BELOW_MM + WIDTH_ROW_MM
        fragments.append(horizontal((-half, half), row, both(station.width_mm), from_y_mm=(apex, apex)))
    if station.thickness_mm is not None:
        ends = station.rocker_mm / scale + shift, (station.rocker_mm + station.thickness_mm) / scale + shift
        thick = ends[1] - ends[0] >= LEAST_DIMENSION_MM
        beside = 1.4
        if shown.board.stringer is not None:
            half_mm = shown.board.stringer.thickness_mm / 2.0 / scale
            beside = max(beside, half_mm + 0.8)
            edges = (Contour.straight([[x, y] for y in ends], closed=False) for x in (-half_mm, half_mm))
            fragments.append(Drawing(name="stringer", contours=tuple((THIN, edge) for edge in edges)))
        fragments += [upright(0.0, ends)] if thick else []
        figure = Label(
            text=both(station.thickness_mm), x_mm=beside, y_mm=sum(ends) / 2 - CAPS_MM / 2, height_mm=CAPS_MM
        )
        if thick and text_width_mm(figure.text, CAPS_MM) + 1.6 + beside < half:
            fragments.append(Drawing(name="figure", labels=(replace(figure, layer=LETTERING),)))
        else:
            notes.append(f"{along(station.thickness_mm, metric=shown.board.metric)} thick")
    heading = _heading(title, ", ".join(notes), BELOW_MM + room_mm + ABOVE_MM - 4.0)
    return drawn.joined(*fragments, Drawing(name="heading", labels=heading))


def _heading(title: str, note: str, y: float) -> tuple[Label, ...]:
    """Return a heading and its note side by side, centred."""
    first, second = text_width_mm(title, CAPS_MM, bold=True), text_width_mm(note, SMALL_CAPS_MM)
    left = -(first + 2.0 + second) / 2
    return (
        Label(text=title, x_mm=left, y_mm=y, height_mm=CAPS_MM, layer=LETTERING, bold=True),
        Label(text=note, x_mm=left + first + 2.0, y_mm=y, height_mm=SMALL_CAPS_MM, layer=QUIET),
    )
