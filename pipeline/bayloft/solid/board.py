"""A board as a body: its sections skinned into one surface."""

from __future__ import annotations

import itertools
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from bayloft.arithmetic import lengths
from bayloft.lines.board import BoardLines
from bayloft.lines.closing import fading
from bayloft.lines.roots import bracketed
from bayloft.lines.section_places import APEX, CHINE, DECK_CHINE, EDGE, channel_joints
from bayloft.solid.body import Body
from bayloft.solid.surface import Surface, interpolated

Array = NDArray[np.float64]

STATIONS = 140
"""Steps in u over the whole board at which sections are skinned."""
TIP_U, TIP_DENSITY = 0.06, 3.3
"""How far from a closed end, in u, steps are finer, and by how much at the very end."""
STEPS_IN_FAN = 60
"""Steps in u over the fan of a wall."""
SAME_PLACE = 1e-4
"""Difference in u below which two kinks are one."""

SPANS, SPANS_AT_WALL = 32, 40
"""Spans in v between two joints, crowded towards both; with a wall as many that its edges on deck and bottom, which are
one curve in plan, agree to 1e-4 mm."""

FAN_REACHES, LEAST_FAN_MM = 2.5, 50.0
"""How far the u-lines fan out from a wall: in reaches of the wall, so that they stay apart (their steps shrink
to a third at most), and mm, so that a shallow wall is no sudden bend for them. Forward of it sections
are upright."""

NARROWEST_PIECE = 3e-4
"""Least difference in v of a corner's arc from a joint: one that begins nearer needs none of its own."""

SKIN_MM = 0.006
"""mm by which the skin may leave the sections between the places where it was drawn through them; finer steps else."""
MOST_FINER, MOST_SPLIT, SAFELY = 4, 3, 1.15
"""How often steps are split, into how many at most, and by how much finer than they need be."""

Points = Callable[[Array, Array], Array]
Shape = Callable[[Array], Array]


def _as_drawn(points: Array) -> Array:
    return points


def section_joints(lines: BoardLines) -> list[float]:
    """Return the v at which every section of a board has a joint, ascending, ends included."""
    traits = lines.sections.traits
    chines = [*([CHINE] if traits.chined else []), *([DECK_CHINE] if traits.deck_chined else [])]
    return sorted([0.0, EDGE, APEX, 1.0, *chines, *channel_joints(traits.channels)])


def wall_parameters(lines: BoardLines, v: Array) -> Array:
    """Return, for each v, the parameter u where the section's point meets the wall; zeros at a closed tail."""
    wall = lines.wall
    if wall is None:
        return np.zeros_like(v)

    def beyond(u: Array, at: Array) -> Array:
        x, y = lines.plan_points(u, at)
        return np.asarray(x - wall.station(y), dtype=np.float64)

    reach = float(lines.outline.parameter(wall.reach_mm)) + 1e-9
    found = bracketed(beyond, np.zeros_like(v), np.full_like(v, reach), v)
    # At the apex wall and outline touch, and a root finder only comes near.
    return np.where(np.abs(v - APEX) < 1e-12, float(lines.outline.parameter(wall.corner_x_mm)), found)


def _arc_joints(lines: BoardLines, joints: list[float]) -> list[float]:
    """Return the v, on bottom and deck, where the rounding of a wall's corner begins: the u-lines bend there."""
    wall = lines.wall
    if wall is None or wall.radius_mm == 0.0:
        return []
    u = float(lines.outline.parameter(float(wall.base(wall.arc_from_mm))))

    def beyond(v: float) -> float:
        return float(lines.plan_points(u, v)[1]) - wall.arc_from_mm

    found = [float(brentq(beyond, a, b, xtol=1e-15)) for a, b in ((0.0, APEX), (APEX, 1.0))]
    return [v for v in found if min(abs(v - joint) for joint in joints) > NARROWEST_PIECE]


def _sites(kinks: Array, from_u: float, *, closed_tail: bool) -> Array:
    """Return the places in u for skinning from `from_u` to the nose: every kink, and between them steps that are finer
    towards closed ends.
    """
    breaks = np.concatenate([[from_u], kinks[(kinks > from_u + SAME_PLACE) & (kinks < 1.0 - SAME_PLACE)], [1.0]])
    breaks = breaks[np.concatenate([[True], np.diff(breaks) > SAME_PLACE])]
    breaks[-1] = 1.0
    u = np.linspace(0.0, 1.0, 2001)
    ends = [1.0 - u, u] if closed_tail else [1.0 - u]
    density = np.ones_like(u)
    for end in ends:
        density = density + (TIP_DENSITY - 1.0) * np.maximum(1.0 - end / (2.0 * TIP_U), 0.0) ** 2
    count = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2.0)]) / (len(u) - 1)
    at = np.interp(breaks, u, count)
    places = []
    for a, b in itertools.pairwise(at):
        n = max(int(np.ceil((b - a) * STATIONS)), 2)
        places.append(np.interp(np.linspace(a, b, n + 1)[:-1], count, u))
    sites = np.concatenate([*places, [1.0]])
    sites[np.searchsorted(sites, breaks[1:-1] - 1e-12)] = breaks[1:-1]
    sites[0] = from_u
    return sites


def _finer(u: Array, off_mm: Array) -> Array:
    """Return places in u (n,) with steps split where a cubic leaves what it is drawn through by more than SKIN_MM;
    `off_mm` (n - 1,) by how much in each step: it goes with the step's fourth power.
    """
    counts = np.clip(np.ceil((off_mm / SKIN_MM) ** 0.25 * SAFELY), 1, MOST_SPLIT).astype(np.int64)
    counts[off_mm <= SKIN_MM] = 1
    split = [np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(u[:-1], u[1:], counts, strict=True)]
    return np.concatenate([*split, u[-1:]])


def board_body(lines: BoardLines, shape: Shape | None = None) -> Body:
    """Return the body of a board: u from the tail (its tip or its wall's edge) to the nose tip, v round the section.

    At a cut-off tail the u-lines fan out from the wall's edge, so that the surface needs no trimming. Steps are split
    until the surface follows the sections to SKIN_MM. shape: what the points of the sections (..., 3) become, in mm: a
    smooth map that keeps the stringer's plane, and a wall upright.
    """
    shape = shape or _as_drawn
    wall = lines.wall
    joints = section_joints(lines)
    kinks = np.unique(lines.outline.parameter(lines.kinks_mm))
    if wall is None:

        def upright(u: Array, v: Array) -> Array:
            return shape(lines.points(u, v))

        return Body(port=_skinned(upright, joints, SPANS, _sites(kinks, 0.0, closed_tail=True)))
    fan = float(lines.outline.parameter(min(max(FAN_REACHES * wall.reach_mm, LEAST_FAN_MM), lines.length_mm)))
    starts: dict[bytes, Array] = {}

    def points(u: Array, v: Array) -> Array:
        key = v.tobytes()
        if key not in starts:
            starts[key] = wall_parameters(lines, v[0])
        # Forward of the fan a section is upright: its numbers are those of one station.
        fanned = int(np.searchsorted(u[:, 0], fan))
        aft = u[:fanned] + starts[key] * (1.0 - fading(u[:fanned] / fan))
        return shape(np.concatenate([lines.points(aft, v), lines.points(u[fanned:], v)]))

    sites = np.concatenate([np.linspace(0.0, fan, STEPS_IN_FAN + 1)[:-1], _sites(kinks, fan, closed_tail=False)])
    joints = sorted([*joints, *_arc_joints(lines, joints)])
    return Body(port=_skinned(points, joints, SPANS_AT_WALL, sites), end="wall", wall_corner=APEX)


def _skinned(points: Points, joints: list[float], spans: int, sites: Array) -> Surface:
    u = sites
    for _ in range(MOST_FINER + 1):
        surface = interpolated(points, u, joints, spans, crowded=True)
        between, v = (u[1:] + u[:-1]) / 2.0, surface.breaks[1][::2]
        finer = _finer(u, lengths(surface.grid(between, v) - points(between[:, None], v[None, :])).max(axis=1))
        if len(finer) == len(u):
            break
        u = finer
    return surface
