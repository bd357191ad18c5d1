"""Surface, section and quadrature against other evaluations of the same mathematics, and against closed forms."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.polynomial import Polynomial
from numpy.typing import NDArray
from scipy.interpolate import BSpline, CubicSpline, make_interp_spline

from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.gradation import graded
from bayloft.lines.outline import Outline
from bayloft.lines.profile import Profile
from bayloft.lines.section import SectionNumbers, Traits, inset_of, over, under
from bayloft.lines.section_places import APEX
from bayloft.lines.sections import Carried, Sections
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.integrals import EXACT_NODES, integrals, upward_moments
from bayloft.solid.meshing import SHARE_U, grid_for
from bayloft.solid.surface import Surface, interpolated
from bayloft.spec.boards.quantities import QUANTITIES
from bayloft.spec.loading import load_board

Array = NDArray[np.float64]

BOARDS = Path(__file__).parents[2] / "specs" / "boards"
NAMES = sorted(path.stem for path in BOARDS.glob("*.toml"))

ROUNDING = 1e-12
"""Relative to the size of what is evaluated: some hundred roundings of 1.1e-16, a thousandfold in derivatives."""

DEEP_MM = 2e4
"""Depth of a section whose rail never reaches deck nor bottom."""
DEEP = 3e-9
"""Relative: what such a depth adds, a rail's height over it to the fourth."""
SPHEROID_MM, SPHEROID = 5e-4, 3e-7
"""mm by which the loft leaves a round board, and relative, its integrals: its steps are those of any board."""
BENT, TIP_BENT = 1e-3, 2e-2
"""Relative, of curvatures of that loft: cubics bend straight within a span. At a tip spans are longest for the size."""


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
        "x_mm": 900.0,
        "half_width": 240.0,
        "inset": 120.0,
        "depth": 62.0,
        "apex": 0.4,
        "radius": 13.0,
        "shoulder": 0.5,
        "dome": 6.0,
        "deck_flat": 0.0,
        "deck_chine": 0.0,
        "deck_chine_width": 0.0,
        "tuck": 24.0,
        "edge": 0.4,
        "roll": 2.0,
        "roll_flat": 0.0,
        "vee": 3.0,
        "concave": 1.0,
        "concave_width": 1.0,
        "double_concave": 1.5,
        "chine": 0.0,
        "chine_width": 0.0,
    } | changed
    traits = Traits(creased=given["edge"] == 0.0)
    return SectionNumbers(traits=traits, **{name: np.array([value]) for name, value in given.items()})


def circle_of(rail: Array) -> float:
    """The radius of the circle through three points (3, 2)."""
    sides = np.linalg.norm(np.roll(rail, 1, axis=0) - rail, axis=1)
    (x1, y1), (x2, y2) = rail[1] - rail[0], rail[2] - rail[0]
    return float(np.prod(sides) / (2.0 * abs(x1 * y2 - x2 * y1)))


RAILS = [
    # Radius, apex, shoulder, tuck, softness of the edge, roll: any rail.
    (13.0, 0.4, 0.5, 24.0, 0.4, 2.0),
    (4.0, 0.5, 1.0, 90.0, 0.7, 0.0),
    (20.0, 0.15, 0.35, 6.0, 0.0, 4.0),
    (1.5, 0.7, 0.9, 40.0, 0.02, 0.0),
]


@pytest.mark.parametrize(("radius", "apex", "shoulder", "tuck", "edge", "roll"), RAILS)
def test_every_rail_has_its_radius_at_the_apex(
    radius: float, apex: float, shoulder: float, tuck: float, edge: float, roll: float
) -> None:
    """A circle through a point above, one below and the apex itself: z = +-sqrt(2 R q), with q the distance inside, is
    a curve of radius R at q = 0. Along parallel rails q = (w^2 - y^2) / 2 w, whose slope there is 1: by hand.
    """
    n = numbers(radius=radius, apex=apex, shoulder=shoulder, tuck=tuck, edge=edge, roll=roll)
    for share, near in ((1e-2, 0.1), (1e-3, 0.02)):
        inset = inset_of(n, share**2 * radius / 2)
        rail = np.array(
            [(0.0, float(over(n, inset)[0])), (share**2 * radius / 2, 0.0), (0.0, -float(under(n, inset)[0]))]
        )
        assert circle_of(rail) == pytest.approx(radius, rel=near)


def test_a_crisp_shoulder_on_parallel_rails_is_an_ellipse() -> None:
    """z^2 = 2 R q with q = (w^2 - y^2) / 2 w is the ellipse of half-axes w and sqrt(R w), whose radius at its vertex is
    R w / w: by hand, exact as long as the rail does not reach the deck.
    """
    w, radius = 240.0, 13.0
    n = numbers(shoulder=0.0, dome=0.0, depth=400.0, radius=radius)
    inside = np.linspace(0.0, w, 200)
    height = over(n, inset_of(n, inside))
    assert (w - inside) ** 2 / w**2 + height**2 / (radius * w) == pytest.approx(np.ones(200), rel=ROUNDING)


@pytest.mark.parametrize("tuck", [8.0, 24.0, 42.0])
def test_a_crease_lies_where_the_tuck_says_and_the_bottom_is_its_own_inside(tuck: float) -> None:
    """Roll, vee and hollows are quadratics in the share of the way to where they are told (by hand)."""
    n = numbers(edge=0.0, tuck=tuck)
    inset = np.linspace(tuck, 120.0, 300)
    share = np.sqrt((1.0 - inset / 120.0) / (1.0 - n.bottom_share))
    own = 3.0 * share + (2.0 - 1.0) * share**2 + 4.0 * 1.5 * (share - share**2)
    assert n.apex_mm - under(n, inset) == pytest.approx(own, abs=1e-6)
    # A hair further out the rail rises at a slope of its own.
    step = 1e-3
    assert n.apex_mm - under(n, tuck - step) > own[0] + 0.05 * step


def by_hand(outline: Outline, closed_tail: bool, **sections: float) -> BoardLines:
    """Lines with one section all along: shares of a depth so great that the rail never reaches deck or bottom, and a
    tuck at which the underside is the same curve as the deck. The rail line lies in z = 0.
    """
    length = outline.length_mm
    radius = sections["radius"]
    shares = dict.fromkeys(QUANTITIES, 0.0) | {
        "apex": 0.5,
        "radius": radius / DEEP_MM,
        "tuck": (DEEP_MM / 2) ** 2 / (2.0 * radius) / DEEP_MM,
        "concave_width": 1.0,
        "chine_width": 1.0,
        "deck_chine_width": 1.0,
    }

    def level(value: float) -> Profile:
        return Profile(spline=BSpline([0.0] * 6 + [1.0] * 6, np.full(6, value), 5), length_mm=length)

    return BoardLines(
        length_mm=length,
        outline=outline,
        rocker=level(0.0),
        lowest_x_mm=length / 2,
        foil=level(DEEP_MM),
        wall=None,
        sections=Sections(
            length_mm=length,
            outline=outline,
            closed_tail=closed_tail,
            foil=level(DEEP_MM),
            filled=None,
            shares={name: graded([length / 2], [share], length) for name, share in shares.items()},
        ),
        lift_share=Carried(spline=BSpline([0.0] * 4 + [length] * 4, np.zeros(4), 3), first_mm=0.0, last_mm=length),
    )


def plan_of(length: float, half_width: Callable[[Array], Array], wide_u: float) -> Outline:
    """An outline whose station is the cubic of a board closed at both ends, through half-widths to rounding."""
    u = np.linspace(0.0, 1.0, 161)
    return Outline(
        length_mm=length,
        station=Polynomial([0.0, 0.0, 3.0 * length, -2.0 * length]),
        half_width=make_interp_spline(u, half_width(u), k=5),
        wide_u=wide_u,
    )


def round_board(plan_radius: float, rail_radius: float) -> BoardLines:
    """A board with a circle for an outline: x (2 r - x) = 4 r^2 h (1 - h) with h = u^2 (3 - 2 u)."""
    outline = plan_of(
        2.0 * plan_radius, lambda u: 2.0 * plan_radius * u * (1.0 - u) * np.sqrt((3.0 - 2.0 * u) * (1.0 + 2.0 * u)), 0.5
    )
    return by_hand(outline, closed_tail=True, radius=rail_radius)


def forms(surface: Surface, u: Array, v: Array) -> tuple[Array, Array, Array]:
    """First and second fundamental form, (3, ...) each as (E, F, G) and (L, M, N), and unit normal (..., 3), of a
    surface's own derivatives; mean curvature (E N - 2 F M + G L) / 2 (E G - F^2), from memory.
    """
    p = {order: surface.at(u, v, *order) for order in ((1, 0), (0, 1), (2, 0), (1, 1), (0, 2))}
    normal = np.cross(p[0, 1], p[1, 0])
    normal = normal / np.linalg.norm(normal, axis=-1, keepdims=True)
    first = [(p[a] * p[b]).sum(axis=-1) for a, b in (((1, 0), (1, 0)), ((1, 0), (0, 1)), ((0, 1), (0, 1)))]
    second = [-(p[order] * normal).sum(axis=-1) for order in ((2, 0), (1, 1), (0, 2))]
    return np.array(first), np.array(second), normal


def curvatures(surface: Surface, u: Array, v: Array) -> tuple[Array, Array]:
    """Mean and Gaussian curvature in 1/mm and 1/mm2; positive where it bulges outward."""
    (e, f, g), (low, mid, high), _ = forms(surface, u, v)
    area = e * g - f * f
    return (e * high - 2.0 * f * mid + g * low) / (2.0 * area), (low * high - mid * mid) / area


ROUND = [(150.0, 30.0), (300.0, 8.0), (60.0, 20.0)]
"""Radius of a round board in plan, radius of its rail, mm."""


@pytest.mark.parametrize(("plan_radius", "rail_radius"), ROUND)
def test_a_round_board_with_one_rail_is_a_spheroid(plan_radius: float, rail_radius: float) -> None:
    """On a circle of radius p, w = sqrt(p^2 - x^2): the inset at the stringer w / 2 sqrt(1 + w'^2) is w^2 / 2 p, and at
    y it is q = (p^2 - x^2 - y^2) / 2 p, and z^2 = 2 R q is the spheroid of half-axes p and sqrt(R p): by hand. Its
    curvature at the equator is 1 / R along its meridian, as of a torus' tube, and 1 / p round it. Every place of the
    outline is like every other, the two tips among them.
    """
    lines = round_board(plan_radius, rail_radius)
    body = board_body(lines)
    high = np.sqrt(rail_radius * plan_radius)
    random = np.random.default_rng(2)
    u, v = random.uniform(0.0, 1.0, (2, 3000))

    def size(points: Array) -> Array:
        x, y, z = np.moveaxis(points, -1, 0)
        return np.sqrt(((x - plan_radius) / plan_radius) ** 2 + (y / plan_radius) ** 2 + (z / high) ** 2)

    # The sections themselves: the depth of DEEP_MM is not without end.
    assert size(lines.points(u, v)) == pytest.approx(np.ones(3000), abs=DEEP)
    assert size(body.port.at(u, v)) * high == pytest.approx(np.full(3000, high), abs=SPHEROID_MM)
    found = integrals(body)
    assert found.volume_mm3 == pytest.approx(4 / 3 * np.pi * plan_radius**2 * high, rel=SPHEROID)
    assert found.plan_area_mm2 == pytest.approx(np.pi * plan_radius**2, rel=SPHEROID)
    less = np.sqrt(1.0 - rail_radius / plan_radius)
    area = 2.0 * np.pi * plan_radius**2 * (1.0 + (1.0 - less**2) / less * np.arctanh(less))
    assert found.area_mm2 == pytest.approx(area, rel=SPHEROID)
    # All along the rail, from both sides of the joint there, and at the tips.
    u = np.linspace(0.02, 0.98, 49)
    for side in (-1e-9, 1e-9):
        mean, gauss = curvatures(body.port, u, np.full_like(u, APEX + side))
        assert mean == pytest.approx(np.full_like(u, (1 / plan_radius + 1 / rail_radius) / 2), rel=BENT)
        assert gauss == pytest.approx(np.full_like(u, 1 / (plan_radius * rail_radius)), rel=BENT)
    for u_tip, outward in ((1e-3, -1.0), (1.0 - 1e-3, 1.0)):
        v = np.linspace(0.02, 0.98, 25)
        mean, _ = curvatures(body.port, np.full_like(v, u_tip), v)
        assert mean == pytest.approx(np.full_like(v, (1 / plan_radius + 1 / rail_radius) / 2), rel=TIP_BENT)
        normal = forms(body.port, np.full_like(v, u_tip), v)[2]
        assert normal[:, 0] * outward == pytest.approx(np.ones(25), abs=1e-3)


def test_a_parabolic_nose_is_an_elliptic_paraboloid_at_its_tip() -> None:
    """Half-width sqrt(2 p s), s from the tip: w' = p / w, the inset at y is (s - y^2 / 2 p) / sqrt(1 + 2 s / p), and
    z^2 = 2 R q gives s = y^2 / 2 p + z^2 / 2 R sqrt(1 + 2 s / p): by hand, exact. At the tip that is the elliptic
    paraboloid of curvatures 1 / p and 1 / R whose normal lies along the stringer.
    """
    length, plan_radius, rail_radius = 900.0, 45.0, 7.0
    outline = plan_of(length, lambda u: (1.0 - u) * np.sqrt(2.0 * plan_radius * length * (1.0 + 2.0 * u)), 0.0)
    lines = by_hand(outline, closed_tail=False, radius=rail_radius)
    random = np.random.default_rng(4)
    u, v = random.uniform(0.0, 1.0, (2, 2000))
    for u_from in (0.0, 0.9, 0.99, 0.999):
        points = lines.points(u_from + (1.0 - u_from) * u, v)
        s, y, z = length - points[:, 0], points[:, 1], points[:, 2]
        bowl = y**2 / (2.0 * plan_radius) + z**2 / (2.0 * rail_radius) * np.sqrt(1.0 + 2.0 * s / plan_radius)
        assert bowl == pytest.approx(s, rel=1e-6, abs=1e-9)
    # The last of them: s is below 3 thousandths of a millimetre, the paraboloid's own to s / p.
    assert s.max() < 3e-3
    assert y**2 / (2.0 * plan_radius) + z**2 / (2.0 * rail_radius) == pytest.approx(s, rel=2e-4, abs=1e-9)


@pytest.mark.parametrize("board", NAMES)
def test_a_tip_is_round_in_all_directions(board: str) -> None:
    """Near the tip of a board the outline is a parabola of its tip's radius p and the rail has the radius R that it has
    there, so mean curvature at the pole is (1 / p + 1 / R) / 2 from wherever one comes, and the normal lies along the
    stringer.
    """
    lines = board_lines(load_board(BOARDS / f"{board}.toml"))
    surface = board_body(lines).port
    v = np.linspace(0.03, 0.97, 33)
    # Beside a joint spans are so short that coefficients kept to 1e-9 mm bend the surface there, by as little.
    v = v[np.abs(v[:, None] - surface.joints).min(axis=1) > 0.01]
    for end, plan_radius in zip((0.0, 1.0), lines.outline.tip_radii_mm, strict=True):
        if plan_radius == 0.0:
            continue
        expected = (1.0 / plan_radius + 1.0 / lines.sections.numbers(end).radius) / 2.0
        away = 1.0 if end == 0.0 else -1.0
        tilts, spreads = [], []
        for step in (4e-3, 1e-3, 2.5e-4):
            u = np.full_like(v, end + away * step)
            mean, _ = curvatures(surface, u, v)
            spreads.append(float(np.abs(mean / expected - 1.0).max()))
            normal = forms(surface, u, v)[2]
            tilts.append(float(np.degrees(np.arccos(np.clip(-away * normal[:, 0], -1.0, 1.0))).max()))
        assert spreads[1] < 0.08
        assert spreads[2] < min(0.03, spreads[1])
        # The normal turns away in proportion to the distance.
        assert tilts[2] < 2.5
        assert np.divide(tilts[:-1], tilts[1:]) == pytest.approx(np.full(2, 4.0), abs=0.3)


@pytest.mark.parametrize("board", NAMES)
def test_the_rail_of_a_board_is_the_tube_its_numbers_say(board: str) -> None:
    """At the apex the section is upright and the surface turns in it with the radius of the rail, above and below:
    normal curvature in the direction of v, from the surface's own derivatives.
    """
    lines = board_lines(load_board(BOARDS / f"{board}.toml"))
    surface = board_body(lines).port
    u = np.linspace(0.25, 0.995, 40)
    radius = lines.sections.numbers(u).radius
    for side in (-1e-9, 1e-9):
        v = np.full_like(u, APEX + side)
        first, second, normal = forms(surface, u, v)
        assert first[2] / second[2] == pytest.approx(radius, rel=2e-3)
        assert normal[:, 2] == pytest.approx(np.zeros_like(u), abs=1e-5)


@pytest.mark.parametrize("board", NAMES)
def test_derivatives_are_those_of_differences(board: str) -> None:
    """Central differences of points within a span, a cubic, are exact for both orders as taken here. What is left is
    rounding, 1e-13 of a board divided by the square of a step.
    """
    surface = board_body(board_lines(load_board(BOARDS / f"{board}.toml"))).port
    random = np.random.default_rng(6)
    # Within a span: across a joint in v the surface may turn, and over any knot its third derivative jumps.
    pairs = [random.integers(0, len(breaks) - 1, 400) for breaks in surface.breaks]
    u, v = (
        breaks[i] + np.diff(breaks)[i] * random.uniform(0.3, 0.7, 400)
        for breaks, i in zip(surface.breaks, pairs, strict=True)
    )
    hu, hv = (0.1 * np.diff(breaks)[i][:, None] for breaks, i in zip(surface.breaks, pairs, strict=True))

    def at(du: float, dv: float) -> Array:
        return surface.at(u + du * hu[:, 0], v + dv * hv[:, 0])

    expected = {
        (1, 0): (8.0 * (at(0.5, 0) - at(-0.5, 0)) - (at(1, 0) - at(-1, 0))) / (6.0 * hu),
        (0, 1): (8.0 * (at(0, 0.5) - at(0, -0.5)) - (at(0, 1) - at(0, -1))) / (6.0 * hv),
        (2, 0): (at(1, 0) - 2.0 * at(0, 0) + at(-1, 0)) / hu**2,
        (0, 2): (at(0, 1) - 2.0 * at(0, 0) + at(0, -1)) / hv**2,
    }
    for order, values in expected.items():
        scale = np.linalg.norm(values, axis=-1).max()
        assert surface.at(u, v, *order) == pytest.approx(values, rel=0.0, abs=1e-6 * scale)


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
