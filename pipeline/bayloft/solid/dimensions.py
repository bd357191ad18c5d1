"""The maker's numbers as asked and as lofted: each measured again on the finished surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import KeyPath, spelled
from bayloft.findings import Finding
from bayloft.lines.board import BoardLines
from bayloft.lines.section import SEGMENTS
from bayloft.solid.body import Body
from bayloft.solid.measure import apex_share, places, rocker, stringer_from_mm, thickness, tuck, width
from bayloft.spec.board import Board
from bayloft.spec.given import Given
from bayloft.tolerances import GIVEN_NUMBER_MM, LEVEL_WIDTH_MM

Array = NDArray[np.float64]

SHOULDER = 4 / SEGMENTS
BOTTOM_INNER = 1 / SEGMENTS

WIDE_POINT_WITHIN_MM, WIDE_POINT_PLACES = 60.0, 2401
"""How far to both sides of where it was asked the widest place is looked for, and at how many stations."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """One number of the spec: its key, what it is in words, its station, its value as asked and as lofted, in mm."""

    path: KeyPath
    what: str
    x_mm: float
    asked_mm: float
    lofted_mm: float

    @property
    def error_mm(self) -> float:
        """As lofted less as asked."""
        return self.lofted_mm - self.asked_mm


def _measured(what: str, given: list[Given], lofted: Array, scale: Array | float = 1.0) -> list[Dimension]:
    asked = np.array([number.value for number in given]) * scale
    return [
        Dimension(path=number.path, what=what, x_mm=number.x_mm, asked_mm=float(ask), lofted_mm=float(loft))
        for number, ask, loft in zip(given, asked, np.asarray(lofted) * scale, strict=True)
    ]


def _plan(board: Board, body: Body) -> list[Dimension]:
    edge = body.port.grid([0.0], [0.0, 0.6, 1.0])[0]
    start, nose = (
        float(body.port.grid([0.0], np.linspace(0.0, 1.0, 401))[0, :, 0].min()),
        float(body.port.at(1.0, 0.5)[0]),
    )
    corner_x, corner_y = float(edge[1, 0]), float(edge[1, 1])
    found = [
        Dimension(path=("length",), what="length", x_mm=0.0, asked_mm=board.length_mm, lofted_mm=nose - start),
    ]
    widths = [number for number in (*board.widths, board.wide_point) if number.x_mm >= corner_x]
    found += _measured("width", widths, width(body, [number.x_mm for number in widths]))
    asked = board.wide_point.x_mm
    found.append(
        Dimension(
            path=board.wide_point.path,
            what="station of the wide point",
            x_mm=asked,
            asked_mm=asked,
            lofted_mm=_widest(body, asked),
        )
    )
    if board.tail.cut_off and board.tail.corner_radius_mm == 0.0:
        found.append(
            Dimension(
                path=("tail", "block"),
                what="tail block",
                x_mm=corner_x,
                asked_mm=board.tail.block_mm,
                lofted_mm=2.0 * corner_y,
            )
        )
    return found


def _widest(body: Body, asked_mm: float) -> float:
    """Return the station where a board is widest: the asked one, unless the board is wider elsewhere by more than
    LEVEL_WIDTH_MM; then where a parabola through the greatest width and its neighbours has its summit.
    """
    x = np.linspace(asked_mm - WIDE_POINT_WITHIN_MM, asked_mm + WIDE_POINT_WITHIN_MM, WIDE_POINT_PLACES)
    around = width(body, x)
    if around.max() - width(body, asked_mm)[0] <= LEVEL_WIDTH_MM:
        return asked_mm
    i = int(np.clip(np.argmax(around), 1, len(x) - 2))
    a, b, c = around[i - 1 : i + 2]
    return float(x[i] + 0.5 * (a - c) / (a - 2.0 * b + c) * (x[1] - x[0]))


def _profile(board: Board, lines: BoardLines, body: Body) -> list[Dimension]:
    # Aft of a swallow's notch there is no stringer to measure on; the line itself carries the number there.
    first = stringer_from_mm(body)
    heights = [number for number in board.heights if number.x_mm >= first]
    found = _measured("rocker", heights, rocker(body, [number.x_mm for number in heights]))
    aft = [number for number in board.heights if number.x_mm < first]
    found += _measured("rocker", aft, lines.rocker.at([number.x_mm for number in aft]))
    found.append(
        Dimension(
            path=("rocker", "lowest"),
            what="rocker at its lowest",
            x_mm=lines.lowest_x_mm,
            asked_mm=0.0,
            lofted_mm=float(rocker(body, [max(lines.lowest_x_mm, first)])[0]),
        )
    )
    thick = [number for number in (*board.thicknesses, board.thickest) if number.x_mm >= first]
    found += _measured("thickness", thick, thickness(body, [number.x_mm for number in thick]))
    return found


def _section(board: Board, lines: BoardLines, body: Body) -> list[Dimension]:
    """Return apex, tuck, crown and bottom at the stations where they were given, where the section is at its full."""
    first = stringer_from_mm(body)

    def full(line: tuple[Given, ...]) -> list[Given]:
        given = [number for number in line if not number.assumed and first <= number.x_mm < board.length_mm]
        halves = lines.outline.at([number.x_mm for number in given])
        return [
            number
            for number, half in zip(given, halves, strict=True)
            if half >= lines.full_half_width_mm * (1.0 - 1e-9)
        ]

    apexes, tucks, crowns, rolls = (full(line) for line in (board.apex, board.tuck, board.crown, board.roll))
    at = [number.x_mm for number in apexes]
    found = _measured("apex height", apexes, apex_share(body, at), lines.thickness(at))
    found += _measured("tuck", tucks, tuck(body, [number.x_mm for number in tucks]))
    inner, shoulder, middle = places(body, [number.x_mm for number in crowns], (0.6, SHOULDER, 1.0))
    drops = (middle[:, 2] - shoulder[:, 2]) * (inner[:, 1] / shoulder[:, 1]) ** 2
    return found + _measured("crown", crowns, drops) + _rises(rolls, lines, body)


def _rises(rolls: list[Given], lines: BoardLines, body: Body) -> list[Dimension]:
    """Return how far the bottom rises from the stringer to where it rolls off, which all its numbers have a part in."""
    x = np.array([number.x_mm for number in rolls])
    stringer, off = places(body, x, (0.0, BOTTOM_INNER))
    roll, vee, concave, double = (line.at(x) for line in (lines.roll, lines.vee, lines.concave, lines.double_concave))
    s = off[:, 1] / (lines.outline.at(x) - lines.tuck.at(x))
    asked = (vee + 4.0 * double) * s + (roll - concave - 4.0 * double) * s * s
    return [
        Dimension(
            path=number.path,
            what="rise of the bottom at its roll-off",
            x_mm=number.x_mm,
            asked_mm=float(asked[i]),
            lofted_mm=float(off[i, 2] - stringer[i, 2]),
        )
        for i, number in enumerate(rolls)
    ]


def dimensions(board: Board, lines: BoardLines, body: Body) -> tuple[Dimension, ...]:
    """Return every length the maker gave, as asked and as measured on the surface."""
    return tuple(_plan(board, body) + _profile(board, lines, body) + _section(board, lines, body))


def number_findings(measured: tuple[Dimension, ...]) -> tuple[Finding, ...]:
    """Return one finding for each number: a failure where the surface misses it by more than GIVEN_NUMBER_MM."""
    return tuple(
        Finding(
            code="given-number",
            severity="note" if abs(dimension.error_mm) <= GIVEN_NUMBER_MM else "failure",
            where=f"{spelled(dimension.path)} ({dimension.what})",
            measured=abs(dimension.error_mm),
            limit=GIVEN_NUMBER_MM,
            unit="mm",
            text=f"{dimension.what} at {dimension.x_mm:.1f} mm from the tail: asked {dimension.asked_mm:.3f} mm, "
            f"lofted {round(dimension.lofted_mm, 6):.3f} mm",
        )
        for dimension in measured
    )
