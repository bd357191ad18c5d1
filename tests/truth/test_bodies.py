"""Bodies with closed forms through the same loft, integrals and mesh as boards and fins.

A body whose points are cubics in u and v, or less, is met exactly by the loft: there only rounding is allowed. Where
sines are interpolated, the surface misses the body by a multiple of (pi h)^4, h the step, and the test says how much.
"""

from __future__ import annotations

from collections.abc import Callable

import manifold3d
import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray
from scipy.special import ellipeinc, ellipkinc, gamma

from bayloft.solid.body import Body
from bayloft.solid.checks import checked_mesh
from bayloft.solid.integrals import integrals, section_areas
from bayloft.solid.mesh import Mesh, solid_of
from bayloft.solid.meshing import Grid, chord_deviation, grid_for, meshed
from bayloft.solid.surface import interpolated

Array = NDArray[np.float64]
Half = Callable[[Array], tuple[Array, Array]]

ROUNDING = 5e-11
"""Relative: coefficients kept to 1e-9 mm on bodies from 60 mm up, squared in the moments."""

AREA = 2e-9
"""Relative: twice what the adaptive rule for areas promises."""

STEPS = 128
"""Steps in u from pole to pole, and round a half-section."""

SPLINE = 0.02 * (np.pi / STEPS) ** 4
"""Relative. A complete cubic spline misses f by at most (5/384) h^4 |f''''| (C. de Boor, A Practical Guide to Splines,
ch. V: from memory), 0.013 (pi h)^4 for the sines of the ellipsoids; moments have it several times, with either sign."""

SPLINE_AT_ENDS = 0.03
"""Of (pi h)^4: what not-a-knot ends miss in their end steps, somewhat over twice the bound of the middle."""

SPLINE_SUPERELLIPSE = 10.0
"""Of SPLINE: the fourth derivatives of a section drawn out from its chord are that much larger."""

ELLIPSOIDS = [
    # Half-axes; volume and area by Legendre's incomplete integrals, DLMF 19.33: formula from memory, values computed
    # with 30 digits; area of the first also by another's adaptive integration, to 2e-6. The second is thin.
    ((3.0, 2.0, 1.0), 25.1327412287183, 48.8821463025821, 100.0),
    ((0.9, 0.26, 0.032), 0.0313656610534405, 1.50655243069321, 1000.0),
]

WIGLEY = [
    # Length, beam, draught; volume, waterplane, wetted area (both sides, without the waterplane), BMt. Form: read in
    # public codes; D. Hally, Representation of Wigley hulls, DREA TC 89/308 (1989), is cited from memory. Volume,
    # waterplane and BMt exact, worked out by hand; wetted area computed to 30 digits.
    ((1.0, 0.1, 0.0625), 0.00277777777777778, 0.0666666666667, 0.14879063105, 0.01371428571),
    ((3.0, 0.3, 0.1875), 0.075, 0.6, 1.33911567945, 0.04114285714),
    ((1.0, 0.125, 0.0625), 0.00347222222222222, 0.0833333333333, 0.159645559774, 0.02142857143),
    ((2.5, 0.25, 0.15625), 0.0434027777777778, 0.416666666667, 0.92994144406, 0.03428571429),
]
PRINTED = 1e-10
"""Relative: digits of the tables of the Wigley hulls."""

SUPERELLIPSES = [
    # Exponent; area over the product of the half-axes: 4 Gamma(1 + 1/n)^2 / Gamma(1 + 2/n), formula from memory (the
    # limits n = 1 and 2 hold), computed with 30 digits.
    (2, 3.14159265358979),
    (3, 3.5332775005709),
    (4, 3.70814935460274),
]

SIDE = 0.6
"""v of the joint between side and deck of a Wigley hull."""


def ellipse(v: Array) -> tuple[Array, Array]:
    """Half an ellipse from bottom to deck over unit half-axes, smooth in v."""
    return np.sin(np.pi * v), -np.cos(np.pi * v)


def superellipse(exponent: int) -> Half:
    """Half of |y|^n + |z|^n = 1: points of the chord between its vertices, pushed out; smooth for whole n."""

    def half(v: Array) -> tuple[Array, Array]:
        z = 2.0 * v - 1.0
        y = 1.0 - np.abs(z)
        size = (y**exponent + np.abs(z) ** exponent) ** (1.0 / exponent)
        return y / size, z / size

    return half


def spindle(half_axes: tuple[float, float, float], half: Half = ellipse, steps: int = STEPS, tilt: float = 0.0) -> Body:
    """A body whose sections are alike and shrink like an ellipse to poles at x = 0 and 2 a, `tilt` x added to z.

    Near its poles x grows with the square of u while the sections grow straight, so everything is smooth in u.
    """
    a, b, c = half_axes

    def points(u: Array, v: Array) -> Array:
        size = np.sin(np.pi * u)
        size[[0, -1]] = 0.0
        y, z = half(v)
        x = a * (1.0 - np.cos(np.pi * u)) + 0.0 * v
        return np.stack([x, b * size * y, c * size * z + tilt * x], axis=-1)

    return Body(port=interpolated(points, np.linspace(0.0, 1.0, steps + 1), (0.0, 0.5, 1.0), steps // 2))


def wigley(length: float, beam: float, draught: float) -> Body:
    """A Wigley hull, keel at z = -draught, and a flat deck at z = 0: quadratic in u and v, so exactly a bicubic."""

    def points(u: Array, v: Array) -> Array:
        depth = np.minimum(v / SIDE, 1.0) - 1.0
        inward = np.minimum((1.0 - v) / (1.0 - SIDE), 1.0)
        y = beam / 2 * (1.0 - (2.0 * u - 1.0) ** 2) * (1.0 - depth**2) * inward
        return np.stack(np.broadcast_arrays(length * u, y, draught * depth), axis=-1)

    return Body(port=interpolated(points, np.linspace(0.0, 1.0, 13), (0.0, SIDE, 1.0), 6))


def bowl(radius: float, height: float) -> Body:
    """A paraboloid of revolution, its pole at x = height, its round mouth closed by a wall at x = 0."""

    def points(u: Array, v: Array) -> Array:
        y, z = ellipse(v)
        left = 1.0 - u
        return np.stack(np.broadcast_arrays(height * (1.0 - left**2), radius * left * y, radius * left * z), axis=-1)

    return Body(
        port=interpolated(points, np.linspace(0.0, 1.0, 7), (0.0, 0.5, 1.0), STEPS // 2), end="wall", wall_corner=0.5
    )


def tetrahedron(edge: float) -> Body:
    """A regular tetrahedron standing on z = 0 like a fin: one vertex ahead, a flat trailing edge, a pointed tip."""
    front, corner, tip = edge * np.sqrt(3.0) / 2, edge / 2, edge * np.sqrt(2.0 / 3.0)
    middle = front / 3

    def points(u: Array, v: Array) -> Array:
        share, across = np.minimum(2.0 * v, 1.0), np.minimum(2.0 - 2.0 * v, 1.0)
        x = middle + (1.0 - u) * (front * (1.0 - share) - middle)
        return np.stack(np.broadcast_arrays(x, (1.0 - u) * corner * share * across, tip * u), axis=-1)

    return Body(port=interpolated(points, np.linspace(0.0, 1.0, 7), (0.0, 0.5, 1.0), 4), end="face")


def legendre_area(a: float, b: float, c: float) -> float:
    """The area of an ellipsoid, a > b > c, by Legendre's incomplete integrals: DLMF 19.33, from memory."""
    phi = np.arccos(c / a)
    m = a * a * (b * b - c * c) / (b * b * (a * a - c * c))
    sine = np.sin(phi)
    return float(2 * np.pi * (c * c + a * b / sine * (ellipeinc(phi, m) * sine**2 + ellipkinc(phi, m) * (1 - sine**2))))


def close(expected: float, relative: float, size: float | None = None) -> object:
    return pytest.approx(expected, rel=0.0, abs=relative * (abs(expected) if size is None else size))


@pytest.mark.parametrize(("half_axes", "volume", "area", "scale"), ELLIPSOIDS)
def test_an_ellipsoid_has_its_integrals(
    half_axes: tuple[float, float, float], volume: float, area: float, scale: float
) -> None:
    """Moments V a^2 / 5: textbook closed form, from memory, exact."""
    a, b, c = (scale * axis for axis in half_axes)
    found = integrals(spindle((a, b, c)))
    assert found.volume_mm3 == close(volume * scale**3, SPLINE)
    assert found.area_mm2 == close(area * scale**2, SPLINE)
    assert found.area_mm2 == close(legendre_area(a, b, c), SPLINE)
    assert found.plan_area_mm2 == close(np.pi * a * b, SPLINE)
    assert found.centroid_mm == (close(a, ROUNDING), close(0.0, ROUNDING, a), close(0.0, ROUNDING, a))
    for moment, axis in zip(found.second_moments_mm5, (a, b, c), strict=True):
        assert moment == close(found.volume_mm3 * axis**2 / 5, SPLINE)
    assert found.product_xz_mm5 == close(0.0, ROUNDING, found.volume_mm3 * a * a)


def test_a_tilted_ellipsoid_has_a_product_of_inertia() -> None:
    """Shearing by z += k x keeps the volume, and makes xz = k V a^2 / 5 and zz = V (c^2 + k^2 a^2) / 5: by hand."""
    a, b, c = 900.0, 260.0, 32.0
    tilt = 0.15
    found = integrals(spindle((a, b, c), tilt=tilt))
    volume = 4 / 3 * np.pi * a * b * c
    assert found.volume_mm3 == close(volume, SPLINE)
    assert found.product_xz_mm5 == close(tilt * volume * a * a / 5, SPLINE)
    assert found.second_moments_mm5[2] == close(volume * (c * c + (tilt * a) ** 2) / 5, SPLINE)
    assert found.centroid_mm[2] == close(tilt * a, ROUNDING)


def test_the_loft_nears_an_ellipsoid_with_the_fourth_power_of_the_step() -> None:
    """(x/a - 1)^2 + (y/b)^2 + (z/c)^2 = 1, between the sites too. Order 4: C. de Boor, A Practical Guide to Splines
    (from memory).
    """
    a, b, c = 300.0, 200.0, 100.0
    u, v = np.linspace(0.0, 1.0, 1001), np.linspace(0.0, 1.0, 401)
    misses = []
    for steps in (16, 32, 64, 128):
        x, y, z = np.moveaxis(spindle((a, b, c), steps=steps).port.grid(u, v), -1, 0)
        size = np.sqrt((x / a - 1.0) ** 2 + (y / b) ** 2 + (z / c) ** 2)
        misses.append(float(np.abs(size - 1.0).max()))
        assert misses[-1] <= SPLINE_AT_ENDS * (np.pi / steps) ** 4
    assert np.log2(np.array(misses[:-1]) / misses[1:]) == pytest.approx(4.0, abs=0.05)


@pytest.mark.parametrize(("size", "volume", "waterplane", "wetted", "bmt"), WIGLEY)
def test_a_wigley_hull_has_its_integrals(
    size: tuple[float, float, float], volume: float, waterplane: float, wetted: float, bmt: float
) -> None:
    """KB = 5 T / 8 and second moments worked out by hand from the polynomial: exact."""
    length, beam, draught = (1000.0 * each for each in size)
    body = wigley(length, beam, draught)
    found = integrals(body)
    assert found.volume_mm3 == close(4 / 9 * length * beam * draught, ROUNDING)
    assert found.volume_mm3 == close(volume * 1e9, PRINTED)
    assert found.plan_area_mm2 == close(2 / 3 * length * beam, ROUNDING)
    assert found.plan_area_mm2 == close(waterplane * 1e6, PRINTED)
    assert found.area_mm2 - found.plan_area_mm2 == close(wetted * 1e6, AREA)
    x, y, z = found.centroid_mm
    assert (x, y) == (close(length / 2, ROUNDING), close(0.0, ROUNDING, length))
    assert z + draught == close(5 / 8 * draught, ROUNDING)
    xx, yy, zz = found.second_moments_mm5
    assert xx == close(found.volume_mm3 * length**2 / 20, ROUNDING)
    assert yy == close(2 / 3 * (beam / 2) ** 3 * (length / 2) * (32 / 35) * draught * (16 / 35), ROUNDING)
    assert zz == close(found.volume_mm3 * draught**2 * 19 / 320, ROUNDING)
    # Second moment of the waterplane: Gauss's rule on y^3 dx along the deck edge, degree 6, in each of its spans.
    nodes, weights = np.polynomial.legendre.leggauss(6)
    u = ((np.arange(12)[:, None] + (nodes + 1) / 2) / 12).ravel()
    half = body.port.at(u, SIDE)[:, 1]
    transverse = 2 / 3 * float((half**3 * np.tile(weights / 24, 12)).sum()) * length
    assert transverse / found.volume_mm3 == close(bmt * 1000.0, 1e-9)


def test_a_wigley_hull_has_its_section_areas() -> None:
    """(2/3) B T (1 - (2 x / L)^2): by hand, exact; midship coefficient 2/3."""
    length, beam, draught = 2500.0, 250.0, 156.25
    x = np.linspace(0.0, length, 41)[1:-1]
    areas = section_areas(wigley(length, beam, draught), x)
    expected = 2 / 3 * beam * draught * (1.0 - (2.0 * x / length - 1.0) ** 2)
    assert areas == pytest.approx(expected, rel=0.0, abs=1e-10 * beam * draught)
    assert areas[len(x) // 2] / (beam * draught) == close(2 / 3, ROUNDING)


@pytest.mark.parametrize(("exponent", "over_axes"), SUPERELLIPSES)
def test_a_superelliptic_body_has_its_section_areas(exponent: int, over_axes: float) -> None:
    """Sections grow with 1 - (x/a - 1)^2, so the volume is 4 a / 3 times the middle section: by hand."""
    a, b, c = 900.0, 260.0, 32.0
    assert over_axes == close(4 * gamma(1 + 1 / exponent) ** 2 / gamma(1 + 2 / exponent), 1e-13)
    body = spindle((a, b, c), superellipse(exponent))
    x = np.array([0.02, 0.3, 1.0, 1.4, 1.95]) * a
    expected = over_axes * b * c * (1.0 - (x / a - 1.0) ** 2)
    allowed = SPLINE_SUPERELLIPSE * SPLINE
    assert section_areas(body, x) == pytest.approx(expected, rel=allowed)
    assert integrals(body).volume_mm3 == close(over_axes * b * c * 4 * a / 3, allowed)


@pytest.mark.parametrize("x", [-1.0, 2501.0])
def test_there_is_no_section_outside_a_body(x: float) -> None:
    assert section_areas(wigley(2500.0, 250.0, 156.25), x).tolist() == [0.0]


def test_a_paraboloid_has_its_integrals_and_a_wall() -> None:
    """V = pi r^2 h / 2, lateral area pi r ((r^2 + 4 h^2)^1.5 - r^3) / (6 h^2): from memory; for r = h = 1 computed with
    30 digits. Centroid h/3 from the mouth, by hand. The mouth's area is the wall's.
    """
    assert np.pi / 6 * (5**1.5 - 1) == close(5.33041350026897, 1e-13)
    radius, height = 200.0, 300.0
    found = integrals(bowl(radius, height))
    lateral = np.pi * radius / (6 * height**2) * ((radius**2 + 4 * height**2) ** 1.5 - radius**3)
    assert found.volume_mm3 == close(np.pi * radius**2 * height / 2, SPLINE)
    assert found.area_mm2 == close(lateral + np.pi * radius**2, SPLINE)
    assert found.plan_area_mm2 == close(4 / 3 * radius * height, SPLINE)
    assert found.centroid_mm[0] == close(height / 3, SPLINE)


def test_a_tetrahedron_has_its_moments() -> None:
    """B. Mirtich, Fast and accurate computation of polyhedral mass properties, J. Graphics Tools 1(1), 1996: moment of
    inertia m L^2 / 20 about every axis through the centroid (read where a public code's notes quote it; the paper from
    memory), so each second moment is V L^2 / 40. Exact.
    """
    edge = 240.0
    body = tetrahedron(edge)
    found = integrals(body)
    volume = edge**3 / (6 * np.sqrt(2))
    assert found.volume_mm3 == close(volume, ROUNDING)
    assert found.area_mm2 == close(np.sqrt(3) * edge**2, ROUNDING)
    assert found.second_moments_mm5 == pytest.approx([volume * edge**2 / 40] * 3, rel=ROUNDING)
    assert found.product_xz_mm5 == close(0.0, ROUNDING, volume * edge**2)
    assert found.centroid_mm[2] == close(edge / (2 * np.sqrt(6)), ROUNDING)
    assert found.centroid_mm[0] == close(edge / (2 * np.sqrt(3)), ROUNDING)
    # A mesh of flat faces is the body itself.
    mesh = meshed(body, grid_for(body, 0.05))
    assert mesh.volume_mm3 == close(volume, ROUNDING)
    assert mesh.area_mm2 == close(np.sqrt(3) * edge**2, ROUNDING)
    assert mesh.unpaired_edges() == 0


def judged(mesh: Mesh) -> tuple[trimesh.Trimesh, manifold3d.Manifold]:
    """The mesh as two other libraries read it; nothing is repaired."""
    return trimesh.Trimesh(vertices=mesh.vertices, faces=mesh.triangles, process=False), solid_of(mesh)


# What is left after extrapolation falls with the square of the tolerance: boxy sections need 0.02 mm for 1e-6.
MESHED = {
    "ellipsoid": (spindle((300.0, 200.0, 100.0)), 4 / 3 * np.pi * 6e6, SPLINE, 0.05),
    "thin ellipsoid": (spindle((900.0, 260.0, 32.0)), 4 / 3 * np.pi * 900.0 * 260.0 * 32.0, SPLINE, 0.05),
    "superellipsoid": (
        spindle((900.0, 260.0, 32.0), superellipse(4)),
        4 / 3 * 900.0 * 260.0 * 32.0 * 3.70814935460274,
        SPLINE_SUPERELLIPSE * SPLINE,
        0.02,
    ),
    "wigley": (wigley(2500.0, 250.0, 156.25), 4 / 9 * 2500.0 * 250.0 * 156.25, ROUNDING, 0.05),
    "paraboloid": (bowl(200.0, 300.0), np.pi * 200.0**2 * 150.0, SPLINE, 0.05),
}

FOLDED = {"wigley": ["mesh-closed"]}
"""A Wigley hull's stem is an upright edge: where it meets the keel, both in the plane y = 0, one triangle of each side
lies in that plane, back to back. No volume is wrong by it, yet two edges are used twice, and the check must say so. The
ends of boards and fins are poles or walls, so theirs have no such corner."""


def unfolded(mesh: Mesh) -> Mesh:
    """The mesh without triangles that lie in the plane y = 0."""
    flat = (mesh.vertices[mesh.triangles][..., 1] == 0.0).all(axis=1)
    return Mesh(vertices=mesh.vertices, triangles=mesh.triangles[~flat])


@pytest.mark.parametrize("name", MESHED)
def test_the_mesh_is_a_solid_near_its_body(name: str) -> None:
    """Closed and manifold to three judges; inscribed; its volume nears the closed form with order 2."""
    body, volume, known, tolerance = MESHED[name]
    checked = checked_mesh(body, integrals(body), tolerance, name)
    assert [finding.code for finding in checked.findings if not finding.passed] == FOLDED.get(name, [])
    assert checked.order == pytest.approx(2.0, abs=0.1)
    assert 0.5 * tolerance <= checked.deviation_mm <= tolerance
    # Inscribed, and by less than the shell within the tolerance of the surface.
    shell = tolerance * checked.mesh.area_mm2
    assert 0.05 * shell < volume - checked.volume_mm3 < shell
    assert checked.extrapolated_volume_mm3 == close(volume, 1e-6 + known)
    mesh = unfolded(checked.mesh) if name in FOLDED else checked.mesh
    assert mesh.unpaired_edges() == 0
    assert mesh.volume_mm3 == close(checked.volume_mm3, ROUNDING)
    theirs = trimesh.Trimesh(vertices=mesh.vertices, faces=mesh.triangles, process=False)
    assert theirs.is_watertight
    assert theirs.is_winding_consistent
    assert theirs.euler_number == 2
    assert theirs.volume == close(checked.volume_mm3, ROUNDING)
    assert theirs.area == close(mesh.area_mm2, ROUNDING)
    solid = solid_of(mesh)
    assert solid.status() == manifold3d.Error.NoError
    assert solid.genus() == 0
    assert solid.volume() == close(checked.volume_mm3, ROUNDING)


def test_halving_a_grid_again_and_again_keeps_order_two() -> None:
    """Polyhedra inscribed in a smooth body: volume, area and sampled distance all fall with the square of the step."""
    body = spindle((300.0, 200.0, 100.0))
    exact = integrals(body)
    grid = Grid(u=np.linspace(0.0, 1.0, 33), v=np.linspace(0.0, 1.0, 33))
    volumes, areas, distances = [], [], []
    for _ in range(4):
        mesh = meshed(body, grid)
        volumes.append(exact.volume_mm3 - mesh.volume_mm3)
        areas.append(exact.area_mm2 - mesh.area_mm2)
        distances.append(chord_deviation(body, grid))
        grid = grid.halved()
    for errors in (volumes, areas, distances):
        assert np.log2(np.array(errors[:-1]) / errors[1:]) == pytest.approx(2.0, abs=0.1)


@pytest.mark.parametrize("name", MESHED)
def test_no_place_of_the_surface_is_further_from_the_mesh_than_sampled(name: str) -> None:
    """Distances of places of the surface to all triangles, by trimesh; the sampled places are the edges' middles, and
    cells bend once: a tenth more than sampled is allowed elsewhere.
    """
    body, _, _, _ = MESHED[name]
    tolerance = 0.5
    mesh = meshed(body, grid_for(body, tolerance))
    corners = mesh.vertices[mesh.triangles]
    random = np.random.default_rng(8)
    places = body.port.at(random.uniform(0.0, 1.0, 300), random.uniform(0.0, 1.0, 300))
    distances = []
    for place in places:
        nearest = trimesh.triangles.closest_point(corners, np.broadcast_to(place, (len(corners), 3)))
        distances.append(np.linalg.norm(nearest - place, axis=1).min())
    assert 0.3 * tolerance <= max(distances) <= 1.1 * tolerance
