"""The tensor-product cubic B-spline surface that is the shape."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline, NdBSpline

from bayloft.lines.interpolation import interpolating
from bayloft.tolerances import COEFFICIENT_DECIMALS

Array = NDArray[np.float64]

DEGREE = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Surface:
    """A bicubic B-spline surface: clamped knots in u and v over [0, 1], control `net` (nu, nv, 3) in mm.

    Across a knot of multiplicity three the surface is continuous but may turn; such v are its `joints`.
    """

    knots_u: Array
    knots_v: Array
    net: Array

    def grid(self, u: ArrayLike, v: ArrayLike, du: int = 0, dv: int = 0) -> Array:
        """Return the derivative of order (du, dv) on the grid of parameters: shape (len(u), len(v), 3), mm."""
        along = _along(self)(np.asarray(u, dtype=np.float64), du)
        columns = along.reshape(-1, self.net.shape[1], 3).transpose(1, 0, 2)
        across = BSpline(self.knots_v, columns, DEGREE)(np.asarray(v, dtype=np.float64), dv)
        return across.transpose(1, 0, 2)

    def at(self, u: ArrayLike, v: ArrayLike, du: int = 0, dv: int = 0) -> Array:
        """Return the derivative of order (du, dv) at pairs of parameters broadcast together: shape (..., 3), mm."""
        u, v = np.broadcast_arrays(np.asarray(u, dtype=np.float64), np.asarray(v, dtype=np.float64))
        return np.asarray(_both_ways(self)(np.stack([u, v], axis=-1), nu=(du, dv)), dtype=np.float64)

    @property
    def breaks(self) -> tuple[Array, Array]:
        """The distinct knots in u and in v: between two of each the surface is one polynomial."""
        return np.unique(self.knots_u), np.unique(self.knots_v)

    @property
    def joints(self) -> Array:
        """The v across which the surface may turn, ends included, ascending."""
        values, counts = np.unique(self.knots_v, return_counts=True)
        return np.asarray(values[counts >= DEGREE], dtype=np.float64)


# A surface is asked some hundred times: what its splines check and prepare, they do once.
@lru_cache(maxsize=32)
def _along(surface: Surface) -> BSpline[np.float64]:
    return BSpline(surface.knots_u, surface.net.reshape(len(surface.net), -1), DEGREE)


@lru_cache(maxsize=32)
def _both_ways(surface: Surface) -> NdBSpline:
    return NdBSpline((surface.knots_u, surface.knots_v), surface.net, DEGREE)


def crowded_places(count: int) -> Array:
    """Return so many places from 0 to 1, closer together towards both: there a tip turns within a few mm."""
    even = np.linspace(0.0, 1.0, count)
    return np.asarray(even * even * (3.0 - 2.0 * even), dtype=np.float64)


def interpolated(
    points: Callable[[Array, Array], Array],
    u_sites: ArrayLike,
    v_joints: Sequence[float],
    v_spans: int,
    *,
    crowded: bool = False,
) -> Surface:
    """Return the surface through `points(u, v)`, called once with u (nu, 1) and v (1, nv), giving (nu, nv, 3) in mm.

    Interpolates at `u_sites` (ascending, 0 to 1) and at `v_spans` + 1 places between neighbouring `v_joints`, even or
    `crowded` towards the joints, with not-a-knot cubics; across a joint only position is
    shared, so corners there stay sharp. A section that is one cubic between two joints is met exactly. Control points
    are rounded to COEFFICIENT_DECIMALS.
    """
    u = np.asarray(u_sites, dtype=np.float64)
    stretches = [np.linspace(a, b, v_spans + 1) for a, b in itertools.pairwise(v_joints)]
    if crowded:
        shares = crowded_places(v_spans + 1)
        stretches = [stretch[0] + (stretch[-1] - stretch[0]) * shares for stretch in stretches]
    v = np.concatenate([stretches[0][:1], *(stretch[1:] for stretch in stretches)])
    values = points(u[:, None], v[None, :])
    knots, columns = [np.full(DEGREE + 1, float(v_joints[0]))], []
    for i, stretch in enumerate(stretches):
        spline = interpolating(stretch, values[:, i * v_spans : (i + 1) * v_spans + 1].swapaxes(0, 1))
        coefficients = spline.c.swapaxes(0, 1)
        columns.append(coefficients if i == 0 else coefficients[:, 1:])
        knots += [spline.t[DEGREE + 1 : -DEGREE - 1], np.full(DEGREE, float(v_joints[i + 1]))]
    knots.append(np.full(1, float(v_joints[-1])))
    along = interpolating(u, np.concatenate(columns, axis=1))
    net = np.round(along.c, COEFFICIENT_DECIMALS) + 0.0
    for end in (0, -1):
        # A pole must stay one point: its row has the same rounding everywhere, or facets a nanometre long come out.
        if np.ptp(values[end], axis=0).max() < 10.0**-COEFFICIENT_DECIMALS:
            net[end] = net[end, 0]
    return Surface(knots_u=np.asarray(along.t, dtype=np.float64), knots_v=np.concatenate(knots), net=net)
