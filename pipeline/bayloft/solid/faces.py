"""A board's bottom and deck from any side: where straight lines meet them, solved on the surface itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import KDTree

from bayloft.arithmetic import product
from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.tolerances import BOTTOM_MM

Array = NDArray[np.float64]

LEVEL_AXES = np.eye(3)
"""Axes along the board's own: heights above the flat plane over places in plan."""

FULL_STEPS, MOST_STEPS = 7, 56
"""Newton's method takes four to six whole steps; a place that is not found after MOST_STEPS is not on the face."""

SAMPLES = (81, 31)
"""Places in u and in v of the grid on which a start is looked up."""

BEYOND_MM = 5.0
"""By which that grid reaches beyond the feet, for lines that lean."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Met:
    """Where lines meet a face, arrays (n,): `height_mm` along each line from its foot, its slopes `along` and
    `across` (mm per mm, as the foot moves along the first and the second axis), and the section parameter `v` there,
    0 at the stringer, EDGE at the bottom edge, APEX at the rail's widest point.
    """

    height_mm: Array
    along: Array
    across: Array
    v: Array


class NotOnFaceError(Exception):
    """A line that passes the face by; who asks has made sure that there is a board."""


def met(body: Body, origin_mm: Array, axes: Array, x_mm: ArrayLike, y_mm: ArrayLike, *, deck: bool = False) -> Met:
    """Return where lines meet the bottom, or the deck: from the feet origin + x axes[0] + y axes[1] along axes[2].

    Newton's method in the surface's own parameters, both halves of the face as one; the residual across the line is
    below BOTTOM_MM. Exact on the B-spline surface, to rounding.

    Parameters
    ----------
    origin_mm : (3,) in the board's axes.
    axes : (3, 3), unit vectors square to one another as rows.
    x_mm, y_mm : (n,) along the first two axes.

    Raises
    ------
    NotOnFaceError
        Where a line does not meet the face inside the rail's apex.
    """
    x, y = np.broadcast_arrays(*(np.atleast_1d(np.asarray(a, dtype=np.float64)) for a in (x_mm, y_mm)))
    feet = origin_mm + x[:, None] * axes[0] + y[:, None] * axes[1]
    u, w = _start(body, feet, deck=deck)
    reach = 1.0 - APEX if deck else APEX
    for n in range(MOST_STEPS):
        point, su, sw = _both_halves(body, u, w, deck=deck)
        gap = product(point - feet, axes[:2].T)
        if float(np.abs(gap).max(initial=0.0)) < BOTTOM_MM:
            break
        a, b, c, d = (product(slope, axis) for axis in axes[:2] for slope in (su, sw))
        step = np.stack([gap[:, 0] * d - gap[:, 1] * b, gap[:, 1] * a - gap[:, 0] * c])
        with np.errstate(divide="ignore", invalid="ignore"):
            step /= a * d - b * c
        # At the crease of a hard edge whole steps may go to and fro between its sides for ever; half ones do not.
        step *= 0.5 if n // FULL_STEPS % 2 else 1.0
        u, w = np.clip(u - step[0], 0.0, 1.0), np.clip(w - step[1], -reach, reach)
    else:
        raise NotOnFaceError
    normal = product(np.cross(sw, su), axes.T)
    return Met(
        height_mm=product(point - feet, axes[2]),
        along=-normal[:, 0] / normal[:, 2],
        across=-normal[:, 1] / normal[:, 2],
        v=1.0 - np.abs(w) if deck else np.abs(w),
    )


def bottom_height(body: Body, x_mm: ArrayLike, y_mm: ArrayLike) -> Array:
    """Return the height in mm of the bottom at places in plan (n,) inside the rail's apex; errors as for `met`."""
    return met(body, np.zeros(3), LEVEL_AXES, x_mm, y_mm).height_mm


def _both_halves(body: Body, u: Array, w: Array, *, deck: bool) -> tuple[Array, Array, Array]:
    """Return points and derivatives along u and w: how far in v from the stringer, negative to starboard."""
    side = np.where(w < 0.0, -1.0, 1.0)[:, None]
    mirror = np.where(side < 0.0, [1.0, -1.0, 1.0], 1.0)
    v = 1.0 - np.abs(w) if deck else np.abs(w)
    point, su, sv = (body.port.at(u, v, *order) * mirror for order in ((0, 0), (1, 0), (0, 1)))
    return point, su, sv * (-side if deck else side)


def _start(body: Body, feet: Array, *, deck: bool) -> tuple[Array, Array]:
    """Return the parameters u and w of the nearest places in plan on a grid that just spans the feet."""
    reach = 1.0 - APEX if deck else APEX
    along, off = np.linspace(0.0, 1.0, SAMPLES[0]), np.linspace(0.0, reach, SAMPLES[1])
    across = 1.0 - off if deck else off
    lines = body.port.grid(along, across[[0, -1]])[..., 0].T
    low, high = (
        limit([np.interp(limit(feet[:, 0]) + beyond, line, along) for line in lines])
        for limit, beyond in ((np.min, -BEYOND_MM), (np.max, BEYOND_MM))
    )
    along = np.linspace(low, high, SAMPLES[0])
    grid = body.port.grid(along, across)[..., :2].reshape(-1, 2)
    _, nearest = KDTree(grid).query(np.column_stack([feet[:, 0], np.abs(feet[:, 1])]))
    row, column = np.divmod(nearest, SAMPLES[1])
    return along[row], off[column] * np.where(feet[:, 1] < 0.0, -1.0, 1.0)
