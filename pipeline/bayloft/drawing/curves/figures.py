"""What the views of a board sheet show, measured on the surface once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.curves.board_curves import plan_outline, rail_line, side_view, whole_section
from bayloft.drawing.curves.end_curves import EndView, end_view
from bayloft.drawing.curves.marked_stations import marked_stations
from bayloft.lines.audit import Strip, Summit, strips, summits
from bayloft.lines.board import BoardLines
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.measure import rocker, stringer_from_mm, thickness, width
from bayloft.spec.boards.board import Board
from bayloft.spec.text.stations import nearer_end
from bayloft.tape import along
from bayloft.tolerances import ARC_FIT_MM, SEPARATE_STATIONS_MM
from bayloft.units import inches

Array = NDArray[np.float64]

TIPS_MM = 304.8
"""12 in: where nose and tail are measured."""

HALF_FOOT_MM = 152.4
SECTIONS, ENDS_SECTIONS = 6, 2
"""How many sections there are, and of them how many in the view of each end."""

SHOWN_DECIMALS = 3
"""Decimals (mm) of what is measured before it is written with one: 44.45 mm is not to read 44.5 here and 44.4 there."""

NEXT_SECTION_SHARE = 0.02
"""Least distance of two sections as a share of the length: nearer ones look the same."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Station:
    """A station and what a maker measures there in mm; None where the rail or, for a thickness, the stringer ends."""

    x_mm: float
    where: str
    width_mm: float | None
    thickness_mm: float | None
    rocker_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Figures:
    """A board's views at full size in mm: half outline in plan, side view and rail line as (x, z), sections as (-y, z)
    at `section_stations`; nose from ahead and tail from behind; stations by the line whose numbers they carry;
    curvature strips and summits.
    """

    board: Board
    lines: BoardLines
    half_outline: Contour
    side: Contour
    rail: Contour
    section_stations: tuple[Station, ...]
    sections: tuple[tuple[Contour, ...], ...]
    ends: tuple[EndView, EndView]
    widths: tuple[Station, ...]
    thicknesses: tuple[Station, ...]
    heights: tuple[Station, ...]
    strips: tuple[Strip, ...]
    summits: tuple[Summit, ...]

    @property
    def greatest_width_mm(self) -> float:
        """Full width of the plan."""
        return 2.0 * self.half_outline.bounds[3]

    @property
    def greatest_height_mm(self) -> float:
        """Height of the highest place above the flat."""
        return self.side.bounds[3]

    @property
    def section_size_mm(self) -> tuple[float, float]:
        """Width and height that hold every section."""
        boxes = np.array([contour.bounds for section in self.sections for contour in section])
        return 2.0 * float(boxes[:, 2].max()), float((boxes[:, 3] - boxes[:, 1]).max())


def figures(draft: Draft) -> Figures:
    """Return what the views of a board show."""
    board, lines, body = draft.board, draft.lines, draft.body
    length = board.length_mm
    tips = [x for x in (TIPS_MM, length - TIPS_MM) if 0.0 < x < length]
    wide = board.wide_point.x_mm
    found = summits(lines)
    thickest = next(summit.x_mm for summit in found if summit.line == "greatest thickness")
    if board.thickest is not None:
        thickest = board.thickest.x_mm
    sections = section_stations(board)
    by_line = {
        "widths": marked_stations([wide, *tips], board.widths),
        "thicknesses": marked_stations([thickest, *tips], board.thicknesses),
        "heights": marked_stations([lines.lowest_x_mm, 0.0, length, *tips], board.heights),
        "section_stations": sections,
    }
    x = np.unique(np.concatenate(list(by_line.values())))
    measured = {station.x_mm: station for station in _measured(board, lines, body, x)}
    carried = {key: [measured[at] for at in sorted(stations)] for key, stations in by_line.items()}
    for line, at, name in (("thicknesses", thickest, "thickest"), ("heights", lines.lowest_x_mm, "lowest")):
        carried[line] = [replace(one, where=name) if one.x_mm == at else one for one in carried[line]]
    return Figures(
        board=board,
        lines=lines,
        half_outline=plan_outline(lines, body, ARC_FIT_MM),
        side=side_view(lines, body),
        rail=rail_line(body),
        sections=tuple(whole_section(body, at) for at in sections),
        ends=(_end(lines, body, sections, nose=True), _end(lines, body, sections, nose=False)),
        strips=strips(lines),
        summits=found,
        **{line: tuple(stations) for line, stations in carried.items()},
    )


def _end(lines: BoardLines, body: Body, stations_mm: Sequence[float], *, nose: bool) -> EndView:
    """Return the view of an end with the two sections next to it that lie between it and the wide point."""
    wide = float(lines.outline.station(lines.outline.wide_u))
    shown = [x for x in stations_mm if (x > wide if nose else x < wide)]
    return end_view(lines, body, shown[-ENDS_SECTIONS:] if nose else shown[:ENDS_SECTIONS], nose=nose)


def section_stations(board: Board) -> list[float]:
    """Return the stations of the sections, ascending: 12 in from both ends, wide point, centre where it is another
    place, and then the middle of the widest gap, taken to the half foot from the nearer end, until there are enough.
    """
    length = board.length_mm
    tip = TIPS_MM if length >= 4 * TIPS_MM else length / 4
    least = NEXT_SECTION_SHARE * length
    stations = [tip, length - tip]
    for x in (board.wide_point.x_mm, length / 2):
        if min(abs(x - other) for other in stations) >= least:
            stations.append(x)
    while len(stations) < SECTIONS:
        stations.sort()
        widest = int(np.argmax(np.diff(stations)))
        middle = (stations[widest] + stations[widest + 1]) / 2
        from_end = HALF_FOOT_MM * round(min(middle, length - middle) / HALF_FOOT_MM)
        even = from_end if middle <= length / 2 else length - from_end
        clear = min(abs(even - other) for other in stations) >= least
        stations.append(even if clear and stations[widest] < even < stations[widest + 1] else middle)
    return sorted(stations)


def _measured(board: Board, lines: BoardLines, body: Body, x: Array) -> list[Station]:
    rail_from = 0.0 if lines.wall is None else lines.wall.corner_x_mm
    inside = (x > 0.0) & (x < board.length_mm)
    # The surface ends at the length to COEFFICIENT_DECIMALS only.
    reached = np.minimum(x, float(body.port.at(1.0, 1.0)[0]))
    # A closed end stands over the bottom, whose line runs on under it: there too the rocker is the line's own.
    on_bottom = inside if lines.wall is None else x < board.length_mm
    on_rail, on_stringer = inside & (x > rail_from), x >= stringer_from_mm(body)
    full, thick, height = (
        _where(mask, np.round(measure(body, reached[mask]), SHOWN_DECIMALS) + 0.0)
        for measure, mask in ((width, on_rail), (thickness, on_stringer & inside), (rocker, on_stringer & on_bottom))
    )
    # Beside a swallow's notch there is no stringer to measure at: there the rocker is the line's own.
    line = np.round(lines.rocker.at(x), SHOWN_DECIMALS).tolist()
    heights = [carried if own is None else own for own, carried in zip(height, line, strict=True)]
    return [
        Station(x_mm=at, where=place(board, at), width_mm=w, thickness_mm=t, rocker_mm=h)
        for at, w, t, h in zip(x.tolist(), full, thick, heights, strict=True)
    ]


def _where(mask: NDArray[np.bool_], values: Array) -> list[float | None]:
    found: list[float | None] = [None] * len(mask)
    for i, value in zip(np.flatnonzero(mask).tolist(), values.tolist(), strict=True):
        found[i] = value
    return found


def place(board: Board, x_mm: float) -> str:
    """Return where a station is in a maker's words: by name, or by its distance from the nearer end."""
    length = board.length_mm
    names: Sequence[tuple[float, str]] = (
        (0.0, "tail end"),
        (length, "nose tip"),
        (board.wide_point.x_mm, "wide point"),
        (length / 2, "centre"),
    )
    for at, name in names:
        if abs(at - x_mm) <= SEPARATE_STATIONS_MM:
            return name
    end, nearer = nearer_end(x_mm, length)
    return f"{along(nearer, metric=board.metric)} from {end}"


def station_code(board: Board, x_mm: float) -> str:
    """Return a station as it is scribed: "12 T" for 12 in from the tail, "12 N" from the nose, whichever is nearer, or
    CTR; in mm without a unit ("304.8 T") where the maker measures in mm.
    """
    length = board.length_mm
    if abs(length / 2 - x_mm) <= SEPARATE_STATIONS_MM:
        return "CTR"
    end, nearer = nearer_end(x_mm, length)
    return f"{measure_code(board, nearer)} {end[0].upper()}"


def measure_code(board: Board, length_mm: float) -> str:
    """Return a length as it is scribed: in inches to the nearest sixteenth, or in mm to a tenth, without a unit."""
    return f"{round(length_mm, 1):g}" if board.metric else inches(length_mm).rstrip('"')
