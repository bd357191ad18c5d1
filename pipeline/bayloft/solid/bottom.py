"""The bottom of a board from any side: where straight lines meet it, solved on the surface itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.lines.section import APEX
from bayloft.solid.body import Body
from bayloft.tolerances import BOTTOM_MM

Array = NDArray[np.float64]

LEVEL_AXES = np.eye(3)
"""Axes along the board's own: heights above the flat plane over places in plan."""

MOST_STEPS = 30
"""Newton's method takes four to six; a place that is not found after these is not on the bottom."""

SAMPLES = (160, 24)
"""Places in u along the stringer and the apex, and in v across, between which a start is interpolated."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Met:
    """Where lines meet the bottom, arrays (n,): `height_mm` along each line from its foot, its slopes `along` and
    `across` (mm per mm, as the foot moves along the first and the second axis), and the section parameter `v` there,
    0 at the stringer, EDGE at the tuck, APEX at the rail's widest point.
    """

    height_mm: Array
    along: Array
    across: Array
    v: Array


class NotOnBottomError(Exception):
    """A line that passes the bottom by; who asks has made sure that there is a board."""


def met(body: Body, origin_mm: Array, axes: Array, x_mm: ArrayLike, y_mm: ArrayLike) -> Met:
    """Return where lines meet the bottom: from the feet origin + x axes[0] + y axes[1], each along axes[2].

    Newton's method in the surface's own parameters, both halves of the bottom as one; the residual across the line is
    below BOTTOM_MM. Exact on the B-spline surface, to rounding.

    Parameters
    ----------
    origin_mm : (3,) in the board's axes.
    axes : (3, 3), unit vectors square to one another as rows.
    x_mm, y_mm : (n,) along the first two axes.

    Raises
    ------
    NotOnBottomError
        Where a line meets no bottom inside the rail's apex.
    """
    x, y = np.broadcast_arrays(*(np.atleast_1d(np.asarray(a, dtype=np.float64)) for a in (x_mm, y_mm)))
    feet = origin_mm + x[:, None] * axes[0] + y[:, None] * axes[1]
    u, w = _start(body, feet)
    step, least, share = np.zeros((2, len(u))), np.full(len(u), np.inf), np.ones(len(u))
    for _ in range(MOST_STEPS):
        point, su, sw = _both_halves(body, u, w)
        gap = (point - feet) @ axes[:2].T
        miss = np.abs(gap).max(axis=1)
        if float(miss.max(initial=0.0)) < BOTTOM_MM:
            break
        # Across the crease of a hard edge a whole step may lead away; half of it, or a quarter, does not.
        worse = miss > least
        share = np.where(worse, -share / 2, 1.0)
        a, b, c, d = (su @ axes[0]), (sw @ axes[0]), (su @ axes[1]), (sw @ axes[1])
        new = np.stack([gap[:, 0] * d - gap[:, 1] * b, gap[:, 1] * a - gap[:, 0] * c])
        with np.errstate(divide="ignore", invalid="ignore"):
            step = np.where(worse, step, new / (a * d - b * c))
        least = np.where(worse, least, miss)
        u, w = np.clip(u - share * step[0], 0.0, 1.0), np.clip(w - share * step[1], -APEX, APEX)
        share = np.abs(share)
    else:
        raise NotOnBottomError
    normal = np.cross(sw, su) @ axes.T
    return Met(
        height_mm=(point - feet) @ axes[2],
        along=-normal[:, 0] / normal[:, 2],
        across=-normal[:, 1] / normal[:, 2],
        v=np.abs(w),
    )


def bottom_height(body: Body, x_mm: ArrayLike, y_mm: ArrayLike) -> Array:
    """Return the height in mm of the bottom at places in plan (n,) inside the rail's apex; errors as for `met`."""
    return met(body, np.zeros(3), LEVEL_AXES, x_mm, y_mm).height_mm


def _both_halves(body: Body, u: Array, w: Array) -> tuple[Array, Array, Array]:
    """Return points and derivatives along u and w, w = v to port and -v to starboard."""
    side = np.where(w < 0.0, -1.0, 1.0)[:, None]
    mirror = np.where(side < 0.0, [1.0, -1.0, 1.0], 1.0)
    v = np.abs(w)
    point, su, sv = (body.port.at(u, v, *order) * mirror for order in ((0, 0), (1, 0), (0, 1)))
    return point, su, sv * side


def _start(body: Body, feet: Array) -> tuple[Array, Array]:
    """Return parameters u and w near the places of feet in plan: off by a cell where u-lines fan out, which is enough
    for Newton's method on a bottom that nowhere folds.
    """
    along, across = np.linspace(0.0, 1.0, SAMPLES[0] + 1), np.linspace(0.0, APEX, SAMPLES[1] + 1)
    grid = body.port.grid(along, across)
    beside = np.clip(np.abs(feet[:, 1]) / np.maximum(np.interp(feet[:, 0], *grid[:, -1, :2].T), BOTTOM_MM), 0.0, 1.0)
    inner, outer = (np.interp(feet[:, 0], grid[:, side, 0], along) for side in (0, -1))
    u = inner + beside * (outer - inner)
    place = np.clip((u * SAMPLES[0]).astype(np.int64), 0, SAMPLES[0] - 1)
    after = (u * SAMPLES[0] - place)[:, None]
    rows = (1.0 - after) * grid[place, :, 1] + after * grid[place + 1, :, 1]
    off = np.clip(np.abs(feet[:, 1]), rows[:, 0], rows[:, -1])
    cell = np.clip((rows <= off[:, None]).sum(axis=1) - 1, 0, SAMPLES[1] - 1)
    each = np.arange(len(u))
    low, high = rows[each, cell], rows[each, cell + 1]
    share = (off - low) / np.maximum(high - low, BOTTOM_MM)
    return u, across[1] * (cell + share) * np.where(feet[:, 1] < 0.0, -1.0, 1.0)
