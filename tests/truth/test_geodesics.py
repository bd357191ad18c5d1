"""Geodesics against closed forms: cylinder and cone unrolled, planes folded at a crease; laps against exact distances
on a polyhedron.

Exact polyhedral distances: J. S. B. Mitchell, D. M. Mount and C. H. Papadimitriou, "The discrete geodesic problem"
(1987), as the library pygeodesic has them.
"""

from __future__ import annotations

import numpy as np
import pygeodesic.geodesic
import pytest
import shapely
from numpy.typing import NDArray

from bayloft.arithmetic import lengths
from bayloft.lines.section_places import APEX
from bayloft.solid.geodesics import shot
from bayloft.solid.integrals import parameter_at
from bayloft.solid.laps import Face, bounds_of, edge_line, face_plan, lap
from bayloft.solid.surface import Surface, interpolated

from ..demo import draft

Array = NDArray[np.float64]

RADIUS = 40.0


def cylinder() -> Surface:
    """Three quarters of a cylinder of radius 40, with joints in v at which nothing turns."""

    def points(u: Array, v: Array) -> Array:
        turn = 1.5 * np.pi * v
        return np.stack(np.broadcast_arrays(300.0 * u, RADIUS * np.cos(turn), RADIUS * np.sin(turn)), axis=-1)

    return interpolated(points, np.linspace(0.0, 1.0, 30), [0.0, 0.3, 0.6, 1.0], 60)


def cone() -> Surface:
    """A part of a cone with half its opening 30 degrees: unrolled, it is a fan of half the turn."""

    def points(u: Array, v: Array) -> Array:
        slant, turn = 100.0 + 200.0 * u, np.pi * v
        flat = slant / 2.0
        return np.stack(np.broadcast_arrays(slant * np.sqrt(0.75), flat * np.cos(turn), flat * np.sin(turn)), axis=-1)

    return interpolated(points, np.linspace(0.0, 1.0, 30), [0.0, 1.0], 80)


def folded(bend_deg: float) -> Surface:
    """Two planes that meet in a crease at v = 0.5, oblique to the lines of u."""
    bend = np.radians(bend_deg)

    def points(u: Array, v: Array) -> Array:
        across = 200.0 * (v - 0.5)
        over = np.maximum(across, 0.0)
        y, z = np.minimum(across, 0.0) + over * np.cos(bend), over * np.sin(bend)
        return np.stack(np.broadcast_arrays(300.0 * u + 60.0 * v, y, z), axis=-1)

    return interpolated(points, np.linspace(0.0, 1.0, 12), [0.0, 0.5, 1.0], 6)


@pytest.mark.parametrize("angle_deg", [0.0, 17.0, 40.0])
def test_on_a_cylinder_they_are_helices(angle_deg: float) -> None:
    angle = np.radians(angle_deg)
    v = np.array([0.02, 0.29, 0.45])
    turn = 1.5 * np.pi * v
    along, across = np.sin(angle), np.cos(angle)
    ahead = np.stack([np.full(3, along), -across * np.sin(turn), across * np.cos(turn)], axis=1)
    rays = shot(cylinder(), (np.full(3, 0.5), v), ahead, 60.0)
    end = turn + 60.0 * across / RADIUS
    wanted = np.stack([np.full(3, 150.0 + 60.0 * along), RADIUS * np.cos(end), RADIUS * np.sin(end)], axis=1)
    assert np.abs(rays.points[:, -1] - wanted).max() < 3e-4
    assert not rays.stopped.any()


def test_on_a_cone_they_are_lines_of_the_unrolled_fan() -> None:
    start = np.array([0.3])
    slant, turn = 100.0 + 200.0 * 0.3, np.pi * 0.4
    across = np.array([[0.0, -np.sin(turn), np.cos(turn)]])
    rays = shot(cone(), (start, np.array([0.4])), across, 40.0)
    end = rays.points[0, -1]
    found = float(np.sqrt((end * end).sum())), float(np.arctan2(end[2], end[1]))
    assert found[0] == pytest.approx(np.hypot(slant, 40.0), abs=1e-4)
    # An angle in the fan is half of that about the axis.
    assert found[1] - turn == pytest.approx(2.0 * np.arctan2(40.0, slant), abs=1e-6)


@pytest.mark.parametrize("bend_deg", [60.0, -60.0])
def test_over_a_crease_they_go_straight_on(bend_deg: float) -> None:
    surface = folded(bend_deg)
    start = surface.at(0.4, 0.4)
    ahead = np.array([[0.5, np.sqrt(0.75), 0.0]])
    rays = shot(surface, (np.array([0.4]), np.array([0.4])), ahead, 80.0)
    before = -start[1] / ahead[0, 1]
    bend, left = np.radians(bend_deg), 80.0 - before
    crease = start + before * ahead[0]
    wanted = crease + left * np.array([0.5, np.sqrt(0.75) * np.cos(bend), np.sqrt(0.75) * np.sin(bend)])
    assert np.abs(rays.points[0, -1] - wanted).max() < 1e-6


def test_a_ray_stops_where_the_face_ends() -> None:
    rays = shot(folded(0.0), (np.array([0.5]), np.array([0.9])), np.array([[0.0, 1.0, 0.0]]), 80.0, bounds=(0.5, 1.0))
    assert rays.stopped.all()
    assert rays.points[0, -1] == pytest.approx(surface_end(), abs=1e-6)


def surface_end() -> list[float]:
    return [300.0 * 0.5 + 60.0 * 0.9, 100.0, 0.0]


@pytest.mark.parametrize(
    ("name", "face", "nose"),
    [
        ("whimbrel", "deck", True),
        ("whimbrel", "bottom", False),
        ("fulmar", "bottom", False),
        ("turnstone", "deck", False),
    ],
)
def test_a_lap_ends_where_the_surface_is_that_far_from_its_edge(name: str, face: Face, nose: bool) -> None:
    """In the last 300 mm of an end, of both halves, against exact distances on a mesh of it."""
    body = draft(name).body
    width = 50.0
    found = lap(body, face, width)
    low, high = bounds_of(face)
    u = np.linspace(0.72, 1.0, 150) if nose else np.linspace(0.0, 0.3, 150)
    v = np.unique(np.concatenate([np.linspace(low, high, 70), np.linspace(0.3, 0.4, 30) if low < 0.35 else []]))
    grid = body.port.grid(u, v)
    both = (
        np.concatenate([grid, grid[:, ::-1][:, 1:] * [1.0, -1.0, 1.0]], axis=1)
        if face == "deck"
        else np.concatenate([grid[:, ::-1], grid[:, 1:] * [1.0, -1.0, 1.0]], axis=1)
    )
    points, rows = both.reshape(-1, 3), both.shape
    at = np.arange(rows[0] * rows[1]).reshape(rows[:2])
    a, b, c, d = at[:-1, :-1], at[:-1, 1:], at[1:, :-1], at[1:, 1:]
    triangles = np.concatenate([np.stack([a, b, c], -1).reshape(-1, 3), np.stack([b, d, c], -1).reshape(-1, 3)])
    # Vertices that fall together at a pole, and over the stringer, are one.
    _, first, same = np.unique(np.round(points, 6), axis=0, return_index=True, return_inverse=True)
    triangles = same.ravel()[triangles]
    triangles = triangles[
        (triangles[:, 0] != triangles[:, 1])
        & (triangles[:, 1] != triangles[:, 2])
        & (triangles[:, 0] != triangles[:, 2])
    ]
    places = points[first]
    edge = [at[:, 0], at[:, -1]] + ([at[0]] if body.end == "wall" and not nose else [])
    sources = np.unique(same.ravel()[np.concatenate(edge)])
    judge = pygeodesic.geodesic.PyGeodesicAlgorithmExact(places, triangles.astype(np.int32))
    away, _ = judge.geodesicDistances(sources.astype(np.int32))
    # Where the mesh of the end is cut off, ways from beyond are not known to it.
    length = draft(name).board.length_mm
    clear = (places[:, 0] > length - 300.0) if nose else (places[:, 0] < 300.0)
    port = clear & (places[:, 1] > 0.2)
    line = shapely.LineString(found.line)
    inside = shapely.contains_xy(found.clear, places[port, 0], places[port, 1])
    beyond = away[port] - width
    off = np.where(inside, -beyond, beyond)
    # A place on the wrong side of the line is no further from it than the mesh is coarse.
    assert off.max() < 0.12
    assert float(shapely.distance(shapely.points(places[port][np.abs(beyond) < 0.5, :2]), line).max()) < 0.8


def test_a_lap_of_nothing_is_the_edge_and_one_of_all_leaves_nothing() -> None:
    body = draft("turnstone").body
    none, all_of_it = lap(body, "deck", 0.0), lap(body, "deck", 400.0)
    assert none.clear.equals(face_plan(body, "deck"))
    assert np.array_equal(none.line, edge_line(body, "deck"))
    assert all_of_it.clear.is_empty
    assert len(all_of_it.line) == 0
    assert np.isnan(all_of_it.off_mm(800.0))


def test_amidships_a_lap_is_its_width_of_the_section() -> None:
    """There rail and stringer all but run beside one another: a tape round the rail measures the same."""
    body = draft("spoonbill").body
    found = lap(body, "deck", 50.0)
    v = np.linspace(APEX, 1.0, 4001)
    x = 1400.0
    section = body.port.at(parameter_at(body.port, np.full_like(v, x), v), v)
    far = np.concatenate([[0.0], np.cumsum(lengths(np.diff(section, axis=0)))])
    assert found.off_mm(x) == pytest.approx(float(np.interp(50.0, far, section[:, 1])), abs=0.05)
