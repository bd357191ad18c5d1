"""The chordwise section of a fin: the forms its two faces can take, each scaled by thickness and trailing edge."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline, make_interp_spline

from bayloft.arithmetic import solution
from bayloft.spec.fins.fin import USUAL_GREATEST_AT, FoilKind, FoilSection

Array = NDArray[np.float64]

COEFFICIENTS = (0.2969, -0.1260, -0.3516, 0.2843, -0.1036)
"""Of sqrt(x), x, x^2, x^3, x^4 in the half-thickness 5 t (...), closed at the trailing edge: NACA Report 824, as
the documentation of a public program repeats it, with the last coefficient changed from -0.1015 (to a value from
memory) so that the five sum to nothing."""

NATURAL_TRAILING_EDGE = 0.021
"""Trailing edge thickness over greatest thickness at which `half_thickness` is exactly NACA's open form."""

GREATEST_AT = (0.2, 0.3, 0.4, 0.5, 0.6)
TRAILING_SLOPES = (1.0, 1.17, 1.575, 2.325, 3.5)
"""Slope of the half-thickness at the trailing edge, over thickness per chord, for a foil thickest at these shares: NACA
Report 492 (from memory: 0.200, 0.234, 0.315, 0.465, 0.700 for a foil of 20 %). Between them a quartic through all."""

HOLLOW_DEEPEST = 0.4
"""Share of the chord at which a hollow is deepest: the bump x^2 (1 - x)^3 leaves a land at both edges (common practice,
no source)."""

EASED = 0.1
"""Inner nose of a hollow foil: coefficient of sqrt(x) over thickness, by which its leading edge is eased like any edge
that is glassed and sanded (common practice, no source). The outer nose has thirty times as much."""

FULLEST_PLACES = 4001
"""Places at which a foil from a file is searched for its greatest thickness: good to 1e-7 of it."""

Face = Callable[[Array], Array]
"""Ordinates of a face over the greatest thickness at chord shares, its trailing edge closed."""


def half_thickness(chord: ArrayLike, thickness_mm: ArrayLike, trailing_edge_mm: ArrayLike) -> Array:
    """Return the half-thickness in mm at shares `chord` of the chord, 0 at the leading edge, 1 at the trailing edge.

    The closed NACA four-digit form of `thickness_mm`, and half `trailing_edge_mm` growing with the fourth power of the
    chord on top of it. Shapes broadcast.
    """
    x = np.asarray(chord, dtype=np.float64)
    return np.asarray(_four_digit(x) * np.asarray(thickness_mm) + np.asarray(trailing_edge_mm) / 2.0 * x**4)


def _four_digit(x: Array) -> Array:
    a0, a1, a2, a3, a4 = COEFFICIENTS
    return np.asarray(5.0 * (a0 * np.sqrt(x) + x * (a1 + x * (a2 + x * (a3 + x * a4)))), dtype=np.float64)


def modified_coefficients(
    greatest_at: float, leading_radius: float, trailing_edge: float = 0.0
) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """Return a (of sqrt(x), x, x^2, x^3) forward of the thickest place and d (of 1, 1 - x, (1 - x)^2, (1 - x)^3) aft
    of it, of the half-thickness over thickness of NACA's modified four-digit family.

    Value 1/2, slope 0 and the curvature agree at `greatest_at` (share of the chord, 0.2 to 0.6); a_0 is the standard
    form's times the root of `leading_radius`; `trailing_edge` is half its thickness over the foil's. Source: Stack and
    von Doenhoff, "Tests of 16 related airfoils at high speeds", NACA Report 492, 1934 (from memory).
    """
    m, q = greatest_at, 1.0 - greatest_at
    d1 = float(np.polynomial.Polynomial(solution(np.vander(GREATEST_AT, increasing=True), TRAILING_SLOPES))(m))
    aft = np.array([[q**2, q**3], [2 * q, 3 * q**2]])
    d2, d3 = solution(aft, [0.5 - trailing_edge - d1 * q, -d1])
    a0 = 5.0 * COEFFICIENTS[0] * np.sqrt(leading_radius)
    bend = 2 * d2 + 6 * d3 * q
    forward = np.array([[m, m**2, m**3], [1.0, 2 * m, 3 * m**2], [0.0, 2.0, 6 * m]])
    nose = np.sqrt(m)
    a = solution(forward, [0.5 - a0 * nose, -a0 / (2 * nose), bend + a0 / (4 * nose**3)])
    return (float(a0), *map(float, a)), (trailing_edge, d1, float(d2), float(d3))


def _modified(greatest_at: float, leading_radius: float) -> Face:
    (a0, a1, a2, a3), (_, d1, d2, d3) = modified_coefficients(greatest_at, leading_radius)

    def half(x: Array) -> Array:
        left = 1.0 - x
        forward = a0 * np.sqrt(x) + x * (a1 + x * (a2 + x * a3))
        aft = left * (d1 + left * (d2 + left * d3))
        return np.asarray(np.where(x < greatest_at, forward, aft), dtype=np.float64)

    return half


def _hollow(x: Array) -> Array:
    """Return the depth of a hollow over its greatest, at chord shares."""
    deepest = HOLLOW_DEEPEST**2 * (1.0 - HOLLOW_DEEPEST) ** 3
    return np.asarray(x**2 * (1.0 - x) ** 3 / deepest, dtype=np.float64)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Foil:
    """A foil: its two faces over the greatest thickness with the trailing edge closed; the share of the trailing edge's
    thickness that lies on the outer face; the depth in mm by which the inner face is hollowed at the base; and the
    trailing edge over the thickness at which it has its source's own form.
    """

    outer: Face
    inner: Face
    edge_outside: float
    hollow_mm: float = 0.0
    natural_trailing_edge: float = NATURAL_TRAILING_EDGE
    flat_inside: bool = False
    mirrored: bool = False

    def faces(
        self, chord: ArrayLike, thickness_mm: ArrayLike, trailing_edge_mm: ArrayLike, hollow_share: ArrayLike = 1.0
    ) -> tuple[Array, Array]:
        """Return y in mm of the outer and of the inner face at shares of the chord, 0 at the leading edge, 1 at the
        trailing edge; y grows outward, from the plane in which the fin stands. Shapes broadcast.

        thickness_mm: greatest thickness before it is hollowed; trailing_edge_mm: thickness of the trailing edge, which
        fades forward with the fourth power of the chord; hollow_share: how much of the hollow is left at this height.
        """
        x = np.asarray(chord, dtype=np.float64)
        thickness, edge = np.asarray(thickness_mm, dtype=np.float64), np.asarray(trailing_edge_mm) * x**4
        outer = self.outer(x) * thickness + self.edge_outside * edge
        inner = self.inner(x) * thickness - (1.0 - self.edge_outside) * edge
        if self.hollow_mm:
            inner = inner + self.hollow_mm * np.asarray(hollow_share) * _hollow(x)
        return np.asarray(outer, dtype=np.float64), np.asarray(inner, dtype=np.float64)


def foil(
    kind: FoilKind,
    *,
    greatest_at: float = USUAL_GREATEST_AT,
    leading_radius: float = 1.0,
    hollow_mm: float = 0.0,
) -> Foil:
    """Return a foil of NACA's four-digit thickness form, or of the modified family where the thickest place or the nose
    radius is another one: on both faces alike ("double"), or all of it on the outer face, the inner one a plane
    ("flat") or hollowed by `hollow_mm` ("hollow").
    """
    standard = greatest_at == USUAL_GREATEST_AT and leading_radius == 1.0
    half = _four_digit if standard else _modified(greatest_at, leading_radius)
    if kind == "double":
        return Foil(outer=half, inner=lambda x: -half(x), edge_outside=0.5, mirrored=True)
    if kind == "flat":
        return Foil(outer=lambda x: 2.0 * half(x), inner=np.zeros_like, edge_outside=1.0, flat_inside=True)
    return Foil(
        outer=lambda x: 2.0 * half(x),
        inner=lambda x: np.asarray(-EASED * np.sqrt(x) * (1.0 - x) ** 8, dtype=np.float64),
        edge_outside=1.0,
        hollow_mm=hollow_mm,
    )


def foil_of_section(section: FoilSection) -> Foil:
    """Return the foil of a coordinate file: each face a cubic spline through its points over the root of the chord
    share, in which a round nose is smooth; scaled to a greatest thickness of one, its trailing edge closed by a wedge
    that fades with the fourth power of the chord.
    """

    def through(points: tuple[tuple[float, float], ...]) -> BSpline[np.float64]:
        x, y = np.array(points).T
        return make_interp_spline(np.sqrt(x), y, k=3)

    upper, lower = through(section.outer), through(section.inner)
    root = np.linspace(0.0, 1.0, FULLEST_PLACES)
    greatest = float((upper(root) - lower(root)).max())
    edge = float(upper(1.0) - lower(1.0)) / greatest
    return Foil(
        outer=lambda x: np.asarray(upper(np.sqrt(x)) / greatest - edge / 2.0 * x**4, dtype=np.float64),
        inner=lambda x: np.asarray(lower(np.sqrt(x)) / greatest + edge / 2.0 * x**4, dtype=np.float64),
        edge_outside=0.5,
        natural_trailing_edge=edge,
    )
