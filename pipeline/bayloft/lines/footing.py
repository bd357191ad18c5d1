"""Whether the bases of a board's fins lie on its bottom: inside outline, rail, wall and, for a pair, one side."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import Fault, SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.fin import FinLines
from bayloft.lines.section import rail_from
from bayloft.lines.suggestion import TAPE_MM
from bayloft.spec.boards.board import Board, Placement
from bayloft.units import both

Array = NDArray[np.float64]

PLACES = 41
"""Places round each face of a base."""

READ_MM = 0.05
"""mm by which a length told in tenths of a millimetre differs from the one meant."""

_KEYS = ("from_tail", "off_stringer")
_WITH = {"from_tail": ", with this off_stringer", "off_stringer": ", with this from_tail"}
_TAIL_END, _NOSE = "over the tail's end", "over the nose"
_ELSEWHERE = "a shorter base, less toe, or another place"


def stands_whole(board: Board, lines: BoardLines, fins: Mapping[str, FinLines]) -> None:
    """Return if the base of every fin (by slug) lies whole on the bottom, all of it in plan.

    The base is taken level, which on a bottom of five degrees makes it longer in plan by half a percent: on the safe
    side.

    Raises
    ------
    SpecError
        A fault for each fin whose base hangs over the tail's end or notch, the outline or the rail, or whose
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


def _reaches(board: Board, lines: BoardLines, x: Array, y: Array, paired: bool) -> dict[str, Array]:
    """Return how far in mm places (x, y) in plan lie beyond each limit of the bottom, by what lies there."""
    inside = np.clip(x, 1e-3, board.length_mm - 1e-3)
    numbers = lines.section_numbers(inside)
    rail = rail_from(numbers)
    off = np.abs(y)
    wall = np.zeros_like(x) if lines.wall is None else lines.wall.station(off)
    reaches = {
        "over the tail's notch" if board.tail.notched else _TAIL_END: wall - x,
        _NOSE: x - board.length_mm,
        "over the outline": off - numbers.half_width,
        "across the foot of the rail, where the bottom ends": off - numbers.half_width + rail,
    }
    return reaches | ({"across the stringer into the other fin of the pair": -y} if paired else {})


def _fault(board: Board, lines: BoardLines, placement: Placement, fin: FinLines) -> Fault | None:
    x, y = footprint(placement, fin).T
    paired = placement.off_stringer_mm > 0.0
    ends = (_TAIL_END, _NOSE, "over the tail's notch")
    for what, over in _reaches(board, lines, x, y, paired).items():
        most = float(over.max())
        if most > 0.0:
            # A fin on the stringer has no number but its station.
            key = "off_stringer" if paired and what not in ends else "from_tail"
            typed = placement.off_stringer_mm if key == "off_stringer" else placement.from_tail_mm
            problem = f"the base of {placement.fin.name} reaches {both(most)} {what}"
            allowed = _would_do(board, lines, placement, (x, y), key)
            hint = "" if allowed else _ELSEWHERE
            if not allowed and paired:
                other = "from_tail" if key == "off_stringer" else "off_stringer"
                place = _would_do(board, lines, placement, (x, y), other)
                hint = f"{other} {place}" if place else _ELSEWHERE
            return board.source.fault((*placement.path, key), both(typed), problem, allowed=allowed, hint=hint)
    return None


def _would_do(board: Board, lines: BoardLines, placement: Placement, edge: tuple[Array, Array], key: str) -> str:
    """Return the number of a placement nearest to the typed one with which the edge (x, y) of the base lies whole on
    the bottom while the others stay; empty if there is none.
    """
    paired = placement.off_stringer_mm > 0.0
    if key == "from_tail":
        typed, low, high = placement.from_tail_mm, 0.0, board.length_mm - placement.fin.base_mm
    else:
        typed, low, high = placement.off_stringer_mm, placement.fin.thickness_mm / 2, board.wide_point.value / 2
    marks = TAPE_MM * np.arange(np.floor(low / TAPE_MM) + 1, np.ceil(high / TAPE_MM))
    marks = marks[np.argsort(np.abs(marks - typed), kind="stable")]
    for mark in marks.tolist():
        x, y = (side + (mark - typed) * (name == key) for side, name in zip(edge, _KEYS, strict=True))
        if max(float(over.max()) for over in _reaches(board, lines, x, y, paired).values()) <= -READ_MM:
            return f"{'at most' if mark < typed else 'at least'} {both(mark)}{_WITH[key] if paired else ''}"
    return ""
