"""Surface, section and quadrature against other evaluations of the same mathematics, and against closed forms."""

from __future__ import annotations

import itertools
from pathlib import Path

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.interpolate import BPoly, BSpline, CubicSpline

from bayloft.lines.fairing import board_lines
from bayloft.lines.section import APEX, EDGE, QUARTER, ROLL_IN_TUCKS, SEGMENTS, SectionNumbers, control_points, points
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.integrals import EXACT_NODES, upward_moments
from bayloft.solid.meshing import SHARE_U, grid_for
from bayloft.solid.surface import Surface, interpolated
from bayloft.spec.loading import load_board

Array = NDArray[np.float64]

BOARDS = Path(__file__).parents[2] / "specs" / "boards"

ROUNDING = 1e-12
"""Relative to the size of what is evaluated: some hundred roundings of 1.1e-16, a thousandfold in derivatives."""

KAPPA, RADIAL, QUARTER_AREA = 0.552284749830793, 0.00027252971, 0.785618083164
"""The cubic quarter circle: handle 4 (sqrt 2 - 1) / 3, greatest radial error, area under it: from memory; values
computed with 30 digits. The quarter disc has 0.785398."""


def clamped(spans: int, triple: float | None = None) -> Array:
    inner = list(np.linspace(0.0, 1.0, spans + 1)[1:-1] ** 1.3)
    if triple is not None:
        inner = [*(knot for knot in inner if abs(knot - triple) > 0.05), triple, triple, triple]
    return np.concatenate([np.zeros(4), np.sort(inner), np.ones(4)])


def wild(seed: int = 3) -> Surface:
    """A surface with a random control net, uneven knots and a joint at v = 0.4."""
    knots_u, knots_v = clamped(6), clamped(5, triple=0.4)
    net = np.random.default_rng(seed).uniform(-100.0, 100.0, (len(knots_u) - 4, len(knots_v) - 4, 3))
    return Surface(knots_u=knots_u, knots_v=knots_v, net=net)


def de_boor(knots: Array, control: Array, at: float) -> Array:
    """A cubic B-spline's value by de Boor's recursion: C. de Boor, J. Approx. Theory 6 (1972), from memory."""
    k = min(int(np.searchsorted(knots, at, side="right")) - 1, len(knots) - 5)
    d = [control[k - 3 + j] for j in range(4)]
    for r in range(1, 4):
        for j in range(3, r - 1, -1):
            left, right = knots[j + k - 3], knots[j + 1 + k - r]
            share = (at - left) / (right - left)
            d[j] = (1.0 - share) * d[j - 1] + share * d[j]
    return np.asarray(d[3])


def test_a_surface_is_de_boors_recursion_both_ways() -> None:
    surface = wild()
    u, v = np.linspace(0.0, 1.0, 14), np.linspace(0.0, 1.0, 11)
    expected = np.array(
        [[de_boor(surface.knots_u, [de_boor(surface.knots_v, row, b) for row in surface.net], a) for b in v] for a in u]
    )
    assert surface.grid(u, v) == pytest.approx(expected, rel=0.0, abs=100 * ROUNDING)
    assert surface.at(u[:, None], v) == pytest.approx(expected, rel=0.0, abs=100 * ROUNDING)


@pytest.mark.parametrize(("du", "dv"), [(0, 0), (1, 0), (0, 1), (2, 0), (0, 2), (1, 1), (3, 0), (2, 2)])
def test_derivatives_are_those_of_scipys_matrices(du: int, dv: int) -> None:
    """Every basis function alone, by scipy, summed over the net; grid and pairs agree with it and each other."""
    surface = wild()
    # Between the knots: at a joint derivatives have two values.
    u, v = np.linspace(0.0, 1.0, 24), np.linspace(0.001, 0.999, 21)

    def matrix(knots: Array, at: Array, order: int) -> Array:
        count = len(knots) - 4
        return np.stack([BSpline(knots, np.eye(count)[i], 3)(at, order) for i in range(count)], axis=1)

    expected = np.einsum("ai,bj,ijk->abk", matrix(surface.knots_u, u, du), matrix(surface.knots_v, v, dv), surface.net)
    size = np.abs(expected).max()
    assert surface.grid(u, v, du, dv) == pytest.approx(expected, rel=0.0, abs=ROUNDING * size)
    assert surface.at(u[:, None], v, du, dv) == pytest.approx(expected, rel=0.0, abs=ROUNDING * size)


def test_one_span_is_de_casteljaus_patch() -> None:
    """Without inner knots a clamped cubic is a Bezier patch: control polygons divided again and again, by numpy
    alone (from memory).
    """
    net = np.random.default_rng(5).uniform(-50.0, 50.0, (4, 4, 3))
    knots = np.array([0.0] * 4 + [1.0] * 4)
    surface = Surface(knots_u=knots, knots_v=knots, net=net)

    def casteljau(control: Array, at: float) -> Array:
        while len(control) > 1:
            control = (1.0 - at) * control[:-1] + at * control[1:]
        return control[0]

    for u, v in [(0.0, 0.0), (0.3, 0.8), (1.0, 0.4), (0.123, 1.0)]:
        expected = casteljau(casteljau(net, u), v)
        assert surface.at(u, v) == pytest.approx(expected, rel=0.0, abs=50 * ROUNDING)
        slope = casteljau(3.0 * np.diff(casteljau(net, u), axis=0), v)
        assert surface.at(u, v, dv=1) == pytest.approx(slope, rel=0.0, abs=500 * ROUNDING)
    assert surface.joints.tolist() == [0.0, 1.0]


def test_the_loft_is_scipys_not_a_knot_spline_piece_by_piece() -> None:
    """Another class of scipy's, piecewise polynomials instead of B-splines, through the same sites."""
    joints, spans = (0.0, 0.35, 1.0), 6
    sites = np.linspace(0.0, 1.0, 15) ** 1.4

    def shape(u: Array, v: Array) -> Array:
        kink = np.abs(v - 0.35)
        return 100.0 * np.stack(
            np.broadcast_arrays(np.exp(u) + 0.1 * v, np.sin(3 * v + u) + kink, np.cos(5 * u * v)), axis=-1
        )

    surface = interpolated(shape, sites, joints, spans)
    u = np.linspace(0.0, 1.0, 33)
    for start, stop in itertools.pairwise(joints):
        v_sites, v = np.linspace(start, stop, spans + 1), np.linspace(start, stop, 29)
        across = CubicSpline(v_sites, shape(sites[:, None], v_sites[None, :]), axis=1)(v)
        expected = CubicSpline(sites, across, axis=0)(u)
        # Control points are kept to 1e-9 mm.
        assert surface.grid(u, v) == pytest.approx(expected, rel=0.0, abs=1.5e-9)
    assert surface.joints == pytest.approx(joints, abs=0.0)


def numbers(**changed: float) -> SectionNumbers:
    given = {
        "half_width": 240.0,
        "thickness": 62.0,
        "apex": 24.0,
        "tuck": 11.0,
        "edge": 0.3,
        "fullness": 0.5,
        "crown": 6.0,
        "roll": 2.0,
        "vee": 3.0,
        "concave": 1.0,
        "double_concave": 1.5,
    } | changed
    return SectionNumbers(**{name: np.array([value]) for name, value in given.items()})


def test_section_points_are_scipys_bernstein_polynomials() -> None:
    control = control_points(numbers())[0]
    breaks = np.linspace(0.0, 1.0, SEGMENTS + 1)
    pieces = np.stack([control[3 * i : 3 * i + 4] for i in range(SEGMENTS)], axis=1)
    v = np.linspace(0.0, 1.0, 301)
    assert points(control, v) == pytest.approx(BPoly(pieces, breaks)(v), rel=0.0, abs=300 * ROUNDING)


def test_a_soft_rail_is_the_cubic_quarter_circle() -> None:
    """A flat bottom and an apex as high as the rail reaches in: from there to the apex runs the textbook's arc."""
    tuck = 9.0
    radius = ROLL_IN_TUCKS * tuck
    soft = numbers(
        edge=0.0, tuck=tuck, apex=radius, thickness=120.0, roll=0.0, vee=0.0, concave=0.0, double_concave=0.0
    )
    assert pytest.approx(KAPPA, abs=1e-15) == QUARTER
    arc = points(control_points(soft)[0], np.linspace(1 / SEGMENTS, APEX, 8001)) - [240.0 - radius, radius]
    error = np.linalg.norm(arc, axis=1) / radius - 1.0
    assert error.max() == pytest.approx(RADIAL, abs=1e-9)
    assert error.min() == pytest.approx(0.0, abs=1e-12)
    # A polygon of 8000 chords is low by about 1e-8 of the sector.
    sector = shapely.Polygon(np.concatenate([[[0.0, 0.0]], arc]))
    assert sector.area / radius**2 == pytest.approx(QUARTER_AREA, abs=3e-8)
    # The edge is at the arc's middle, the tuck's distance inside the apex.
    assert points(control_points(soft)[0], np.array(EDGE))[0] == pytest.approx(240.0 - tuck, abs=1e-10)


@pytest.mark.parametrize("board", ["dunlin", "turnstone", "fulmar"])
def test_eight_nodes_a_span_are_exact_on_boards(board: str) -> None:
    """n points are exact to degree 2 n - 1: orders 8 and 11 differ by rounding. From memory."""
    surface = board_body(board_lines(load_board(BOARDS / f"{board}.toml"))).port
    eight, eleven = upward_moments(surface), upward_moments(surface, EXACT_NODES + 3)
    assert eight == pytest.approx(eleven, rel=1e-12)


def test_eight_nodes_are_just_enough_for_a_wild_bicubic() -> None:
    """x^2 z n_z has degree 14 in u and v (counted): eight points (degree 15) hold it, seven (degree 13) do not."""
    surface = wild()
    eight, eleven = upward_moments(surface, EXACT_NODES), upward_moments(surface, EXACT_NODES + 3)
    assert EXACT_NODES == 8
    size = np.abs(eleven)
    assert np.all(np.abs(eight - eleven) <= 1e-12 * size.max())
    assert np.abs(eight[0] - eleven[0]) <= 1e-12 * size[0]
    seven = upward_moments(surface, EXACT_NODES - 1)
    assert np.abs(seven[4] - eleven[4]) > 1e-9 * size[4]


SAGITTA = [
    # Radius and sagitta in mm, segments of a full circle: theta = 2 arccos(1 - s / r), from memory; computed.
    (100.0, 0.05, 100),
    (1000.0, 0.1, 223),
]


@pytest.mark.parametrize(("radius", "sagitta", "segments"), SAGITTA)
def test_a_sphere_gets_as_many_steps_as_the_sagitta_rule(radius: float, sagitta: float, segments: int) -> None:
    """One direction has a share of the tolerance for its sagitta: half a circle in u, the same in v in two halves. One
    step may come on top for each piece, and the steps may be a twentieth finer, as sampled places decide.
    """

    def points_of(u: Array, v: Array) -> Array:
        size = np.sin(np.pi * u)
        size[[0, -1]] = 0.0
        y, z = np.sin(np.pi * v), -np.cos(np.pi * v)
        return radius * np.stack(np.broadcast_arrays(1.0 - np.cos(np.pi * u), size * y, size * z), axis=-1)

    assert int(np.ceil(np.pi / np.arccos(1.0 - sagitta / radius))) == segments
    body = Body(port=interpolated(points_of, np.linspace(0.0, 1.0, 65), (0.0, 0.5, 1.0), 32))
    grid = grid_for(body, sagitta / SHARE_U)
    for steps in (len(grid.u) - 1, len(grid.v) - 1):
        assert segments / 2 - 1 <= steps <= 1.05 * segments / 2 + 2
