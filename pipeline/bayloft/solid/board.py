"""A board as a body: its sections skinned into one surface."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from bayloft.lines.board import BoardLines
from bayloft.lines.closing import fading
from bayloft.lines.roots import bracketed
from bayloft.lines.section import APEX, SEGMENTS
from bayloft.solid.body import Body
from bayloft.solid.surface import interpolated

Array = NDArray[np.float64]

STATIONS = 160
STEPS_AT_TIP = 20
STEPS_BETWEEN_KINKS = 3
MOST_STATIONS = 1000
"""Steps in u over the whole board, and at least over each end piece and between any two kinks, at which sections are
skinned; where section numbers are given a foot apart or more, the surface then leaves the lines by less than 1e-3 mm.
Where the u-lines fan out no knot can lie on a kink for all of them, so the steps there follow the closest two kinks, up
to as many as would be MOST_STATIONS over the whole board."""

SAME_PLACE = 1e-5
"""Difference in u below which two kinks are one. It must be far below the least step between two given stations: a
quick change of the section that is not resolved makes the surface swing for a foot to either side."""

SPANS_A_SEGMENT = 8
SPANS_A_SEGMENT_AT_WALL = 16
"""Spans in v per section segment: any number is exact for upright sections; where the u-lines fan out from a wall's
edge, sixteen, crowded towards the joints, follow its corners."""

FAN_REACHES, LEAST_FAN_MM = 2.5, 50.0
"""How far the u-lines fan out from a wall: in reaches of the wall, so that they stay apart (their steps shrink
to a third at most), and mm, so that a shallow wall is no sudden bend for them. Forward of it sections
are upright."""

NARROWEST_PIECE = 5e-4
"""Least share of the section's v between two joints: a corner's arc that begins nearer to a joint needs none."""


def wall_stations(lines: BoardLines, v: Array) -> Array:
    """Return, for each v, the station in mm where the section's point meets the wall; zeros at a closed tail."""
    wall = lines.wall
    if wall is None:
        return np.zeros_like(v)

    def beyond(x: Array, at: Array) -> Array:
        return np.asarray(x - wall.station(lines.section_points(x, at)[..., 1]), dtype=np.float64)

    stations = bracketed(beyond, np.zeros_like(v), np.full_like(v, wall.reach_mm + 1e-9), v)
    # At the apex wall and outline touch, and a root finder only comes near.
    stations[np.abs(v - APEX) < 1e-12] = wall.corner_x_mm
    return stations


def _arc_joints(lines: BoardLines) -> list[float]:
    """Return the v, on bottom and deck, where the rounding of a wall's corner begins: the u-lines bend there."""
    wall = lines.wall
    if wall is None or wall.radius_mm == 0.0:
        return []
    x = float(wall.base(wall.arc_from_mm))

    def beyond(v: float) -> float:
        return float(lines.section_points(x, v)[1]) - wall.arc_from_mm

    found = [float(brentq(beyond, a, b, xtol=1e-15)) for a, b in ((0.0, APEX), (APEX, 1.0))]
    return [v for v in found if abs(v * SEGMENTS - round(v * SEGMENTS)) > NARROWEST_PIECE * SEGMENTS]


def _sites(kinks: Array, fan_u: float) -> Array:
    """Return the places in u for skinning: every kink, even steps between them, finer at the tips and in the fan."""
    breaks = np.concatenate([[0.0], kinks, [1.0]])
    breaks = breaks[np.concatenate([[True], np.diff(breaks) > SAME_PLACE])]
    breaks[-1] = 1.0
    pieces = np.diff(breaks)
    density = np.full(len(pieces), float(STATIONS))
    fanned = breaks[1:] <= fan_u
    if fanned.any():
        density[fanned] = np.clip(STEPS_BETWEEN_KINKS / pieces[fanned].min(), STATIONS, MOST_STATIONS)
    steps = np.maximum(np.ceil(pieces * density).astype(np.int64), STEPS_BETWEEN_KINKS)
    steps[[0, -1]] = np.maximum(steps[[0, -1]], STEPS_AT_TIP)
    spread = [np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(breaks[:-1], breaks[1:], steps, strict=True)]
    return np.concatenate([*spread, [1.0]])


def board_body(lines: BoardLines) -> Body:
    """Return the body of a board: u from the tail (its tip or its wall's edge) to the nose tip, v round the section.

    At a cut-off tail the u-lines fan out from the wall's edge, so that the surface needs no trimming.
    """
    length = lines.length_mm
    wall = lines.wall
    fan = 0.0 if wall is None else min(max(FAN_REACHES * wall.reach_mm, LEAST_FAN_MM), length)
    kinks = np.unique([*lines.kinks_mm, *([fan] if 0.0 < fan < length else [])])
    sites = _sites(lines.outline.parameter(kinks), float(lines.outline.parameter(fan)))

    def points(u: Array, v: Array) -> Array:
        along = lines.outline.station(u)
        x = along + np.zeros_like(v)
        if wall is not None:
            x = x + wall_stations(lines, v[0]) * (1.0 - fading(along / fan))
        # The nose is one point to the last bit, not a row of near ones.
        x[-1] = length
        return lines.section_points(x, np.broadcast_to(v, x.shape))

    joints = np.linspace(0.0, 1.0, SEGMENTS + 1)
    if wall is None:
        return Body(port=interpolated(points, sites, tuple(joints), SPANS_A_SEGMENT))
    joints = np.sort([*joints, *_arc_joints(lines)])
    port = interpolated(points, sites, tuple(joints), SPANS_A_SEGMENT_AT_WALL, crowded=True)
    return Body(port=port, end="wall", wall_corner=APEX)
