"""Boards lofted from their specs, measured again by shapely on plan and sections and by trimesh on the mesh.

Plan outlines come from the lines alone, so here lines, surface, integrals and mesh have to agree.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh
from numpy.typing import NDArray

from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.section_places import APEX
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.integrals import Integrals, integrals, section_areas
from bayloft.solid.measure import rocker, section, stringer_from_mm, thickness, width
from bayloft.solid.mesh import Mesh
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.loading import load_board

Array = NDArray[np.float64]

BOARDS = sorted((Path(__file__).parents[2] / "specs" / "boards").glob("*.toml"))
NAMES = [path.stem for path in BOARDS]

CHORD_MM = 0.02
"""mm: the mesh lies inside the surface by no more."""

LOFT_MM = 1e-5
"""mm by which a board's surface leaves its lines away from its tips: a hundredth of what the loft promises anywhere."""

POLYGON = 1e-6
"""Relative, of areas and lengths of polygons: chords of a curve of n = 4000 even steps in its parameter lose about
(pi / n)^2 / 6 = 1e-7 of it."""

PLACES = 4001


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lofted:
    lines: BoardLines
    body: Body
    exact: Integrals
    mesh: Mesh


@cache
def lofted(name: str) -> Lofted:
    lines = board_lines(load_board(BOARDS[NAMES.index(name)]))
    body = board_body(lines)
    return Lofted(lines=lines, body=body, exact=integrals(body), mesh=meshed(body, grid_for(body, CHORD_MM)))


def stations(board: Lofted) -> Array:
    """Stations in mm along the board, forward of the wall and of where sections begin to close on the tips."""
    start = 0.0 if board.lines.wall is None else board.lines.wall.reach_mm
    return start + (board.lines.length_mm - start) * np.array([0.04, 0.15, 0.33, 0.5, 0.71, 0.88, 0.97])


def plan(lines: BoardLines) -> Array:
    """The port half of the plan from its lines: along the wall from the stringer to the corner, the rail, the nose."""
    places = np.linspace(0.0, 1.0, PLACES)
    if lines.wall is None:
        return np.stack([lines.outline.station(places), lines.outline.half_width(places)], axis=1)
    # The corner's arc is round at its outer end: even steps in angle there.
    y = lines.wall.corner_y_mm * np.sin(np.pi / 2 * places)
    y = np.unique(np.append(y, lines.wall.arc_from_mm))
    behind = np.stack([lines.wall.station(y), y], axis=1)
    start = float(lines.outline.parameter(lines.wall.corner_x_mm))
    u = np.linspace(start, 1.0, PLACES)
    return np.concatenate([behind, np.stack([lines.outline.station(u), lines.outline.half_width(u)], axis=1)[1:]])


@pytest.mark.parametrize("name", NAMES)
def test_the_plan_has_the_area_of_its_polygon(name: str) -> None:
    """Shapely's polygon of the lines, both halves, against the surface's own integral of its shadow."""
    board = lofted(name)
    half = plan(board.lines)
    polygon = shapely.Polygon(np.concatenate([half, half[::-1] * [1.0, -1.0]]))
    assert polygon.is_valid
    assert board.exact.plan_area_mm2 == pytest.approx(polygon.area, rel=2 * POLYGON)


@pytest.mark.parametrize("name", NAMES)
def test_the_rail_is_as_long_as_its_polyline(name: str) -> None:
    """Shapely's length of the outline's lines; Gauss's rule on the speed along the surface's apex, span by span."""
    board = lofted(name)
    rail = plan(board.lines)
    if board.lines.wall is not None:
        rail = rail[-PLACES:]
    nodes, weights = np.polynomial.legendre.leggauss(12)
    breaks = board.body.port.breaks[0]
    half = np.diff(breaks)[:, None] / 2
    u = breaks[:-1, None] + half * (1.0 + nodes)
    speed = np.linalg.norm(board.body.port.at(u, APEX, du=1)[..., :2], axis=-1)
    length = float((speed * half * weights).sum())
    assert length == pytest.approx(shapely.LineString(rail).length, rel=2 * POLYGON)


@pytest.mark.parametrize("name", NAMES)
def test_section_areas_are_those_of_their_polygons(name: str) -> None:
    """Shapely's areas with 8 and 16 chords to a span: the error falls with the square, a rail low and a hollow
    bottom high, and a third of their difference takes it off.
    """
    board = lofted(name)
    x = stations(board)
    areas = section_areas(board.body, x)
    for station, area in zip(x, areas, strict=True):
        polygons = []
        for chords in (8, 16):
            half = section(board.body, float(station), per_span=chords).points
            polygons.append(shapely.Polygon(np.concatenate([half, half[::-1] * [-1.0, 1.0]])))
        coarse, fine = polygons
        assert fine.is_valid
        assert fine.area == pytest.approx(area, rel=1e-5)
        assert (4.0 * fine.area - coarse.area) / 3.0 == pytest.approx(area, rel=1e-9)


def cut(mesh: Mesh, x_mm: float) -> Array:
    """The section of a mesh as trimesh cuts it: segments (n, 2, 2) as (y, z) in mm."""
    theirs = trimesh.Trimesh(vertices=mesh.vertices, faces=mesh.triangles, process=False)
    return np.asarray(trimesh.intersections.mesh_plane(theirs, [1.0, 0.0, 0.0], [x_mm, 0.0, 0.0]))[..., 1:]


@pytest.mark.parametrize("name", NAMES)
def test_the_mesh_measures_as_the_surface(name: str) -> None:
    """Widths, rocker and thickness off trimesh's cuts: short of the surface by the chord tolerance on either side, and
    never beyond it but in height, where a hollow bottom's chords run outside.
    """
    board = lofted(name)
    for x in map(float, stations(board)):
        section_cut = cut(board.mesh, x)
        widest = float(np.ptp(section_cut[..., 0]))
        assert -2.0 * CHORD_MM <= widest - float(width(board.body, x)[0]) <= 1e-6
        # Where the cut crosses the middle line.
        y, z = section_cut[..., 0], section_cut[..., 1]
        heights = z[np.abs(y) < 1e-9]
        bottom, deep = float(rocker(board.body, x)[0]), float(thickness(board.body, x)[0])
        assert heights.min() == pytest.approx(bottom, abs=1.2 * CHORD_MM)
        assert heights.max() - heights.min() == pytest.approx(deep, abs=2.0 * CHORD_MM)


@pytest.mark.parametrize("name", NAMES)
def test_the_cut_mesh_has_the_section_areas(name: str) -> None:
    """Trimesh's segments joined to a ring by shapely: short by no more than a strip of the tolerance along the girth,
    and hardly ever too large, where a hollow bottom's chords run outside.
    """
    board = lofted(name)
    x = stations(board)
    for station, area in zip(x, section_areas(board.body, x), strict=True):
        pieces = shapely.union_all(shapely.linestrings(np.round(cut(board.mesh, float(station)), 7)))
        rings = shapely.get_parts(shapely.polygonize([pieces]))
        assert len(rings) == 1
        short = float(area - rings[0].area)
        assert -0.2 * CHORD_MM * rings[0].length <= short <= CHORD_MM * rings[0].length


@pytest.mark.parametrize("name", NAMES)
def test_the_mesh_has_its_volume_and_area_by_trimesh(name: str) -> None:
    """Doubles: the same polyhedron, summed in another order. As an STL holds it, in single precision: each vertex moves
    by up to 6e-8 of 3 m, at random, and the volume with it by far less than 1e-6.
    """
    board = lofted(name)
    theirs = trimesh.Trimesh(vertices=board.mesh.vertices, faces=board.mesh.triangles, process=False)
    assert theirs.is_watertight
    assert theirs.volume == pytest.approx(board.mesh.volume_mm3, rel=1e-11)
    assert theirs.area == pytest.approx(board.mesh.area_mm2, rel=1e-11)
    single = trimesh.Trimesh(vertices=board.mesh.vertices.astype(np.float32), faces=board.mesh.triangles, process=False)
    assert single.volume == pytest.approx(board.mesh.volume_mm3, rel=1e-6)
    # Inscribed: the shell between mesh and surface is at most the tolerance thick.
    short = board.exact.volume_mm3 - theirs.volume
    assert 0.02 * CHORD_MM * theirs.area < short < CHORD_MM * theirs.area
    # A strip of a board's 60 mm: a third of a thousandth, and squares of lengths have it twice.
    assert theirs.center_mass == pytest.approx(np.array(board.exact.centroid_mm), abs=2.0 * CHORD_MM)
    xx, yy, zz = board.exact.second_moments_mm5
    expected = np.array([yy + zz, xx + zz, xx + yy])
    assert np.diag(theirs.moment_inertia) == pytest.approx(expected, rel=5e-4)
    assert -theirs.moment_inertia[0, 2] == pytest.approx(board.exact.product_xz_mm5, rel=5e-4)


@pytest.mark.parametrize("name", NAMES)
def test_the_surface_stays_on_the_lines(name: str) -> None:
    """The loft's promise where sections are upright: half-width, bottom and thickness of the lines."""
    board = lofted(name)
    x = stations(board)
    x = x[x > stringer_from_mm(board.body)]
    assert width(board.body, x) == pytest.approx(2.0 * board.lines.outline.at(x), rel=0.0, abs=2 * LOFT_MM)
    assert rocker(board.body, x) == pytest.approx(board.lines.bottom(x), rel=0.0, abs=LOFT_MM)
    assert thickness(board.body, x) == pytest.approx(board.lines.thickness(x), rel=0.0, abs=LOFT_MM)
