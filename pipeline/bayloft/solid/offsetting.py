"""A board's solid with an allowance left on all round, to be sanded off: the true offset of its surface.

An egg is rolled over the surface: half an ellipsoid above, another below, round in plan. A ball, where the allowance is
even. Each point moves to where an egg's surface has the same normal; over a crease, where normals jump, the egg itself
is the surface.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import turned_vectors, unit_vectors
from bayloft.errors import BayloftError
from bayloft.solid.body import Body
from bayloft.solid.closest import Nearest
from bayloft.solid.mesh import Mesh, all_welded, manifold, mesh_of, solid_of
from bayloft.solid.meshing import Grid, MeshingError, grid_for, quads, wall_strip
from bayloft.tolerances import COEFFICIENT_DECIMALS

Array = NDArray[np.float64]

FADES_MM, LEVEL_MM = 3e-3, 5e-3
"""mm by which the ends of a round over a crease lie apart, below which it is none; and by which the offset of the
stringer may leave the middle, and be put on it: what the skin's own rounding leaves."""

BESIDE = 1e-4
"""v beside the corner of a wall by which its plan is told there."""

MOST_TRIES, MOST_FACETS = 8, 4_000_000
SAMPLED = 6_000
"""Facets of which the distance from the surface is looked at, in all."""

STARBOARD = np.array([1.0, -1.0, 1.0])


class OffsetError(BayloftError):
    """The allowance is more than the surface bears: the solid would fold over itself, or leave the distance asked."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Allowance:
    """What is left on a board, mm: over the deck, under the bottom, and out from the rail. All three below 0, and
    alike: how much lies within the surface, under a laminate.
    """

    deck_mm: float
    bottom_mm: float
    rail_mm: float

    @classmethod
    def even(cls, mm: float) -> Allowance:
        """Return one that is the same everywhere."""
        return cls(deck_mm=mm, bottom_mm=mm, rail_mm=mm)

    @property
    def most_mm(self) -> float:
        """The greatest of the three."""
        return max(self.deck_mm, self.bottom_mm, self.rail_mm)

    @property
    def inward(self) -> bool:
        """Whether it lies within the surface."""
        return self.most_mm < 0.0

    @property
    def is_even(self) -> bool:
        """Whether an egg of it is a ball."""
        return self.deck_mm == self.bottom_mm == self.rail_mm

    def moved(self, normals: Array) -> Array:
        """Return where on an egg (..., 3) its outward normals are these unit vectors."""
        up = normals[..., 2]
        height = np.where(up > 0.0, self.deck_mm, self.bottom_mm)
        scaled = np.stack(
            [self.rail_mm**2 * normals[..., 0], self.rail_mm**2 * normals[..., 1], height**2 * up], axis=-1
        )
        size = np.sqrt((scaled * normals).sum(axis=-1, keepdims=True))
        moved = scaled / np.maximum(size, 1e-300)
        return np.asarray(-moved if self.inward else moved, dtype=np.float64)

    def square_mm(self, normals: Array) -> Array:
        """Return how thick it is square to a face of these normals."""
        return np.asarray((self.moved(normals) * normals).sum(axis=-1), dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OffsetSolid:
    """A solid with its allowance: its mesh; how many of its facets are turned against the surface; by how much it
    comes nearer to the surface than was asked, at most, mm.
    """

    mesh: Mesh
    allowance: Allowance
    folded: int
    short_mm: float


def with_allowance(body: Body, allowance: Allowance, tolerance_mm: float) -> OffsetSolid:
    """Return a board's solid with an allowance, its mesh within a chord tolerance of the true offset.

    Raises
    ------
    MeshingError
        Where no mesh follows the body itself.
    OffsetError
        Where the solid is none, or facets would fold by more than twice the tolerance: a hollow is tighter than the
        allowance.
    """
    asked, rows = tolerance_mm, OffsetRows(body, grid_for(body, tolerance_mm), allowance, tolerance_mm)
    for _ in range(MOST_TRIES):
        worst = rows.deviation_mm
        if worst <= tolerance_mm or rows.facets > MOST_FACETS:
            break
        asked *= max(0.9 * tolerance_mm / worst, 0.2)
        try:
            rows = OffsetRows(body, grid_for(body, asked), allowance, tolerance_mm)
        except MeshingError:
            break
    mesh, folded = rows.closed()
    if not sound(mesh):
        raise OffsetError(f"an allowance of {allowance.most_mm:g} mm makes no closed solid of this shape")
    short = _short_mm(body, mesh, allowance)
    if short > 2.0 * tolerance_mm + FADES_MM:
        text = f"an allowance of {allowance.most_mm:g} mm comes {short:.2f} mm too near to the surface in a hollow"
        raise OffsetError(text)
    return OffsetSolid(mesh=mesh, allowance=allowance, folded=folded, short_mm=short)


def _between(first: Array, last: Array, count: int) -> Array:
    """Return unit vectors (n, count, 3) turned from the first (n, 3) to the last, both included, evenly."""
    return turned_vectors(first[:, None], last[:, None], np.linspace(0.0, 1.0, count)[None, :, None])


class OffsetRows:
    """The offset of a body's port side: rows of points along u, first those round the wall's edge, if there is one."""

    def __init__(self, body: Body, grid: Grid, allowance: Allowance, tolerance_mm: float) -> None:
        self._body, self._grid, self._allowance = body, grid, allowance
        self._most = most = abs(allowance.most_mm)
        # Inward, what is hollow takes the rounds, and a ridge is cut off at the middle.
        self._sign = -1.0 if allowance.inward else 1.0
        self._step = 2.0 * math.acos(max(1.0 - tolerance_mm / (2.0 * most), -1.0)) if most > 0.0 else math.pi
        self._joints = body.port.joints
        points, normals, walls = [], [], []
        for v in grid.v.tolist():
            own = self._column(v)
            place = body.port.grid(grid.u, [v])[:, 0]
            points += [place] * own.shape[1]
            normals.append(own)
            if body.end == "wall" and not allowance.inward:
                walls.append(self._wall_normals(v, own.shape[1]))
        self.points, self.normals = np.stack(points, axis=1), np.concatenate(normals, axis=1)
        self.corner = 0
        if body.end == "wall":
            widths = np.cumsum([0, *(own.shape[1] for own in normals)])
            self.corner = int(widths[int(np.argmin(np.abs(grid.v - body.wall_corner)))])
            if walls:
                self._round_wall(np.concatenate(walls, axis=0))
        for row, ahead in ((-1, 1.0), *([(0, -1.0)] if body.end == "closed" else [])):
            self.normals[row] = [ahead, 0.0, 0.0]
        self.moved = self.points + allowance.moved(self.normals)
        self.trimmed = bool((self.moved[:, [0, -1], 1] < -LEVEL_MM).any())
        near = np.abs(self.moved[:, [0, -1], 1]) <= LEVEL_MM if self.trimmed else np.True_
        self.moved[:, [0, -1], 1] = np.where(near, 0.0, self.moved[:, [0, -1], 1])

    @property
    def facets(self) -> int:
        """Facets of both sides, about."""
        return int(4 * self.moved.shape[0] * self.moved.shape[1])

    def _normal(self, v: float) -> Array:
        """Return outward unit normals (nu, 3) at all u at a v."""
        along, across = (self._body.port.grid(self._grid.u, [v], *order)[:, 0] for order in ((1, 0), (0, 1)))
        return unit_vectors(np.cross(across, along))

    def _column(self, v: float) -> Array:
        """Return the normals (nu, k, 3) at a v: one, or several that turn over a crease."""
        port, u = self._body.port, self._grid.u
        if v in (0.0, 1.0):
            own = self._normal(np.nextafter(v, 0.5))
            level = unit_vectors(own * [1.0, 0.0, 1.0])
            ridge = self._sign * own[:, 1] > 0.0
            turned = self._strip(level, np.where(ridge[:, None], own, level), self._wall_turn(v))
            return turned if v == 0.0 else turned[:, ::-1]
        if v not in self._joints:
            return self._normal(v)[:, None]
        left, right = self._normal(float(np.nextafter(v, 0.0))), self._normal(v)
        across = port.grid(u, [v], 0, 1)[:, 0]
        convex = self._sign * ((right - left) * across).sum(axis=1) > 0.0
        mean = unit_vectors(left + right)
        return self._strip(np.where(convex[:, None], left, mean), np.where(convex[:, None], right, mean))

    def _wall_turn(self, v: float) -> float:
        """Return by how much, in radians, a wall turns over the stringer to either side, where it is convex there."""
        if self._body.end != "wall" or self._allowance.inward:
            return 0.0
        normal = self._wall_normals(v, 1)[0]
        return max(math.atan2(normal[1], -normal[0]), 0.0)

    def _strip(self, first: Array, last: Array, turn: float = 0.0) -> Array:
        """Return normals turned from the first to the last, as many in each row; where they are as good as one, one;
        as many as a turn of another line takes, at least.
        """
        most = self._most
        apart = np.sqrt(((last - first) ** 2).sum(axis=1)) * most
        widest = max(float(apart.max()), 2.0 * math.sin(turn / 2.0) * most)
        count = max(math.ceil(widest / max(self._step * most, 1e-12)), 1) + 1
        if widest < FADES_MM:
            return unit_vectors(first + last)[:, None]
        turned = _between(first, last, count)
        whole = apart >= FADES_MM * (count - 1)
        # A crease that fades: first its middle normals fall onto the outer ones, then all onto one.
        halves = np.where((np.arange(count) < count / 2.0)[None, :, None], first[:, None], last[:, None])
        turned = np.where(whole[:, None, None], turned, halves)
        return np.asarray(np.where((apart < FADES_MM)[:, None, None], unit_vectors(first + last)[:, None], turned))

    def _wall_normals(self, v: float, columns: int) -> Array:
        """Return the wall's outward normals (columns, 3) at its edge at a v: level."""
        port = self._body.port
        corner = self._grid.v[int(np.argmin(np.abs(self._grid.v - self._body.wall_corner)))]
        if v == corner:
            # There the edge stands upright: in plan it has no tangent of its own.
            before, at, after = port.grid([0.0], [v - BESIDE, v, v + BESIDE])[0, :, :2]
            left, right = unit_vectors(at - before), unit_vectors(after - at)
            own = unit_vectors(np.array([-left[1], left[0]]) + np.array([right[1], -right[0]]))
        else:
            x, y = port.grid([0.0], [min(v, float(np.nextafter(1.0, 0.0)))], 0, 1)[0, 0, :2].tolist()
            own = unit_vectors(np.array([-y, x]) if v < corner else np.array([y, -x]))
        if v in (0.0, 1.0) and columns > 1 and own[1] * self._most >= LEVEL_MM:
            turned = _between(np.array([[-1.0, 0.0, 0.0]]), np.array([[*own.tolist(), 0.0]]), columns)[0]
            return np.asarray(turned if v == 0.0 else turned[::-1], dtype=np.float64)
        if v in (0.0, 1.0) and abs(own[1]) * self._most < LEVEL_MM:
            own = np.array([-1.0, 0.0])
        return np.tile([*own.tolist(), 0.0], (columns, 1))

    def _round_wall(self, walls: Array) -> None:
        """Put rows before the first that turn from the surface's normals to the wall's."""
        turned = self._strip(walls, self.normals[0]).swapaxes(0, 1)
        if len(turned) == 1:
            turned = np.stack([walls, self.normals[0]])
        edge = np.broadcast_to(self.points[0], turned.shape)
        self.points = np.concatenate([edge, self.points[1:]])
        self.normals = np.concatenate([turned, self.normals[1:]])

    @property
    def deviation_mm(self) -> float:
        """How far, at most, offset points in the middle of the grid's steps leave the chords there."""
        fine, port = self._grid.halved(), self._body.port
        worst = 0.0
        for low, high in pairwise(self._joints.tolist()):
            # Within a piece: over a crease there is a round of its own, which is as fine as it has to be.
            v = np.clip(
                fine.v[(fine.v >= low) & (fine.v <= high)], np.nextafter(low, 1.0), float(np.nextafter(high, 0.0))
            )
            along, across = (port.grid(fine.u, v, *order) for order in ((1, 0), (0, 1)))
            normal = unit_vectors(np.cross(across, along))
            moved = port.grid(fine.u, v) + self._allowance.moved(normal)
            inner = slice(2, -2, 2)
            for middle, one, other, own in (
                (moved[1:-1:2, ::2], moved[:-2:2, ::2], moved[2::2, ::2], normal[1:-1:2, ::2]),
                (moved[inner, 1::2], moved[inner, :-2:2], moved[inner, 2::2], normal[inner, 1::2]),
            ):
                # The first and the last step end in a pole, where the normal is not the surface's own.
                off = np.abs(((middle - (one + other) / 2.0) * own).sum(axis=-1))[1:-1]
                worst = max(worst, float(off.max()))
        return worst

    def closed(self) -> tuple[Mesh, int]:
        """Return the closed mesh of both sides, and how many of its facets are turned against their own normals."""
        nu, nv = self.moved.shape[:2]
        faces = [quads(nu, nv, 0)]
        if self._body.end == "wall":
            faces.append(wall_strip(self.moved[0], self.corner)[:, ::-1])
        triangles, vertices, normals = np.concatenate(faces), self.moved.reshape(-1, 3), self.normals.reshape(-1, 3)
        # Inward, the wall is no offset of its own: it is put where it belongs once the rest is closed.
        folded = _turned_against(vertices, faces[0] if self._allowance.inward else triangles, normals)
        if self.trimmed:
            return self._trimmed(triangles), folded
        size = len(vertices)
        both = np.concatenate([vertices, vertices * STARBOARD])
        mesh = Mesh(
            vertices=np.round(both, COEFFICIENT_DECIMALS) + 0.0,
            triangles=np.concatenate([triangles, triangles[:, ::-1] + size]),
        )
        return all_welded(mesh), folded

    def _trimmed(self, triangles: NDArray[np.int64]) -> Mesh:
        """Return the mesh of both sides where port runs over the middle, cut there: by symmetry each half's own."""
        nu, nv = self.moved.shape[:2]
        reach = -2.0 * self._most - 1.0
        vertices = self.moved.reshape(-1, 3)
        low, high = np.arange(nu) * nv, np.arange(nu) * nv + nv - 1
        ends = [vertices[rows] * [1.0, 0.0, 1.0] + [0.0, reach, 0.0] for rows in (low, high)]
        size = len(vertices)
        far_low, far_high = np.arange(nu) + size, np.arange(nu) + size + nu
        sides = [_ladder(far_low, low), _ladder(high, far_high), _ladder(far_high, far_low)]
        tail = np.array([[low[0], far_low[0], far_high[0]], [low[0], far_high[0], high[0]]])
        half = all_welded(
            Mesh(
                vertices=np.round(np.concatenate([vertices, *ends]), COEFFICIENT_DECIMALS) + 0.0,
                triangles=np.concatenate([triangles, *sides, tail]),
            )
        )
        cut = mesh_of(solid_of(half).trim_by_plane((0.0, 1.0, 0.0), 0.0))
        points, corners = cut.vertices, cut.triangles
        points[np.abs(points[:, 1]) < 10.0**-COEFFICIENT_DECIMALS, 1] = 0.0
        kept = corners[(points[corners][:, :, 1] != 0.0).any(axis=1)]
        both = np.concatenate([points, points * STARBOARD])
        return all_welded(
            Mesh(
                vertices=np.round(both, COEFFICIENT_DECIMALS) + 0.0,
                triangles=np.concatenate([kept, kept[:, ::-1] + len(points)]),
            )
        )


def _ladder(left: NDArray[np.int64], right: NDArray[np.int64]) -> NDArray[np.int64]:
    """Return triangles between two rows of as many vertices."""
    a, b, c, d = left[:-1], right[:-1], left[1:], right[1:]
    return np.concatenate([np.stack([a, b, c], axis=1), np.stack([b, d, c], axis=1)])


def _turned_against(vertices: Array, triangles: NDArray[np.int64], normals: Array) -> int:
    a, b, c = (vertices[triangles[:, i]] for i in range(3))
    facing = np.cross(b - a, c - a)
    size = np.sqrt((facing * facing).sum(axis=1))
    wanted = normals[triangles].sum(axis=1)
    against = (facing * wanted).sum(axis=1) < -1e-3 * size
    # What has no width has no side.
    longest = np.max([np.sqrt(((p - q) ** 2).sum(axis=1)) for p, q in ((a, b), (b, c), (c, a))], axis=0)
    return int((against & (size > 1e-4 * longest)).sum())


def _short_mm(body: Body, mesh: Mesh, allowance: Allowance) -> float:
    """Return by how much facets' middles come too near to the surface; of an egg, which has no one distance, nearer
    than its least.
    """
    a, b, c = mesh.corners
    middles = (a + b + c) / 3.0
    step = max(len(middles) // SAMPLED, 1)
    # Outside they all lie, or they would be turned against the surface.
    away = np.abs(Nearest(body).feet(middles[::step]).depth_mm)
    least = min(allowance.deck_mm, allowance.bottom_mm, allowance.rail_mm)
    return max(least - float(away.min()), 0.0)


def sound(mesh: Mesh) -> bool:
    """Whether a mesh is closed, and a second judge takes it for a solid of its volume."""
    return mesh.unpaired_edges() == 0 and manifold(solid_of(mesh), mesh.volume_mm3)[0]
