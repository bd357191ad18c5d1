"""The fairest lines against natural splines, the conditions of optimality, and what they promise."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.interpolate import CubicSpline, make_interp_spline
from scipy.optimize import minimize, nnls

from bayloft.lines.fairest import Basis, Conditions, NoFairLineError, least, nearest
from bayloft.lines.gradation import graded, graded_level
from bayloft.lines.outline import OutlineNumbers, fair_outline
from bayloft.lines.readings import Measured

Array = NDArray[np.float64]

EQUAL = 1e-8
"""How nearly equalities are met, in the unit of the values: elimination, and coefficients kept to 1e-9."""

AT_LEAST = 1e-6
"""By how much an inequality may be missed, likewise: the program's own 1e-9, scaled, and rounding."""

X = np.array([0.0, 0.13, 0.3, 0.55, 0.8, 1.0])
Y = np.array([2.0, 7.5, 11.0, 12.0, 8.0, 0.5])


def test_least_change_of_bending_is_the_natural_quintic() -> None:
    """I. J. Schoenberg (1964), via de Boor, A Practical Guide to Splines (from memory): of all curves through the
    points, the spline of degree 2 m - 1 with knots there and derivatives m to 2 m - 2 zero at the ends has the least
    integral of the squared m-th derivative. Here m = 3, and the basis holds the solution: its knots are the points and
    more.
    """
    breaks = np.union1d(X, np.linspace(0.0, 1.0, 9))
    basis = Basis.over(breaks, 5)
    found, energy = least(basis.energy(3), equal=basis.meets(X, Y), at_least=Conditions.none(basis.size))
    natural = make_interp_spline(X, Y, k=5, bc_type=([(3, 0.0), (4, 0.0)], [(3, 0.0), (4, 0.0)]))
    u = np.linspace(0.0, 1.0, 401)
    line = basis.spline(found)
    assert line(u) == pytest.approx(natural(u), rel=0.0, abs=EQUAL * 12)
    assert line(X) == pytest.approx(Y, rel=0.0, abs=EQUAL)
    third = natural.derivative(3)
    integral = sum(quad(lambda at: float(third(at)) ** 2, a, b)[0] for a, b in itertools.pairwise(X))
    assert energy == pytest.approx(integral, rel=1e-8)


def test_least_bending_is_the_natural_cubic() -> None:
    """The same with m = 2: Holladay's theorem (1957), from memory."""
    basis = Basis.over(np.union1d(X, np.linspace(0.0, 1.0, 9)), 3)
    found, _ = least(basis.energy(2), equal=basis.meets(X, Y), at_least=Conditions.none(basis.size))
    u = np.linspace(0.0, 1.0, 401)
    assert basis.spline(found)(u) == pytest.approx(CubicSpline(X, Y, bc_type="natural")(u), rel=0.0, abs=EQUAL * 12)


def test_least_without_room_is_a_polynomial() -> None:
    """Three points and nothing else: the parabola through them has no third derivative."""
    basis = Basis.over(np.linspace(0.0, 1.0, 9), 5)
    found, energy = least(
        basis.energy(3), equal=basis.meets([0.1, 0.4, 0.9], [1.0, 3.0, 2.0]), at_least=Conditions.none(basis.size)
    )
    u = np.linspace(0.0, 1.0, 21)
    assert basis.spline(found)(u) == pytest.approx(
        np.polynomial.Polynomial.fit([0.1, 0.4, 0.9], [1.0, 3.0, 2.0], 2)(u), rel=0.0, abs=1e-6
    )
    # Rounding of a sum that cancels: its terms are as large as the matrix.
    assert energy == pytest.approx(0.0, abs=1e-14 * np.abs(basis.energy(3)).max())


def arched() -> tuple[Basis, Conditions, Conditions]:
    """Points that pull a quintic hollow near their ends, and the demand that it bends down at sixty places."""
    basis = Basis.over(np.linspace(0.0, 1.0, 13), 5)
    y = np.array([0.0, 9.0, 10.5, 12.0, 10.5, 1.0])
    places = np.linspace(0.0, 1.0, 60)
    return basis, basis.meets(X, y), Conditions(rows=-basis.rows(places, 2), values=np.zeros(60))


def test_inequalities_bind_and_hold() -> None:
    basis, equal, arch = arched()
    free, least_energy = least(basis.energy(3), equal=equal, at_least=Conditions.none(basis.size))
    held, energy = least(basis.energy(3), equal=equal, at_least=arch)
    # Without the demand the line goes hollow; with it the line costs more.
    assert (arch.rows @ free).min() < -50.0
    assert energy > 2.0 * least_energy
    assert equal.rows @ held == pytest.approx(equal.values, rel=0.0, abs=EQUAL)
    assert (arch.rows @ held).min() > -AT_LEAST * np.abs(arch.rows @ held).max()


def test_the_solution_meets_the_conditions_of_optimality() -> None:
    """Karush, Kuhn and Tucker (from memory): the energy's slope is a combination of the conditions, of binding
    inequalities with weights >= 0, found by scipy's non-negative least squares. Any convex program; no other solution
    exists.
    """
    basis, equal, arch = arched()
    held, _ = least(basis.energy(3), equal=equal, at_least=arch)
    slope = 2.0 * basis.energy(3) @ held
    bends = arch.rows @ held
    binding = arch.rows[bends < 1e-6 * np.abs(bends).max()]
    assert 0 < len(binding) < 30
    scaled = binding / np.linalg.norm(binding, axis=1)[:, None]
    pieces = np.concatenate([equal.rows, -equal.rows, scaled]).T
    _, left = nnls(pieces, slope, maxiter=2000)
    assert left <= 1e-5 * np.linalg.norm(slope)


def test_a_general_minimiser_finds_nothing_better() -> None:
    """Scipy's SLSQP from the unconstrained solution, in the space left by the equalities."""
    basis, equal, arch = arched()
    held, energy = least(basis.energy(3), equal=equal, at_least=arch)
    start, _ = least(basis.energy(3), equal=equal, at_least=Conditions.none(basis.size))
    _, _, vt = np.linalg.svd(equal.rows)
    free = vt[len(equal.rows) :].T
    matrix = free.T @ basis.energy(3) @ free / energy
    offset = free.T @ basis.energy(3) @ start / energy
    rows = arch.rows / np.linalg.norm(arch.rows, axis=1)[:, None]
    theirs = minimize(
        lambda z: z @ matrix @ z + 2 * offset @ z,
        np.zeros(free.shape[1]),
        jac=lambda z: 2 * (matrix @ z + offset),
        constraints={"type": "ineq", "fun": lambda z: rows @ (start + free @ z), "jac": lambda _: rows @ free},
        method="SLSQP",
        options={"maxiter": 500, "ftol": 1e-14},
    )
    best = start + free @ theirs.x
    assert energy == pytest.approx(float(best @ basis.energy(3) @ best), rel=1e-5)
    u = np.linspace(0.0, 1.0, 101)
    assert basis.spline(held)(u) == pytest.approx(basis.spline(best)(u), rel=0.0, abs=1e-3)


def test_contradictions_are_refused() -> None:
    basis, equal, arch = arched()
    with pytest.raises(NoFairLineError):
        least(basis.energy(3), equal=equal.joined(basis.meets(0.3, 11.0)), at_least=arch)
    hollow = basis.meets([0.0, 0.5, 1.0], [0.0, -1.0, 0.0])
    with pytest.raises(NoFairLineError):
        least(basis.energy(3), equal=hollow, at_least=arch)


def test_nearest_leaves_fair_values_alone() -> None:
    basis, equal, arch = arched()
    kept = nearest(basis.energy(3), equal=Conditions.none(basis.size), given=equal, at_least=arch)
    assert kept == pytest.approx(equal.values, rel=0.0, abs=AT_LEAST * 12)


@pytest.mark.parametrize("spans", [4, 12])
def test_nearest_moves_unfair_values_least(spans: int) -> None:
    """Three values of a line that must bend down, the middle one a chord's 1 below: least squares takes (1, -2, 1) / 6
    times the second difference, 2, off them, and they lie level. Projection on a half-space: by hand, exact.
    """
    basis = Basis.over(np.linspace(0.0, 1.0, spans + 1), 5)
    arch = Conditions(rows=-basis.rows(np.linspace(0.0, 1.0, 60), 2), values=np.zeros(60))
    given = basis.meets([0.0, 0.5, 1.0], [1.0, 0.0, 1.0])
    moved = nearest(basis.energy(3), equal=Conditions.none(basis.size), given=given, at_least=arch)
    assert moved == pytest.approx(np.full(3, 2 / 3), rel=0.0, abs=AT_LEAST)


def test_an_outline_through_an_ellipse_bulges_and_meets_it() -> None:
    """Half-widths taken off an ellipse with its own tip radii b^2 / a: the fairest line through them stays near it."""
    a, b = 900.0, 260.0
    stations = [0.06 * a, 0.2 * a, 0.5 * a, 1.5 * a, 1.8 * a, 1.94 * a]
    half = [b * float(np.sqrt(1.0 - (x / a - 1.0) ** 2)) for x in stations]
    outline = fair_outline(
        OutlineNumbers(
            length_mm=2 * a,
            half_widths=(*map(Measured, stations, half), Measured(a, b)),
            wide_x_mm=a,
            tail_cut_off=False,
            tail_radius_mm=b * b / a,
            nose_radius_mm=b * b / a,
            hollow=frozenset(),
        )
    )
    x = np.linspace(0.0, 2 * a, 501)
    ellipse = b * np.sqrt(np.maximum(1.0 - (x / a - 1.0) ** 2, 0.0))
    assert outline.at(stations) == pytest.approx(np.array(half), rel=0.0, abs=EQUAL * b)
    assert outline.at(x) == pytest.approx(ellipse, rel=0.0, abs=0.2)
    assert outline.tip_radii_mm == pytest.approx((b * b / a, b * b / a), rel=1e-9)
    inner = np.linspace(0.02, 0.98, 301)
    assert np.all(outline.curvature(inner) < 0.0)
    # Curvature of an ellipse: a b / (a^2 sin^2 + b^2 cos^2)^1.5 (from memory), b / a^2 where it is widest.
    assert -float(outline.curvature(outline.wide_u)) == pytest.approx(b / a**2, rel=0.02)


@pytest.mark.parametrize("seed", range(6))
def test_a_level_gradation_stays_between_its_neighbours(seed: int) -> None:
    """Through every value, level beyond the ends, never beyond the two values around: convex hull of B-splines (from
    memory).
    """
    random = np.random.default_rng(seed)
    x = np.cumsum(random.uniform(30.0, 600.0, 5))
    y = random.uniform(0.0, 1.0, 5)
    line = graded_level(x, y)
    assert line.at(x) == pytest.approx(y, rel=0.0, abs=EQUAL)
    assert line.at([x[0] - 500.0, x[-1] + 500.0]) == pytest.approx(y[[0, -1]], rel=0.0, abs=EQUAL)
    for i in range(4):
        values = line.at(np.linspace(x[i], x[i + 1], 200))
        assert values.min() >= y[i : i + 2].min() - EQUAL
        assert values.max() <= y[i : i + 2].max() + EQUAL


def test_a_level_gradation_up_a_stair_only_rises() -> None:
    line = graded_level([100.0, 400.0, 900.0, 1000.0, 1700.0], [0.1, 0.2, 0.7, 0.75, 1.0])
    values = line.at(np.linspace(0.0, 1800.0, 2001))
    assert np.diff(values).min() >= -EQUAL
    assert (values.min(), values.max()) == (pytest.approx(0.1, abs=EQUAL), pytest.approx(1.0, abs=EQUAL))


def test_a_level_gradation_between_two_values_is_point_symmetric() -> None:
    """Least bending from level to level: turned by half a circle about its middle the problem is itself."""
    line = graded_level([200.0, 1000.0], [2.0, 8.0])
    step = np.linspace(0.0, 400.0, 50)
    assert line.at(600.0 + step) + line.at(600.0 - step) == pytest.approx(np.full(50, 10.0), abs=1e-7)


@pytest.mark.parametrize("seed", range(6))
def test_a_fair_gradation_is_the_one_of_least_change_of_bend(seed: int) -> None:
    """No line through the same values that keeps to the same range bends less: none of a hundred moved a little."""
    random = np.random.default_rng(seed)
    x, y = np.array([300.0, 700.0, 1100.0, 1600.0]), random.uniform(2.0, 3.0, 4)
    line = graded(x, y, 2000.0)
    assert line.at(x) == pytest.approx(y, rel=0.0, abs=1e-6)
    assert line.spline is not None
    basis = Basis(knots=line.spline.t / 2000.0, degree=line.spline.k)
    energy = basis.energy(3) + basis.energy(2)
    _, _, vt = np.linalg.svd(basis.rows(x / 2000.0))
    free = vt[4:]
    places = basis.rows(np.linspace(0.0, 1.0, 400))
    now = places @ line.spline.c
    for _ in range(100):
        moved = line.spline.c + 1e-3 * free.T @ random.normal(size=len(free))
        if float(np.maximum(places @ moved - now.max(), now.min() - places @ moved).max()) <= 0.0:
            assert moved @ energy @ moved >= line.spline.c @ energy @ line.spline.c * (1.0 - 1e-9)


def test_a_fair_gradation_between_two_values_is_straight_and_runs_on_by_half_its_step() -> None:
    line = graded([600.0, 1400.0], [2.0, 4.0], 2000.0)
    between = np.linspace(600.0, 1400.0, 50)
    assert line.at(between) == pytest.approx(2.0 + (between - 600.0) / 400.0, abs=0.05)
    beyond = line.at(np.linspace(0.0, 2000.0, 401))
    assert 1.0 - 0.05 <= beyond.min() < 1.3
    assert 4.7 < beyond.max() <= 5.0 + 0.05
