"""Hundreds of random boards: each must loft to a sound solid that agrees with its lines and its integral."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from random import Random
from typing import TypeVar, get_args

import manifold3d
import numpy as np
import shapely
from hypothesis import Phase, assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from bayloft.errors import SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.fairing import board_lines
from bayloft.lines.section import APEX
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.integrals import integrals, upward_moments
from bayloft.solid.mesh import Mesh, float32_collapsed, solid_of
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.board import Board, Nose, NoseKind, Tail, TailKind
from bayloft.spec.given import Given
from bayloft.spec.source import Source
from bayloft.tolerances import CHORD_MM, MESH_ORDER, MESH_VOLUME_RELATIVE, RICHARDSON_RELATIVE

Array = NDArray[np.float64]
T = TypeVar("T")

BOARDS = 500
PHASES = (Phase.generate,)
"""No shrinking: a seed says nothing by being small."""

FOOT_MM = 304.8
LINES_MM = 2e-3
"""The loft leaves the lines by less than 1e-3 mm where section numbers are a foot apart; here they may be closer."""

WALL_MM = 1e-2
"""A wall's edges follow its plan to 1e-3 mm where corners have less than a sixth of the block for a radius; less well
where nearly all of one runs in a few millimetres of the bottom."""

ROUNDED_MM = 2e-9
"""Coefficients are kept to 1e-9 mm."""

COLLAPSED_MM2 = 1e-7
"""No facet of an STL may be smaller: single precision resolves 1.2e-4 mm at 2 m, so its square is about this."""

SOURCE = Source(file="random.toml", values={}, lines={})
TAILS: tuple[TailKind, ...] = get_args(TailKind)
BOTTOMS = ("flat", "roll", "vee", "concave", "double_concave", "single to double", "belly to vee", "all")
SHAPES = {
    "single to double": ("concave", "double_concave"),
    "belly to vee": ("roll", "vee"),
    "all": ("roll", "vee", "concave", "double_concave"),
}


def given_at(x_mm: float, value: float, *path: str | int) -> Given:
    return Given(x_mm=float(x_mm), value=float(value), path=path)


class Numbers:
    """Even random numbers from a seed, one in five of them exactly a bound: hypothesis's own floats keep to few values,
    and five hundred boards of them have some hundred plans.
    """

    def __init__(self, seed: int) -> None:
        self._random = Random(seed)

    def within(self, low: float, high: float) -> float:
        edge, share = self._random.random(), self._random.random()
        return low if edge < 0.1 else high if edge < 0.2 else low + (high - low) * share

    def one_of(self, *options: T) -> T:
        return self._random.choice(options)


def random_nose(some: Numbers, length: float, wide: float, wide_x: float) -> tuple[Nose, float]:
    """A nose, and the width a foot inside it."""
    kind: NoseKind = some.one_of("round", "pointed")
    reach = (length - FOOT_MM - wide_x) / (length - wide_x)
    if kind == "round":
        radius = some.one_of(None, some.within(60, 160))
        width = wide * (1 - reach ** some.within(1.9, 2.6)) ** (1 / some.within(1.6, 2.3))
    else:
        radius = some.within(3, 15)
        width = wide * (1 - reach ** some.within(1.7, 2.1)) ** (1 / some.within(1.15, 1.5))
    return Nose(kind=kind, tip_radius_mm=radius), width


def random_tail(some: Numbers, wide: float, wide_x: float) -> tuple[Tail, float]:
    """A tail, and the width a foot inside it."""
    kind = some.one_of(*TAILS)
    if kind in ("round", "pin", "thumb"):
        full = some.within(1.1, 1.5) if kind == "pin" else some.within(1.5, 2.2)
        radius = {
            "round": some.one_of(None, some.within(40, 120)),
            "pin": some.within(3, 15),
            "thumb": some.within(25, 60),
        }[kind]
        width = wide * (1 - ((wide_x - FOOT_MM) / wide_x) ** some.within(1.7, 2.3)) ** (1 / full)
        return Tail(kind=kind, tip_radius_mm=radius), width
    block = wide * some.within(0.22, 0.6)
    share = {"square": (0.0, 0.0), "squash": (0.05, 0.22), "diamond": (0.25, 0.45), "swallow": (0.3, 0.7)}[kind]
    depth = block * some.within(*share)
    corner = 0.0
    if kind in ("square", "squash"):
        corner = block * some.one_of(0.0, some.within(0.03, 0.15), some.within(0.03, 0.5))
    corner_x = depth if kind in ("squash", "diamond") else 0.0
    width = wide - (wide - block) * ((wide_x - FOOT_MM) / (wide_x - corner_x)) ** some.within(1.8, 2.5)
    return Tail(kind=kind, block_mm=block, depth_mm=depth, corner_radius_mm=corner), width


def random_stations(some: Numbers, length: float) -> list[float]:
    """One to four stations more than a foot inside the ends, each in its own part of the length."""
    count = some.one_of(1, 2, 3, 4)
    part = (length - 2 * FOOT_MM) / count
    return [FOOT_MM + part * (i + some.within(0.2, 0.8)) for i in range(count)]


def random_board(seed: int) -> Board:
    """A board of trade-plausible numbers: every tail and nose, every bottom, rails from soft to hard."""
    some = Numbers(seed)
    length = some.within(1500, 3300)
    wide, wide_x = some.within(440, 600), length * some.within(0.42, 0.6)
    nose, nose_width = random_nose(some, length, wide, wide_x)
    tail, tail_width = random_tail(some, wide, wide_x)
    thick, thick_x = some.within(50, 90), length * some.within(0.42, 0.58)

    def inside(reach: float) -> float:
        return thick - (thick - thick * some.within(0.15, 0.42)) * reach ** some.within(2.0, 2.9)

    tail_thick = inside((thick_x - FOOT_MM) / thick_x)
    nose_thick = inside((length - FOOT_MM - thick_x) / (length - thick_x))
    half, thin = min(tail_width, nose_width) / 2, min(tail_thick, nose_thick)
    rails, crowns, bottoms = (random_stations(some, length) for _ in range(3))
    apex = [some.within(0.25, 0.55) for _ in rails]
    lift, drop = 0.5 * min(apex) * thin, 0.45 * (1 - max(apex)) * thin
    shape = some.one_of(*BOTTOMS)
    shapes = SHAPES.get(shape, (shape,))
    most = {"roll": lift, "vee": lift, "concave": 12.0, "double_concave": 0.25 * thin}

    def line(key: str, at: list[float], low: float, high: float) -> tuple[Given, ...]:
        return tuple(given_at(x, some.within(low, high), "rails", i, key) for i, x in enumerate(at))

    depths = {
        key: line(key, bottoms, 0.0, limit / len(shapes)) if key in shapes else (given_at(length / 2, 0.0),)
        for key, limit in most.items()
    }
    return Board(
        name="Random",
        slug="random",
        length_mm=length,
        widths=(given_at(FOOT_MM, tail_width), given_at(length - FOOT_MM, nose_width)),
        wide_point=given_at(wide_x, wide),
        hollow=frozenset(),
        nose=nose,
        tail=tail,
        heights=(given_at(0.0, some.within(15, 90)), given_at(length, some.within(50, 190))),
        lowest_x_mm=some.one_of(None, some.within(0.4 * length, 0.6 * length)),
        thicknesses=(given_at(FOOT_MM, tail_thick), given_at(length - FOOT_MM, nose_thick)),
        thickest=given_at(thick_x, thick),
        nose_tip_mm=None,
        tail_end_mm=None,
        apex=tuple(given_at(x, value) for x, value in zip(rails, apex, strict=True)),
        tuck=line("tuck", rails, 1.0, 0.165 * half),
        edge=line("edge", rails, 0.0, 1.0),
        fullness=line("fullness", rails, 0.0, 1.0),
        crown=line("drop", crowns, 0.0, drop),
        fins=(),
        assumed=(),
        source=SOURCE,
        **depths,
    )


boards = st.integers(0, 2**32 - 1).map(random_board)


def lofted(board: Board) -> tuple[BoardLines, Body]:
    """The lines and body of a board; numbers that force a wiggle are another test's."""
    try:
        lines = board_lines(board)
    except SpecError:
        assume(False)
        raise
    return lines, board_body(lines)


def hollow(board: Board) -> bool:
    return any(number.value > 0.0 for number in (*board.concave, *board.double_concave))


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
    """Assert everything of a mesh within the tolerance, or a finer one if extrapolation asks for it; return which."""
    grid = grid_for(body, tolerance_mm)
    mesh = meshed(body, grid)
    short, short_halved = shortage(body, mesh), shortage(body, meshed(body, grid.halved()))
    if abs((4.0 * short_halved - short) / 3.0) > RICHARDSON_RELATIVE and tolerance_mm == CHORD_MM:
        return assert_sound(board, body, 0.6 * CHORD_MM)
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


def test_five_hundred_random_boards_are_sound_solids() -> None:
    """Closed, manifold, outward, inscribed, of the integral's volume, and no facet vanishes in single precision."""
    tally = Tally()

    @settings(max_examples=BOARDS, phases=PHASES)
    @given(boards)
    def each(board: Board) -> None:
        try:
            lines = board_lines(board)
        except SpecError:
            tally.refused += 1
            assume(False)
            return
        tally.finer += assert_sound(board, board_body(lines)) < CHORD_MM
        tally.tails[board.tail.kind] += 1
        tally.noses[board.nose.kind] += 1

    each()
    assert tally.tails.total() >= BOARDS
    assert tally.refused < 0.1 * BOARDS
    # The build refines a mesh whose extrapolated volume is off; few need it.
    assert tally.finer < 0.02 * BOARDS
    assert min(tally.tails[kind] for kind in TAILS) >= 40
    assert min(tally.noses[kind] for kind in ("round", "pointed")) >= 100


@settings(max_examples=20, phases=PHASES)
@given(boards)
def test_other_judges_find_the_same_solid(board: Board) -> None:
    """manifold3d takes the mesh for one closed solid without handles; the surface area lies just above the mesh's."""
    _, body = lofted(board)
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
@given(boards)
def test_integrals_do_not_depend_on_the_order_of_the_rule(board: Board) -> None:
    """Eight nodes integrate every moment of a bicubic exactly, eleven no better: rounding only."""
    _, body = lofted(board)
    eight, eleven = upward_moments(body.port, 8), upward_moments(body.port, 11)
    volume, length = eleven[0], board.length_mm
    sizes = volume * np.array([1.0, length, length, length, length**2, length**2, length**2, length**2])
    assert np.abs((eight - eleven) / sizes).max() < 1e-12


@settings(max_examples=60, phases=PHASES)
@given(boards)
def test_the_surface_meets_the_lines(board: Board) -> None:
    """Between the sites too, every point lies where the lines have it at its own station."""
    lines, body = lofted(board)
    u, v = (
        np.unique(np.concatenate([breaks, *((breaks[:-1] + share * np.diff(breaks)) for share in shares)]))
        for breaks, shares in zip(body.port.breaks, ((0.3, 0.7), (0.5,)), strict=True)
    )
    on_surface = body.port.grid(u, v)
    x = on_surface[..., 0]
    assert x.min() > -LINES_MM
    assert abs(x.max() - board.length_mm) < ROUNDED_MM
    by_lines = lines.section_points(x, np.broadcast_to(v, x.shape))
    assert np.linalg.norm(on_surface - by_lines, axis=-1).max() < LINES_MM
    # u-lines never turn back, so that every station has one place on each.
    assert np.diff(x, axis=0).min() > 0.0


@settings(max_examples=60, phases=PHASES)
@given(boards)
def test_the_wall_follows_its_plan(board: Board) -> None:
    """Deck and bottom end upright over one another, on the tail's plan curve and nowhere else."""
    assume(board.tail.cut_off)
    lines, body = lofted(board)
    assert lines.wall is not None
    edge = body.port.grid([0.0], np.linspace(0.0, 1.0, 1001))[0]
    assert np.abs(edge[:, 0] - lines.wall.station(edge[:, 1])).max() < WALL_MM
    corner = body.port.at(0.0, APEX)
    assert np.hypot(*(corner[:2] - [lines.wall.corner_x_mm, lines.wall.corner_y_mm])) < 1e-6


@settings(max_examples=60, phases=PHASES)
@given(boards)
def test_sections_are_simple_and_meet_their_numbers(board: Board) -> None:
    """The apex is exactly at the half-width, the deck centre at rocker + thickness; no section crosses itself."""
    lines, _ = lofted(board)
    x = lines.outline.station(np.linspace(0.0, 1.0, 42)[1:-1])
    numbers = lines.section_numbers(x)
    apex, deck, bottom = (lines.section_points(x, v) for v in (APEX, 1.0, 0.0))
    rocker = lines.rocker.at(x)
    assert np.abs(apex[:, 1] - lines.outline.at(x)).max() < 1e-9
    assert np.abs(apex[:, 2] - rocker - numbers.apex).max() < 1e-11
    assert np.abs(deck[:, 2] - rocker - lines.thickness(x)).max() < 1e-11
    assert np.abs(bottom[:, 2] - rocker).max() < 1e-11
    v = np.linspace(0.0, 1.0, 251)
    below = v <= APEX
    for section in lines.section_points(x[:, None], v[None, :])[..., 1:]:
        assert shapely.LineString(section).is_simple
        y = section[:, 0]
        assert np.diff(y[below]).min() > -1e-9
        assert np.diff(y[~below]).max() < 1e-9


@settings(max_examples=60, phases=PHASES)
@given(boards)
def test_outlines_bulge_everywhere_and_are_widest_at_the_wide_point(board: Board) -> None:
    lines, _ = lofted(board)
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
