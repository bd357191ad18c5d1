"""How far points lie from a mesh, outside positive: the nearest place of its facets, exact for the polyhedron.

Facets lie in a tree of boxes. For each point all boxes are looked into that may hold a nearer facet than the best known
so far; so a facet of any shape and size is found, and nothing is near by chance.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import KDTree

from bayloft.errors import BayloftError
from bayloft.solid.mesh import Indices, Mesh, all_welded

Array = NDArray[np.float64]

LEAF = 4
"""Facets in a box of the last level."""
POINTS_AT_ONCE, PAIRS_AT_ONCE = 2048, 2_000_000
"""Points looked at together, and pairs of points and facets measured together: they bound the memory."""
MOST_PAIRS = 150_000_000
"""Pairs measured for one mesh: two hundred to a point is usual, and a mesh whose facets all lie on one another would
take hours.
"""
SAME_FOOT_MM = 1e-7
"""mm within which the nearest places of two facets are one place, on an edge or a corner that they share."""


class TangledMeshError(BayloftError):
    """A mesh whose facets lie over one another so often that distances from it would take hours."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Tree:
    """Boxes (levels of low and high corners (n, 3)), each of two of the next level, over facets in their order."""

    low: list[Array]
    high: list[Array]


def _dot(a: Array, b: Array) -> Array:
    """Return the products of vectors (..., 3), term after term, so that every machine adds alike."""
    return np.asarray(a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2], dtype=np.float64)


class NearestFacet:
    """Asks a mesh for signed distances: positive outside, where its facets face."""

    def __init__(self, mesh: Mesh) -> None:
        # Places that many vertices share are one: a tree of places cannot part them.
        mesh = all_welded(mesh)
        corners = np.stack(mesh.corners, axis=1)
        normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
        size = np.sqrt(_dot(normals, normals))
        # A facet without area is an edge, which others have too.
        kept = size > 0.0
        order = _ordered(corners[kept].mean(axis=1))
        self._corners = corners[kept][order]
        self._normals = (normals[kept] / size[kept, None])[order]
        self._tree = _tree(self._corners)
        self._near = KDTree(mesh.vertices[np.unique(mesh.triangles[kept])])
        self._pairs = 0

    def signed_mm(self, points: ArrayLike) -> Array:
        """Return the distances (n,) in mm of points (n, 3).

        Raises TangledMeshError where that would take MOST_PAIRS.
        """
        asked = np.asarray(points, dtype=np.float64)
        parts = [self._some(asked[first : first + POINTS_AT_ONCE]) for first in range(0, len(asked), POINTS_AT_ONCE)]
        return np.concatenate(parts) if parts else np.zeros(0)

    def _some(self, points: Array) -> Array:
        # What the tree of vertices says only bounds the search: its last bits decide nothing.
        bound = np.asarray(self._near.query(points)[0], dtype=np.float64) * (1.0 + 1e-9) + 1e-9
        point: Indices = np.arange(len(points))
        box: Indices = np.zeros(len(points), dtype=np.int64)
        for low, high in zip(self._tree.low, self._tree.high, strict=True):
            if len(low) > 1:
                point, box = np.repeat(point, 2), (2 * box[:, None] + np.arange(2)).ravel()
                there = box < len(low)
                point, box = point[there], box[there]
            if len(point) > PAIRS_AT_ONCE and len(points) > 1:
                half = len(points) // 2
                return np.concatenate([self._some(points[:half]), self._some(points[half:])])
            self._count(len(point))
            at = points[point]
            gap = np.maximum(np.maximum(low[box] - at, at - high[box]), 0.0)
            near = _dot(gap, gap) <= bound[point] ** 2
            point, box = point[near], box[near]
        facet = (LEAF * box[:, None] + np.arange(LEAF)).ravel()
        point = np.repeat(point, LEAF)
        there = facet < len(self._corners)
        return self._nearest(points, point[there], facet[there])

    def _count(self, pairs: int) -> None:
        self._pairs += pairs
        if self._pairs > MOST_PAIRS:
            raise TangledMeshError("its facets lie over one another too often for distances to be taken")

    def _nearest(self, points: Array, point: Indices, facet: Indices) -> Array:
        """Return the signed distance of each point from the nearest of the facets paired with it; `point` ascends."""
        square = np.empty(len(point))
        feet = np.empty((len(point), 3))
        for first in range(0, len(point), PAIRS_AT_ONCE):
            part = slice(first, first + PAIRS_AT_ONCE)
            feet[part] = nearest_places(points[point[part]], self._corners[facet[part]])
            gap = points[point[part]] - feet[part]
            square[part] = _dot(gap, gap)
        self._count(len(point))
        starts = np.searchsorted(point, np.arange(len(points)))
        least = np.minimum.reduceat(square, starts)
        # The first of those that are nearest, and all facets that meet in its foot: on an edge or a corner each has
        # its part in which side is outside, by the angle that it fills there.
        ties = np.flatnonzero(square <= (np.sqrt(least) + SAME_FOOT_MM)[point] ** 2)
        firsts = np.full(len(points), len(point), dtype=np.int64)
        exact = np.flatnonzero(square == least[point])
        np.minimum.at(firsts, point[exact], exact)
        foot = feet[firsts]
        apart = feet[ties] - foot[point[ties]]
        ties = ties[_dot(apart, apart) <= SAME_FOOT_MM**2]
        normal = self._normals[facet[ties]] * _angles(self._corners[facet[ties]], feet[ties])[:, None]
        side = np.zeros(len(points))
        np.add.at(side, point[ties], _dot(points[point[ties]] - foot[point[ties]], normal))
        return np.where(side < 0.0, -1.0, 1.0) * np.sqrt(least)


def nearest_places(points: Array, corners: Array) -> Array:
    """Return the place (n, 3) of each triangle (n, 3, 3) that is nearest to its point (n, 3).

    By regions of the triangle's plane (C. Ericson, "Real-Time Collision Detection", 2005, 5.1.5, from memory).
    """
    a, b, c = corners[:, 0], corners[:, 1], corners[:, 2]
    ab, ac = b - a, c - a
    ap, bp, cp = points - a, points - b, points - c
    d1, d2, d3, d4, d5, d6 = (_dot(side, off) for off in (ap, bp, cp) for side in (ab, ac))
    va, vb, vc = d3 * d6 - d5 * d4, d5 * d2 - d1 * d6, d1 * d4 - d3 * d2
    with np.errstate(invalid="ignore", divide="ignore"):
        inside = va + vb + vc
        v, w = vb / inside, vc / inside
        along_ab, along_ac = d1 / (d1 - d3), d2 / (d2 - d6)
        along_bc = (d4 - d3) / ((d4 - d3) + (d5 - d6))
    # Of several that hold the first is taken: corners, then edges, then the face.
    none, whole = np.zeros_like(d1), np.ones_like(d1)
    regions = [
        ((d1 <= 0.0) & (d2 <= 0.0), none, none),
        ((d3 >= 0.0) & (d4 <= d3), whole, none),
        ((d6 >= 0.0) & (d5 <= d6), none, whole),
        ((vc <= 0.0) & (d1 >= 0.0) & (d3 <= 0.0), along_ab, none),
        ((vb <= 0.0) & (d2 >= 0.0) & (d6 <= 0.0), none, along_ac),
        ((va <= 0.0) & (d4 >= d3) & (d5 >= d6), 1.0 - along_bc, along_bc),
    ]
    held = [each[0] for each in regions]
    first = np.select(held, [each[1] for each in regions], default=v)
    second = np.select(held, [each[2] for each in regions], default=w)
    first, second = np.nan_to_num(first, posinf=0.0, neginf=0.0), np.nan_to_num(second, posinf=0.0, neginf=0.0)
    return np.asarray(a + first[:, None] * ab + second[:, None] * ac, dtype=np.float64)


def _angles(corners: Array, feet: Array) -> Array:
    """Return the angle (n,) that each triangle fills about a place of it: a whole turn inside, half a turn on an edge,
    its own angle in a corner.
    """
    total = np.zeros(len(corners))
    at_corner = np.full(len(corners), -1)
    for n in range(3):
        off = corners[:, n] - feet
        at_corner[_dot(off, off) <= SAME_FOOT_MM**2] = n
    for n in range(3):
        one, other = corners[:, (n + 1) % 3] - corners[:, n], corners[:, (n + 2) % 3] - corners[:, n]
        crossed = np.cross(one, other)
        own = np.arctan2(np.sqrt(_dot(crossed, crossed)), _dot(one, other))
        total = np.where(at_corner == n, own, total)
        edge, off = one, feet - corners[:, n]
        aside = np.cross(edge, off)
        on_edge = _dot(aside, aside) <= SAME_FOOT_MM**2 * _dot(edge, edge)
        total = np.where((at_corner < 0) & on_edge, np.pi, total)
    return np.where(total > 0.0, total, 2.0 * np.pi)


def _ordered(middles: Array) -> Indices:
    """Return an order of places in which neighbours lie near one another: by the bits of x, y and z in turn."""
    low, high = middles.min(axis=0), middles.max(axis=0)
    scale = float((high - low).max()) or 1.0
    cell = np.minimum((middles - low) / scale * 2**16, 2**16 - 1).astype(np.int64)
    code = np.zeros(len(middles), dtype=np.int64)
    for bit in range(16):
        for axis in range(3):
            code |= ((cell[:, axis] >> bit) & 1) << (3 * bit + axis)
    return np.argsort(code, kind="stable")


def _tree(corners: Array) -> _Tree:
    lows, highs = [_paired(corners.min(axis=1), LEAF, np.inf)], [_paired(corners.max(axis=1), LEAF, -np.inf)]
    while len(lows[-1]) > 1:
        lows.append(_paired(lows[-1], 2, np.inf))
        highs.append(_paired(highs[-1], 2, -np.inf))
    return _Tree(low=lows[::-1], high=highs[::-1])


def _paired(values: Array, size: int, empty: float) -> Array:
    """Return the least (where what is empty is endless) or greatest of each so many rows."""
    spare = -len(values) % size
    padded = np.concatenate([values, np.full((spare, 3), empty)]).reshape(-1, size, 3)
    return np.asarray(padded.min(axis=1) if empty > 0.0 else padded.max(axis=1), dtype=np.float64)
