"""The maker's numbers as asked and as lofted: each measured again on the finished surface."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import KeyPath, spelled
from bayloft.findings import Finding
from bayloft.lines.board import BoardLines
from bayloft.lines.section import inset_of, over, under
from bayloft.lines.section_lines import quantity_scale
from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.solid.measure import (
    apex_share,
    deck_drop,
    edge_radius,
    face_heights,
    places,
    rail_radius,
    rocker,
    stringer_from_mm,
    thickness,
    tuck,
    width,
)
from bayloft.spec.boards.board import Board
from bayloft.spec.boards.quantities import QUANTITIES
from bayloft.spec.text.given import Form, Given
from bayloft.tolerances import EDGE_RADIUS_SHARE, GIVEN_NUMBER_MM, LEVEL_WIDTH_MM, RADIUS_MM, SLACK_MM
from bayloft.units import both

Array = NDArray[np.float64]

FALLEN_AT = 0.6
"""Share of the half-width at which the shape of deck and bottom is measured."""
DECK_SHAPES = ("dome", "deck_flat", "deck_chine", "deck_chine_width")
BOTTOM_SHAPES = ("roll", "roll_flat", "vee", "concave", "concave_width", "double_concave", "chine", "chine_width")

WIDE_STATION = "station of the wide point"

WIDE_POINT_WITHIN_MM, WIDE_POINT_PLACES = 60.0, 2401
"""How far to both sides of where it was asked the widest place is looked for, and at how many stations."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """One number of the spec: its key, what it is in words, its station, its value as asked and as lofted, by how much
    it may be missed, and how much of that is because of how it was read, in mm.
    """

    path: KeyPath
    what: str
    x_mm: float
    asked_mm: float
    lofted_mm: float
    limit_mm: float = GIVEN_NUMBER_MM
    play_mm: float = 0.0

    @property
    def error_mm(self) -> float:
        """As lofted less as asked."""
        return self.lofted_mm - self.asked_mm

    def read(self, play_mm: float, limit_mm: float = GIVEN_NUMBER_MM) -> Dimension:
        """Return the same as it was read, with its play; `limit_mm`: what it may be off without."""
        return replace(self, play_mm=play_mm, limit_mm=max(limit_mm, play_mm))


def _play_mm(number: Given, lines: BoardLines) -> float:
    """Return the play of a number of the long lines: its own, or SLACK_MM where its line has it."""
    slack = SLACK_MM if number.path[0] in lines.slack and not number.exact else 0.0
    return max(number.play_mm, slack)


def _met(what: str, given: list[Given], lofted: Array, lines: BoardLines) -> list[Dimension]:
    """Return numbers of the long lines, each with its own limit."""
    plays = [_play_mm(number, lines) for number in given]
    return [each.read(play) for each, play in zip(_measured(what, given, lofted), plays, strict=True)]


def _played(
    what: str, given: list[Given], lofted: Array, scale: Array | float = 1.0, limit_mm: float = GIVEN_NUMBER_MM
) -> list[Dimension]:
    """Return numbers of the sections, each met within its play."""
    measured = _measured(what, given, lofted, scale)
    return [each.read(number.play_mm, limit_mm) for number, each in zip(given, measured, strict=True)]


def _measured(what: str, given: list[Given], lofted: Array, scale: Array | float = 1.0) -> list[Dimension]:
    asked = np.array([number.value for number in given]) * scale
    return [
        Dimension(path=number.path, what=what, x_mm=number.x_mm, asked_mm=float(ask), lofted_mm=float(loft))
        for number, ask, loft in zip(given, asked, np.asarray(lofted) * scale, strict=True)
    ]


def _plan(board: Board, lines: BoardLines, body: Body) -> list[Dimension]:
    edge = body.port.grid([0.0], [0.0, APEX, 1.0])[0]
    start, nose = (
        float(body.port.grid([0.0], np.linspace(0.0, 1.0, 401))[0, :, 0].min()),
        float(body.port.at(1.0, APEX)[0]),
    )
    corner_x, corner_y = float(edge[1, 0]), float(edge[1, 1])
    found = [
        Dimension(path=("length",), what="length", x_mm=0.0, asked_mm=board.length_mm, lofted_mm=nose - start),
    ]
    widths = [number for number in (*board.widths, board.wide_point) if number.x_mm >= corner_x]
    found += _met("width", widths, width(body, [number.x_mm for number in widths]), lines)
    asked = board.wide_point.x_mm
    found.append(
        Dimension(
            path=board.wide_point.path,
            what=WIDE_STATION,
            x_mm=asked,
            asked_mm=asked,
            lofted_mm=_widest(body, asked),
        ).read(board.wide_point.play_mm)
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
    """Return the station where a board is widest, within LEVEL_WIDTH_MM; of several the nearest to the asked one."""
    x = np.linspace(asked_mm - WIDE_POINT_WITHIN_MM, asked_mm + WIDE_POINT_WITHIN_MM, WIDE_POINT_PLACES)
    around = width(body, x)
    widest = x[around >= around.max() - LEVEL_WIDTH_MM]
    return float(widest[np.argmin(np.abs(widest - asked_mm))])


def _profile(board: Board, lines: BoardLines, body: Body) -> list[Dimension]:
    # Aft of a swallow's notch there is no stringer to measure on, and at a closed end the tip stands over the bottom,
    # whose line runs on under it: there the line itself carries the number.
    first = stringer_from_mm(body)
    ends = [board.length_mm, *([0.0] if lines.wall is None else [])]
    heights = [number for number in board.heights if number.x_mm >= first and number.x_mm not in ends]
    found = _met("rocker", heights, rocker(body, [number.x_mm for number in heights]), lines)
    carried = [number for number in board.heights if number not in heights]
    found += _met("rocker", carried, lines.rocker.at([number.x_mm for number in carried]), lines)
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
    return found + _met("thickness", thick, thickness(body, [number.x_mm for number in thick]), lines)


def _section(board: Board, lines: BoardLines, body: Body) -> list[Dimension]:
    """Return apex, radius, tuck, edge and drops at the stations where they were given, and how far deck and bottom have
    fallen there at two places, which all their numbers have a part in.
    """
    first = stringer_from_mm(body)

    def typed(line: tuple[Given, ...], form: Form, key: str = "") -> list[Given]:
        return [
            number
            for number in line
            if not number.assumed
            and number.form == form
            and number.path[-1] == (key or number.path[-1])
            and first < number.x_mm < board.length_mm
        ]

    def at(numbers: list[Given]) -> list[float]:
        return [number.x_mm for number in numbers]

    given = board.sections
    apexes, radii, tucks = (
        typed(given["apex"], "share", "apex"),
        typed(given["radius"], "length"),
        typed(given["tuck"], "length"),
    )
    edges = [number for number in typed(given["edge"], "radius") if number.value > 0.0]
    drops = typed(given["dome"], "drop")
    found = _played("apex height", apexes, apex_share(body, at(apexes)), lines.thickness(at(apexes)))
    found += _played("radius of the rail", radii, rail_radius(body, at(radii)), limit_mm=RADIUS_MM)
    found += _played("tuck", tucks, tuck(body, at(tucks)))
    found += [
        replace(dimension, limit_mm=max(RADIUS_MM, EDGE_RADIUS_SHARE * dimension.asked_mm))
        for dimension in _measured("radius of the bottom edge", edges, edge_radius(body, at(edges)))
    ]
    found += _played("drop of the deck", drops, deck_drop(body, at(drops), [number.inside_mm for number in drops]))
    return found + _shapes(board, lines) + _falls(board, lines, body, first) + _channels(board, lines, body)


def _shapes(board: Board, lines: BoardLines) -> list[Dimension]:
    """Return the lengths of deck and bottom that were read to a mark, as read and as drawn; how the surface follows
    what is drawn is told by `_falls`.
    """
    found = []
    for name in (*DECK_SHAPES, *BOTTOM_SHAPES):
        numbers = [number for number in board.sections[name] if number.play_mm > 0.0 and number.form == "length"]
        x = np.array([number.x_mm for number in numbers])
        n = lines.section_numbers(x)
        drawn = lines.sections.shares[name].at(x) * quantity_scale(name, lines.sections, n)
        found += _played(QUANTITIES[name].meaning, numbers, drawn)
    return found


def _channels(board: Board, lines: BoardLines, body: Body) -> list[Dimension]:
    """Return the depth of each channel in its middle, under the bottom as it is without channels."""
    found = []
    for channel in board.channels:
        x = np.array([(max(channel.from_mm, 0.0) + channel.to_mm) / 2.0])
        n = lines.section_numbers(x)
        off = np.array([channel.off_mm + channel.width_mm / 2.0])
        plain = replace(n, traits=replace(n.traits, channels=()))
        without = lines.rail_line(x) - under(plain, inset_of(n, n.half_width - off))
        lofted = face_heights(body, x, off / n.half_width, deck=False) - without
        found.append(
            Dimension(
                path=(*channel.path, "depth"),
                what="depth of the channel in its middle",
                x_mm=float(x[0]),
                asked_mm=channel.depth_mm,
                lofted_mm=float(lofted[0]),
            )
        )
    return found


def _falls(board: Board, lines: BoardLines, body: Body, first_mm: float) -> list[Dimension]:
    """Return how far deck and bottom have come from their height at the stringer at FALLEN_AT of the half-width, as
    their numbers say and as lofted, wherever an entry gives one of them.
    """
    found = []
    for face, names, v in (("deck", DECK_SHAPES, 1.0), ("bottom", BOTTOM_SHAPES, 0.0)):
        numbers = {
            number.x_mm: number
            for name in names
            for number in board.sections[name]
            if not number.assumed and number.form == "length" and first_mm < number.x_mm < board.length_mm
        }
        if not numbers:
            continue
        x = np.array(sorted(numbers))
        n = lines.section_numbers(x)
        inset = inset_of(n, (1.0 - FALLEN_AT) * n.half_width)
        heights = [over(n, n.inset), over(n, inset)] if face == "deck" else [-under(n, n.inset), -under(n, inset)]
        lofted = face_heights(body, x, FALLEN_AT, deck=face == "deck") - places(body, x, (v,))[0, :, 2]
        for at, asked, got in zip(x.tolist(), (heights[1] - heights[0]).tolist(), lofted.tolist(), strict=True):
            what = "height of the deck" if face == "deck" else "height of the bottom"
            what += f" at {FALLEN_AT:g} of the half-width against the stringer"
            found.append(Dimension(path=numbers[at].path, what=what, x_mm=at, asked_mm=asked, lofted_mm=got))
    return found


def dimensions(board: Board, lines: BoardLines, body: Body) -> tuple[Dimension, ...]:
    """Return every length the maker gave, as asked and as measured on the surface."""
    return tuple(_plan(board, lines, body) + _profile(board, lines, body) + _section(board, lines, body))


def reading_findings(measured: tuple[Dimension, ...], lines: BoardLines) -> tuple[Finding, ...]:
    """Return one note for each table whose numbers have play: how many are drawn otherwise than they were read, and the
    one that moved most.
    """
    found = []
    for table in ("outline", "rocker", "thickness", "rails", "deck", "bottom"):
        played = [each for each in measured if each.path[0] == table and each.play_mm > 0.0]
        loose = [each for each in played if each.what != WIDE_STATION]
        if not loose:
            continue
        moved = [each for each in loose if abs(each.error_mm) > GIVEN_NUMBER_MM]
        most = max(loose, key=lambda each: abs(each.error_mm))
        why = "no fair line passes through all of them: " if table in lines.slack else ""
        text = f"{table}, {len(loose)} numbers: {why}drawn as they were read"
        if moved:
            text = (
                f"{table}, {len(loose)} numbers: {why}{len(moved)} drawn otherwise than read, within "
                f"{most.limit_mm:.3g} mm; most {spelled(most.path)}, read {both(most.asked_mm)}, drawn "
                f"{most.lofted_mm:.1f} mm"
            )
        found.append(
            Finding(
                code="moved",
                severity="note",
                where=table,
                measured=abs(most.error_mm),
                limit=most.limit_mm,
                unit="mm",
                text=text,
            )
        )
    return tuple(found)


def number_findings(measured: tuple[Dimension, ...]) -> tuple[Finding, ...]:
    """Return one finding for each number: a failure where the surface misses it by more than it may."""
    return tuple(
        Finding(
            code="given-number",
            severity="note" if abs(dimension.error_mm) <= dimension.limit_mm else "failure",
            where=f"{spelled(dimension.path)} ({dimension.what})",
            measured=abs(dimension.error_mm),
            limit=dimension.limit_mm,
            unit="mm",
            text=f"{dimension.what} at {dimension.x_mm:.1f} mm from the tail: asked {dimension.asked_mm:.3f} mm, "
            f"lofted {round(dimension.lofted_mm, 6):.3f} mm",
        )
        for dimension in measured
    )
