"""The rocker stick: the board's rocker as a curved edge, its back straight, with stations on both faces."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.curves.figures import SHOWN_DECIMALS, place, station_code
from bayloft.drawing.curves.stringer_curves import stringer_stations, text_reach_mm
from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.marks import line
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, DRILL, SCRIBE, Drawing, Layer
from bayloft.plane.biarcs import fitted
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.solid.measure import stringer_from_mm
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import both

Array = NDArray[np.float64]

STUFF_MM = 45.0
"""Least width of the stick, at the lowest rocker: stiff enough on edge in 6 mm plywood (common practice, no source)."""

TICK_MM, BACK_TICK_MM = 6.0, 3.0
CODE_MM = 7.5
"""From the end of a tick to the middle of the station scribed at it."""

HOLE_MM, HOLE_UP_MM = 3.2, 7.0
"""Holes through the stick, one at each station, by which it is marked on the other face as well; their height over the
back edge."""


def rocker_stick(draft: Draft, tag: Tag) -> Part:
    """Return the rocker stick at full size: x forward from the tail end, y up from the flat the board stands on.

    CUT: one closed contour, counter-clockwise: its upper edge the rocker, within ARC_FIT_MM: the bottom at the
    stringer, carried on under the rounding of a tip, where a stick would have nothing to stand on; its back straight
    and level, STUFF_MM below the flat, so that heights over it are rockers. SCRIBE: ticks at the stations, on both
    edges, and which they are; DRILL: a hole at each, which carries it to the other face. TEXT: station and rocker.
    """
    board, lines, body = draft.board, draft.lines, draft.body
    first, length = stringer_from_mm(body), board.length_mm

    def rocker(share: Array) -> tuple[Array, Array]:
        x = first + share * (length - first)
        return np.column_stack([x, lines.rocker.at(x)]), np.column_stack([np.ones_like(x), lines.rocker.at(x, 1)])

    edge = fitted([(rocker, 0.0, 1.0)], ARC_FIT_MM)
    tail, nose = (float(edge.points[i, 0]) for i in (0, -1))
    back = [edge.points[0], [tail, -STUFF_MM], [nose, -STUFF_MM], edge.points[-1]]
    cut = Contour.joined(Contour.straight(back, closed=False), edge.reversed(), closed=True)
    stations = stringer_stations(draft)
    heights = (np.round(lines.rocker.at(stations), SHOWN_DECIMALS) + 0.0).tolist()
    contours: list[tuple[Layer, Contour]] = [(CUT, cut)]
    notes = []
    for x, height in zip(stations, heights, strict=True):
        contours += [
            line(SCRIBE, (x, height), (x, height - TICK_MM)),
            line(SCRIBE, (x, -STUFF_MM), (x, BACK_TICK_MM - STUFF_MM)),
        ]
        contours.append((DRILL, Contour.circle((x, HOLE_UP_MM - STUFF_MM), HOLE_MM / 2)))
        where = place(board, x)
        texts = (*([] if where.endswith("tail") else [where]), f"{both(x)} from tail", f"{both(height)} rocker")
        near, within = (x, (height - STUFF_MM) / 2), text_reach_mm(stations, x)
        notes.append(Note(texts=texts, near_mm=near, within_mm=within, leader_mm=(x, -STUFF_MM)))
        code = x, height - TICK_MM - CODE_MM
        notes.append(Note(texts=(station_code(board, x),), near_mm=code, within_mm=within, scribed=True))
    middle = board.length_mm / 2
    notes += [Note(texts=(end,), near_mm=(x, 0.0)) for end, x in (("tail", tail), ("nose", nose))]
    # Far from the stations' texts, lest it be read with one of them.
    widest = max(range(1, len(stations)), key=lambda i: stations[i] - stations[i - 1])
    free = (stations[widest - 1] + stations[widest]) / 2, max(heights[widest - 1 : widest + 1])
    notes.append(Note(texts=("bottom of the board, at the stringer",), near_mm=free))
    notes.append(Note(texts=("straight back", f"{STUFF_MM:g} mm below the flat"), near_mm=(middle, -STUFF_MM)))
    drawing = Drawing(name=f"{board.slug}-rocker-stick", contours=tuple(contours))
    near_nose = 0.9 * board.length_mm, 0.0
    part = Part(drawing=drawing, title="rocker stick", number=tag.number, along_grain=True)
    return inscribed(part, tag.head("rocker stick", nose=True), notes, near_mm=near_nose, up=True)
