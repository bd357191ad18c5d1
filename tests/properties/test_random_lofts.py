"""Random boards, each lofted once and looked at in several ways: solid, integrals, surface, wall, sections, outline."""

from __future__ import annotations

from dataclasses import dataclass

import manifold3d
import numpy as np
import pytest
import shapely

from bayloft.lines.board import BoardLines
from bayloft.lines.section_places import APEX
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.integrals import integrals, upward_moments
from bayloft.solid.mesh import solid_of
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.boards.board import Board
from bayloft.tolerances import CHORD_MM

from .random_boards import agreed

SEEDS = range(20261127, 20261127 + 30 * 10_007, 10_007)
"""Far apart: of one whose numbers do not go together the next ones are tried."""

LINES_MM = 5e-2
"""mm by which the loft may leave the lines where section numbers change from one extreme to the other in a foot."""

WALL_MM = 1e-2
"""A wall's edges follow its plan to 1e-3 mm where corners have less than a sixth of the block for a radius; less well
where nearly all of one runs in a few millimetres of the bottom."""

ROUNDED_MM = 2e-9
"""Coefficients are kept to 1e-9 mm."""


@dataclass(frozen=True, slots=True)
class Loft:
    board: Board
    lines: BoardLines
    body: Body


@pytest.fixture(scope="module", params=SEEDS)
def loft(request: pytest.FixtureRequest) -> Loft:
    found = agreed(request.param)
    return Loft(found.board, found.lines, board_body(found.lines))


def test_other_judges_find_the_same_solid(loft: Loft) -> None:
    """manifold3d takes the mesh for one closed solid without handles; the surface area lies just above the mesh's."""
    board, body = loft.board, loft.body
    exact = integrals(body)
    mesh = meshed(body, grid_for(body, 4 * CHORD_MM))
    solid = solid_of(mesh)
    assert solid.status() == manifold3d.Error.NoError
    assert solid.genus() == 0
    assert len(solid.decompose()) == 1
    assert abs(solid.volume() / mesh.volume_mm3 - 1.0) < 1e-9
    assert abs(solid.surface_area() / exact.area_mm2 - 1.0) < 2e-3
    assert abs(exact.centroid_mm[1]) < 1e-9
    low, high = mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)
    assert low[0] > -LINES_MM
    assert abs(high[0] - board.length_mm) < ROUNDED_MM
    assert np.all(np.array(exact.centroid_mm) > low)
    assert np.all(np.array(exact.centroid_mm) < high)


def test_integrals_do_not_depend_on_the_order_of_the_rule(loft: Loft) -> None:
    """Eight nodes integrate every moment of a bicubic exactly, eleven no better: rounding only."""
    body = loft.body
    eight, eleven = upward_moments(body.port, 8), upward_moments(body.port, 11)
    volume, length = eleven[0], loft.board.length_mm
    sizes = volume * np.array([1.0, length, length, length, length**2, length**2, length**2, length**2])
    assert np.abs((eight - eleven) / sizes).max() < 1e-12


def test_the_surface_meets_the_lines(loft: Loft) -> None:
    """Between the sites too, every point lies where the lines have it at its own station."""
    board, lines, body = loft.board, loft.lines, loft.body
    u, v = (
        np.unique(np.concatenate([breaks, *((breaks[:-1] + share * np.diff(breaks)) for share in shares)]))
        for breaks, shares in zip(body.port.breaks, ((0.3, 0.7), (0.5,)), strict=True)
    )
    on_surface = body.port.grid(u, v)
    x = on_surface[..., 0]
    assert x.min() > -LINES_MM
    assert abs(x.max() - board.length_mm) < ROUNDED_MM
    at = lines.outline.parameter(np.clip(x, 0.0, board.length_mm))
    by_lines = lines.points(at, np.broadcast_to(v, x.shape))
    assert np.linalg.norm(on_surface - by_lines, axis=-1).max() < LINES_MM
    # u-lines never turn back, so that every station has one place on each.
    assert np.diff(x, axis=0).min() > 0.0


def test_the_wall_follows_its_plan(loft: Loft) -> None:
    """Deck and bottom end upright over one another, on the tail's plan curve and nowhere else."""
    wall = loft.lines.wall
    if wall is None:
        pytest.skip("closed tail")
    edge = loft.body.port.grid([0.0], np.linspace(0.0, 1.0, 1001))[0]
    assert np.abs(edge[:, 0] - wall.station(edge[:, 1])).max() < WALL_MM
    corner = loft.body.port.at(0.0, APEX)
    assert np.hypot(*(corner[:2] - [wall.corner_x_mm, wall.corner_y_mm])) < 1e-6


def test_sections_are_simple_and_meet_their_numbers(loft: Loft) -> None:
    """The apex is exactly at the half-width, on the rail line; no section crosses itself."""
    lines = loft.lines
    u = np.linspace(0.0, 1.0, 42)[1:-1]
    x = lines.outline.station(u)
    apex, deck, bottom = (lines.points(u, v) for v in (APEX, 1.0, 0.0))
    assert np.abs(apex[:, 1] - lines.outline.half_width(u)).max() < 1e-9
    assert np.abs(apex[:, 2] - lines.rail_line(x)).max() < 1e-9
    assert np.abs(deck[:, 2] - bottom[:, 2] - lines.thickness(x)).max() < 1e-6
    v = np.linspace(0.0, 1.0, 251)
    below = v <= APEX
    for section in lines.points(u[:, None], v[None, :])[..., 1:]:
        assert shapely.LineString(section).is_simple
        y = section[:, 0]
        assert np.diff(y[below]).min() > -1e-9
        assert np.diff(y[~below]).max() < 1e-9


def test_outlines_bulge_everywhere_and_are_widest_at_the_wide_point(loft: Loft) -> None:
    board, lines = loft.board, loft.lines
    outline, wide = lines.outline, board.wide_point
    u = np.linspace(0.0, 1.0, 2001)[1:-1]
    # Between the eighty places where the sign is kept a trace of the other is left: radii of more than 100 m.
    assert outline.curvature(u).max() < 1e-5
    widths = outline.half_width(u)
    assert widths.max() <= wide.value / 2 + 1e-9
    assert abs(outline.station(outline.wide_u) - wide.x_mm) < 1e-9
    for number in board.widths:
        assert abs(2 * outline.at(number.x_mm) - number.value) < 1e-6
    assert shapely.LinearRing(np.column_stack([outline.station(u), widths])).is_simple
