"""The thickness card: go-gauges for the thicknesses at the stringer, one slot for each given station."""

from __future__ import annotations

import numpy as np

from bayloft.drawing.curves.figures import place, station_code
from bayloft.drawing.curves.marked_stations import marked_stations
from bayloft.drawing.curves.stringer_curves import stringer_heights
from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.marks import check_line
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, Drawing
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.solid.measure import stringer_from_mm
from bayloft.spec.boards.board import Board
from bayloft.units import feet_inches

SLOT_MM, LAND_MM, BACK_MM = 40.0, 16.0, 96.0
"""Depth of a slot, the stuff between two, and the back that holds their texts and the card's (common practice, no
source)."""

CODE_MM, TEXT_MM = 10.0, 14.0
"""From a slot's end to the middle of its station, scribed below it, and from there to that of its text."""

CHECK_AT_MM = 6.0, 5.0
"""Where the check line begins, from the lower left corner."""

ROUND_MM = 3.5
"""Radius in a slot's inner corners: a cutter of 1/4 in goes round it, and what is gauged need not reach it."""

MOST_SLOTS = 8
"""Slots of one card. A maker who gave more thicknesses than that gets more cards."""


def thickness_cards(draft: Draft, tag: Tag) -> tuple[Part, ...]:
    """Return the cards at full size, slots upward, tail to the left; the first has the tag's number, others follow it.

    CUT: one closed contour, counter-clockwise; each slot is as wide as the board is thick at its station, square to the
    flat: the stringer goes in, callipers are set to it. TEXT: station and thickness.
    """
    board, body = draft.board, draft.body
    stations = sorted(marked_stations([board.thickest.x_mm], board.thicknesses))
    stations = [x for x in stations if stringer_from_mm(body) < x < board.length_mm]
    _, thick = stringer_heights(body, stations)
    slots = [*zip(stations, thick, strict=True)]
    cards = [tuple(slots[i : i + MOST_SLOTS]) for i in range(0, len(slots), MOST_SLOTS)]
    return tuple(_card(board, slots, tag.onward(i)) for i, slots in enumerate(cards))


def _card(board: Board, slots: tuple[tuple[float, float], ...], tag: Tag) -> Part:
    """Return the card of stations with their thicknesses."""
    quarter, top, left = float(np.tan(np.pi / 8)), BACK_MM + SLOT_MM, LAND_MM
    rows, notes = [], []
    for x, wide in slots:
        right = left + wide
        rows += [(left, top, 0.0), (left, BACK_MM + ROUND_MM, quarter), (left + ROUND_MM, BACK_MM, 0.0)]
        rows += [(right - ROUND_MM, BACK_MM, quarter), (right, BACK_MM + ROUND_MM, 0.0), (right, top, 0.0)]
        middle, own = left + wide / 2, (wide + LAND_MM) / 2
        code, under = (middle, BACK_MM - CODE_MM), (middle, BACK_MM - CODE_MM - TEXT_MM)
        notes.append(Note(texts=(station_code(board, x),), near_mm=code, within_mm=own / 2, scribed=True))
        texts = (place(board, x), f"{feet_inches(wide)}, {wide:.1f} mm")
        notes.append(Note(texts=texts, near_mm=under, within_mm=own / 2))
        left = right + LAND_MM
    rows = [(0.0, top, 0.0), *rows, (left, top, 0.0), (left, 0.0, 0.0), (0.0, 0.0, 0.0)]
    table = np.array(rows)
    cut = Contour(points=table[:, :2], bulges=table[:, 2], closed=True).reversed()
    notes.append(Note(texts=("at the stringer",), near_mm=(left / 2, 0.0)))
    drawing = Drawing(name=f"{board.slug}-thickness-card", contours=((CUT, cut),)).joined(check_line(*CHECK_AT_MM))
    part = Part(drawing=drawing, title="thickness card", number=tag.number)
    return inscribed(part, tag.head("thickness card", brief="thickness"), notes, near_mm=(0.0, 0.0), check=False)
