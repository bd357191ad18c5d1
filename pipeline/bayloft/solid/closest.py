"""The place of a body's surface that is nearest to a point, exact on the spline surface."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import KDTree

from bayloft.solid.body import Body
from bayloft.solid.surface import crowded_places

Array = NDArray[np.float64]

SAMPLES_U, SAMPLES_V = 300, 12
"""Places in u, and in v between two joints, of the grid on which a start is looked up."""
STARTS = 3
"""Starts tried from different pieces of the surface between joints: the nearest sample may lie round a corner."""
MOST_STEPS, CLOSE_MM = 25, 1e-9
"""Steps of Newton's method, and mm of its last one in which a foot is found."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Feet:
    """The nearest places to points (n,): the foot (n, 3), the distance in mm, positive inside the body, and the unit
    vector (n, 3) along which the depth grows, from the foot inward.
    """

    points: Array
    depth_mm: Array
    inward: Array


class Nearest:
    """Asks a board's body, symmetric in y = 0, for its nearest places.

    Newton's method for the square of the distance in (u, v), within one piece of the surface between two joints, where
    it is smooth: damped by the gradient's own matrix where the distance is not convex. Started from the nearest places
    of a grid, in several pieces. An upright wall is met in plan.
    """

    def __init__(self, body: Body) -> None:
        self.body = body
        joints = body.port.joints
        self._low, self._high = joints[:-1], joints[1:]
        u = crowded_places(SAMPLES_U)
        spread = np.linspace(0.0, 1.0, SAMPLES_V)
        self._pieces = []
        for low, high in zip(self._low, self._high, strict=True):
            v = low + (high - low) * spread
            grid = body.port.grid(u, v).reshape(-1, 3)
            self._pieces.append((KDTree(grid), np.repeat(u, SAMPLES_V), np.tile(v, SAMPLES_U)))
        self._wall = body.port.grid([0.0], np.linspace(0.0, 1.0, 801))[0] if body.end == "wall" else None

    def feet(self, points: ArrayLike) -> Feet:
        """Return the feet of points (n, 3) in mm."""
        asked = np.asarray(points, dtype=np.float64)
        side = np.where(asked[:, 1] < 0.0, -1.0, 1.0)
        port = asked * np.column_stack([np.ones_like(side), side, np.ones_like(side)])
        starts = [tree.query(port) for tree, _, _ in self._pieces]
        order = np.argsort(np.array([distance for distance, _ in starts]), axis=0)[:STARTS]
        best = np.full(len(port), np.inf)
        foot, normal = np.zeros_like(port), np.zeros_like(port)
        for rank in range(min(STARTS, len(self._pieces))):
            for piece, (_, u, v) in enumerate(self._pieces):
                of = np.flatnonzero(order[rank] == piece)
                if not len(of):
                    continue
                at = np.asarray(starts[piece][1], dtype=np.int64)[of]
                found, outward = self._settled(port[of], u[at], v[at], piece)
                distance = np.sqrt(((found - port[of]) ** 2).sum(axis=1))
                better = distance < best[of] - 1e-12
                best[of[better]] = distance[better]
                foot[of[better]], normal[of[better]] = found[better], outward[better]
        gap = port - foot
        outside = (gap * normal).sum(axis=1) > 0.0
        self._at_wall(port, best, foot, outside)
        gap = port - foot
        depth = np.where(outside, -best, best)
        with np.errstate(invalid="ignore", divide="ignore"):
            inward = np.where(
                best[:, None] > 1e-9, gap / best[:, None] * np.where(outside, -1.0, 1.0)[:, None], -normal
            )
        mirror = np.column_stack([np.ones_like(side), side, np.ones_like(side)])
        return Feet(points=foot * mirror, depth_mm=depth, inward=inward * mirror)

    def _settled(self, points: Array, u: Array, v: Array, piece: int) -> tuple[Array, Array]:
        """Return the nearest places of one piece, and the outward unit normals there."""
        surface = self.body.port
        low, high = self._low[piece], self._high[piece]
        hair = 1e-9 * (high - low)
        for _ in range(MOST_STEPS):
            s, su, sv, suu, suv, svv = (
                surface.at(u, np.clip(v, low + hair, high - hair), *order)
                for order in ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))
            )
            gap = s - points
            gu, gv = (gap * su).sum(axis=1), (gap * sv).sum(axis=1)
            e, f, g = (su * su).sum(axis=1), (su * sv).sum(axis=1), (sv * sv).sum(axis=1)
            a, b, c = e + (gap * suu).sum(axis=1), f + (gap * suv).sum(axis=1), g + (gap * svv).sum(axis=1)
            convex = (a > 0.0) & (a * c - b * b > 1e-6 * e * g)
            a, b, c = np.where(convex, a, e), np.where(convex, b, f), np.where(convex, c, g)
            # At a bound with the gradient pointing out of it the other parameter goes on alone.
            stuck_u = ((u <= 0.0) & (gu > 0.0)) | ((u >= 1.0) & (gu < 0.0))
            stuck_v = ((v <= low) & (gv > 0.0)) | ((v >= high) & (gv < 0.0))
            det = np.where(np.abs(a * c - b * b) > 1e-300, a * c - b * b, 1.0)
            du, dv = -(c * gu - b * gv) / det, -(a * gv - b * gu) / det
            du = np.where(stuck_u, 0.0, np.where(stuck_v, -gu / np.where(a > 0.0, a, 1.0), du))
            dv = np.where(stuck_v, 0.0, np.where(stuck_u, -gv / np.where(c > 0.0, c, 1.0), dv))
            du, dv = np.clip(du, -0.1, 0.1), np.clip(dv, -0.25 * (high - low), 0.25 * (high - low))
            new_u, new_v = np.clip(u + du, 0.0, 1.0), np.clip(v + dv, low, high)
            moved = np.sqrt(e) * np.abs(new_u - u) + np.sqrt(g) * np.abs(new_v - v)
            u, v = new_u, new_v
            if float(moved.max(initial=0.0)) < CLOSE_MM:
                break
        inner_u = np.clip(u, 1e-6, 1.0 - 1e-6)
        inner_v = np.clip(v, low + 1e-6 * (high - low), high - 1e-6 * (high - low))
        normal = np.cross(surface.at(inner_u, inner_v, 0, 1), surface.at(inner_u, inner_v, 1, 0))
        size = np.sqrt((normal * normal).sum(axis=1))
        return surface.at(u, np.clip(v, low, high - hair)), normal / np.where(size > 0.0, size, 1.0)[:, None]

    def _at_wall(self, points: Array, best: Array, foot: Array, outside: NDArray[np.bool_]) -> None:
        """Take the wall's nearest place where that is nearer; what lies aft of the wall is outside."""
        if self._wall is None:
            return
        corner = int(np.argmax(self._wall[:, 1]))
        bottom, deck = self._wall[: corner + 1], self._wall[corner:][::-1]
        start, step = bottom[:-1, :2], np.diff(bottom[:, :2], axis=0)
        square = np.maximum((step * step).sum(axis=1), 1e-18)
        near = np.flatnonzero(points[:, 0] - self._wall[:, 0].max() < best)
        for i in near:
            apart = points[i, :2] - start
            along = np.clip((apart * step).sum(axis=1) / square, 0.0, 1.0)
            gap = apart - along[:, None] * step
            distance = np.sqrt((gap * gap).sum(axis=1))
            at = int(np.argmin(distance))
            y = float(start[at, 1] + along[at] * step[at, 1])
            x = float(start[at, 0] + along[at] * step[at, 0])
            z = float(
                np.clip(points[i, 2], np.interp(y, bottom[:, 1], bottom[:, 2]), np.interp(y, deck[:, 1], deck[:, 2]))
            )
            place = np.array([x, y, z])
            apart_mm = float(np.sqrt(((points[i] - place) ** 2).sum()))
            if apart_mm < best[i]:
                best[i], foot[i] = apart_mm, place
                outside[i] = bool(z != points[i, 2])
        # The wall faces aft, all across: whatever lies aft of it, or of its corner, is outside. On its edge the
        # surface's own normal would not tell.
        across = np.minimum(points[:, 1], bottom[-1, 1])
        outside |= points[:, 0] < np.interp(across, bottom[:, 1], bottom[:, 0])
