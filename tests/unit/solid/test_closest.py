"""The nearest place of a body's surface: against the surface's own normals, a triangle mesh, and an upright wall."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.solid.body import Body
from bayloft.solid.closest import Nearest
from bayloft.solid.mesh import Mesh
from bayloft.solid.meshing import grid_for, meshed

from ...demo import draft

Array = NDArray[np.float64]


def normals(body: Body, u: Array, v: Array) -> tuple[Array, Array]:
    places = body.port.grid(u, v).reshape(-1, 3)
    out = np.cross(body.port.grid(u, v, 0, 1), body.port.grid(u, v, 1, 0)).reshape(-1, 3)
    return places, out / np.sqrt((out * out).sum(axis=1))[:, None]


@pytest.mark.parametrize("name", ["whimbrel", "dunlin", "spoonbill"])
@pytest.mark.parametrize("outward_mm", [-2.0, 5.0])
def test_what_lies_off_along_a_normal_has_its_foot_there(name: str, outward_mm: float) -> None:
    body = draft(name).body
    places, out = normals(body, np.linspace(0.1, 0.9, 23), np.linspace(0.02, 0.98, 17))
    feet = Nearest(body).feet(places + outward_mm * out)
    # Near a tight soft edge another place may be nearer still.
    assert np.percentile(np.abs(feet.depth_mm + outward_mm), 97) < 1e-8
    assert (np.abs(feet.depth_mm) <= abs(outward_mm) + 1e-8).all()
    near = np.abs(feet.depth_mm + outward_mm) < 1e-8
    assert np.abs(feet.points - places)[near].max() < 1e-6
    assert np.abs(feet.inward + out)[near].max() < 1e-6


def to_triangles(mesh: Mesh, point: Array) -> float:
    """Return the distance of a point from a mesh by brute force: to planes, edges and corners of every triangle."""
    a, b, c = mesh.corners
    best = np.full(len(a), np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        step = end - start
        along = np.clip(((point - start) * step).sum(axis=1) / (step * step).sum(axis=1), 0.0, 1.0)
        best = np.minimum(best, np.sqrt(((start + along[:, None] * step - point) ** 2).sum(axis=1)))
    normal = np.cross(b - a, c - a)
    normal /= np.sqrt((normal * normal).sum(axis=1))[:, None]
    foot = point - ((point - a) * normal).sum(axis=1)[:, None] * normal
    inside = np.ones(len(a), dtype=bool)
    for start, end in ((a, b), (b, c), (c, a)):
        inside &= (np.cross(end - start, foot - start) * normal).sum(axis=1) >= 0.0
    flat = np.where(inside, np.abs(((point - a) * normal).sum(axis=1)), np.inf)
    return float(np.minimum(best, flat).min())


@pytest.mark.parametrize("name", ["whimbrel", "dunlin"])
def test_distances_agree_with_a_mesh_by_brute_force(name: str) -> None:
    body = draft(name).body
    mesh = meshed(body, grid_for(body, 0.05))
    rng = np.random.default_rng(3)
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    points = low - 10.0 + rng.random((60, 3)) * (high - low + 20.0)
    feet = Nearest(body).feet(points)
    for point, depth in zip(points, feet.depth_mm, strict=True):
        # The mesh's chords lie within their tolerance of the surface.
        assert abs(depth) == pytest.approx(to_triangles(mesh, point), abs=0.06)


def test_a_wall_is_met_and_the_other_side_is_the_mirror_image() -> None:
    body = draft("spoonbill").body
    near = Nearest(body)
    middle = float(body.port.grid([0.0], [0.0, 1.0])[0, :, 2].mean())
    points = np.array([[2.0, 5.0, middle], [-3.0, 5.0, middle], [2.0, -5.0, middle]])
    feet = near.feet(points)
    assert feet.depth_mm == pytest.approx([2.0, -3.0, 2.0], abs=1e-3)
    assert feet.inward[0] == pytest.approx([1.0, 0.0, 0.0], abs=1e-6)
    assert feet.points[2] == pytest.approx(feet.points[0] * [1.0, -1.0, 1.0], abs=1e-9)
