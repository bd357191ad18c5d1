"""A board as a body: its sections skinned into one surface."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq, elementwise

from bayloft.lines.board import BoardLines
from bayloft.lines.closing import fading
from bayloft.lines.section import APEX, SEGMENTS
from bayloft.solid.body import Body
from bayloft.solid.surface import interpolated

Array = NDArray[np.float64]

STATIONS = 160
STEPS_AT_TIP = 20
STEPS_BETWEEN_KINKS = 3
"""Steps in u over the whole board, and at least over each end piece and between any two kinks, at which sections are
skinned; where section numbers are given a foot apart or more, the surface then leaves the lines by less than 1e-3 mm."""

SPANS_A_SEGMENT = 8
SPANS_A_SEGMENT_AT_WALL = 16
"""Spans in v per section segment: any number is exact for upright sections; where the u-lines fan out from a wall's
edge, sixteen follow its corners."""

FAN_REACHES, LEAST_FAN_MM = 4.0, 50.0
"""How far the u-lines fan out from a wall: in reaches of the wall, so that they stay well apart (their steps shrink by
less than half), and mm, so that a shallow wall is no sudden bend for them. Forward of it every section is upright."""

NARROWEST_PIECE = 2e-3
"""Least share of the section's v between two joints: a corner's arc that begins nearer to a joint needs none."""


def wall_stations(lines: BoardLines, v: Array) -> Array:
    """Return, for each v, the station in mm where the section's point meets the wall; zeros at a closed tail."""
    wall = lines.wall
    if wall is None:
        return np.zeros_like(v)

    def beyond(x: Array, at: Array) -> Array:
        return np.asarray(x - wall.station(lines.section_points(x, at)[..., 1]), dtype=np.float64)

    found = elementwise.find_root(
        beyond,
        (np.zeros_like(v), np.full_like(v, wall.reach_mm + 1e-9)),
        args=(v,),
        tolerances={"xatol": 1e-12, "xrtol": 0.0, "fatol": 0.0, "frtol": 0.0},
    )
    stations = np.asarray(found.x, dtype=np.float64)
    # At the apex wall and outline touch, and a root finder only comes near.
    stations[np.abs(v - APEX) < 1e-12] = wall.corner_x_mm
    return stations


def _arc_joints(lines: BoardLines) -> list[float]:
    """Return the v, on bottom and deck, where the rounding of a wall's corner begins: the fan of u-lines bends there."""
    wall = lines.wall
    if wall is None or wall.radius_mm == 0.0:
        return []
    x = float(wall.base(wall.arc_from_mm))

    def beyond(v: float) -> float:
        return float(lines.section_points(x, v)[1]) - wall.arc_from_mm

    found = [float(brentq(beyond, a, b, xtol=1e-15)) for a, b in ((0.0, APEX), (APEX, 1.0))]
    return [v for v in found if abs(v * SEGMENTS - round(v * SEGMENTS)) > NARROWEST_PIECE * SEGMENTS]


def _sites(kinks: Array) -> Array:
    """Return the places in u for skinning: every kink, even steps between them, finer where a tip is rounded off."""
    breaks = np.concatenate([[0.0], kinks, [1.0]])
    breaks = breaks[np.concatenate([[True], np.diff(breaks) > 0.1 / STATIONS])]
    breaks[-1] = 1.0
    steps = np.maximum(np.ceil(np.diff(breaks) * STATIONS).astype(np.int64), STEPS_BETWEEN_KINKS)
    steps[[0, -1]] = np.maximum(steps[[0, -1]], STEPS_AT_TIP)
    pieces = [np.linspace(a, b, n + 1)[:-1] for a, b, n in zip(breaks[:-1], breaks[1:], steps, strict=True)]
    return np.concatenate([*pieces, [1.0]])


def board_body(lines: BoardLines) -> Body:
    """Return the body of a board: u from the tail (its tip or its wall's edge) to the nose tip, v round the section.

    At a cut-off tail the u-lines fan out from the wall's edge, so that the surface needs no trimming.
    """
    length = lines.length_mm
    wall = lines.wall
    fan = 0.0 if wall is None else min(max(FAN_REACHES * wall.reach_mm, LEAST_FAN_MM), length)
    kinks = np.unique([*lines.kinks_mm, *([fan] if 0.0 < fan < length else [])])
    sites = _sites(lines.outline.parameter(kinks))

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
    port = interpolated(points, sites, tuple(joints), SPANS_A_SEGMENT_AT_WALL)
    return Body(port=port, end="wall", wall_corner=APEX)
