"""Which of the readings of a line cannot be true."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import pytest

from bayloft.lines.fairest import Basis, Conditions, NoFairLineError, least
from bayloft.lines.readings import Measured, bending, conditions, slips


def energies(wrong: dict[frozenset[float], float]):
    """A line that passes once the readings at certain stations are gone, and how it bends then."""

    def bent(readings: Sequence[Measured]) -> float:
        left = {reading.x_mm for reading in readings}
        for gone, bend in wrong.items():
            if not gone & left:
                return bend
        raise NoFairLineError

    return bent


def missed(*moves: float):
    return lambda _: np.array(moves)


FIVE = [Measured(float(x), 1.0) for x in range(5)]


def test_one_reading_without_which_the_line_is_fair_is_the_one() -> None:
    assert slips(FIVE, energies({frozenset([2.0]): 1.0}), missed(0, 0, 9, 0, 0)) == ((2,),)


def test_the_neighbour_of_a_wrong_reading_is_not_blamed() -> None:
    """Without it a line passes too, but has to bend through the wrong one."""
    bent = energies({frozenset([2.0]): 1.0, frozenset([3.0]): 40.0})
    assert slips(FIVE, bent, missed(0, 0, 5, 4, 0)) == ((2,),)


def test_where_one_of_two_may_be_wrong_both_are_told() -> None:
    bent = energies({frozenset([2.0]): 1.0, frozenset([3.0]): 1.5})
    assert slips(FIVE, bent, missed(0, 0, 5, 4, 0)) == ((2,), (3,))


def test_two_wrong_readings_are_found_together_and_what_gave_way_to_them_is_not_blamed() -> None:
    bent = energies({frozenset([1.0, 3.0]): 1.0})
    assert slips(FIVE, bent, missed(0.2, 9, 0.1, 7, 0)) == ((1, 3),)


def test_nothing_is_named_where_most_would_have_to_go() -> None:
    bent = energies({frozenset([0.0, 1.0, 2.0, 3.0]): 1.0})
    assert slips(FIVE, bent, missed(1, 1, 1, 1, 0)) == ()
    assert slips(FIVE[:1], energies({frozenset([0.0]): 1.0}), missed(1)) == ()


@pytest.mark.parametrize("degree", [4, 5])
def test_bending_is_the_energy_of_the_third_derivative(degree: int) -> None:
    """Against the quadratic form of the basis, and by hand: x cubed has the third derivative 6."""
    basis = Basis.over(np.linspace(0.0, 1.0, 6), degree)
    x = np.linspace(0.0, 1.0, 40)
    exact, *_ = np.linalg.lstsq(basis.rows(x), x**3, rcond=None)
    assert bending(basis.spline(exact)) == pytest.approx(36.0, rel=1e-9)
    other = np.random.default_rng(1).normal(size=basis.size)
    assert bending(basis.spline(other)) == pytest.approx(float(other @ basis.energy(3) @ other), rel=1e-9)


def test_readings_are_met_within_their_play_and_drawn_towards_their_values() -> None:
    """A straight line within a tenth of three readings that no straight line passes: by hand, the middle one is missed
    by its whole play or less, and a reading without play is met.
    """
    basis = Basis.over([0.0, 1.0], 3)
    straight = Conditions(rows=basis.rows([0.0, 1.0], 2), values=np.zeros(2))
    readings = [Measured(0.0, 0.0), Measured(0.5, 0.65, 0.1), Measured(1.0, 1.0, 0.1)]
    found, _ = least(
        basis.energy(2),
        equal=conditions(basis, [0.0, 0.5, 1.0], readings).joined(straight),
        at_least=Conditions.none(basis.size),
    )
    at = basis.spline(found)([0.0, 0.5, 1.0])
    assert at[0] == pytest.approx(0.0, abs=1e-9)
    assert at[1] == pytest.approx(at[2] / 2, abs=1e-9)
    assert 0.55 - 1e-9 <= at[1] <= 0.55 + 1e-9
