"""Rocker and foil: heights and thicknesses along the board as the fairest functions of the station."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline
from scipy.linalg import block_diag

from bayloft.lines.fairest import Basis, Conditions, fairest_station, least, misfits
from bayloft.lines.readings import Measured, conditions
from bayloft.lines.turns import outside, turning_breaks
from bayloft.spec.boards.board import Turn

Array = NDArray[np.float64]

DEGREE = 5
SIGN_PLACES = 80
LOWEST_PLACES = 25

HOLLOW_SHARE = 0.8
"""Share of the way from an end to where a line turns over which it may go hollow, where it may at all."""

EXCESS = 1.0
"""How dear it is for an end to be beyond its most, against the energy: dear enough for a line that can keep to it, and
not so that numbers are refused for it, or the line jumps where they begin to ask for more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileNumbers:
    """What fixes a profile line, in mm: values read at stations; the station where it turns, its slope being zero, or
    None; whether it is hollow upward all along (rocker) or arched (foil); least values at
    the two ends, and values that they go beyond only where the readings ask for it; the ends
    ("tail", "nose") towards which it may bend the other way, and the stretches where it may turn.
    """

    length_mm: float
    values: tuple[Measured, ...]
    turning_x_mm: float | None
    bend: Literal["hollow", "arched"]
    least_ends_mm: tuple[float, float] = (0.0, 0.0)
    most_ends_mm: tuple[float, float] = (np.inf, np.inf)
    hollow: frozenset[str] = frozenset()
    turns: tuple[Turn, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profile:
    """A line along the board: value in mm at a station in mm from the tail end."""

    spline: BSpline[np.float64]
    length_mm: float

    def at(self, x_mm: ArrayLike, derivative: int = 0) -> Array:
        """Return the line's value (mm), slope or second derivative (1/mm) at stations `x_mm` of any shape."""
        scaled = np.asarray(x_mm, dtype=np.float64) / self.length_mm
        return np.asarray(self.spline(scaled, derivative) / self.length_mm**derivative, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Problem:
    """The quadratic program of one line: unknown are the spline's coefficients, then how far each end that has a most
    is beyond it.
    """

    basis: Basis
    energy: Array
    fixed: Conditions
    given: Conditions
    signs: Conditions


def _problem(numbers: ProfileNumbers) -> _Problem:
    # The line lives on stations divided by the length, so that its matrices are the same size for any board.
    turns = [np.array([turn.from_mm, turn.to_mm]) / numbers.length_mm for turn in numbers.turns]
    basis = Basis.over(turning_breaks(np.linspace(0.0, 1.0, 8 + len(numbers.values)), turns), DEGREE)
    fixed = Conditions.none(basis.size)
    if numbers.turning_x_mm is not None:
        fixed = basis.meets(numbers.turning_x_mm / numbers.length_mm, 0.0, 1)
    at = np.array([reading.x_mm for reading in numbers.values]) / numbers.length_mm
    given = conditions(basis, at, numbers.values)
    places = np.linspace(0.0, 1.0, SIGN_PLACES)
    sign = 1.0 if numbers.bend == "hollow" else -1.0
    turning = 0.5 if numbers.turning_x_mm is None else numbers.turning_x_mm / numbers.length_mm
    bent = outside(places, turns)
    if "tail" in numbers.hollow:
        bent = bent[bent > HOLLOW_SHARE * turning]
    if "nose" in numbers.hollow:
        bent = bent[bent < 1.0 - HOLLOW_SHARE * (1.0 - turning)]
    rows = sign * basis.rows(bent, 2)
    if len(bent) < len(places):
        # Where it may bend the other way it still runs towards the place where it turns.
        rows = np.vstack([rows, sign * np.sign(places - turning)[:, None] * basis.rows(places, 1)])
    bend = Conditions(rows=rows, values=np.zeros(len(rows)))
    least_ends = basis.meets([0.0, 1.0], numbers.least_ends_mm)
    signs = bend.joined(least_ends.taken(np.isfinite(least_ends.values)))
    bounded = [end for end in (0, 1) if np.isfinite(numbers.most_ends_mm[end])]
    beyond = np.eye(len(bounded))
    most = np.hstack([-basis.rows(np.array(bounded, dtype=np.float64)), beyond])
    most_ends = Conditions(rows=most, values=-np.array([numbers.most_ends_mm[end] for end in bounded]))
    energy = basis.energy(3)
    price = EXCESS * float(np.trace(energy)) / basis.size
    return _Problem(
        basis=basis,
        energy=block_diag(energy, price * beyond),
        fixed=fixed.beside(len(bounded)),
        given=given.beside(len(bounded)),
        signs=signs.beside(len(bounded)).joined(most_ends),
    )


def _solved(numbers: ProfileNumbers) -> tuple[Profile, float]:
    problem = _problem(numbers)
    equal = problem.fixed.joined(problem.given)
    found, energy = least(problem.energy, equal=equal, at_least=problem.signs)
    spline = problem.basis.spline(found[: problem.basis.size])
    return Profile(spline=spline, length_mm=numbers.length_mm), energy


def fair_profile(numbers: ProfileNumbers) -> Profile:
    """Return the fairest line through the numbers, exactly or within their play: least integral of the squared third
    derivative under one sign of the second derivative.

    Raises
    ------
    NoFairLineError
        If the numbers force a wiggle; `profile_misfits` then tells which.
    """
    return _solved(numbers)[0]


def profile_energy(numbers: ProfileNumbers) -> float:
    """Return the energy of the fairest line through the numbers. Raises NoFairLineError as `fair_profile` does."""
    return _solved(numbers)[1]


def fair_rocker(numbers: ProfileNumbers) -> tuple[Profile, float]:
    """Return the fairest rocker that touches zero, and the station of its lowest point in mm; the numbers have none.

    The lowest station is the one whose line has the least energy: scanned along the board, then refined by Brent's
    method.

    Raises
    ------
    NoFairLineError
        If no lowest station gives a line that is hollow upward all along.
    """

    def energy(x_mm: float) -> float:
        return _solved(touching(numbers, x_mm))[1]

    taken = [reading.x_mm for reading in numbers.values]
    lowest = fairest_station(energy, lowest_places(numbers.length_mm), taken)
    return fair_profile(touching(numbers, lowest)), lowest


def lowest_places(length_mm: float) -> Array:
    """Return the stations, mm, at which the lowest point of a rocker is looked for."""
    return np.linspace(0.2, 0.8, LOWEST_PLACES) * length_mm


def touching(numbers: ProfileNumbers, x_mm: float) -> ProfileNumbers:
    """Return the numbers of a rocker that touches zero at a station."""
    return replace(numbers, turning_x_mm=x_mm, values=(*numbers.values, Measured(x_mm, 0.0)))


def profile_misfits(numbers: ProfileNumbers, price: float) -> Array:
    """Return by how much, mm, each of `numbers.values` is missed at a price; see `fairest.misfits`.

    Raises
    ------
    NoFairLineError
        If the ends alone contradict one another.
    """
    problem = _problem(numbers)
    return misfits(problem.energy, equal=problem.fixed, given=problem.given, at_least=problem.signs, price=price)
