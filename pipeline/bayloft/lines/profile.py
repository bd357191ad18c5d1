"""Rocker and foil: heights and thicknesses along the board as the fairest functions of the station."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline
from scipy.optimize import minimize_scalar

from bayloft.lines.fairest import Basis, Conditions, NoFairLineError, least, nearest

Array = NDArray[np.float64]

DEGREE = 5
SIGN_PLACES = 80
LOWEST_PLACES = 25


@dataclass(frozen=True, slots=True, kw_only=True)
class ProfileNumbers:
    """What fixes a profile line, in mm: values at stations; one turning point (station, value) where the slope is zero,
    or None; whether it is hollow upward all along (rocker) or arched (foil); least and greatest values at the two ends.
    """

    length_mm: float
    values: tuple[tuple[float, float], ...]
    turning: tuple[float, float] | None
    bend: Literal["hollow", "arched"]
    least_ends_mm: tuple[float, float] = (0.0, 0.0)
    most_ends_mm: tuple[float, float] = (np.inf, np.inf)


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
    basis: Basis
    fixed: Conditions
    given: Conditions
    signs: Conditions


def _problem(numbers: ProfileNumbers) -> _Problem:
    # The line lives on stations divided by the length, so that its matrices are the same size for any board.
    basis = Basis.over(np.linspace(0.0, 1.0, 9 + len(numbers.values)), DEGREE)
    fixed = Conditions.none(basis.size)
    if numbers.turning is not None:
        x, value = numbers.turning
        fixed = basis.meets(x / numbers.length_mm, value).joined(basis.meets(x / numbers.length_mm, 0.0, 1))
    at = np.array([x for x, _ in numbers.values]) / numbers.length_mm
    given = basis.meets(at, [value for _, value in numbers.values])
    places = np.linspace(0.0, 1.0, SIGN_PLACES)
    sign = 1.0 if numbers.bend == "hollow" else -1.0
    bend = Conditions(rows=sign * basis.rows(places, 2), values=np.zeros(SIGN_PLACES))
    ends = basis.meets([0.0, 1.0], numbers.least_ends_mm)
    for end, most in zip((0.0, 1.0), numbers.most_ends_mm, strict=True):
        if np.isfinite(most):
            ends = ends.joined(Conditions(rows=-basis.rows(end), values=np.array([-most])))
    return _Problem(basis=basis, fixed=fixed, given=given, signs=bend.joined(ends))


def _solved(numbers: ProfileNumbers) -> tuple[Profile, float]:
    problem = _problem(numbers)
    equal = problem.fixed.joined(problem.given)
    found, energy = least(problem.basis.energy(3), equal=equal, at_least=problem.signs)
    return Profile(spline=problem.basis.spline(found), length_mm=numbers.length_mm), energy


def fair_profile(numbers: ProfileNumbers) -> Profile:
    """Return the fairest line exactly through the numbers: least integral of the squared third derivative under one
    sign of the second derivative.

    Raises
    ------
    NoFairLineError
        If the numbers force a wiggle; `nearest_values` then says which number to move.
    """
    return _solved(numbers)[0]


def fair_rocker(numbers: ProfileNumbers) -> tuple[Profile, float]:
    """Return the fairest rocker that touches zero, and the station of its lowest point in mm; `numbers.turning` None.

    The lowest station is the one whose line has the least energy: scanned along the board, then refined by Brent's
    method.

    Raises
    ------
    NoFairLineError
        If no lowest station gives a line that is hollow upward all along.
    """

    def energy(x_mm: float) -> float:
        try:
            return _solved(replace(numbers, turning=(float(x_mm), 0.0)))[1]
        except NoFairLineError:
            return float("inf")

    places = np.linspace(0.2, 0.8, LOWEST_PLACES) * numbers.length_mm
    taken = np.array([x for x, _ in numbers.values])
    places = places[np.abs(places[:, None] - taken).min(axis=1) > 1.0]
    energies = np.array([energy(x) for x in places])
    best = int(np.argmin(energies))
    if not np.isfinite(energies[best]):
        raise NoFairLineError
    low, high = places[max(best - 1, 0)], places[min(best + 1, len(places) - 1)]
    refined = minimize_scalar(energy, bounds=(low, high), method="bounded", options={"xatol": 0.01})
    # Rounded to 0.1 mm: the valley is flat, and its exact bottom would depend on the last bits of a machine.
    lowest = round(float(refined.x if refined.fun <= energies[best] else places[best]), 1)
    return fair_profile(replace(numbers, turning=(lowest, 0.0))), lowest


def nearest_values(numbers: ProfileNumbers) -> Array:
    """Return, in the order of `numbers.values`, the values nearest to the given ones that make a fair line.

    Raises
    ------
    NoFairLineError
        If the turning point alone contradicts the ends.
    """
    problem = _problem(numbers)
    return nearest(problem.basis.energy(3), equal=problem.fixed, given=problem.given, at_least=problem.signs)
