"""Lines through readings of fair curves, taken with a tape that is held a little off: 500 boards.

None is refused that has a fair line within its play, as an independent linear program finds, and none accepted that
waves.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import BSpline
from scipy.optimize import linprog

from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.outline import OutlineNumbers, fair_outline
from bayloft.lines.profile import SIGN_PLACES, Profile, ProfileNumbers, fair_profile
from bayloft.lines.readings import Measured
from bayloft.lines.swells import swells

MARK_MM = 25.4 / 16
HALF_MM = MARK_MM / 2
Array = NDArray[np.float64]


def read_at(values: Array, held_off: Array) -> Array:
    return np.round((values + held_off) / MARK_MM) * MARK_MM


def rocker_mm(random: np.random.Generator, x: Array, length: float, lowest: float) -> Array:
    """Parabola and cubic to either end, bent alike at the lowest point, and no less towards the ends."""
    nose, tail = random.uniform(90.0, 170.0), random.uniform(35.0, 65.0)
    ahead, behind = (x - lowest) / (length - lowest), (lowest - x) / lowest
    flatter = min(nose / (length - lowest) ** 2, tail / lowest**2) * random.uniform(0.5, 0.95)
    bend, share = flatter * (length - lowest) ** 2 / nose, flatter * lowest**2 / tail
    return np.where(
        x > lowest,
        nose * (bend * ahead**2 + (1.0 - bend) * np.abs(ahead) ** 3),
        tail * (share * behind**2 + (1.0 - share) * np.abs(behind) ** 3),
    )


def half_width_mm(random: np.random.Generator, x: Array, length: float, wide_x: float, wide: float) -> Array:
    """Two quarters of superellipses of one exponent."""
    exponent = random.uniform(1.95, 2.4)
    away = np.where(x > wide_x, (x - wide_x) / (length - wide_x), (wide_x - x) / wide_x)
    return wide * np.maximum(1.0 - away**exponent, 0.0) ** (1.0 / exponent)


def waves(x: Array, curvature_per_m: Array) -> int:
    return len(swells(x, curvature_per_m)) - 1


def has_a_fair_line(numbers: ProfileNumbers) -> bool:
    """Whether any spline on the same breaks is within the plays and hollow at the same places: a linear program in the
    coefficients, by HiGHS, in a basis built here by scipy alone.
    """
    breaks, degree = np.linspace(0.0, 1.0, 8 + len(numbers.values)), 5
    knots = np.concatenate([np.zeros(degree), breaks, np.ones(degree)])
    n = len(knots) - degree - 1
    splines = [BSpline(knots, row, degree) for row in np.eye(n)]

    def rows(at: Array, order: int) -> Array:
        return np.column_stack([spline(at, order) for spline in splines])

    x, value, play = np.array(numbers.values).T
    here = rows(x / numbers.length_mm, 0)
    bend = rows(np.linspace(0.0, 1.0, SIGN_PLACES), 2)
    scale = np.abs(bend).max()
    assert numbers.turning_x_mm is not None
    level = rows(np.array([numbers.turning_x_mm / numbers.length_mm]), 1)
    found = linprog(
        np.zeros(n),
        A_ub=np.vstack([here, -here, -bend / scale, -rows(np.array([0.0, 1.0]), 0)]),
        b_ub=np.concatenate([value + play, play - value, np.zeros(SIGN_PLACES + 2)]),
        A_eq=level,
        b_eq=[0.0],
        bounds=(None, None),
        method="highs",
    )
    return bool(found.status == 0)


@pytest.mark.parametrize("held_off_mm", [0.0, 0.6, 1.5])
def test_a_rocker_is_refused_only_where_there_is_none_and_never_waves(held_off_mm: float) -> None:
    random = np.random.default_rng(round(100 * held_off_mm))
    refused = 0
    for _ in range(84):
        length, count = random.uniform(1700.0, 3000.0), int(random.integers(5, 14))
        lowest = random.uniform(0.44, 0.5) * length
        x = np.linspace(0.0, length, count)
        x = x[np.abs(x - lowest) > 20.0]
        off = random.uniform(-held_off_mm, held_off_mm, len(x))
        read = np.maximum(read_at(rocker_mm(random, x, length, lowest), off), 0.0)
        values = (*(Measured(*each, HALF_MM) for each in zip(x, read, strict=True)), Measured(lowest, 0.0))
        numbers = ProfileNumbers(length_mm=length, values=values, turning_x_mm=lowest, bend="hollow")
        try:
            line = fair_profile(numbers)
        except NoFairLineError:
            refused += 1
            assert not has_a_fair_line(numbers)
            continue
        off_by = np.abs(line.at([value.x_mm for value in values]) - [value.value_mm for value in values])
        assert np.all(off_by <= [value.play_mm + 1e-6 for value in values])
        # What is held off by more than its play may force a wave: then it is told.
        assert held_off_mm > 0.0 or profile_waves(line) <= 0
    # From curves that are fair, read to the mark, none; held off by a whole mark, some.
    assert refused == 0 if held_off_mm == 0.0 else refused < 84


def profile_waves(line: Profile) -> int:
    x = np.linspace(0.0, line.length_mm, 801)
    return waves(x, 1000.0 * line.at(x, 2) / (1.0 + line.at(x, 1) ** 2) ** 1.5)


def drawn_outline(length: float, wide_x: float, values: Sequence[Measured]) -> OutlineNumbers:
    return OutlineNumbers(
        length_mm=length,
        half_widths=tuple(values),
        wide_x_mm=wide_x,
        wide_free_mm=HALF_MM,
        tail_cut_off=False,
        tail_radius_mm=None,
        nose_radius_mm=None,
        hollow=frozenset(),
    )


def test_an_outline_read_off_a_fair_one_is_drawn_within_half_a_mark_and_does_not_wave() -> None:
    random = np.random.default_rng(3)
    for _ in range(248):
        length, count = random.uniform(1700.0, 3000.0), int(random.integers(4, 12))
        wide, wide_x = random.uniform(230.0, 300.0), random.uniform(0.45, 0.57) * length
        x = np.linspace(0.0, length, count + 2)[1:-1]
        x = x[np.abs(x - wide_x) > 20.0]
        read = read_at(2.0 * half_width_mm(random, x, length, wide_x, wide), np.zeros(len(x))) / 2.0
        top = float(read_at(np.array([2.0 * wide]), np.zeros(1))[0]) / 2.0
        values = [Measured(*each, HALF_MM / 2.0) for each in zip(x, read, strict=True)]
        values.append(Measured(wide_x, top, HALF_MM / 2.0))
        outline = fair_outline(drawn_outline(length, wide_x, values))
        for value in values:
            assert abs(float(outline.at(value.x_mm)) - value.value_mm) <= value.play_mm + 1e-6
        u = np.linspace(0.0, 1.0, 801)[1:-1]
        assert waves(np.asarray(outline.station(u)), -1000.0 * outline.curvature(u)) <= 0
