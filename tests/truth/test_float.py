"""A body cut by a tilted plane, and a board at rest in the water, against closed forms, published values and meshes."""

from __future__ import annotations

import math

import numpy as np
import pytest
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray

from bayloft.floating.equilibrium import Rest, Weight, rest
from bayloft.floating.water import density_kg_m3
from bayloft.lines.section_places import APEX
from bayloft.solid import plane_cut
from bayloft.solid.body import Body
from bayloft.solid.integrals import integrals
from bayloft.solid.measure import places
from bayloft.solid.mesh import solid_of
from bayloft.solid.meshing import grid_for, meshed
from bayloft.solid.plane_cut import CutBody, Plane
from bayloft.solid.surface import interpolated
from bayloft.solid.waterline import over_plane, stringer_crossings, waterline

from ..demo import draft

Array = NDArray[np.float64]

PROMISED = 1e-6
"""Relative: what is promised of a cut body."""

AXES = (900.0, 260.0, 32.0)
"""Half axes in mm of an ellipsoid thin as a board: the one of `test_bodies`, in mm."""

CUTS = [(0.0, 0.0), (-14.0, 0.0), (21.0, 0.0), (5.0, 0.015), (-9.0, -0.03), (30.0, 0.06)]
"""Height of the plane over the middle, mm, and slope; the last two run out over ends and deck."""


def ellipsoid() -> Body:
    a, b, c = AXES

    def points(u: Array, v: Array) -> Array:
        size = np.sin(np.pi * u)
        size[[0, -1]] = 0.0
        x = a * (1.0 - np.cos(np.pi * u)) + 0.0 * v
        return np.stack([x, b * size * np.sin(np.pi * v), -c * size * np.cos(np.pi * v)], axis=-1)

    return Body(port=interpolated(points, np.linspace(0.0, 1.0, 201), (0.0, APEX, 1.0), 60))


def wigley(length: float, beam: float, draught: float) -> Body:
    """A Wigley hull, exactly a bicubic; keel at z = -draught, deck z = 0."""

    def points(u: Array, v: Array) -> Array:
        depth = np.minimum(v / APEX, 1.0) - 1.0
        inward = np.minimum((1.0 - v) / (1.0 - APEX), 1.0)
        y = beam / 2 * (1.0 - (2.0 * u - 1.0) ** 2) * (1.0 - depth**2) * inward
        return np.stack(np.broadcast_arrays(length * u, y, draught * depth), axis=-1)

    return Body(port=interpolated(points, np.linspace(0.0, 1.0, 13), (0.0, APEX, 1.0), 6))


def test_the_rules_are_those_of_gauss_and_kronrod() -> None:
    """Exact for polynomials up to degree 5 and 11, and no further: their definition."""
    half = np.array(plane_cut.KRONROD_NODES)
    nodes = np.concatenate([-half[:0:-1], half])
    for weights, degree in ((plane_cut.GAUSS_WEIGHTS, 5), (plane_cut.KRONROD_WEIGHTS, 11)):
        w = np.array(weights)
        whole = np.concatenate([w[:0:-1], w])
        for power in range(0, degree + 1, 2):
            assert (whole * nodes**power).sum() == pytest.approx(2.0 / (power + 1), rel=1e-14)
        assert abs((whole * nodes ** (degree + 1)).sum() * (degree + 2) / 2.0 - 1.0) > 1e-6


@pytest.mark.parametrize(("height", "slope"), CUTS)
def test_an_ellipsoid_below_a_tilted_plane(height: float, slope: float) -> None:
    """A cap of the unit sphere, stretched. A plane at distance d from its middle leaves below it pi (1+d)^2 (2-d) / 3,
    whose centre is 3 (1-d)^2 / (4 (2-d)) from the middle, and cuts a disc of radius sqrt(1 - d^2): by hand.
    """
    a, b, c = AXES
    plane = Plane(height_mm=height - slope * a, slope=slope)
    found = CutBody(ellipsoid()).below(plane)
    size = math.hypot(slope * a, c)
    d = height / size
    assert found.volume_mm3 == pytest.approx(a * b * c * math.pi * (1 + d) ** 2 * (2 - d) / 3, rel=PROMISED)
    off = 3 * (1 - d) ** 2 / (4 * (2 - d))
    assert found.centre_mm == pytest.approx((a + a * off * slope * a / size, -c * off * c / size), abs=PROMISED * a)
    radius = math.sqrt(1 - d * d)
    face = a * b * math.pi * radius**2 * c / size
    assert found.face_mm2 == pytest.approx(face, rel=PROMISED)
    assert found.face_x_mm == pytest.approx(a - a * d * slope * a / size, abs=PROMISED * a)
    assert found.face_second_mm4 == pytest.approx(face * (a * radius * c / size) ** 2 / 4, rel=PROMISED)


@pytest.mark.parametrize(("height", "slope"), CUTS)
def test_the_waterline_of_an_ellipsoid(height: float, slope: float) -> None:
    a, b, c = AXES
    size = math.hypot(slope * a, c)
    d = height / size
    radius, middle = math.sqrt(1 - d * d), a - a * d * slope * a / size
    found = waterline(ellipsoid(), Plane(height_mm=height - slope * a, slope=slope))
    assert found is not None
    assert found.from_mm == pytest.approx(middle - a * radius * c / size, abs=5e-3)
    assert found.to_mm == pytest.approx(middle + a * radius * c / size, abs=5e-3)
    assert found.half_beam_mm == pytest.approx(b * radius, abs=1e-4)
    for piece in found.pieces:
        assert np.abs(over_plane(piece, Plane(height_mm=height - slope * a, slope=slope))).max() < 0.05


def test_the_skin_of_half_an_ellipsoid() -> None:
    """Half of the whole, of 1.50655243069321e6 mm2: DLMF 19.33, reference table of the project."""
    found = CutBody(ellipsoid()).below(Plane(height_mm=0.0, slope=0.0))
    assert found.skin_mm2 == pytest.approx(1.50655243069321e6 / 2, rel=PROMISED)


@pytest.mark.parametrize("q", [-30.0, 0.0, 41.0])
def test_a_cylinder_below_a_plane(q: float) -> None:
    """A segment of a circle, R^2 acos(-q/R) + q sqrt(R^2 - q^2), along its length: by hand. Its ends are upright."""
    radius, length = 50.0, 700.0

    def points(u: Array, v: Array) -> Array:
        y, z = radius * np.sin(np.pi * v), -radius * np.cos(np.pi * v)
        return np.stack(np.broadcast_arrays(length * u, y, z), axis=-1)

    tube = Body(port=interpolated(points, np.linspace(0.0, 1.0, 9), (0.0, APEX, 1.0), 60))
    area = radius**2 * math.acos(-q / radius) + q * math.sqrt(radius**2 - q * q)
    found = CutBody(tube).below(Plane(height_mm=q, slope=0.0))
    assert found.volume_mm3 == pytest.approx(area * length, rel=PROMISED)
    assert found.skin_mm2 == pytest.approx(2 * radius * math.acos(-q / radius) * length, rel=PROMISED)
    assert found.face_mm2 == pytest.approx(2 * math.sqrt(radius**2 - q * q) * length, rel=PROMISED)


HULL = (2500.0, 250.0, 156.25)


def test_a_wigley_hull_to_its_deck() -> None:
    """V = 4/9 LBT, waterplane 2/3 LB, KB = 5T/8, longitudinal second moment B L^3 / 30 (by hand); wetted area
    0.92994144406 m2 (reference table, 2-D quadrature; form: D. Hally, DREA TC 89/308, cited from memory).
    """
    length, beam, draught = HULL
    found = CutBody(wigley(*HULL)).below(Plane(height_mm=0.0, slope=0.0))
    assert found.volume_mm3 == pytest.approx(4 / 9 * length * beam * draught, rel=1e-9)
    assert found.centre_mm == pytest.approx((length / 2, -3 / 8 * draught), rel=1e-9)
    assert found.face_mm2 == pytest.approx(2 / 3 * length * beam, rel=1e-9)
    assert found.face_second_mm4 == pytest.approx(beam * length**3 / 30, rel=1e-9)
    assert found.skin_mm2 == pytest.approx(0.92994144406e6, rel=1e-7)
    assert found.deck_mm2 == 0.0


@pytest.mark.parametrize(("middle", "slope"), [(-60.0, 0.0), (-75.0, 0.04), (-75.0, -0.055)])
def test_a_wigley_hull_below_a_tilted_plane(middle: float, slope: float) -> None:
    """Breadth integrated up to the plane in closed form, along the hull by a rule that is exact for it."""
    length, beam, draught = HULL
    nodes, weights = leggauss(20)
    x, w = length / 2 * (1 + nodes), length / 2 * weights
    top = (middle + slope * (x - length / 2)) / draught
    full = beam * (1 - (2 * x / length - 1) ** 2)
    areas = full * draught * (top - top**3 / 3 + 2 / 3)
    heights = full * draught**2 * (top**2 / 2 - top**4 / 4 - 1 / 4)
    found = CutBody(wigley(*HULL)).below(Plane(height_mm=middle - slope * length / 2, slope=slope))
    assert found.volume_mm3 == pytest.approx((areas * w).sum(), rel=1e-9)
    assert found.centre_mm[0] == pytest.approx((areas * x * w).sum() / (areas * w).sum(), rel=1e-9)
    assert found.centre_mm[1] == pytest.approx((heights * w).sum() / (areas * w).sum(), rel=1e-9)
    assert found.face_mm2 == pytest.approx((full * (1 - top**2) * w).sum(), rel=1e-8)


def test_a_wigley_hull_comes_to_rest_at_its_draught() -> None:
    """Displaced at 3/4 T, level; BM = I / V, both by hand; G on the keel makes GM = BM + KB."""
    length, beam, draught = HULL
    top = -0.25
    volume = 2 / 3 * length * beam * draught * (top - top**3 / 3 + 2 / 3)
    kb = draught * (1 + (top**2 / 2 - top**4 / 4 - 1 / 4) / (top - top**3 / 3 + 2 / 3))
    weight = Weight(mass_kg=volume * 1025e-9, x_mm=length / 2, z_mm=-draught)
    found = rest(CutBody(wigley(*HULL)), [weight], 1025.0)
    assert found.plane is not None
    assert found.plane.height_mm == pytest.approx(-draught / 4, abs=1e-6)
    assert found.plane.slope == pytest.approx(0.0, abs=1e-9)
    metacentric = beam * (1 - top**2) * length**3 / 30 / volume + kb
    assert found.metacentric_mm == pytest.approx(metacentric, rel=1e-7)


CASES = [
    ("whimbrel", Plane(height_mm=40.0, slope=0.0)),
    ("whimbrel", Plane(height_mm=95.0, slope=-0.035)),
    ("spoonbill", Plane(height_mm=74.0, slope=0.002)),
    ("spoonbill", Plane(height_mm=130.0, slope=-0.06)),
    ("turnstone", Plane(height_mm=60.0, slope=-0.015)),
    ("avocet", Plane(height_mm=30.0, slope=0.02)),
]
"""Level; tail deep with water over the deck; deck awash in the middle; a wall half in; a notch; nose deep."""


FACE = 3e-5
"""Relative: the error of a mesh's cut face falls less evenly, where the plane meets the surface at a small angle."""


@pytest.mark.parametrize(("name", "plane"), CASES)
def test_the_face_is_how_the_volume_grows(name: str, plane: Plane) -> None:
    """dV/dh by differences of volumes, which know nothing of the face."""
    body, step = CutBody(draft(name).body), 0.02
    high, low = (body.below(Plane(height_mm=plane.height_mm + by, slope=plane.slope)) for by in (step, -step))
    growth = (high.volume_mm3 - low.volume_mm3) / (2 * step)
    assert body.below(plane).face_mm2 == pytest.approx(growth, rel=1e-5)


@pytest.mark.parametrize(("name", "plane"), CASES)
def test_boards_against_meshes_cut_by_another_library(name: str, plane: Plane) -> None:
    """manifold3d cuts the mesh and one of half its steps; the error falls with their square."""
    body = draft(name).body
    found = CutBody(body).below(plane)
    size = plane.steepness
    grid = grid_for(body, 0.05)
    measured = []
    for each in (grid, grid.halved()):
        normal = (plane.slope / size, 0.0, -1.0 / size)
        solid = solid_of(meshed(body, each)).trim_by_plane(normal, -plane.height_mm / size)
        cut = solid.to_mesh64()
        corners = cut.vert_properties[:, :3][cut.tri_verts]
        a, b, c = (corners[:, i] - [found.centre_mm[0], 0.0, found.centre_mm[1]] for i in range(3))
        across = np.cross(b - a, c - a)
        volumes = (a * np.cross(b, c)).sum(axis=1) / 6
        level = (np.abs(over_plane(corners, plane)) < 1e-6).all(axis=1)
        areas = np.sqrt((across**2).sum(axis=1)) / 2
        centre = ((a + b + c) / 4 * volumes[:, None]).sum(axis=0)
        measured.append([volumes.sum(), centre[0], centre[2], areas[level].sum(), areas[~level].sum()])
    coarse, fine = np.array(measured)
    volume, x, z, face, skin = (4 * fine - coarse) / 3
    assert found.volume_mm3 == pytest.approx(volume, rel=2e-6)
    assert (x / volume, z / volume) == pytest.approx((0.0, 0.0), abs=2e-3)
    assert found.face_mm2 * size == pytest.approx(face, rel=FACE)
    assert found.skin_mm2 == pytest.approx(skin, rel=FACE)


@pytest.mark.parametrize("name", ["whimbrel", "spoonbill", "turnstone"])
def test_a_whole_board_under_water_is_the_board(name: str) -> None:
    body = draft(name).body
    exact, whole = integrals(body), CutBody(body).whole
    assert whole.volume_mm3 == pytest.approx(exact.volume_mm3, rel=1e-10)
    assert whole.centre_mm == pytest.approx((exact.centroid_mm[0], exact.centroid_mm[2]), abs=1e-6)
    assert whole.skin_mm2 == pytest.approx(exact.area_mm2, rel=1e-6)
    assert whole.deck_mm2 == pytest.approx(exact.plan_area_mm2, rel=1e-6)
    assert whole.face_mm2 == 0.0


def lie(found: Rest) -> tuple[float, float]:
    """Return what is displaced over what is borne, and the lever between the middles of water and weight, mm."""
    assert found.below is not None
    assert found.plane is not None
    x, z = found.below.centre_mm[0] - found.middle_mm[0], found.below.centre_mm[1] - found.middle_mm[1]
    return found.below.volume_mm3 * found.density_kg_m3 * 1e-9 / found.mass_kg, x + found.plane.slope * z


@pytest.mark.parametrize(
    ("name", "load", "at", "up"),
    [
        ("whimbrel", 28.0, 0.46, 80.0),
        ("whimbrel", 40.0, 0.47, 80.0),
        ("spoonbill", 60.0, 0.45, 200.0),
        ("turnstone", 22.0, 0.47, 60.0),
    ],
)
def test_boards_come_to_rest_and_stay(name: str, load: float, at: float, up: float) -> None:
    """What is displaced weighs the load, one middle is over the other, and a little more trim is undone."""
    body = CutBody(draft(name).body)
    weight = Weight(mass_kg=load, x_mm=at * draft(name).board.length_mm, z_mm=up)
    found = rest(body, [weight], 1025.0)
    assert found.fate == "floats"
    bears, lever = lie(found)
    assert bears == pytest.approx(1.0, rel=1e-8)
    assert lever == pytest.approx(0.0, abs=1e-5)
    assert found.metacentric_mm > 0.0
    moved = rest(body, [Weight(mass_kg=load, x_mm=weight.x_mm + 1.0, z_mm=up)], 1025.0)
    assert found.plane is not None
    assert moved.plane is not None
    turned = math.atan(moved.plane.slope) - math.atan(found.plane.slope)
    # A weight moved by 1 mm turns the board by 1 / GM: the metacentric height, found anew from two places of rest.
    assert 1.0 / turned == pytest.approx(found.metacentric_mm, rel=0.02)


def test_what_is_too_much_sinks_and_what_is_too_far_back_tips() -> None:
    board = draft("whimbrel")
    body = CutBody(board.body)
    most = body.whole.volume_mm3 * 1e-6
    middle = body.whole.centre_mm
    assert rest(body, [Weight(mass_kg=1.0001 * most, x_mm=middle[0], z_mm=middle[1])], 1000.0).fate == "sinks"
    # Ballast low in it: all but a ten-thousandth is under water, and it still lies.
    found = rest(body, [Weight(mass_kg=0.9999 * most, x_mm=middle[0], z_mm=middle[1] - 40.0)], 1000.0)
    assert found.fate == "floats"
    assert lie(found)[0] == pytest.approx(1.0, rel=1e-8)
    assert found.plane is not None
    assert stringer_crossings(board.body, found.plane, "deck")
    for x, fate in ((60.0, "tips tail down"), (board.board.length_mm - 60.0, "tips nose down")):
        assert rest(body, [Weight(mass_kg=25.0, x_mm=x, z_mm=80.0)], 1000.0).fate == fate


def test_deck_and_bottom_are_met_where_they_are() -> None:
    """At a crossing the stringer's height is that of the plane: asked of the surface in another way."""
    body, plane = draft("spoonbill").body, Plane(height_mm=79.0, slope=0.0004)
    for face, v in (("bottom", 0.0), ("deck", 1.0)):
        stations = stringer_crossings(body, plane, face)  # type: ignore[arg-type]
        assert stations
        assert over_plane(places(body, stations, (v,))[0], plane) == pytest.approx(np.zeros(len(stations)), abs=1e-7)


def test_the_density_of_water() -> None:
    """TEOS-10 at the surface, computed with gsw 3.6.23, and printed: E. C. Tupper, Introduction to Naval Architecture,
    table 5.1 (reference table of the project).
    """
    fresh = {0.0: 999.8431, 10.0: 999.7025, 15.0: 999.1026, 20.0: 998.2071, 30.0: 995.6495}
    sea = {0.0: 1028.1072, 10.0: 1026.9541, 15.0: 1025.9760, 20.0: 1024.7660, 30.0: 1021.7261}
    for salinity, table in ((0.0, fresh), (35.16504, sea)):
        for temperature, density in table.items():
            assert density_kg_m3(salinity, temperature) == pytest.approx(density, abs=6e-5)
    assert density_kg_m3(10.0, 15.0) == pytest.approx(1006.748419764313, abs=1e-9)
    for temperature, printed in zip((0, 10, 20, 30), (999.8, 999.6, 998.1, 995.6), strict=True):
        assert density_kg_m3(0.0, temperature) == pytest.approx(printed, abs=0.12)
    for temperature, printed in zip((0, 10, 20, 30), (1028.0, 1026.9, 1024.7, 1021.7), strict=True):
        assert density_kg_m3(35.16504, temperature) == pytest.approx(printed, abs=0.12)
