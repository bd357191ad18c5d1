"""Whether the bases of a board's fins lie on its bottom: inside outline, tuck, wall and, for a pair, one side."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import Fault, SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.fin import FinLines
from bayloft.spec.board import Board, Placement
from bayloft.units import both

Array = NDArray[np.float64]

PLACES = 41
"""Places round each face of a base."""


def stands_whole(board: Board, lines: BoardLines, fins: Mapping[str, FinLines]) -> None:
    """Return if the base of every fin (by slug) lies whole on the bottom, all of it in plan.

    The base is taken level, which on a bottom of five degrees makes it longer in plan by half a percent: on the safe
    side.

    Raises
    ------
    SpecError
        A fault for each fin whose base hangs over the tail's end or notch, the outline or the rail's tuck, or whose
        pair meets across the stringer.
    """
    faults = [fault for placement in board.fins if (fault := _fault(board, lines, placement, fins[placement.fin.slug]))]
    if faults:
        raise SpecError(tuple(faults))


def footprint(placement: Placement, fin: FinLines) -> Array:
    """Return the edge of a port or single fin's base in plan (n, 2), taken level: outer face, then inner face."""
    v = np.linspace(0.0, 1.0, PLACES)
    ahead, off, _ = np.concatenate([fin.face(0.0, v), fin.inside(0.0, v)]).T
    toe = np.radians(placement.toe_deg)
    x = placement.from_tail_mm + ahead * np.cos(toe) + off * np.sin(toe)
    return np.column_stack([x, placement.off_stringer_mm - ahead * np.sin(toe) + off * np.cos(toe)])


def _fault(board: Board, lines: BoardLines, placement: Placement, fin: FinLines) -> Fault | None:
    x, y = footprint(placement, fin).T
    off = np.abs(y)
    inside = np.clip(x, 1e-3, board.length_mm - 1e-3)
    half = lines.section_numbers(inside).half_width
    flat = half - lines.section_numbers(inside).tuck
    wall = np.zeros_like(x) if lines.wall is None else lines.wall.station(off)
    notch = "the tail's notch" if board.tail.kind == "swallow" else "the tail's end"
    beyond = [
        ("from_tail", wall - x, f"over {notch}"),
        ("from_tail", x - board.length_mm, "over the nose"),
        ("off_stringer", off - half, "over the outline"),
        ("off_stringer", off - flat, "across the rail's tuck, where the bottom ends"),
    ]
    if placement.off_stringer_mm > 0.0:
        beyond.append(("off_stringer", -y, "across the stringer into the other fin of the pair"))
    for key, over, what in beyond:
        worst = int(np.argmax(over))
        if over[worst] > 0.0:
            path = (*placement.path, key)
            typed = placement.from_tail_mm if key == "from_tail" else placement.off_stringer_mm
            problem = f"the base of {placement.fin.name} reaches {both(float(over[worst]))} {what}"
            hint = f"the place is {both(float(x[worst]))} from the tail, {both(float(off[worst]))} off the stringer"
            return board.source.fault(path, both(typed), problem, hint=hint)
    return None
