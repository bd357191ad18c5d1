"""A fin's lines: leading and trailing edge, thickness along the height; the half-section anywhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

from bayloft.errors import Fault, KeyPath, SpecError
from bayloft.lines.closing import closing
from bayloft.lines.fairest import Basis, Conditions, NoFairLineError, least
from bayloft.lines.foil import half_thickness
from bayloft.spec.fin import Fin
from bayloft.units import both

Array = NDArray[np.float64]

DEGREE = 5
SPANS = 8
SIGN_PLACES = 60

TRAILING_CORNER = 0.9
"""Parameter v of the trailing edge's corner; from there to 1 runs the flat of the trailing edge."""

TIP_ROUNDING = 3.0
"""Length over which a fin's tip is rounded off in thickness, in tip thicknesses (common practice, no source)."""

LARGEST_TRAILING_EDGE = 0.6
"""Largest trailing edge as a share of the tip thickness: beyond, the foil would grow thicker towards its back."""

HALF_DEPTH_U = 1.0 - np.sqrt(0.5)
"""Parameter of half the depth."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FinLines:
    """The lines of a fin, mm. x forward from the rear end of the base, z up from the base; u from 0 (base) to 1 (tip)
    with z = depth (2 u - u^2), so that edges which run straight in u meet in a round tip.
    """

    depth_mm: float
    leading: BSpline[np.float64]
    trailing: BSpline[np.float64]
    thickness_mm: float
    tip_thickness_mm: float
    trailing_edge_mm: float
    flat_inside: bool

    def height(self, u: ArrayLike) -> Array:
        """Return the height in mm above the base at parameters u."""
        u = np.asarray(u, dtype=np.float64)
        return np.asarray(self.depth_mm * u * (2.0 - u), dtype=np.float64)

    def parameter(self, z_mm: ArrayLike) -> Array:
        """Return u at heights in mm, 0 to depth."""
        return np.asarray(1.0 - np.sqrt(1.0 - np.asarray(z_mm, dtype=np.float64) / self.depth_mm), dtype=np.float64)

    def thickness(self, u: ArrayLike) -> Array:
        """Return the greatest thickness in mm of the section at u: a straight taper, rounded off at the tip."""
        z = self.height(u)
        taper = self.thickness_mm + (self.tip_thickness_mm - self.thickness_mm) * z / self.depth_mm
        return np.asarray(taper * self._tip(u), dtype=np.float64)

    def trailing_edge(self, u: ArrayLike) -> Array:
        """Return the thickness in mm of the trailing edge at u."""
        return self.trailing_edge_mm * self._tip(u)

    def _tip(self, u: ArrayLike) -> Array:
        distance = self.depth_mm * (1.0 - np.asarray(u, dtype=np.float64)) ** 2
        return closing(distance, TIP_ROUNDING * self.tip_thickness_mm)

    def face(self, u: ArrayLike, v: ArrayLike) -> Array:
        """Return points (..., 3) in mm of the outer face, u and v broadcast: v from the leading edge to the trailing
        edge's corner, then across the trailing edge to y = 0.
        """
        u, v = np.broadcast_arrays(np.asarray(u, dtype=np.float64), np.asarray(v, dtype=np.float64))
        chord = np.minimum(v / TRAILING_CORNER, 1.0) ** 2
        across = np.clip((1.0 - v) / (1.0 - TRAILING_CORNER), 0.0, 1.0)
        front, back = self.leading(u), self.trailing(u)
        y = half_thickness(chord, self.thickness(u), self.trailing_edge(u)) * across
        return np.stack(
            [front + (back - front) * chord, y * (2.0 if self.flat_inside else 1.0), self.height(u)], axis=-1
        )


def _edge(fin: Fin, *, base_x: float, bow_mm: float, tip_slope: float, bulging: bool) -> BSpline[np.float64]:
    """Return an edge x(u) through base end, half depth and tip, least in third derivative."""
    tip_x = fin.base_mm / 2 - fin.rake_mm
    basis = Basis.over(np.linspace(0.0, 1.0, SPANS + 1), DEGREE)
    equal = basis.meets([0.0, HALF_DEPTH_U, 1.0], [base_x, (base_x + tip_x) / 2 + bow_mm, tip_x])
    equal = equal.joined(basis.meets(1.0, tip_slope, 1))
    u = np.linspace(0.0, 1.0, SIGN_PLACES)
    turning = -basis.rows(u, 1) - (1.0 - u)[:, None] * basis.rows(u, 2)
    signs = Conditions(rows=turning, values=np.zeros(SIGN_PLACES)) if bulging else Conditions.none(basis.size)
    found, _ = least(basis.energy(3), equal=equal, at_least=signs)
    return basis.spline(found)


def fin_lines(fin: Fin) -> FinLines:
    """Return the lines of a fin.

    Raises
    ------
    SpecError
        If the leading edge would wiggle, the edges cross, or the trailing edge is too thick for the tip.
    """
    faults: list[Fault] = []

    def fault(path: KeyPath, value: str, problem: str, allowed: str, hint: str) -> None:
        faults.append(fin.source.fault(path, value, problem, allowed=allowed, hint=hint))

    if fin.trailing_edge_mm > LARGEST_TRAILING_EDGE * fin.tip_thickness_mm:
        fault(
            ("foil", "trailing_edge"),
            both(fin.trailing_edge_mm),
            "the trailing edge is too thick for the tip: the foil would thicken towards its back",
            f"up to {both(LARGEST_TRAILING_EDGE * fin.tip_thickness_mm)}, {LARGEST_TRAILING_EDGE:.0%} of the tip's",
            "a thinner trailing edge, or a thicker tip",
        )
    tip_slope = float(np.sqrt(2.0 * fin.depth_mm * fin.tip_radius_mm))
    bow = fin.leading_fullness * fin.depth_mm
    try:
        leading = _edge(fin, base_x=fin.base_mm, bow_mm=bow, tip_slope=-tip_slope, bulging=bow > 0.0)
    except NoFairLineError:
        fault(
            ("planform", "leading_fullness"),
            f"{fin.leading_fullness:g}",
            "the leading edge would have to wiggle",
            "",
            "more fullness, or a smaller tip radius",
        )
        raise SpecError(tuple(faults)) from None
    hollow = fin.trailing_hollow * fin.depth_mm
    trailing = _edge(fin, base_x=0.0, bow_mm=hollow, tip_slope=tip_slope, bulging=False)
    u = np.linspace(0.0, 1.0, 400)[:-1]
    chord = (leading(u) - trailing(u)) / (1.0 - u)
    if float(chord.min()) <= 0.1 * tip_slope:
        at = both(float(fin.depth_mm * u[int(chord.argmin())] * (2.0 - u[int(chord.argmin())])))
        fault(
            ("planform", "trailing_hollow"),
            f"{fin.trailing_hollow:g}",
            f"leading and trailing edge cross or nearly meet {at} above the base",
            "",
            "less hollow, more leading-edge fullness, or a longer base",
        )
    if faults:
        raise SpecError(tuple(faults))
    return FinLines(
        depth_mm=fin.depth_mm,
        leading=leading,
        trailing=trailing,
        thickness_mm=fin.thickness_mm,
        tip_thickness_mm=fin.tip_thickness_mm,
        trailing_edge_mm=fin.trailing_edge_mm,
        flat_inside=fin.foil == "flat",
    )
