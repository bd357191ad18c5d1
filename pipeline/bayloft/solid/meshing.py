"""From a body to a mesh: a grid graded by curvature, halved at will, and how far the mesh leaves the surface."""

from __future__ import annotations

import itertools
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.solid.body import Body
from bayloft.solid.mesh import Indices, Mesh, welded
from bayloft.solid.surface import Surface
from bayloft.tolerances import COEFFICIENT_DECIMALS

Array = NDArray[np.float64]

SHARE_U, SHARE_V, SHARE_TWIST = 0.4, 0.4, 0.2
"""Shares of the chord tolerance given to each direction, and to the twist between them."""

LEAST_NEED = 0.15
"""Least density of steps as a share of the greatest: it keeps flat stretches from being crossed in one step."""

WALL_SHARE = 0.2
"""Share of the tolerance for the wall's edge in plan: its strips may span two steps, with four times the sagitta."""

SAMPLES_A_SPAN = 3
NO_FACET_MM2 = 1e-7
"""mm2, twice the area below which a triangle has no plane: at a pole its corners differ by rounding alone, and a plane
through rounding would let the last bits of a machine choose the grid."""

MOST_TRIES = 12
MOST_PLACES = 1_000_000
"""Most places of a grid on one side: a board at the finest tolerance has a seventh of it, and more would fill a
computer's memory before it helped."""
LEAST_STEPS_U, LEAST_STEPS_V = 24, 32
"""Least density of steps in u, and in v between joints that a section bends between: a step that ran over most of a
flat deck to where the rail begins would leave a volume that cannot be extrapolated."""


class MeshingError(Exception):
    """The grid could not be made fine enough: a defect of bayloft, not of the spec."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Grid:
    """Parameters of a structured mesh: ascending u and v from 0 to 1; every joint of the surface is among the v."""

    u: Array
    v: Array

    def halved(self) -> Grid:
        """Return the grid with a place added in the middle of every step."""
        return Grid(u=_halved(self.u), v=_halved(self.v))


def _halved(at: Array) -> Array:
    result = np.empty(2 * len(at) - 1)
    result[::2], result[1::2] = at, (at[1:] + at[:-1]) / 2
    return result


def _middles(breaks: Array, samples: int) -> Array:
    offsets = (np.arange(samples) + 0.5) / samples
    return np.asarray((breaks[:-1, None] + np.diff(breaks)[:, None] * offsets).ravel(), dtype=np.float64)


def _needed(body: Body, tolerance_mm: float) -> tuple[Array, Array, Array, Array]:
    """Return sample places in u and v and the steps per unit of parameter needed there, from normal curvature.

    A chord over a step h leaves a curve with second derivative k across the chord by k h^2 / 8. The diagonal of a cell
    of steps g and h leaves a surface with mixed derivative k by k g h / 4, which is left to the steps in v: a straight
    vee that deepens along the board bends in neither direction, and yet no two triangles lie on it.
    """
    need_u, need_v, twists = [], [], []
    for surface in (body.port, body.starboard):
        if surface is None:
            continue
        u, v = (_middles(breaks, SAMPLES_A_SPAN) for breaks in surface.breaks)
        su, sv = surface.grid(u, v, du=1), surface.grid(u, v, dv=1)
        normal = np.cross(sv, su)
        length = np.linalg.norm(normal, axis=-1, keepdims=True)
        normal = np.divide(normal, length, out=np.zeros_like(normal), where=length > 1e-9)
        bend_u = np.abs(np.einsum("ijk,ijk->ij", surface.grid(u, v, du=2), normal))
        bend_v = np.abs(np.einsum("ijk,ijk->ij", surface.grid(u, v, dv=2), normal))
        need_u.append(np.sqrt(bend_u.max(axis=1) / (8.0 * SHARE_U * tolerance_mm)))
        need_v.append(np.sqrt(bend_v.max(axis=0) / (8.0 * SHARE_V * tolerance_mm)))
        twists.append(np.abs(np.einsum("ijk,ijk->ij", surface.grid(u, v, du=1, dv=1), normal)))
        if body.end == "wall":
            slope, bend = (surface.grid([0.0], v, dv=order)[0, :, :2] for order in (1, 2))
            speed = np.maximum(np.linalg.norm(slope, axis=1), 1e-9)
            across = np.abs(slope[:, 0] * bend[:, 1] - slope[:, 1] * bend[:, 0]) / speed
            need_v.append(np.sqrt(across / (8.0 * WALL_SHARE * tolerance_mm)))
    along = np.maximum(_floored(np.max(need_u, axis=0)), LEAST_STEPS_U)
    twist = (np.max(twists, axis=0) / along[:, None]).max(axis=0) / (4.0 * SHARE_TWIST * tolerance_mm)
    return u, along, v, np.max([*need_v, twist], axis=0)


def _floored(need: Array) -> Array:
    return np.maximum(need, max(LEAST_NEED * float(need.max()), 1e-9))


def _placed(start: float, stop: float, at: Array, need: Array) -> Array:
    """Return places from start to stop whose steps are inverse to `need` (steps per unit of parameter)."""
    need = _floored(need)
    edges = np.concatenate([[start], (at[1:] + at[:-1]) / 2, [stop]])
    total = np.concatenate([[0.0], np.cumsum(need * np.diff(edges))])
    steps = max(int(np.ceil(total[-1] - 1e-6)), 1)
    places = np.interp(np.linspace(0.0, total[-1], steps + 1), total, edges)
    places[0], places[-1] = start, stop
    return np.asarray(places, dtype=np.float64)


def grid_for(body: Body, tolerance_mm: float) -> Grid:
    """Return a grid whose mesh stays within `tolerance_mm` of the surface at every sampled place.

    Steps follow the normal curvature; then the mesh is sampled and the grid refined until it holds.

    Raises
    ------
    MeshingError
        If it does not hold after MOST_TRIES refinements, or on a grid of MOST_PLACES.
    """
    asked = tolerance_mm
    for _ in range(MOST_TRIES):
        at_u, need_u, at_v, need_v = _needed(body, asked)
        joints = body.port.joints
        stretches = []
        for start, stop in itertools.pairwise(joints):
            inside = (at_v > start) & (at_v < stop)
            need, bends = need_v[inside], float(need_v[inside].max()) * (stop - start) > 1.0
            stretches.append(_placed(start, stop, at_v[inside], np.maximum(need, LEAST_STEPS_V) if bends else need))
        v = np.concatenate([stretches[0][:1], *(stretch[1:] for stretch in stretches)])
        grid = Grid(u=_placed(0.0, 1.0, at_u, need_u), v=v)
        if len(grid.u) * len(grid.v) > MOST_PLACES:
            break
        worst = chord_deviation(body, grid)
        if worst <= tolerance_mm:
            return grid
        asked *= 0.97 * tolerance_mm / worst
    raise MeshingError


def quads(nu: int, nv: int, start: int) -> Indices:
    """Return two triangles for each cell of a grid numbered row by row from `start`, facing S_v x S_u."""
    corner = start + (np.arange(nu - 1)[:, None] * nv + np.arange(nv - 1)).ravel()
    a, b, c, d = corner, corner + 1, corner + nv, corner + nv + 1
    return np.concatenate([np.stack([a, b, c], axis=1), np.stack([b, d, c], axis=1)])


def wall_strip(edge: Array, corner: int) -> Indices:
    """Return triangles, by place in the edge, of the upright strip between its two stretches, which meet at `corner`.

    From the corner to the stringer, the part that lies behind in y goes on; facing aft for a port wall.
    """
    low, high = np.arange(corner, -1, -1), np.arange(corner, len(edge))
    y_low, y_high = edge[low, 1], edge[high, 1]
    # Merge both descending runs: each next vertex, taken by falling y, closes one triangle.
    steps = np.concatenate([np.zeros(len(low) - 1, dtype=np.int64), np.ones(len(high) - 1, dtype=np.int64)])
    order = np.argsort(np.concatenate([-y_low[1:], -y_high[1:]]), kind="stable")
    taken = steps[order]
    at_low = np.concatenate([[0], np.cumsum(taken == 0)])[:-1]
    at_high = np.concatenate([[0], np.cumsum(taken == 1)])[:-1]
    third = np.where(
        taken == 0, low[np.minimum(at_low + 1, len(low) - 1)], high[np.minimum(at_high + 1, len(high) - 1)]
    )
    return np.stack([low[at_low], high[at_high], third], axis=1)


def _face(nv: int, other: int, corner: int) -> Indices:
    """Return triangles of the level face between the port edge 0..nv-1 and the starboard edge that starts at `other`.

    A strip as far as the step before the trailing edge's `corner`; from there a fan to the trailing edge, whose places
    all lie on one straight line.
    """
    low = np.arange(corner - 1)
    a, b, c, d = low, low + 1, low + other, low + 1 + other
    last = corner - 1
    chain = np.concatenate([np.arange(last, nv), np.arange(nv - 2, last, -1) + other])
    fan = np.stack([chain[1:], chain[:-1], np.full(len(chain) - 1, last + other)], axis=1)
    return np.concatenate([np.stack([b, a, c], axis=1), np.stack([b, c, d], axis=1), fan])


def meshed(body: Body, grid: Grid) -> Mesh:
    """Return the closed mesh of a body on a grid; vertices lie on the surface."""
    port = body.port.grid(grid.u, grid.v)
    nu, nv = len(grid.u), len(grid.v)
    size = nu * nv
    seam = np.zeros((2, nu, nv), dtype=np.bool_)
    if body.starboard is None:
        starboard = port * np.array([1.0, -1.0, 1.0])
    else:
        starboard = body.starboard.grid(grid.u, grid.v)
        seam[:, :, 0] = seam[:, -1] = seam[:, :, grid.v >= body.port.joints[-2]] = True
        # The sides meet in one line, which rounding of two surfaces could tell apart.
        starboard[:, [0, -1]], starboard[-1] = port[:, [0, -1]], port[-1]
    triangles = [quads(nu, nv, 0), quads(nu, nv, size)[:, ::-1]]
    if body.end == "wall":
        strip = wall_strip(port[0], int(np.argmin(np.abs(grid.v - body.wall_corner))))
        triangles += [strip[:, ::-1], strip + size]
    elif body.end == "face":
        triangles.append(_face(nv, size, int(np.searchsorted(grid.v, body.port.joints[-2]))))
    # Rounding makes the sides meet to the last bit, and is the same on every machine.
    vertices = np.round(np.concatenate([port.reshape(size, 3), starboard.reshape(size, 3)]), COEFFICIENT_DECIMALS) + 0.0
    return welded(Mesh(vertices=vertices, triangles=np.concatenate(triangles)), seam.ravel())


def _plane_distance(point: Array, corner: Array, normal: Array) -> Array:
    return np.asarray(np.abs(np.einsum("ijk,ijk->ij", point - corner, normal)), dtype=np.float64)


def _side_deviation(surface: Surface, grid: Grid) -> float:
    """Return the greatest sampled distance in mm between a side and its triangles.

    The surface at the middle of every edge is held against the planes of the triangles on both sides of that edge: the
    larger of the two is the distance at a crease and hardly less than it on smooth ground.
    """
    fine = grid.halved()
    p = surface.grid(fine.u, fine.v)
    at = p[::2, ::2]
    a, b, c, d = at[:-1, :-1], at[:-1, 1:], at[1:, :-1], at[1:, 1:]
    first, second = np.cross(b - a, c - a), np.cross(d - b, c - b)
    for normal in (first, second):
        length = np.linalg.norm(normal, axis=-1, keepdims=True)
        np.divide(normal, length, out=normal, where=length > NO_FACET_MM2)
        normal[(length <= NO_FACET_MM2)[..., 0]] = 0.0
    diagonal = p[1::2, 1::2]
    along_v, along_u = p[::2, 1::2], p[1::2, ::2]
    samples = [
        _plane_distance(diagonal, b, first),
        _plane_distance(diagonal, b, second),
        _plane_distance(along_v[:-1], a, first),
        _plane_distance(along_v[1:], c, second),
        _plane_distance(along_u[:, :-1], a, first),
        _plane_distance(along_u[:, 1:], b, second),
    ]
    return max(float(sample.max()) for sample in samples)


def _wall_deviation(body: Body, grid: Grid) -> float:
    """Return the greatest distance in plan between the wall's curve and the chords its triangles span, in mm."""
    corner = int(np.argmin(np.abs(grid.v - body.wall_corner)))
    edge = body.port.grid([0.0], grid.v)[0]
    fine = body.port.grid([0.0], grid.halved().v)[0][: 2 * corner + 1]
    corners = edge[wall_strip(edge, corner)][..., :2]
    order = np.argsort(corners[..., 1], axis=1)
    low = np.take_along_axis(corners, order[:, :1, None], axis=1)[:, 0]
    high = np.take_along_axis(corners, order[:, 2:, None], axis=1)[:, 0]
    middle, chord = (low + high) / 2, high - low
    gap = middle[:, 0] - np.interp(middle[:, 1], fine[:, 1], fine[:, 0])
    length = np.maximum(np.linalg.norm(chord, axis=1), 1e-12)
    return float(np.abs(gap * chord[:, 1] / length).max())


def chord_deviation(body: Body, grid: Grid) -> float:
    """Return the greatest sampled distance in mm between a body's surface and its mesh on a grid."""
    worst = _side_deviation(body.port, grid)
    if body.starboard is not None:
        worst = max(worst, _side_deviation(body.starboard, grid))
    if body.end == "wall":
        worst = max(worst, _wall_deviation(body, grid))
    return worst
