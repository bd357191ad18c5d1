"""What a comparison measures, against closed forms: boxes, balls, ellipsoids, a board made thicker by a known share."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import product

import numpy as np
import pytest
import trimesh
from numpy.typing import NDArray

from bayloft.solid.apart import MAP_ROWS, apart
from bayloft.solid.body import Body
from bayloft.solid.compared import ComparedShape
from bayloft.solid.compared_rows import OFF_MM
from bayloft.solid.compared_sizes import compared_sizes
from bayloft.solid.comparison import compared
from bayloft.solid.even_places import even_places
from bayloft.solid.mesh import Mesh, all_welded
from bayloft.solid.mesh_distance import NearestFacet, TangledMeshError, nearest_places
from bayloft.solid.meshing import grid_for, meshed
from bayloft.solid.righting import WAYS, Way, box_sides, long_bodies, settled, turned

from ..demo import board, draft

Array = NDArray[np.float64]


def mesh_of(other: trimesh.Trimesh) -> Mesh:
    return Mesh(vertices=np.array(other.vertices, dtype=np.float64), triangles=np.array(other.faces, dtype=np.int64))


def soup(mesh: Mesh) -> Mesh:
    """The same facets with corners of their own, as an STL has them."""
    return Mesh(
        vertices=mesh.vertices[mesh.triangles].reshape(-1, 3), triangles=np.arange(mesh.triangles.size).reshape(-1, 3)
    )


def ellipsoid(long: float, wide: float, thick: float, subdivisions: int = 6) -> Mesh:
    """Half axes in mm."""
    ball = trimesh.creation.icosphere(subdivisions=subdivisions)
    return replace(mesh_of(ball), vertices=np.array(ball.vertices) * [long, wide, thick])


@pytest.fixture
def fewer(monkeypatch: pytest.MonkeyPatch) -> None:
    """A tenth of the places: what they are asked for here does not hang on how many they are."""
    monkeypatch.setattr("bayloft.solid.apart.PLACES", 2000)
    monkeypatch.setattr("bayloft.solid.apart.BACK_PLACES", 500)
    monkeypatch.setattr("bayloft.solid.apart.MAP_STATIONS", 61)


@cache
def shape(name: str) -> ComparedShape:
    return ComparedShape.of_body(draft(name).body)


def box_distance(points: Array, half: Array) -> Array:
    """The signed distance from a box about the origin, in closed form."""
    beyond = np.abs(points) - half
    outside = np.sqrt((np.maximum(beyond, 0.0) ** 2).sum(axis=1))
    return outside + np.minimum(beyond.max(axis=1), 0.0)


@pytest.mark.parametrize("apart_facets", [False, True])
def test_distances_from_a_box_are_those_of_the_closed_form(apart_facets: bool) -> None:
    half = np.array([1000.0, 250.0, 30.0])
    box = mesh_of(trimesh.creation.box(2 * half))
    points = np.random.default_rng(7).uniform(-1.5, 1.5, (4000, 3)) * half
    corners = np.array(list(product((-1.2, 1.0, 1.3), repeat=3))) * half
    points = np.concatenate([points, corners, np.zeros((1, 3))])
    found = NearestFacet(soup(box) if apart_facets else box).signed_mm(points)
    np.testing.assert_allclose(found, box_distance(points, half), atol=1e-9)


def test_distances_from_facets_of_all_sizes_are_those_of_every_facet_looked_at() -> None:
    random = np.random.default_rng(3)
    sizes = 10.0 ** random.uniform(-2, 3, (400, 1, 1))
    corners = random.uniform(-500, 500, (400, 1, 3)) + sizes * random.normal(size=(400, 3, 3))
    mesh = Mesh(vertices=corners.reshape(-1, 3), triangles=np.arange(1200).reshape(-1, 3))
    points = random.uniform(-900, 900, (300, 3))
    theirs = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    _, away, _ = trimesh.proximity.closest_point_naive(theirs, points)
    np.testing.assert_allclose(np.abs(NearestFacet(mesh).signed_mm(points)), away, atol=1e-9)
    each = np.repeat(points[:20], 400, axis=0)
    own = nearest_places(each, np.tile(corners, (20, 1, 1)))
    np.testing.assert_allclose(own, trimesh.triangles.closest_point(np.tile(corners, (20, 1, 1)), each), atol=1e-9)


def test_what_is_outside_a_sharp_edge_is_outside() -> None:
    wedge = np.array(
        [[0, 0, 0], [0, 100, 0], [1000, 0, 10], [1000, 100, 10], [1000, 0, -10], [1000, 100, -10]], dtype=float
    )
    solid = trimesh.convex.convex_hull(wedge)
    points = np.array([[-5.0, 50.0, z] for z in (-3.0, 0.0, 3.0)] + [[5.0, 50.0, 0.0], [-5.0, -5.0, 0.0]])
    found = NearestFacet(soup(mesh_of(solid))).signed_mm(points)
    assert (np.sign(found) == [1, 1, 1, -1, 1]).all()


def test_a_face_in_many_slivers_weighs_no_more_at_its_corner() -> None:
    """The nearest place is the tip of a spike whose upper face is cut into fifty: outside is outside all the same."""
    y = np.linspace(-50.0, 50.0, 51)
    top, low = ([[1000.0, float(at), z] for at in ys] for ys, z in ((y, 10.0), ((-50.0, 50.0), -10.0)))
    facets = [(0, n + 1, n + 2) for n in range(50)] + [(0, 53, 52), (0, 52, 1), (0, 51, 53)]
    spike = Mesh(vertices=np.array([[0.0, 0.0, 0.0], *top, *low]), triangles=np.array(facets))
    assert (NearestFacet(spike).signed_mm([[-5.0, 0.0, -3.0], [-5.0, 0.0, 3.0]]) > 0.0).all()


def test_a_mesh_whose_facets_all_lie_on_one_another_ends_in_time() -> None:
    corners = np.tile([[0.0, 0, 0], [2000, 0, 0], [0, 500, 0]], (10_000, 1))
    tangled = NearestFacet(Mesh(vertices=corners, triangles=np.arange(30_000).reshape(-1, 3)))
    tangled._pairs = 149_500_000
    with pytest.raises(TangledMeshError):
        tangled.signed_mm(np.array([[500.0, 100.0, 5.0 * n] for n in range(100)]))


def test_places_are_even_by_area() -> None:
    box = mesh_of(trimesh.creation.box((2000.0, 500.0, 60.0)))
    box = replace(box, vertices=box.vertices + np.array([1000.0, 0.0, 30.0]))
    found = even_places(box, 10_000)
    area = 2 * (2000 * 500 + 2000 * 60 + 500 * 60)
    deck = np.abs(found.points[:, 2] - 60.0) < 1e-9
    assert abs(deck.sum() - 10_000 * 1e6 / area) <= 2
    assert found.upward[deck].all()
    # On the deck, by squares of 100 mm: as many as the area has, where chance would leave ten to either side.
    counts, _, _ = np.histogram2d(found.points[deck, 0], found.points[deck, 1], bins=(20, 5))
    assert abs(counts - deck.sum() / 100).max() <= 8
    np.testing.assert_array_equal(found.points, even_places(box, 10_000).points)


def test_an_ellipsoid_has_the_sizes_of_its_axes() -> None:
    long, wide, thick = 1000.0, 250.0, 40.0
    found, lying = settled(ellipsoid(long, wide, thick))
    sizes = compared_sizes(found, OFF_MM[True])
    at = np.sqrt(1.0 - 0.7**2)
    assert sizes.length == pytest.approx(2 * long, abs=1e-9)
    assert sizes.greatest_width == pytest.approx(2 * wide, abs=0.1)
    assert sizes.nose_width == pytest.approx(2 * wide * at, abs=0.1)
    assert sizes.tail_width == pytest.approx(2 * wide * at, abs=0.1)
    assert sizes.greatest_thickness == pytest.approx(2 * thick, abs=0.05)
    assert sizes.tail_thickness == pytest.approx(2 * thick * at, abs=0.05)
    assert sizes.nose_rocker == pytest.approx(thick * (1.0 - at), abs=0.05)
    assert sizes.nose_tip_rocker == sizes.tail_end_rocker == pytest.approx(thick, abs=0.05)
    assert abs(sizes.wide_point or 0.0) < 1.0
    assert abs(sizes.thickest_point or 0.0) < 1.0
    assert sizes.volume == pytest.approx(4 / 3 * np.pi * long * wide * thick, rel=1e-3)
    assert sizes.plan_area == pytest.approx(np.pi * long * wide, rel=1e-3)
    assert lying.off_middle_mm < 1e-6
    assert lying.fin_at_mm is None


def test_two_balls_lie_apart_by_their_radii() -> None:
    """Both stand on the flat: the larger stands out by twice the difference at the top, by none at the foot."""
    small, large = (settled(ellipsoid(r, r, r))[0] for r in (500.0, 520.0))
    lies = apart(small, large, -20.0)
    assert lies.greatest.out_mm == pytest.approx(40.0, abs=0.3)
    assert lies.least.out_mm == pytest.approx(0.0, abs=0.3)
    assert lies.greatest.side == "deck"
    # A sphere's places are even along any axis: the distance from the small centre, in closed form.
    z = (np.arange(200_000) + 0.5) / 200_000 * 1040.0
    away = np.sqrt((z - 500.0) ** 2 + (1040.0 - z) * z) - 500.0
    assert lies.mean_mm == pytest.approx(away.mean(), abs=0.2)
    assert lies.most_of_mm == pytest.approx(float(np.quantile(away, 0.95)), abs=0.3)
    # From the small one the large one lies under by the same: there, the other way round.
    assert lies.back_least_mm == pytest.approx(-40.0, abs=0.5)
    for each in lies.maps:
        top = 1040.0 - (520.0 - np.sqrt(np.maximum(520.0**2 - (each.x_mm - 500.0) ** 2 - each.y_mm**2, 0.0)))
        height = top if each.side == "deck" else 1040.0 - top
        closed = np.sqrt((each.x_mm - 500.0) ** 2 + each.y_mm**2 + (height - 500.0) ** 2) - 500.0
        assert np.abs(each.out_mm - closed).max() < 0.5


def taller(body: Body, share: float) -> Body:
    return replace(body, port=replace(body.port, net=body.port.net * np.array([1.0, 1.0, share])))


@pytest.mark.usefixtures("fewer")
@pytest.mark.parametrize("name", ["whimbrel", "dunlin", "turnstone"])
def test_a_board_made_thicker_by_a_share_stands_out_by_that_share_of_its_heights(name: str) -> None:
    a, b = shape(name), ComparedShape.of_body(taller(draft(name).body, 1.1))
    held = compared((name, "taller"), a, b, align="tail", metric=True)
    rows = {row.key: row for row in held.rows}
    for key in ("centre_thickness", "greatest_thickness", "nose_thickness", "nose_rocker", "nose_tip_rocker", "volume"):
        row = rows[key]
        assert row.a is not None
        assert row.b == pytest.approx(1.1 * row.a, rel=1e-6), key
    for key in ("length", "nose_width", "greatest_width", "tail_width", "plan_area"):
        assert rows[key].difference == pytest.approx(0.0, abs=1e-4 * (1e3 if key == "plan_area" else 1.0)), key
    # To first order, a tenth of the height, seen square to the surface.
    deck = next(each for each in held.apart.maps if each.side == "deck")
    x = np.array([0.4, 0.5, 0.6]) * a.length_mm
    lines = a.lines_at(x)
    for station, height in zip(x, lines.deck_mm, strict=True):
        n = int(np.argmin(np.abs(deck.x_mm[:, 0] - station)))
        assert deck.out_mm[n, 0] == pytest.approx(0.1 * height, rel=0.02)
    # And so the bottom rises by a tenth of its rocker: there it lies under the other.
    bottom = next(each for each in held.apart.maps if each.side == "bottom")
    n = int(np.argmin(np.abs(bottom.x_mm[:, 0] - 0.85 * a.length_mm)))
    before, here, after = a.lines_at(bottom.x_mm[n, 0] + np.array([-5.0, 0.0, 5.0])).bottom_mm
    square = 1.0 / np.sqrt(1.0 + (1.1 * (after - before) / 10.0) ** 2)
    assert bottom.out_mm[n, 0] == pytest.approx(-0.1 * here * square, rel=0.03)
    assert held.apart.least.side == "bottom"
    assert held.apart.least.out_mm >= -0.1 * (rows["nose_tip_rocker"].a or 0.0)


@pytest.mark.usefixtures("fewer")
@pytest.mark.parametrize("name", ["whimbrel", "turnstone", "fulmar"])
def test_a_board_s_own_mesh_measures_as_its_surface_does(name: str) -> None:
    """Chords of 0.05 mm: sizes within them, distances within them, the volume short by what the mesh is known to be."""
    body = draft(name).body
    mesh = meshed(body, grid_for(body, 0.05))
    own, lying = settled(
        replace(mesh, vertices=mesh.vertices.astype(np.float32).astype(np.float64) + np.array([7.0, -3.0, 50.0]))
    )
    held = compared((name, f"{name}.stl"), shape(name), own, align="tail", metric=False)
    rows = {row.key: row for row in held.rows}
    for row in held.rows:
        assert row.difference is not None
        if row.kind == "length":
            assert abs(row.difference) < 0.15, row.key
        elif row.kind == "place":
            assert abs(row.difference) < 3.0, row.key
        else:
            assert row.difference == pytest.approx(0.0, abs=1e-3 * (row.a or 0.0)), row.key
    assert rows["volume"].b == pytest.approx(mesh.volume_mm3, rel=1e-6)
    assert max(abs(held.apart.least.out_mm), held.apart.greatest.out_mm) < 0.06
    assert held.apart.back_greatest_mm < 0.1
    assert lying.off_middle_mm < 0.01
    asked = board(name).wide_point
    assert rows["wide_point"].a == pytest.approx(asked.x_mm - board(name).length_mm / 2, abs=3.0)
    assert rows["greatest_width"].a == pytest.approx(asked.value, abs=0.02)


@pytest.mark.usefixtures("fewer")
def test_a_swallow_s_map_begins_at_its_notch() -> None:
    lies = apart(shape("dunlin"), shape("turnstone"), 0.0)
    for each in lies.maps:
        assert each.out_mm.shape[1] == MAP_ROWS
        assert np.isfinite(each.out_mm).all()
        near_tail = np.abs(each.y_mm[each.x_mm[:, 0] < 60.0])
        assert near_tail.min() > 30.0


@pytest.mark.usefixtures("fewer")
@pytest.mark.parametrize(("align", "moved"), [("tail", 0.0), ("nose", -152.4), ("centre", -76.2), ("wide", -25.4)])
def test_boards_are_laid_on_one_another_as_asked(align: str, moved: float) -> None:
    a, b = shape("turnstone"), shape("dunlin")
    held = compared(("a", "b"), a, b, align=align, metric=True)  # type: ignore[arg-type]
    wide = board("turnstone").wide_point.x_mm - board("dunlin").wide_point.x_mm
    assert held.shift_mm == pytest.approx(wide if align == "wide" else moved, abs=1.0 if align == "wide" else 1e-6)
    # A station's figures are those of B where it lies.
    n = len(held.stations_mm) // 2
    own = b.lines_at(held.stations_mm[n] - held.shift_mm)
    assert held.lines[1].widths_mm[n] == own.widths_mm[0]


@pytest.mark.parametrize(("nose", "up"), [(nose, up) for nose, up in product(WAYS, WAYS) if nose[-1] != up[-1]])
def test_a_mesh_is_turned_as_told_and_never_mirrored(nose: Way, up: Way) -> None:
    def along(way: Way) -> Array:
        return np.eye(3)["xyz".index(way[-1])] * (-1.0 if way[0] == "-" else 1.0)

    body = ellipsoid(1000.0, 250.0, 40.0, 2)
    # As it lies here, put into a file's axes: its nose where told, its deck where told.
    axes = np.stack([along(nose), np.cross(along(up), along(nose)), along(up)])
    lopsided = body.vertices * np.where(body.vertices > 0.0, [1.0, 0.9, 0.5], 1.0)
    other = replace(body, vertices=lopsided @ axes)
    back = turned(other, nose, up)
    np.testing.assert_allclose(back.vertices, lopsided, atol=1e-9)
    assert back.volume_mm3 > 0.0
    assert box_sides(other)[0] == nose[-1]
    assert box_sides(other)[2] == up[-1]


def test_how_a_mesh_lies_is_seen() -> None:
    plain = ellipsoid(1000.0, 250.0, 40.0, 5)
    assert settled(replace(plain, triangles=plain.triangles[:, ::-1]))[1].was_inside_out
    askew = replace(plain, vertices=plain.vertices + plain.vertices[:, :1] * np.array([0.0, 0.02, 0.0]))
    assert settled(askew)[1].off_middle_mm == pytest.approx(20.0, rel=0.15)
    whimbrel = meshed(draft("whimbrel").body, grid_for(draft("whimbrel").body, 0.5))
    assert 0.3 < settled(whimbrel)[1].lowest_share < 0.6
    deck_down = settled(turned(whimbrel, "x", "-z"))[1]
    assert not 0.1 < deck_down.lowest_share < 0.9
    fin = mesh_of(trimesh.creation.box((200.0, 10.0, 200.0), trimesh.transformations.translation_matrix([300, 0, -50])))
    assert settled(all_welded(whimbrel.joined(fin)))[1].fin_at_mm == pytest.approx(200.0, abs=20.0)


def test_bodies_as_long_as_a_board_are_told_from_fins_and_specks() -> None:
    plain = ellipsoid(1000.0, 250.0, 40.0, 3)
    fin = replace(
        ellipsoid(100.0, 5.0, 100.0, 2), vertices=ellipsoid(100.0, 5.0, 100.0, 2).vertices + np.array([0, 0, 500])
    )
    found = long_bodies(
        all_welded(plain.joined(fin).joined(replace(fin, vertices=fin.vertices + np.array([900, 0, 0]))))
    )
    assert (found.closed, found.left_out) == (1, 2)
    assert found.mesh.volume_mm3 == pytest.approx(plain.volume_mm3)
    two = long_bodies(all_welded(plain.joined(replace(plain, vertices=plain.vertices + np.array([0, 900, 0])))))
    assert (two.closed, two.left_out) == (2, 0)
    # Deck and bottom as two sheets that do not meet are one board all the same.
    up = plain.vertices[plain.triangles].mean(axis=1)[:, 2] > 0.0
    sheets = replace(plain, triangles=plain.triangles[up]).joined(
        Mesh(vertices=plain.vertices - np.array([0, 0, 1e-3]), triangles=plain.triangles[~up])
    )
    loose = long_bodies(all_welded(sheets))
    assert (loose.closed, loose.left_out) == (0, 0)
    assert len(loose.mesh.triangles) == len(plain.triangles)
