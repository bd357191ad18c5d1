"""The stringer template: rocker and foil of a board in the plane of the stringer, less a deck skin, plus allowance."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, root
from shapely import LineString, get_coordinates, shortest_line
from shapely import intersection as common

from bayloft.drawing.curves.figures import place, station_code
from bayloft.drawing.curves.stringer_curves import (
    BOTTOM,
    DECK,
    stringer_curve,
    stringer_heights,
    stringer_stations,
    text_reach_mm,
)
from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.marks import line
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, SCRIBE, Drawing, Layer
from bayloft.errors import SpecError
from bayloft.plane.biarcs import Curve, fitted
from bayloft.plane.contour import Contour
from bayloft.plane.parting import crossings
from bayloft.solid.draft import Draft
from bayloft.solid.measure import stringer_from_mm
from bayloft.spec.boards.board import Board
from bayloft.tolerances import ARC_FIT_MM, SHORTEST_CUT_MM
from bayloft.units import both

Array = NDArray[np.float64]

TICK_MM = 6.0
CODE_MM = 7.5
"""From the end of a tick to the middle of the station scribed at it."""

CODE_SHARE = 0.2
"""Of the stringer's height, the most that the letters of a station take: the sizes are written over them."""

BEYOND_MM, AT_END = 60.0, 0.5
"""How far a line is carried straight on beyond its end to meet another, and the share of it in which they meet."""

LEAST_STRAIGHT_MM = 2.0 * SHORTEST_CUT_MM
"""Length below which a line is not carried on by one of its own."""

SAMPLES = 2000

LEAST_ADVANCE = 0.25
"""Share of its own curve's advance that a parallel one makes at least: with less it is too tight to be cut."""


def stringer_profile(draft: Draft, tag: Tag) -> Part:
    """Return the stringer template at full size: x forward from the tail end, y up from the flat the board stands on.

    CUT: one closed contour, counter-clockwise: bottom and deck at the stringer within ARC_FIT_MM of the surface's, or,
    with allowances, of the curves parallel to them; where a deck skin or an allowance moves them, they are carried on
    straight until they meet. SCRIBE: ticks at the stations, on both edges, and which they are. TEXT: finished rocker
    and thickness there.

    Raises SpecError where the tips leave no room for a deck skin.
    """
    board, body = draft.board, draft.body
    cut = stringer_outline(draft)
    # Where a skin takes the tip away there is no edge to mark.
    low, _, high, _ = cut.bounds
    stations = [x for x in stringer_stations(draft) if low + TICK_MM < x < high - TICK_MM]
    contours: list[tuple[Layer, Contour]] = [(CUT, cut)]
    notes = []
    heights, thick = stringer_heights(body, stations)
    for x, low, high in zip(stations, heights, thick, strict=True):
        edges = _edges(cut, x)
        contours += [
            line(SCRIBE, (x, edges[0]), (x, edges[0] + TICK_MM)),
            line(SCRIBE, (x, edges[1] - TICK_MM), (x, edges[1])),
        ]
        texts = (place(board, x), f"{both(high)} thick", f"{both(low)} rocker")
        within = text_reach_mm(stations, x)
        notes.append(Note(texts=texts, near_mm=(x, low + high / 2), within_mm=within, leader_mm=(x, low)))
        code = x, edges[0] + TICK_MM + CODE_MM
        caps = CODE_SHARE * (edges[1] - edges[0])
        notes.append(Note(texts=(station_code(board, x),), near_mm=code, within_mm=within, scribed=True, caps_mm=caps))
    middle = board.length_mm / 2
    notes += [Note(texts=("tail",), near_mm=(0.0, heights[0])), Note(texts=("nose",), near_mm=(2 * middle, 0.0))]
    notes.append(Note(texts=("deck",), near_mm=(middle, 1e3)))
    notes.append(Note(texts=("bottom",), near_mm=(middle, 0.0)))
    notes.append(Note(texts=_allowances(board), near_mm=(0.45 * board.length_mm, 0.0)))
    drawing = Drawing(name=f"{board.slug}-stringer", contours=tuple(contours))
    near = 0.45 * board.length_mm, 0.0
    part = Part(drawing=drawing, title="stringer", number=tag.number, along_grain=True)
    return inscribed(part, tag.head("stringer", nose=True), notes, near_mm=near, up=True)


def _edges(cut: Contour, x_mm: float) -> tuple[float, float]:
    """Return the heights of the lower and the upper edge at a station."""
    found = [crossing.y_mm for crossing in crossings(cut, x_mm)]
    return min(found), max(found)


def _allowances(board: Board) -> tuple[str, ...]:
    asked = board.templates
    said = [f"{both(asked.deck_skin_mm)} off the deck edge for a skin"] if asked.deck_skin_mm else []
    said += [f"{asked.sanding_mm:.1f} mm left on all round for sanding"] if asked.sanding_mm else []
    return (*said, "texts: finished sizes") if said else ("as lofted, nothing left on",)


def stringer_outline(draft: Draft) -> Contour:
    """Return the outline of the stringer template, closed; raises SpecError as `stringer_profile` does."""
    board, body = draft.board, draft.body
    asked = board.templates
    bottom, deck = stringer_curve(body, BOTTOM), stringer_curve(body, DECK)
    if not (asked.deck_skin_mm or asked.sanding_mm):
        return Contour.joined(
            fitted([(bottom, 0.0, 1.0)], ARC_FIT_MM), fitted([(deck, 0.0, 1.0)], ARC_FIT_MM).reversed(), closed=True
        )
    # The bottom's outer side is to the right of its way forward, the deck's to the left.
    bottom = _parallel(bottom, -asked.sanding_mm)
    upper = _going_on(_parallel(deck, asked.sanding_mm - asked.deck_skin_mm), deck)
    if upper is None or _crossed(bottom, upper):
        raise _too_much(board)
    deck = upper
    nose = _meeting(bottom, deck, 1.0)
    if body.end == "closed":
        tail = _meeting(bottom, deck, 0.0)
    else:
        wall = stringer_from_mm(body) - asked.sanding_mm
        tail = _at_station(bottom, wall), _at_station(deck, wall)
    if not all(start < end for start, end in zip(tail, nose, strict=True)):
        raise _too_much(board)
    edges = [_trimmed(bottom, tail[0], nose[0]), _trimmed(deck, tail[1], nose[1]).reversed()]
    return Contour.joined(*edges, closed=True)


def _crossed(lower: Curve, upper: Curve) -> bool:
    """Whether the upper edge lies under the lower one in the middle of the board."""
    share = np.linspace(0.25, 0.75, SAMPLES)
    low, high = lower(share)[0], upper(share)[0]
    return bool(np.any(high[:, 1] <= np.interp(high[:, 0], *low.T)))


def _too_much(board: Board) -> SpecError:
    """Return the error of a skin or an allowance that leaves nothing of the stringer."""
    asked = board.templates
    key = "deck_skin" if asked.deck_skin_mm else "sanding"
    problem = "more than the board is thick leaves: the stringer's edges would cross"
    typed = both(asked.deck_skin_mm or asked.sanding_mm)
    return SpecError((board.source.fault(("templates", key), typed, problem, hint="a thicker board, or less"),))


def _going_on(parallel: Curve, curve: Curve) -> Curve | None:
    """Return as much of a parallel curve as goes on the way of its own, which is rounder than their distance there,
    from 0 to 1: near a tip the rest would turn back. None where nothing of it does.
    """
    u = np.linspace(0.0, 1.0, SAMPLES)
    own, tangents = curve(u)
    advance = [(np.diff(points, axis=0) * tangents[:-1]).sum(axis=1) for points in (parallel(u)[0], own)]
    back = np.flatnonzero(advance[0] < LEAST_ADVANCE * advance[1])
    middle = SAMPLES // 2
    first = u[np.max(back[back < middle], initial=-1) + 1]
    last = u[np.min(back[back >= middle], initial=SAMPLES - 1)]
    if first >= last:
        return None
    return lambda share: parallel(first + share * (last - first))


def _parallel(curve: Curve, left_mm: float) -> Curve:
    """Return a curve so far to the left of another, square to it; it has the same tangents."""

    def parallel(u: Array) -> tuple[Array, Array]:
        points, tangents = curve(u)
        unit = tangents / np.hypot(*tangents.T)[:, None]
        return points + left_mm * np.column_stack([-unit[:, 1], unit[:, 0]]), unit

    return parallel


def _carried_on(curve: Curve) -> Callable[[Array], Array]:
    """Return the points of a curve that goes straight on before 0 and after 1, BEYOND_MM for each unit of u."""

    def points(u: Array) -> Array:
        inside = np.clip(u, 0.0, 1.0)
        at, tangents = curve(inside)
        unit = tangents / np.hypot(*tangents.T)[:, None]
        return np.asarray(at + BEYOND_MM * (u - inside)[:, None] * unit, dtype=np.float64)

    return points


def _meeting(one: Curve, other: Curve, end: float) -> tuple[float, float]:
    """Return the parameters at which two curves, carried on straight, meet near an end: furthest from it, if twice."""
    u = np.linspace(-AT_END, AT_END, SAMPLES) if end == 0.0 else np.linspace(1.0 - AT_END, 1.0 + AT_END, SAMPLES)
    lines = [_carried_on(curve) for curve in (one, other)]
    sampled = [points(u) for points in lines]
    strings = [LineString(points) for points in sampled]
    shared = common(*strings)
    spots = get_coordinates(shortest_line(*strings) if shared.is_empty else shared)
    spot = spots[np.argmax(spots[:, 0]) if end == 0.0 else np.argmin(spots[:, 0])]
    guess = [float(u[np.argmin(np.hypot(*(points - spot).T))]) for points in sampled]

    def gap(unknown: Array) -> Array:
        return np.asarray((lines[0](unknown[:1]) - lines[1](unknown[1:]))[0], dtype=np.float64)

    found = root(gap, guess, tol=1e-13)
    return float(found.x[0]), float(found.x[1])


def _at_station(curve: Curve, x_mm: float) -> float:
    """Return the parameter at which a curve, carried on straight, passes a station near its start."""
    points = _carried_on(curve)
    return float(brentq(lambda u: float(points(np.array([u]))[0, 0]) - x_mm, -AT_END, AT_END, xtol=1e-14))


def _trimmed(curve: Curve, start: float, end: float) -> Contour:
    """Return a curve from one parameter to another as arcs and lines, straight beyond its own ends."""
    points = _carried_on(curve)
    low, high = max(start, 0.0), min(end, 1.0)
    whole = fitted([(curve, low, high)], ARC_FIT_MM)
    parts = [whole]
    for beyond, at, first in ((-start, [start, 0.0], True), (end - 1.0, [1.0, end], False)):
        if beyond <= 0.0:
            continue
        straight = points(np.array(at))
        if beyond * BEYOND_MM > LEAST_STRAIGHT_MM:
            parts.insert(0 if first else len(parts), Contour.straight(straight, closed=False))
        else:
            # Along its own tangent the end of an arc moves that little without leaving the curve.
            moved = parts[0 if first else -1].points.copy()
            moved[0 if first else -1] = straight[0 if first else -1]
            parts[0 if first else -1] = replace(parts[0 if first else -1], points=moved)
    return Contour.joined(*parts, closed=False)
