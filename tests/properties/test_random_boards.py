"""Hundreds of random boards: each must loft to a sound solid that agrees with its lines and its integral."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field

import manifold3d
import numpy as np
import shapely
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from bayloft.lines.section_places import APEX
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.integrals import integrals, upward_moments
from bayloft.solid.mesh import Mesh, float32_collapsed, solid_of
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.boards.board import Board
from bayloft.tolerances import CHORD_MM, MESH_ORDER, MESH_VOLUME_RELATIVE, RICHARDSON_RELATIVE

from .random_boards import TAILS, agreed

Array = NDArray[np.float64]

BOARDS = 300
FINER, FINEST = 0.6, 0.1
"""By how much a mesh is made finer for the sake of its volume, and the share of the tolerance below which it is not."""
PHASES = (Phase.generate,)
"""No shrinking: a seed says nothing by being small."""

LINES_MM = 5e-2
"""mm by which the loft may leave the lines where section numbers change from one extreme to the other in a foot."""

WALL_MM = 1e-2
"""A wall's edges follow its plan to 1e-3 mm where corners have less than a sixth of the block for a radius; less well
where nearly all of one runs in a few millimetres of the bottom."""

ROUNDED_MM = 2e-9
"""Coefficients are kept to 1e-9 mm."""

COLLAPSED_MM2 = 1e-7
"""No facet of an STL may be smaller: single precision resolves 1.2e-4 mm at 2 m, so its square is about this."""


seeds = st.integers(0, 2**32 - 1)


def hollow(board: Board) -> bool:
    return any(number.value > 0.0 for name in ("concave", "double_concave") for number in board.sections[name])


def single_areas(mesh: Mesh) -> Array:
    single = Mesh(vertices=mesh.vertices.astype(np.float32).astype(np.float64), triangles=mesh.triangles)
    return single.triangle_areas_mm2


@dataclass(slots=True)
class Tally:
    tails: Counter[str] = field(default_factory=Counter)
    noses: Counter[str] = field(default_factory=Counter)
    refused: int = 0
    finer: int = 0


def shortage(body: Body, mesh: Mesh) -> float:
    """How much smaller than the body the mesh is, relative; five nodes are exact for the volume alone, whose integrand
    has degree 8 in each direction.
    """
    return 1.0 - mesh.volume_mm3 / (2.0 * float(upward_moments(body.port, 5)[0]))


def assert_sound(board: Board, body: Body, tolerance_mm: float = CHORD_MM) -> float:
    """Assert everything of a mesh within the tolerance, or, as a build does, within finer ones if extrapolation asks
    for them; return which.
    """
    grid = grid_for(body, tolerance_mm)
    mesh = meshed(body, grid)
    short, short_halved = shortage(body, mesh), shortage(body, meshed(body, grid.halved()))
    if abs((4.0 * short_halved - short) / 3.0) > RICHARDSON_RELATIVE and tolerance_mm > FINEST * CHORD_MM:
        return assert_sound(board, body, FINER * tolerance_mm)
    assert abs((4.0 * short_halved - short) / 3.0) <= RICHARDSON_RELATIVE
    assert mesh.unpaired_edges() == 0
    assert float32_collapsed(mesh) == 0
    assert single_areas(mesh).min() > COLLAPSED_MM2
    assert abs(short) < MESH_VOLUME_RELATIVE
    # Over a hollow, chords run outside: there the error may have either sign, or nearly cancel.
    if not hollow(board) or short > 0.05 * MESH_VOLUME_RELATIVE:
        assert short > 0.0
        assert MESH_ORDER[0] < np.log2(short / short_halved) < MESH_ORDER[1]
    return tolerance_mm


def test_three_hundred_random_boards_are_sound_solids() -> None:
    """Closed, manifold, outward, inscribed, of the integral's volume, and no facet vanishes in single precision."""
    tally = Tally()

    @settings(max_examples=BOARDS, phases=PHASES)
    @given(seeds)
    def each(seed: int) -> None:
        found = agreed(seed)
        board = found.board
        tally.refused += found.refused
        tally.finer += assert_sound(board, board_body(found.lines)) < CHORD_MM
        tally.tails[board.tail.kind] += 1
        tally.noses[board.nose.kind] += 1

    each()
    assert tally.tails.total() >= BOARDS
    # Numbers drawn one by one do not always go together; a maker's would.
    assert tally.refused < 0.25 * BOARDS
    # The build refines a mesh whose extrapolated volume is off; few need it.
    assert tally.finer < 0.02 * BOARDS
    assert min(tally.tails[kind] for kind in TAILS) >= 24
    assert min(tally.noses[kind] for kind in ("round", "pointed")) >= 60


@settings(max_examples=20, phases=PHASES)
@given(seeds)
def test_other_judges_find_the_same_solid(seed: int) -> None:
    """manifold3d takes the mesh for one closed solid without handles; the surface area lies just above the mesh's."""
    found = agreed(seed)
    board, body = found.board, board_body(found.lines)
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


@settings(max_examples=20, phases=PHASES)
@given(seeds)
def test_integrals_do_not_depend_on_the_order_of_the_rule(seed: int) -> None:
    """Eight nodes integrate every moment of a bicubic exactly, eleven no better: rounding only."""
    found = agreed(seed)
    body = board_body(found.lines)
    eight, eleven = upward_moments(body.port, 8), upward_moments(body.port, 11)
    volume, length = eleven[0], found.board.length_mm
    sizes = volume * np.array([1.0, length, length, length, length**2, length**2, length**2, length**2])
    assert np.abs((eight - eleven) / sizes).max() < 1e-12


@settings(max_examples=30, phases=PHASES)
@given(seeds)
def test_the_surface_meets_the_lines(seed: int) -> None:
    """Between the sites too, every point lies where the lines have it at its own station."""
    found = agreed(seed)
    board, lines = found.board, found.lines
    body = board_body(lines)
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


@settings(max_examples=30, phases=PHASES)
@given(seeds)
def test_the_wall_follows_its_plan(seed: int) -> None:
    """Deck and bottom end upright over one another, on the tail's plan curve and nowhere else."""
    lines = agreed(seed).lines
    assume(lines.wall is not None)
    assert lines.wall is not None
    body = board_body(lines)
    edge = body.port.grid([0.0], np.linspace(0.0, 1.0, 1001))[0]
    assert np.abs(edge[:, 0] - lines.wall.station(edge[:, 1])).max() < WALL_MM
    corner = body.port.at(0.0, APEX)
    assert np.hypot(*(corner[:2] - [lines.wall.corner_x_mm, lines.wall.corner_y_mm])) < 1e-6


@settings(max_examples=30, phases=PHASES)
@given(seeds)
def test_sections_are_simple_and_meet_their_numbers(seed: int) -> None:
    """The apex is exactly at the half-width, on the rail line; no section crosses itself."""
    lines = agreed(seed).lines
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


@settings(max_examples=30, phases=PHASES)
@given(seeds)
def test_outlines_bulge_everywhere_and_are_widest_at_the_wide_point(seed: int) -> None:
    found = agreed(seed)
    board, lines = found.board, found.lines
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
