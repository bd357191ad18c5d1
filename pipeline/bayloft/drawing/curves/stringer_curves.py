"""Where the stringer is marked along the board, and what is measured there."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.curves.figures import SHOWN_DECIMALS, TIPS_MM
from bayloft.drawing.curves.marked_stations import marked_stations
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.integrals import parameter_at
from bayloft.solid.measure import stringer_from_mm
from bayloft.solid.stringer_side import BOTTOM, DECK
from bayloft.spec.text.stations import USUAL_STEP_MM

Array = NDArray[np.float64]

APART_MM = 45.0
"""Least distance of two marked stations: their texts stand beside one another."""


TEXT_WITHIN_MM = 45.0
"""How far along the board the middle of a station's text may stand from its tick, where no other station is near."""


def text_reach_mm(stations_mm: Sequence[float], x_mm: float) -> float:
    """Return how far from its tick a station's text may stand: nearer to it than to any other station's."""
    return min([TEXT_WITHIN_MM, *(abs(x_mm - other) / 2 for other in stations_mm if other != x_mm)])


def stringer_heights(body: Body, stations_mm: Sequence[float]) -> tuple[list[float], list[float]]:
    """Return rocker and thickness in mm at stations where the stringer is, both solved together, to SHOWN_DECIMALS."""
    x = np.array([stations_mm, stations_mm])
    v = np.broadcast_to([[BOTTOM], [DECK]], x.shape)
    bottom, deck = body.port.at(parameter_at(body.port, x, v), v)[..., 2]
    found = (np.round(heights, SHOWN_DECIMALS) + 0.0 for heights in (bottom, deck - bottom))
    low, thick = (heights.tolist() for heights in found)
    return low, thick


def stringer_stations(draft: Draft) -> list[float]:
    """Return the stations in mm, ascending, that are marked along the stringer: those where a maker gave or looks for a
    rocker or a thickness, each foot or 300 mm from the tail end, and readings with play; of two too near each other,
    the one first in this list.
    """
    board, lines, body = draft.board, draft.lines, draft.body
    length = board.length_mm
    wanted = [TIPS_MM, length - TIPS_MM, length / 2, lines.lowest_x_mm, board.thickest.x_mm]
    given = (*board.thicknesses, *board.heights)
    wanted += [number.x_mm for number in given if not number.play_mm]
    step = USUAL_STEP_MM[board.metric]
    wanted += [float(x) for x in np.arange(2.0, length / step) * step]
    low = stringer_from_mm(body) + APART_MM / 2
    kept: list[float] = []
    for x in wanted:
        if low < x < length - APART_MM / 2 and all(abs(x - other) >= APART_MM for other in kept):
            kept.append(x)
    found = marked_stations(kept, (number for number in given if number.play_mm))
    return sorted(x for x in found if low < x < length - APART_MM / 2)
