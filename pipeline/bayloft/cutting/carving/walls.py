"""The wall of a cut-off tail, by the side of the finishing cutter: its plan curve and the cutter's radius."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.carving.finishing import LEAD_IN_MM, SAG_MM, over_tabs
from bayloft.cutting.carving.paths import TipPath, mirrored, thinned
from bayloft.cutting.carving.setup import CarveJob, Face
from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body

Array = NDArray[np.float64]

PLACES = 1201
BESIDE = 2e-4
"""v beside the corner, where the wall's edge stands upright and has no direction in plan."""
ARC_PLACES = 33
DEPTH_SHARE = 0.8
"""Share of its cutting edges that the cutter's side uses at once on a wall."""
POINTED_MM = 5e-3
"""Of the wall's normal across the stringer, times the radius: below, the wall runs straight over it."""


def wall_paths(job: CarveJob, face: Face) -> list[TipPath]:
    """Return the paths of the tip that finish the wall of a cut-off tail down to the height of its corners, in the axes
    of a set-up: each side from its corner to the stringer, in as many depths as levels and cutting edges ask for.
    """
    body = job.body
    if body.end != "wall":
        return []
    radius = job.finisher.radius_mm
    plan = _round_port(body, radius)
    edge = job.placed(body.port.grid([0.0], np.linspace(0.0, 1.0, 201))[0], face)
    seam = float(job.placed(body.port.at([0.0], [APEX]), face)[0, 2])
    top = float(edge[:, 2].max())
    deep = min(DEPTH_SHARE * job.finisher.depth_mm, job.gantry.level_mm)
    levels = max(math.ceil((top - seam) / deep), 1)
    out = plan[0] - body.port.at(0.0, APEX)[:2]
    lead = plan[0] + (job.gantry.allowance_mm + LEAD_IN_MM) * out / math.hypot(*out.tolist())
    places = np.concatenate([[lead], plan])
    found = []
    for level in range(1, levels + 1):
        centres = job.placed(np.column_stack([places, np.zeros(len(places))]), face)
        centres[:, 2] = top - (top - seam) * level / levels
        # Each side from its corner inward: over a tab in the middle the cutter goes up, and never down beside it.
        half = thinned(over_tabs(job, face, centres, radius), SAG_MM) - np.array([0.0, 0.0, radius])
        found += [
            TipPath(what="wall of the tail, by the side of the cutter", points=side) for side in (half, mirrored(half))
        ]
    return found


def notch_left_mm(body: Body, radius_mm: float) -> float:
    """Return how far from the root of a notch in the wall a cutter's side stays on the stringer: r (1 / sin a - 1) for
    a notch that opens by 2 a; 0 where there is none.
    """
    if body.end != "wall":
        return 0.0
    x, y = body.port.grid([0.0], [1.0 - 1e-9], 0, 1)[0, 0, :2].tolist()
    # Along the deck's edge towards the stringer: in a notch it runs forward as it comes in.
    size = math.hypot(x, y)
    if size <= 0.0 or x / size * radius_mm <= POINTED_MM:
        return 0.0
    half = math.atan2(abs(y), x)
    return radius_mm * (1.0 / math.sin(half) - 1.0)


def _round_port(body: Body, radius: float) -> Array:
    """Return the cutter's middle in plan (n, 2) from beside the corner, where the rail begins, to the stringer."""
    corner = body.wall_corner
    v = np.linspace(corner + BESIDE, 1.0 - 1e-9, PLACES)
    edge = body.port.grid([0.0], v)[0, :, :2]
    slope = body.port.grid([0.0], v, 0, 1)[0, :, :2]
    size = np.sqrt((slope * slope).sum(axis=1, keepdims=True))
    along = slope / np.maximum(size, 1e-300)
    # From the corner to the stringer the board lies to the right.
    normal = np.column_stack([along[:, 1], -along[:, 0]])
    if abs(float(normal[-1, 1])) * radius < POINTED_MM:
        normal[-1] = [-1.0, 0.0]
    at = body.port.at(0.0, corner)[:2]
    run = body.port.at(0.0, corner, 1, 0)[:2]
    run /= math.hypot(*run.tolist())
    rail = np.array([-run[1], run[0]])
    round_corner = at + radius * _fan(rail, normal[0])
    if float(normal[-1, 1]) > 0.0:
        tip = edge[-1] + radius * _fan(normal[-1], np.array([-1.0, 0.0]))
        return np.concatenate([round_corner, edge + radius * normal, tip])
    moved = edge + radius * normal
    over = np.flatnonzero(moved[:, 1] < 0.0)
    if len(over):
        k = int(over[0])
        share = moved[k - 1, 1] / (moved[k - 1, 1] - moved[k, 1])
        met = moved[k - 1] + share * (moved[k] - moved[k - 1])
        moved = np.concatenate([moved[:k], [met]])
    return np.concatenate([round_corner, moved])


def _fan(first: Array, last: Array) -> Array:
    """Return unit vectors turned from the first to the last by the shorter way."""
    start = math.atan2(first[1], first[0])
    turn = math.atan2(first[0] * last[1] - first[1] * last[0], float(first[0] * last[0] + first[1] * last[1]))
    angle = start + turn * np.linspace(0.0, 1.0, ARC_PLACES)
    return np.column_stack([np.cos(angle), np.sin(angle)])
