"""Fin sections and planforms against published ordinates and closed forms, on lines and on the lofted surface."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import quad
from scipy.interpolate import make_interp_spline
from scipy.optimize import brentq, minimize_scalar
from scipy.special import ellipe

from bayloft.lines.fin import TRAILING_CORNER, FinLines, fin_lines
from bayloft.lines.foil import NATURAL_TRAILING_EDGE, foil, half_thickness
from bayloft.solid.body import Body
from bayloft.solid.fin import fin_body
from bayloft.solid.integrals import integrals
from bayloft.solid.surface import Surface, interpolated
from bayloft.spec.fins.fin import Fin, FoilKind
from bayloft.spec.text.source import Source

Array = NDArray[np.float64]

# Ordinates in percent of the chord, half-thickness: Abbott and von Doenhoff, Theory of Wing Sections, Appendix I, as
# recomputed by Public Domain Aeronautical Software (read in a public mirror of its documentation, profiles.rst); the
# book's own rows have misprints. Leading-edge radii stand beside them there.
STATIONS = [0, 0.5, 0.75, 1.25, 2.5, 5, 7.5, *range(10, 101, 5)]
# fmt: off
ORDINATES = {
    6: [0.0, 0.6107, 0.7424, 0.947, 1.3074, 1.7773, 2.1, 2.3414, 2.6726, 2.8688, 2.9706, 3.0009, 2.9743, 2.9015,
        2.7904, 2.647, 2.4762, 2.2817, 2.0662, 1.832, 1.5802, 1.3116, 1.0263, 0.7239, 0.4033, 0.063],
    8: [0.0, 0.8142, 0.9899, 1.2626, 1.7431, 2.3698, 2.7999, 3.1218, 3.5634, 3.825, 3.9608, 4.0012, 3.9657, 3.8687,
        3.7205, 3.5294, 3.3016, 3.0422, 2.755, 2.4426, 2.1069, 1.7487, 1.3684, 0.9651, 0.5377, 0.084],
    12: [0.0, 1.2213, 1.4849, 1.8939, 2.6147, 3.5547, 4.1999, 4.6828, 5.3452, 5.7375, 5.9412, 6.0017, 5.9486, 5.803,
         5.5807, 5.294, 4.9524, 4.5634, 4.1325, 3.6639, 3.1603, 2.6231, 2.0526, 1.4477, 0.8066, 0.126],
}
# fmt: on
LEADING_RADII = {6: 0.397, 8: 0.705, 12: 1.587}
PRINTED = 5e-5
"""Percent of the chord: half a unit of the last printed digit."""

# Exact integrals of the polynomial with its square root, computed with 30 digits; (open form, closed form). Area over
# thickness times chord, centroid over chord, second moments about the chord over t^3 c, station of the maximum.
AREA = (0.685083333333333, 0.680883333333333)
CENTROID = (0.42043547013745, 0.41788852715835)
SECOND = (0.039407457407871, 0.039218888140985)
FULLEST = (0.29982787807014, 0.29952843533054)
HIGHEST = 0.50014394239989

LEADING_RADIUS = 1.1019
"""Times t^2 c: NACA Report 824 (from memory); 25 x 0.2969^2 / 2 = 1.10187."""

ON_SURFACE_MM = 1e-5
"""mm by which a fin's surface leaves its lines away from its tip: a hundredth of what the loft promises anywhere."""

TIP = 1e-6
"""Relative, of volumes: what the rounding of the tip in thickness, of the kind of a square root, costs the spline."""


def open_form(chord: Array | float, thickness: float = 1.0) -> Array:
    return half_thickness(chord, thickness, NATURAL_TRAILING_EDGE * thickness)


@pytest.mark.parametrize("percent", ORDINATES)
def test_the_half_thickness_has_the_printed_ordinates(percent: int) -> None:
    found = 100.0 * open_form(np.array(STATIONS) / 100.0, percent / 100.0)
    assert found == pytest.approx(np.array(ORDINATES[percent]), rel=0.0, abs=1.01 * PRINTED)


@pytest.mark.parametrize("form", [0, 1])
def test_the_half_thickness_has_its_integrals(form: int) -> None:
    """With x = s^2 the form is a polynomial in s, so Gauss's rule of 24 points is exact."""
    nodes, weights = np.polynomial.legendre.leggauss(24)
    s, w = (nodes + 1) / 2, weights / 2
    x, dx = s * s, 2 * s * w
    y = half_thickness(x, 1.0, (NATURAL_TRAILING_EDGE, 0.0)[form])
    area = 2 * float((y * dx).sum())
    assert area == pytest.approx(AREA[form], rel=1e-14)
    assert 2 * float((y * x * dx).sum()) / area == pytest.approx(CENTROID[form], rel=1e-13)
    assert 2 / 3 * float((y**3 * dx).sum()) == pytest.approx(SECOND[form], rel=1e-13)
    trailing_edge = (NATURAL_TRAILING_EDGE, 0.0)[form]
    top = minimize_scalar(
        lambda at: -float(half_thickness(at, 1.0, trailing_edge)),
        bounds=(0.2, 0.4),
        method="bounded",
        options={"xatol": 1e-9},
    )
    # A maximum is found to the root of what its value is known to.
    assert top.x == pytest.approx(FULLEST[form], abs=1e-7)
    if form == 0:
        assert -top.fun == pytest.approx(HIGHEST, rel=1e-13)


def fin(thickness_mm: float, *, tip_mm: float = 4.0, trailing_mm: float = 0.0, kind: FoilKind = "double") -> Fin:
    return Fin(
        name="Trial",
        slug="trial",
        base_mm=120.0,
        depth_mm=130.0,
        rake_mm=70.0,
        leading_fullness=0.12,
        trailing_hollow=0.1,
        tip_radius_mm=9.0,
        foil=kind,
        thickness_mm=thickness_mm,
        tip_thickness_mm=tip_mm,
        trailing_edge_mm=trailing_mm,
        tab=None,
        assumed=(),
        source=Source(file="trial.toml", values={}, lines={}),
    )


def section_at(surface: Surface, z_mm: float, chord_shares: Array) -> tuple[float, Array]:
    """The chord in mm and y at shares of it, on the surface at a height: found by roots on the surface alone."""
    u = float(brentq(lambda u: float(surface.at(u, 0.3)[2]) - z_mm, 0.0, 1.0, xtol=1e-15))
    front, back = (float(surface.at(u, v)[0]) for v in (0.0, TRAILING_CORNER))
    places = []
    for share in chord_shares[1:-1]:
        x = front + share * (back - front)
        places.append(brentq(lambda v, x=x: float(surface.at(u, v)[0]) - x, 0.0, TRAILING_CORNER, xtol=1e-15))
    return front - back, surface.at(u, np.array([0.0, *places, TRAILING_CORNER]))[:, 1]


@pytest.mark.parametrize("percent", ORDINATES)
def test_a_lofted_fin_has_the_printed_section_at_half_height(percent: int) -> None:
    """The thickness runs straight from base to tip, so half-way it is the mean; the trailing edge keeps its own."""
    middle = fin_lines(fin(8.0)).depth_mm / 2
    chord, _ = section_at(fin_body(fin_lines(fin(8.0))).port, middle, np.array([0.0, 1.0]))
    thickness = percent / 100.0 * chord
    given = fin(2.0 * thickness - 4.0, trailing_mm=NATURAL_TRAILING_EDGE * thickness)
    surface = fin_body(fin_lines(given)).port
    again, y = section_at(surface, middle, np.array(STATIONS) / 100.0)
    assert again == pytest.approx(chord, abs=ON_SURFACE_MM)
    allowed = ON_SURFACE_MM + PRINTED / 100.0 * chord
    assert y == pytest.approx(np.array(ORDINATES[percent]) / 100.0 * chord, rel=0.0, abs=allowed)
    # Radius of curvature where the section turns: y_v^2 / |x_vv|, printed to 0.001 percent of the chord.
    u = float(fin_lines(given).parameter(middle))
    slope, bend = surface.at(u, 0.0, dv=1), surface.at(u, 0.0, dv=2)
    radius = slope[1] ** 2 / abs(bend[0])
    assert 100.0 * radius / chord == pytest.approx(LEADING_RADII[percent], abs=6e-4)
    assert radius == pytest.approx(LEADING_RADIUS * thickness**2 / chord, rel=3e-4)


@pytest.mark.parametrize("kind", ["double", "flat"])
def test_a_fin_has_the_volume_of_its_sections(kind: FoilKind) -> None:
    """Closed form of the section area times chord, and the trailing edge's x^4 term t_e c / 5, by scipy's quad over the
    height. A flat inside doubles one face and leaves out the other, so the volume is the same.
    """
    lines = fin_lines(fin(9.0, trailing_mm=0.6, kind=kind))
    found = integrals(fin_body(lines))

    def slice_volume(u: float) -> float:
        chord = float(lines.leading(u) - lines.trailing(u))
        area = (AREA[1] * float(lines.thickness(u)) + float(lines.trailing_edge(u)) / 5.0) * chord
        return area * lines.depth_mm * (2.0 - 2.0 * u)

    expected, _ = quad(slice_volume, 0.0, 1.0, epsrel=1e-12, limit=400)
    assert found.volume_mm3 == pytest.approx(expected, rel=TIP)
    y = found.centroid_mm[1]
    assert abs(y) < 1e-9 if kind == "double" else y > 1.0


# A half-ellipse of depth s and root chord c0: area pi s c0 / 4, mean chord pi c0 / 4, centroid 4 s / (3 pi) from the
# root: area and centroid read at ellipsair.com/analytic-geometry-planform; values computed here from the formulas.
DEPTH, ROOT = 115.0, 120.0
ELLIPTIC_AREA, MEAN_CHORD, ELLIPTIC_CENTROID = 10838.494654884786, 94.24777960769379, 48.80751588151457

ELLIPTIC_STEPS = 48
SPLINED = 1e-7
"""Relative: (1/48)^4 = 1.9e-7 times 5/384 for a cubic spline's bound, times fourth derivatives of some tens."""


def elliptic_half_chord(u: Array) -> Array:
    """Half the chord where the height is s (2 u - u^2): smooth in u, for w = 1 - u it is (c0/2) w sqrt(2 - w^2)."""
    left = 1.0 - u
    return ROOT / 2 * left * np.sqrt(2.0 - left**2)


def test_an_elliptic_plate_has_its_area_and_centroid() -> None:
    """A plate of even thickness with this plan; its perimeter 2 a E(e^2) by scipy's elliptic integral."""
    thick = 6.0

    def points(u: Array, v: Array) -> Array:
        across = np.minimum(np.minimum(v / 0.4, (1.0 - v) / 0.4), 1.0)
        z = thick * np.clip((v - 0.4) / 0.2, 0.0, 1.0)
        return np.stack(
            np.broadcast_arrays(DEPTH * u * (2.0 - u), elliptic_half_chord(u) * across, z + 0.0 * u), axis=-1
        )

    sites = np.linspace(0.0, 1.0, ELLIPTIC_STEPS + 1)
    body = Body(port=interpolated(points, sites, (0.0, 0.4, 0.6, 1.0), 3), end="wall", wall_corner=0.4)
    found = integrals(body)
    assert found.plan_area_mm2 == pytest.approx(ELLIPTIC_AREA, rel=SPLINED)
    assert found.plan_area_mm2 / DEPTH == pytest.approx(MEAN_CHORD, rel=SPLINED)
    assert found.volume_mm3 == pytest.approx(thick * np.pi * DEPTH * ROOT / 4, rel=SPLINED)
    assert found.centroid_mm[0] == pytest.approx(ELLIPTIC_CENTROID, rel=SPLINED)
    long, short = max(DEPTH, ROOT / 2), min(DEPTH, ROOT / 2)
    rim = 2.0 * long * float(ellipe(1.0 - (short / long) ** 2)) + ROOT
    assert found.area_mm2 == pytest.approx(2.0 * ELLIPTIC_AREA + thick * rim, rel=SPLINED)


def test_an_elliptic_fin_has_its_volume_and_mean_chord() -> None:
    """Fin lines of an elliptic planform with the closed section everywhere: thickness even but for the rounded tip, so
    the volume is 0.680883 times the integral of thickness and chord over the height.
    """
    u = np.linspace(0.0, 1.0, 65)
    half = elliptic_half_chord(u)
    lines = FinLines(
        depth_mm=DEPTH,
        leading=make_interp_spline(u, half, k=5),
        trailing=make_interp_spline(u, -half, k=5),
        thickness_mm=7.0,
        tip_thickness_mm=7.0,
        trailing_edge_mm=0.0,
        foil=foil("double"),
    )

    def sliced(u: float, power: int) -> float:
        z = DEPTH * u * (2.0 - u)
        chord = ROOT * np.sqrt(max(1.0 - (z / DEPTH) ** 2, 0.0))
        return float(lines.thickness(u)) * chord * z**power * DEPTH * (2.0 - 2.0 * u)

    found = integrals(fin_body(lines))
    volume, moment = (quad(sliced, 0.0, 1.0, args=(power,), epsrel=1e-11, limit=400)[0] for power in (0, 1))
    assert found.volume_mm3 == pytest.approx(AREA[1] * volume, rel=TIP)
    assert found.centroid_mm[2] == pytest.approx(moment / volume, rel=TIP)
    # Below the rounding the closed forms hold untouched: most of the fin is there.
    assert found.volume_mm3 == pytest.approx(AREA[1] * 7.0 * ELLIPTIC_AREA, rel=0.02)
    # The section's centroid lies 0.41789 of the chord behind the leading edge, chords halved by x = 0.
    weighted, _ = quad(
        lambda u: sliced(u, 0) * (0.5 - CENTROID[1]) * 2.0 * float(elliptic_half_chord(np.array(u))), 0, 1, limit=400
    )
    assert found.centroid_mm[0] == pytest.approx(weighted / volume, rel=10 * TIP)
