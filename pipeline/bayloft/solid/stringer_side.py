"""The board in the plane of the stringer: bottom, deck, and the outline with something left on or taken off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, root
from shapely import LineString, get_coordinates, shortest_line
from shapely import intersection as common

from bayloft.plane.biarcs import Curve, fitted
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.measure import stringer_from_mm
from bayloft.tolerances import ARC_FIT_MM, SHORTEST_CUT_MM

Array = NDArray[np.float64]

BOTTOM, DECK = 0.0, 1.0
"""Parameter v of the two lines."""

BEYOND_MM, AT_END = 60.0, 0.5
"""How far a line is carried straight on beyond its end to meet another, and the share of it in which they meet."""

LEAST_STRAIGHT_MM = 2.0 * SHORTEST_CUT_MM
"""Length below which a line is not carried on by one of its own."""

SAMPLES = 2000

LEAST_ADVANCE = 0.25
"""Share of its own curve's advance that a parallel one makes at least: with less it is too tight to be cut."""


def stringer_curve(body: Body, v: float) -> Curve:
    """Return the bottom (v = 0) or the deck (v = 1) at the stringer over the surface's u, from the tail to the nose."""

    def curve(u: Array) -> tuple[Array, Array]:
        points, tangents = (body.port.grid(u, [v], du=order)[:, 0][:, [0, 2]] for order in (0, 1))
        return points, tangents

    return curve


def stringer_outline(body: Body, bottom_mm: float = 0.0, deck_mm: float = 0.0) -> Contour | None:
    """Return a board's outline in the plane of the stringer, closed, counter-clockwise: x forward from the tail end, y
    up from the flat, within ARC_FIT_MM of the surface's lines.

    bottom_mm, deck_mm: left on at the bottom, and at a cut-off tail's wall, and at the deck, square to them; taken off
    where below 0. What is moved is carried on straight until it meets. None where so much is taken off that nothing
    is left.
    """
    bottom, deck = stringer_curve(body, BOTTOM), stringer_curve(body, DECK)
    if not (bottom_mm or deck_mm):
        return Contour.joined(
            fitted([(bottom, 0.0, 1.0)], ARC_FIT_MM), fitted([(deck, 0.0, 1.0)], ARC_FIT_MM).reversed(), closed=True
        )
    # The bottom's outer side is to the right of its way forward, the deck's to the left.
    bottom = _parallel(bottom, -bottom_mm)
    upper = _going_on(_parallel(deck, deck_mm), deck)
    if upper is None or _crossed(bottom, upper):
        return None
    deck = upper
    nose = _meeting(bottom, deck, 1.0)
    if body.end == "closed":
        tail = _meeting(bottom, deck, 0.0)
    else:
        wall = stringer_from_mm(body) - bottom_mm
        tail = _at_station(bottom, wall), _at_station(deck, wall)
    if not all(start < end for start, end in zip(tail, nose, strict=True)):
        return None
    edges = [_trimmed(bottom, tail[0], nose[0]), _trimmed(deck, tail[1], nose[1]).reversed()]
    return Contour.joined(*edges, closed=True)


def _crossed(lower: Curve, upper: Curve) -> bool:
    """Whether the upper edge lies under the lower one in the middle of the board."""
    share = np.linspace(0.25, 0.75, SAMPLES)
    low, high = lower(share)[0], upper(share)[0]
    return bool(np.any(high[:, 1] <= np.interp(high[:, 0], *low.T)))


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
