"""The profile of a board on its sheet: stringer and rail line from the side, thickness and rocker as flags."""

from __future__ import annotations

import numpy as np

from bayloft.drawing.curves.figures import Figures
from bayloft.drawing.dimensions import ARROW_MM, SHELF_MM, leader, upright
from bayloft.drawing.flags import DEPTH_MM, Flag, flagged
from bayloft.drawing.labels import dotted, free_place, text_width_mm
from bayloft.drawing.sheet import DIMENSION, FOAM, THIN, Drawing
from bayloft.drawing.sheets.plan_view import FAR_MM, NOTE_CAPS_MM, caption
from bayloft.plane.contour import Contour

BETWEEN_MM = 1.5
"""Between the flags and the profile."""

KNEE_MM = 3.0
"""How far ahead of its tip the rail note's leader bends."""

ROOM_MM = 2 * (DEPTH_MM + BETWEEN_MM)


def profile_height_mm(shown: Figures, scale: float) -> float:
    """Return the height of the profile with its flags on the sheet."""
    return ROOM_MM + shown.greatest_height_mm / scale


def profile_view(shown: Figures, scale: float, between_mm: tuple[float, float]) -> Drawing:
    """Return the profile at 1 : `scale`, tail end at x = 0, nose to the right, its lowest text at y = 0."""
    flat, top = DEPTH_MM + BETWEEN_MM, profile_height_mm(shown, scale)
    side, rail = (line.scaled(1.0 / scale).moved(0.0, flat) for line in (shown.side, shown.rail))
    thick, high, dimensions = [], [], []
    for station in shown.thicknesses:
        if station.thickness_mm is None:
            continue
        x, bottom = station.x_mm / scale, flat + station.rocker_mm / scale
        deck = bottom + station.thickness_mm / scale
        thick.append(Flag(x_mm=x, tip_mm=deck, where=station.where, value_mm=station.thickness_mm, rank=1))
        dimensions.append(upright(x, (bottom, deck)))
    for station in shown.heights:
        x, bottom = station.x_mm / scale, flat + station.rocker_mm / scale
        end = station.where in ("tail end", "nose tip")
        high.append(Flag(x_mm=x, tip_mm=flat, where=station.where, value_mm=station.rocker_mm, rank=0 if end else 1))
        if bottom - flat > 2.5 * ARROW_MM[0]:
            dimensions.append(upright(x, (flat, bottom)))
        else:
            dimensions.append(_plain(x, flat, bottom))
    note = _rail_note(side, rail, [flag.x_mm for flag in thick], top - DEPTH_MM)
    name, after = caption("PROFILE", "thickness, rocker", between_mm[0], top)
    ground = Contour.straight([[between_mm[0], flat], [between_mm[1], flat]], closed=False)
    return Drawing(name="profile", contours=((FOAM, side), (THIN, rail), (THIN, ground))).joined(
        name,
        flagged(thick, top - DEPTH_MM, between_mm=(after + 2.0, between_mm[1]), above=True),
        flagged(high, DEPTH_MM, between_mm=between_mm, above=False),
        *dimensions,
        *note,
    )


def _plain(x_mm: float, low_mm: float, high_mm: float) -> Drawing:
    line = Contour.straight(np.array([[x_mm, low_mm], [x_mm, high_mm]]), closed=False)
    return Drawing(name="dimension", contours=((DIMENSION, line),) if high_mm - low_mm > 0.05 else ())


def _rail_note(side: Contour, rail: Contour, lines_x_mm: list[float], top_mm: float) -> list[Drawing]:
    """Return a leader that names the rail line, over the deck where no flag's leader passes; none where none fits."""
    text, rise = "rail apex", 4.0
    size = text_width_mm(text, NOTE_CAPS_MM), 1.4 * NOTE_CAPS_MM
    length, deck = rail.bounds[2], dotted(side, 1.0)
    along = np.linspace(0.55, 0.9, 36) * length
    ends = along + KNEE_MM + ARROW_MM[0] + SHELF_MM
    near = (deck[:, 0] > along[:, None]) & (deck[:, 0] < ends[:, None] + size[0])
    over = np.where(near, deck[:, 1], 0.0).max(axis=1) + rise
    taken = [(x - 1.0, -FAR_MM, x + 1.0, FAR_MM) for x in lines_x_mm]
    # The box is taken from the tip on, so that no flag's leader crosses this one.
    whole = ends[0] - along[0] + size[0], size[1]
    spot = free_place(whole, np.column_stack([along, over]), taken, lambda boxes: boxes[:, 3] < top_mm)
    if spot is None:
        return []
    tip = spot[0], float(np.interp(spot[0], *rail.points.T))
    knee = spot[0] + KNEE_MM, spot[1] + size[1] / 2
    return [leader(tip, knee, text, height_mm=NOTE_CAPS_MM)]
