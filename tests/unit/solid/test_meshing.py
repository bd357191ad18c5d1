"""Grids and meshes: what makes them fine enough, what makes them closed, and what each check catches."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.lines.drafting import board_lines
from bayloft.lines.fin import fin_lines
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.fin import fin_body
from bayloft.solid.mesh import Mesh, float32_collapsed, manifold, solid_of, welded
from bayloft.solid.meshing import MOST_PLACES, Grid, MeshingError, chord_deviation, grid_for, meshed
from bayloft.solid.surface import Surface, interpolated
from bayloft.spec.loading import load_board, load_fin

Array = NDArray[np.float64]

SPECS = Path(__file__).parents[3] / "specs"
CUBE = np.array([[x, y, z] for x in (0.0, 1.0) for y in (0.0, 1.0) for z in (0.0, 1.0)])
CUBE_SIDES = [[0, 1, 3, 2], [4, 6, 7, 5], [0, 4, 5, 1], [2, 3, 7, 6], [0, 2, 6, 4], [1, 5, 7, 3]]
CUBE_FACES = np.array([[a, *two] for a, b, c, d in CUBE_SIDES for two in ((b, c), (c, d))])


def cube(triangles: NDArray[np.int64] = CUBE_FACES) -> Mesh:
    return Mesh(vertices=CUBE, triangles=triangles)


@pytest.fixture(scope="module")
def swallow() -> Body:
    return board_body(board_lines(load_board(SPECS / "boards" / "turnstone.toml")))


@pytest.fixture(scope="module")
def keel() -> Body:
    return fin_body(fin_lines(load_fin(SPECS / "fins" / "turnstone-keel.toml")))


def patch(height: float, bend: float, twist: float) -> Body:
    """A rectangle of 400 x 100 mm, bent along u and twisted."""

    def points(u: Array, v: Array) -> Array:
        return np.stack(np.broadcast_arrays(400.0 * u, 100.0 * v, height + bend * u * u + twist * u * v), axis=-1)

    return Body(port=interpolated(points, np.linspace(0.0, 1.0, 7), (0.0, 1.0), 5))


def test_a_cube_is_closed_and_outward() -> None:
    mesh = cube()
    assert mesh.unpaired_edges() == 0
    assert mesh.volume_mm3 == pytest.approx(1.0, abs=1e-12)
    assert mesh.area_mm2 == pytest.approx(6.0, abs=1e-12)
    assert manifold(solid_of(mesh), mesh.volume_mm3) == (True, "closed and manifold")
    assert replace(mesh, triangles=mesh.triangles[:, ::-1]).volume_mm3 == pytest.approx(-1.0, abs=1e-12)


def test_every_kind_of_fault_leaves_edges_unpaired() -> None:
    missing = cube(CUBE_FACES[1:])
    assert missing.unpaired_edges() > 0
    assert not manifold(solid_of(missing), missing.volume_mm3)[0]
    turned = CUBE_FACES.copy()
    turned[3] = turned[3, ::-1]
    assert cube(turned).unpaired_edges() > 0
    twice = cube(np.concatenate([CUBE_FACES, CUBE_FACES[:1]]))
    assert twice.unpaired_edges() > 0
    # Two cubes that share an edge: four triangles meet in it.
    beside = Mesh(vertices=CUBE + np.array([1.0, 1.0, 0.0]), triangles=CUBE_FACES)
    both = cube().joined(beside)
    assert both.unpaired_edges() == 0
    _, place = np.unique(both.vertices, axis=0, return_inverse=True)
    one = Mesh(vertices=np.unique(both.vertices, axis=0), triangles=place.ravel()[both.triangles])
    assert one.unpaired_edges() > 0


def test_welding_joins_the_two_sides_in_the_plane_between_them() -> None:
    """Two tetrahedra back to back in y = 0, each with its own copy of the three corners there."""
    corners = np.array([[0.0, 0.0, 0.0], [1.0, 0.0, 0.0], [0.0, 0.0, 1.0]])
    vertices = np.concatenate([corners, [[0.3, 1.0, 0.3]], corners, [[0.3, -1.0, 0.3]]])
    port, starboard = np.array([[1, 0, 3], [2, 1, 3], [0, 2, 3]]), np.array([[4, 5, 7], [5, 6, 7], [6, 4, 7]])
    mesh = welded(Mesh(vertices=vertices, triangles=np.concatenate([port, starboard, [[0, 0, 3]]])))
    assert len(mesh.vertices) == 5
    assert len(mesh.triangles) == 6
    assert mesh.unpaired_edges() == 0
    assert mesh.volume_mm3 == pytest.approx(1.0 / 3.0, abs=1e-12)


def test_facets_lost_in_single_precision_are_counted() -> None:
    """At two metres single precision steps by 1.2e-4 mm: a facet a fifth of that wide has no area left."""
    far = Mesh(vertices=CUBE * [2.5e-5, 1.0, 1.0] + [2000.0, 0.0, 0.0], triangles=CUBE_FACES)
    assert float32_collapsed(far) == 8
    assert float32_collapsed(replace(far, vertices=CUBE + np.array([2000.0, 0.0, 0.0]))) == 0


def test_halving_a_grid_puts_a_place_in_the_middle_of_every_step() -> None:
    grid = Grid(u=np.array([0.0, 0.5, 1.0]), v=np.array([0.0, 0.2, 1.0])).halved()
    assert grid.u.tolist() == [0.0, 0.25, 0.5, 0.75, 1.0]
    assert grid.v.tolist() == pytest.approx([0.0, 0.1, 0.2, 0.6, 1.0])


def test_a_flat_patch_needs_no_steps_but_the_least() -> None:
    grid = grid_for(patch(0.0, 0.0, 0.0), 0.05)
    assert len(grid.v) == 2
    assert chord_deviation(patch(0.0, 0.0, 0.0), grid) < 1e-12


def test_a_twisted_patch_is_stepped_although_it_bends_in_neither_direction() -> None:
    """z = k u v: a cell's diagonal leaves it by k g h / 4; with the fewest steps along, the rest falls to the other."""
    body = patch(0.0, 0.0, 40.0)
    grid = grid_for(body, 0.05)
    g, h = np.diff(grid.u).max(), np.diff(grid.v).max()
    # The distance is square to the surface, so shorter than along z by the cosine of the slope.
    slope = np.hypot(40.0 / 400.0, 40.0 / 100.0)
    assert chord_deviation(body, grid) <= 0.05
    assert chord_deviation(body, grid) == pytest.approx(40.0 * g * h / 4 / np.hypot(1.0, slope), rel=0.1)


def test_the_deviation_is_the_sagitta_of_a_bent_patch() -> None:
    """z = b u^2: over a step g the chord is b g^2 / 4 off along z."""
    body = patch(0.0, 4.0, 0.0)
    even = Grid(u=np.linspace(0.0, 1.0, 11), v=np.linspace(0.0, 1.0, 2))
    assert chord_deviation(body, even) == pytest.approx(4.0 * 0.01 / 4, rel=1e-3)


def test_a_body_that_cannot_be_met_is_a_defect_and_not_a_hang(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bayloft.solid.meshing.MOST_PLACES", 500)
    with pytest.raises(MeshingError):
        grid_for(patch(0.0, 400.0, 400.0), 0.005)
    monkeypatch.setattr("bayloft.solid.meshing.MOST_PLACES", MOST_PLACES)
    monkeypatch.setattr("bayloft.solid.meshing.chord_deviation", lambda _body, _grid: 0.06)
    with pytest.raises(MeshingError):
        grid_for(patch(0.0, 4.0, 0.0), 0.05)


@pytest.mark.parametrize("scale", [0.5, 3.0])
def test_the_grid_of_a_larger_body_is_the_same(swallow: Body, scale: float) -> None:
    """Nothing that vanishes at a pole may choose the grid: rounding there changes with the size."""
    larger = replace(swallow, port=replace(swallow.port, net=swallow.port.net * scale))
    grid, grown = grid_for(swallow, 0.1), grid_for(larger, 0.1 * scale)
    assert grown.u == pytest.approx(grid.u, abs=1e-9)
    assert grown.v == pytest.approx(grid.v, abs=1e-9)


def test_every_joint_of_the_surface_is_a_line_of_the_mesh(swallow: Body) -> None:
    grid = grid_for(swallow, 0.1)
    assert np.isin(swallow.port.joints, grid.v).all()
    assert (grid.u[0], grid.u[-1], grid.v[0], grid.v[-1]) == (0.0, 1.0, 0.0, 1.0)


def test_vertices_lie_on_the_surface_and_both_sides_meet(swallow: Body) -> None:
    grid = grid_for(swallow, 0.1)
    mesh = meshed(swallow, grid)
    port = swallow.port.grid(grid.u, grid.v).reshape(-1, 3)
    on_port = mesh.vertices[mesh.vertices[:, 1] > 0.0]
    assert np.abs(on_port - port[port[:, 1] > 1e-9]).max() < 1e-9
    other_side = mesh.vertices[mesh.vertices[:, 1] < 0.0] * [1.0, -1.0, 1.0]
    assert np.array_equal(on_port, other_side)


def test_the_wall_of_a_swallow_is_upright(swallow: Body) -> None:
    """Every triangle between the two edges of the wall has an upright plane; together they have the wall's area."""
    mesh = meshed(swallow, grid_for(swallow, 0.05))
    edge = {tuple(place) for place in np.round(swallow.port.grid([0.0], grid_for(swallow, 0.05).v)[0], 9) + 0.0}
    ends = np.array([tuple(np.abs(vertex) * [1, 1, 1]) in edge for vertex in mesh.vertices])
    on_wall = ends[mesh.triangles].all(axis=1)
    a, b, c = (corner[on_wall] for corner in mesh.corners)
    normals = np.cross(b - a, c - a)
    size = np.linalg.norm(normals, axis=1)
    assert np.abs(normals[:, 2]).max() < 0.02 * size.max()
    # Facing aft.
    assert (normals[:, 0][size > 1e-3] < 0.0).all()


def test_the_base_of_a_flat_fin_is_covered_once(keel: Body) -> None:
    """Triangles in z = 0 all face down, and their area is that between the two edges."""
    grid = grid_for(keel, 0.01)
    mesh = meshed(keel, grid)
    a, b, c = mesh.corners
    level = (a[:, 2] == 0.0) & (b[:, 2] == 0.0) & (c[:, 2] == 0.0)
    downward = np.cross(b - a, c - a)[level, 2] / 2
    assert downward.max() < 0.0
    outer = keel.port.grid([0.0], grid.v)[0]
    assert -downward.sum() == pytest.approx(-np.trapezoid(outer[:, 1], outer[:, 0]), rel=1e-9)
    assert keel.starboard is not None
    assert np.abs(keel.starboard.net[..., 1]).max() == 0.0


@pytest.mark.parametrize("height", [60.0071230005, 77.0000000005, 104.5000000025])
def test_a_pole_is_one_point_whatever_rounding_makes_of_it(height: float) -> None:
    """Poles at heights half-way between two of the decimals that coefficients are kept to: the last bits of the
    interpolation send some of the row up and some down, and a nanometre would be left between them.
    """

    def points(u: Array, v: Array) -> Array:
        size = np.sin(np.pi * u)
        size[[0, -1]] = 0.0
        x = 150.0 * (1.0 - np.cos(np.pi * u)) + 0.0 * v
        return np.stack([x, 90.0 * size * np.sin(np.pi * v), height - 30.0 * size * np.cos(np.pi * v)], axis=-1)

    surface = interpolated(points, np.linspace(0.0, 1.0, 33), (0.0, 0.5, 1.0), 8)
    assert np.ptp(surface.net[0], axis=0).tolist() == [0.0, 0.0, 0.0]
    assert np.ptp(surface.net[-1], axis=0).tolist() == [0.0, 0.0, 0.0]
    mesh = meshed(Body(port=surface), Grid(u=np.linspace(0.0, 1.0, 17), v=np.linspace(0.0, 1.0, 17)))
    assert mesh.unpaired_edges() == 0
    assert mesh.triangle_areas_mm2.min() > 1e-3


def test_a_surface_is_not_changed_by_being_read(swallow: Body) -> None:
    before = Surface(
        knots_u=swallow.port.knots_u.copy(), knots_v=swallow.port.knots_v.copy(), net=swallow.port.net.copy()
    )
    meshed(swallow, grid_for(swallow, 0.2))
    assert np.array_equal(before.net, swallow.port.net)
    assert np.array_equal(before.knots_u, swallow.port.knots_u)
