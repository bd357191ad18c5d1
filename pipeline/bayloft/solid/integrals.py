"""Volume, area, centroid, second moments, section areas of a body: Gauss-Legendre on its surface, never a mesh sum."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import brentq

from bayloft.lines.roots import bracketed
from bayloft.solid.body import Body
from bayloft.solid.surface import Surface

Array = NDArray[np.float64]

EXACT_NODES = 8
"""Nodes per knot span and direction: the highest integrand here, x^2 z n_z of a bicubic, has degree 14 in each."""

SPANS_AT_ONCE = 8
"""Knot spans in u that are summed together: memory that is used again and again costs less than fresh memory."""

PLAN_NODES = 4
"""Nodes per knot span for n_z alone, of degree 5 in each direction."""

END_MM = 1e-6
"""mm by which a station may lie outside the surface, whose control points are rounded, and still be its end."""

SECTION_NODES = 6
"""Nodes per knot span along a section, where the integrand is smooth but no polynomial."""

AREA_RELATIVE = 1e-9
AREA_NODES = (4, 7)
AREA_HALVINGS = 9


@dataclass(frozen=True, slots=True, kw_only=True)
class Integrals:
    """Integrals of a body in mm, mm2, mm3, mm5. Second moments are about the centroid, of unit density: xx is the
    integral of (x - cx)^2, and so on. `plan_area_mm2` is the area of its shadow on the plane z = 0, a waterplane.
    """

    volume_mm3: float
    area_mm2: float
    plan_area_mm2: float
    centroid_mm: tuple[float, float, float]
    second_moments_mm5: tuple[float, float, float]
    product_xz_mm5: float


def spread_nodes(breaks: Array, nodes: Array, weights: Array) -> tuple[Array, Array]:
    """Return the nodes of a rule on [-1, 1] between each two breaks, one after the other, and their weights there."""
    half = np.diff(breaks) / 2
    at = ((breaks[1:] + breaks[:-1]) / 2)[:, None] + half[:, None] * nodes
    return at.ravel(), (half[:, None] * weights).ravel()


def _some_spans(breaks: Array) -> Iterator[Array]:
    """Yield the breaks of SPANS_AT_ONCE spans at a time."""
    for first in range(0, len(breaks) - 1, SPANS_AT_ONCE):
        yield breaks[first : first + SPANS_AT_ONCE + 1]


def upward_moments(surface: Surface, nodes: int = EXACT_NODES) -> Array:
    """Return the integrals of (z, x z, y z, z^2/2, x^2 z, y^2 z, z^3/3, x z^2/2) times the z-component of S_v x S_u.

    By the divergence theorem these are the volume, first and second moments between the surface and the plane z = 0,
    as long as all other faces of the body are upright or lie in that plane. Exact to rounding for polynomial patches.
    """
    rule = leggauss(nodes)
    v, wv = spread_nodes(surface.breaks[1], *rule)
    total = np.zeros(8)
    for breaks in _some_spans(surface.breaks[0]):
        u, wu = spread_nodes(breaks, *rule)
        total += _upward_moments(surface, u, v, wu[:, None] * wv)
    return total


def _upward_moments(surface: Surface, u: Array, v: Array, weights: Array) -> Array:
    x, y, z = _components(surface.grid(u, v))
    lifted = _upward(surface, u, v) * weights * z
    by_x, by_y, by_z = lifted * x, lifted * y, lifted * z
    return np.array(
        [
            lifted.sum(),
            by_x.sum(),
            by_y.sum(),
            by_z.sum() / 2,
            (by_x * x).sum(),
            (by_y * y).sum(),
            (by_z * z).sum() / 3,
            (by_z * x).sum() / 2,
        ]
    )


def _components(vectors: Array) -> tuple[Array, Array, Array]:
    """Return vectors (..., 3) as three arrays, each in one piece."""
    x, y, z = np.ascontiguousarray(np.moveaxis(vectors, -1, 0))
    return x, y, z


def _upward(surface: Surface, u: Array, v: Array) -> Array:
    """Return the z-component of S_v x S_u on a grid."""
    (xu, yu), (xv, yv) = (_components(surface.grid(u, v, *order))[:2] for order in ((1, 0), (0, 1)))
    return xv * yu - yv * xu


def _sizes(along_u: Array, along_v: Array) -> Array:
    """Return the lengths of the cross products of vectors (..., 3)."""
    (a, b, c), (d, e, f) = _components(along_u), _components(along_v)
    return np.sqrt((b * f - c * e) ** 2 + (c * d - a * f) ** 2 + (a * e - b * d) ** 2)


def surface_area(surface: Surface) -> float:
    """Return the area of a surface in mm2 to AREA_RELATIVE: spans whose two rules differ are halved both ways."""
    bu, bv = surface.breaks
    boxes = np.array([[a, b, c, d] for a, b in itertools.pairwise(bu) for c, d in itertools.pairwise(bv)])
    total, allowed = 0.0, 0.0
    for depth in range(AREA_HALVINGS):
        coarse, fine = (_box_areas(surface, boxes, nodes, regular=depth == 0) for nodes in AREA_NODES)
        if depth == 0:
            allowed = AREA_RELATIVE * float(fine.sum()) / np.sqrt(len(boxes))
        settled = np.abs(fine - coarse) <= 10.0 * allowed
        if depth == AREA_HALVINGS - 1:
            settled[:] = True
        total += float(fine[settled].sum())
        boxes = _quartered(boxes[~settled])
        if len(boxes) == 0:
            break
    return total


def _quartered(boxes: Array) -> Array:
    a, b, c, d = boxes.T
    m, n = (a + b) / 2, (c + d) / 2
    return np.concatenate([np.stack(box, axis=1) for box in ((a, m, c, n), (m, b, c, n), (a, m, n, d), (m, b, n, d))])


def _box_areas(surface: Surface, boxes: Array, nodes: int, *, regular: bool) -> Array:
    at, weights = leggauss(nodes)
    if regular:
        v, wv = spread_nodes(surface.breaks[1], at, weights)
        areas = []
        for breaks in _some_spans(surface.breaks[0]):
            u, wu = spread_nodes(breaks, at, weights)
            size = _sizes(surface.grid(u, v, du=1), surface.grid(u, v, dv=1)) * (wu[:, None] * wv)
            areas.append(size.reshape(len(breaks) - 1, nodes, -1, nodes).sum(axis=(1, 3)).ravel())
        return np.concatenate(areas)
    half_u, half_v = (boxes[:, 1] - boxes[:, 0]) / 2, (boxes[:, 3] - boxes[:, 2]) / 2
    u = (boxes[:, 0] + half_u)[:, None, None] + half_u[:, None, None] * at[None, :, None]
    v = (boxes[:, 2] + half_v)[:, None, None] + half_v[:, None, None] * at[None, None, :]
    size = _sizes(surface.at(u, v, du=1), surface.at(u, v, dv=1))
    weight = (half_u * half_v)[:, None, None] * weights[None, :, None] * weights[None, None, :]
    return np.asarray((size * weight).sum(axis=(1, 2)), dtype=np.float64)


def _edge_integral(surface: Surface, low: float, high: float, kind: str) -> float:
    """Integrate along u = 0 from v = low to high: "y dx", or "z ds" with s the length in plan."""
    breaks = surface.breaks[1]
    inner = breaks[(breaks > low) & (breaks < high)]
    v, w = spread_nodes(np.concatenate([[low], inner, [high]]), *leggauss(24))
    p, d = surface.grid([0.0], v)[0], surface.grid([0.0], v, dv=1)[0]
    if kind == "y dx":
        return float((p[:, 1] * d[:, 0] * w).sum())
    return float((p[:, 2] * np.hypot(d[:, 0], d[:, 1]) * w).sum())


def end_area(body: Body) -> float:
    """Return the area in mm2 of what closes the body's u = 0 end (both halves): 24-point rule per span."""
    if body.end == "closed":
        return 0.0
    if body.end == "face":
        area = _edge_integral(body.port, 0.0, 1.0, "y dx")
        other = -area if body.starboard is None else _edge_integral(body.starboard, 0.0, 1.0, "y dx")
        return abs(area - other)
    deck = _edge_integral(body.port, body.wall_corner, 1.0, "z ds")
    bottom = _edge_integral(body.port, 0.0, body.wall_corner, "z ds")
    return 2.0 * (deck - bottom)


def _plan_area(body: Body) -> float:
    """Return the area of the shadow on z = 0: half the integral of |n_z| over a body without overhang in plan."""
    total = 0.0
    for surface in (body.port, body.starboard):
        if surface is None:
            continue
        (u, wu), (v, wv) = (spread_nodes(breaks, *leggauss(PLAN_NODES)) for breaks in surface.breaks)
        total += float(np.abs(_upward(surface, u, v) * (wu[:, None] * wv)).sum()) / 2
    return total if body.starboard is not None else 2.0 * total


def integrals(body: Body) -> Integrals:
    """Return the integrals of a body; volume and moments exact to rounding, area to AREA_RELATIVE."""
    port = upward_moments(body.port)
    mirror = np.array([1, 1, -1, 1, 1, 1, 1, 1])
    # The starboard side faces the other way; a mirror image changes the sign of its normal's y and of y.
    other = port * mirror if body.starboard is None else -upward_moments(body.starboard)
    volume, mx, my, mz, xx, yy, zz, xz = port + other
    cx, cy, cz = mx / volume, my / volume, mz / volume
    sides = surface_area(body.port)
    area = sides + (sides if body.starboard is None else surface_area(body.starboard)) + end_area(body)
    return Integrals(
        volume_mm3=float(volume),
        area_mm2=float(area),
        plan_area_mm2=_plan_area(body),
        centroid_mm=(float(cx), float(cy), float(cz)),
        second_moments_mm5=(
            float(xx - volume * cx * cx),
            float(yy - volume * cy * cy),
            float(zz - volume * cz * cz),
        ),
        product_xz_mm5=float(xz - volume * cx * cz),
    )


def section_areas(body: Body, x_mm: ArrayLike) -> Array:
    """Return the areas in mm2 of the sections of a board-like body (mirrored, u along x) at stations (n,).

    The integral of z dy round the section: on each knot span in v, Gauss-Legendre nodes are carried to the station by
    solving x(u, v) = x for u. What closes the section is upright and adds nothing. Zero where the station is outside.
    """
    stations = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
    areas = np.zeros_like(stations)
    # Stations that cut the same lines share their nodes, and are solved together.
    groups: dict[tuple[tuple[float, float], ...], list[int]] = {}
    for i, station in enumerate(stations):
        groups.setdefault(tuple(reached(body.port, float(station))), []).append(i)
    for intervals, members in groups.items():
        for start, stop in intervals:
            areas[members] += _swept(body.port, stations[members], start, stop)
    return 2.0 * areas


def _swept(surface: Surface, x_mm: Array, start: float, stop: float) -> Array:
    """Return minus the integral of z dy along sections at stations (n,), from v = start to stop: shape (n,)."""
    breaks = surface.breaks[1]
    inner = breaks[(breaks > start) & (breaks < stop)]
    v, w = spread_nodes(np.concatenate([[start], inner, [stop]]), *leggauss(SECTION_NODES))
    at, round_section = np.broadcast_arrays(x_mm[:, None], v)
    u = parameter_at(surface, at, round_section)
    p, pu, pv = (surface.at(u, round_section, du=du, dv=dv) for du, dv in ((0, 0), (1, 0), (0, 1)))
    # Along the section x stays: du = -(x_v / x_u) dv.
    turn = pv[..., 0] / pu[..., 0]
    return np.asarray(-(p[..., 2] * (pv[..., 1] - turn * pu[..., 1]) * w).sum(axis=1), dtype=np.float64)


def reached(surface: Surface, x_mm: float) -> list[tuple[float, float]]:
    """Return the intervals of v whose lines pass station `x_mm`: those whose u = 0 end lies aft of it."""
    breaks = surface.breaks[1]
    v = np.unique(np.concatenate([np.linspace(a, b, 5) for a, b in itertools.pairwise(breaks)]))
    ends = surface.grid([0.0, 1.0], v)[..., 0]
    if x_mm >= float(ends[1].max()):
        return []
    ahead = x_mm - ends[0]
    turns = np.flatnonzero(np.diff(np.sign(ahead) >= 0))
    crossings = [
        float(brentq(lambda at: x_mm - float(surface.at(0.0, at)[0]), v[i], v[i + 1], xtol=1e-15)) for i in turns
    ]
    limits = [0.0, *crossings, 1.0]
    inside = [bool(ahead[0] >= 0)]
    for _ in crossings:
        inside.append(not inside[-1])
    return [(a, b) for a, b, keep in zip(limits[:-1], limits[1:], inside, strict=True) if keep and b > a]


def parameter_at(surface: Surface, x_mm: Array, v: Array) -> Array:
    """Return u where the surface's lines of constant v pass the stations: shapes alike; x grows with u along each.

    A station within END_MM of a line's end is taken for the end; farther outside there is no such u (not a number).
    """
    ends = surface.at(np.array([0.0, 1.0]).reshape(2, *([1] * np.ndim(v))), v)[..., 0]
    near = np.clip(x_mm, ends[0], ends[1])
    found = bracketed(
        lambda u, at, target: surface.at(np.clip(u, 0.0, 1.0), at)[..., 0] - target,
        np.zeros_like(v),
        np.ones_like(v),
        v,
        np.where(np.abs(near - x_mm) <= END_MM, near, x_mm),
    )
    return np.clip(found, 0.0, 1.0)
