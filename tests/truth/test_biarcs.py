"""Biarc fits against published orders, closed forms, and shapely's distances on dense flattenings."""

import math
import os
import re
import subprocess
import sys
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.interpolate import make_interp_spline
from scipy.special import ellipe
from shapely import LineString, Polygon

from bayloft.plane.biarcs import Curve, Stretch, biarcs, fitted
from bayloft.plane.contour import Contour
from bayloft.tolerances import SHORTEST_CUT_MM

Array = NDArray[np.float64]

TOLERANCE_MM = 0.02
FLATTENING_MM = 1e-5


def ellipse(a: float, b: float) -> Curve:
    return lambda t: (
        np.column_stack([a * np.cos(t), b * np.sin(t)]),
        np.column_stack([-a * np.sin(t), b * np.cos(t)]),
    )


def line(ends: list[list[float]]) -> Curve:
    start, end = np.array(ends)
    return lambda t: (start + np.outer(t, end - start), np.tile(end - start, (len(t), 1)))


def spline(points: list[list[float]], parameters: list[float]) -> Curve:
    curve = make_interp_spline(parameters, points, k=5)
    slope = curve.derivative()
    return lambda t: (curve(t), slope(t))


def outline(t: Array) -> tuple[Array, Array]:
    """A half-outline round at both ends, x with zero speed there and the width with its own."""
    x, speed = 2235.0 * (3 * t**2 - 2 * t**3), 2235.0 * 6 * (t - t**2)
    width = t * (1 - t) * (900 + 300 * t)
    return np.column_stack([x, width]), np.column_stack([speed, 900 - 1200 * t - 900 * t**2])


def cusped(t: Array) -> tuple[Array, Array]:
    """A parabola run through as t^2: no speed at t = 0, where the direction tends to +x."""
    return np.column_stack([200 * t**2, 60 * t**4]), np.column_stack([np.full_like(t, 400.0), 240 * t**2])


def greatest_distance(contour: Contour, curve: Curve, start: float, end: float) -> float:
    points, _ = curve(np.linspace(start, end, 4001))
    return float(shapely.distance(LineString(contour.flattened(FLATTENING_MM)), shapely.points(points)).max())


SPLINE = spline(
    [[0, 0], [150, 140], [600, 250], [1200, 262], [1700, 210], [2100, 80], [2235, 0]],
    [0, 0.08, 0.3, 0.55, 0.78, 0.94, 1],
)
REFLEX = spline([[0, 0], [300, 40], [600, -30], [900, 20], [1200, 0], [1500, 60]], [0, 0.2, 0.4, 0.6, 0.8, 1])
CURVES: dict[str, tuple[Curve, float, float]] = {
    "half ellipse": (ellipse(1100.0, 260.0), 0.0, math.pi),
    "ellipse, clockwise": (ellipse(1100.0, -260.0), 0.0, 2 * math.pi),
    "round-ended outline": (outline, 0.0, 1.0),
    "interpolating spline": (SPLINE, 0.0, 1.0),
    "reflexes": (REFLEX, 0.0, 1.0),
    "cusp at its start": (cusped, 0.0, 1.0),
    "straight": (line([[10, 20], [800, -90]]), 0.0, 1.0),
}


def test_the_error_of_a_biarc_falls_with_the_cube_of_its_length() -> None:
    # Order h^3: D. S. Meek, D. J. Walton, J. Comput. Appl. Math. 59 (1995), from memory. The errors below are those of
    # an equal-distance biarc on the ellipse 2:1 from parameter 0.5, computed apart from this code; their own sampling
    # leaves them 3e-5 (relative) low.
    steps = [0.4, 0.2, 0.1, 0.05]
    published = [0.0010683208, 0.000112804155, 1.2420491e-05, 1.4415319e-06]
    curve, errors = ellipse(2.0, 1.0), []
    for step in steps:
        points, tangents = curve(np.array([0.5, 0.5 + step]))
        tangents /= np.hypot(*tangents.T)[:, None]
        joints, bulges = biarcs(points[:1], tangents[:1], points[1:], tangents[1:])
        biarc = Contour(points=[points[0], joints[0], points[1]], bulges=[*bulges[0], 0.0], closed=False)
        samples, _ = curve(np.linspace(0.5, 0.5 + step, 1001))
        errors.append(shapely.distance(LineString(biarc.flattened(1e-10)), shapely.points(samples)).max())
    assert errors == pytest.approx(published, rel=1e-4)
    ratios = np.divide(errors[:-1], errors[1:])
    assert ratios == pytest.approx([9.4706, 9.0821, 8.6162], rel=2e-3)
    assert abs(ratios[-1] - 8) < 1


@pytest.mark.parametrize("tolerance_mm", [0.5, TOLERANCE_MM, 0.001])
@pytest.mark.parametrize("name", CURVES)
def test_no_curve_leaves_its_arcs_by_more_than_the_tolerance(name: str, tolerance_mm: float) -> None:
    contour = fitted([CURVES[name]], tolerance_mm)
    deviation = greatest_distance(contour, *CURVES[name])
    assert deviation <= tolerance_mm + FLATTENING_MM
    if name != "straight":
        assert deviation > 0.5 * tolerance_mm, "the tolerance is not used"


@pytest.mark.parametrize("name", CURVES)
def test_every_other_point_lies_on_the_curve_and_the_ends_are_its_ends(name: str) -> None:
    curve, start, end = CURVES[name]
    contour = fitted([CURVES[name]], TOLERANCE_MM)
    dense = LineString(curve(np.linspace(start, end, 200_001))[0])
    assert shapely.distance(dense, shapely.points(contour.points[::2])).max() < 1e-4
    ends, _ = curve(np.array([start, end]))
    assert contour.points[[0, -1]] == pytest.approx(ends, abs=1e-12)
    assert not contour.closed


@pytest.mark.parametrize("name", CURVES)
def test_arcs_meet_without_a_corner(name: str) -> None:
    contour = fitted([CURVES[name]], TOLERANCE_MM)
    chords, half_sweeps = np.diff(contour.points, axis=0), 2 * np.arctan(contour.bulges[:-1])
    headings = np.arctan2(chords[:, 1], chords[:, 0])
    corners = (headings[1:] - half_sweeps[1:]) - (headings[:-1] + half_sweeps[:-1])
    assert np.abs(np.remainder(corners + np.pi, 2 * np.pi) - np.pi).max(initial=0.0) < 1e-4


def test_an_ellipse_has_its_perimeter_and_area() -> None:
    a, b = 1100.0, 260.0
    chain = fitted([(ellipse(a, b), 0.0, 2 * math.pi)], TOLERANCE_MM)
    contour = Contour.joined(chain, closed=True)
    perimeter = 4 * a * ellipe(1 - (b / a) ** 2)  # Abramowitz & Stegun 17.3.3
    # The two arcs of a biarc leave the curve on opposite sides: more than half of tolerance x perimeter cancels.
    assert contour.area_mm2 == pytest.approx(math.pi * a * b, abs=0.5 * TOLERANCE_MM * perimeter)
    assert contour.length_mm == pytest.approx(perimeter, abs=TOLERANCE_MM)
    dense = Polygon(contour.flattened(FLATTENING_MM))
    assert contour.area_mm2 == pytest.approx(dense.area, abs=FLATTENING_MM * perimeter)
    # Both ways round, on polygons that are themselves within 0.001 mm of their curves.
    exact = Polygon(ellipse(a, b)(np.linspace(0, 2 * math.pi, 4001)[:-1])[0])
    assert 0.8 * TOLERANCE_MM < Polygon(contour.flattened(1e-3)).hausdorff_distance(exact) < TOLERANCE_MM + 2e-3


def test_an_outline_takes_few_arcs() -> None:
    # Equal deviations make the fewest arcs, two for each interval: integral of (|dk/ds| / (324 tol))^(1/3) ds, where
    # 1/324 is the crest of an equal-distance biarc on a curve of steadily changing curvature (worked out by hand). The
    # fit may use 15 % more for its margin and for what is not steady.
    t = np.linspace(0, math.pi, 20_001)
    speed = np.hypot(1100.0 * np.sin(t), 260.0 * np.cos(t))
    curvature = 1100.0 * 260.0 / speed**3
    change = np.abs(np.gradient(curvature, t)) / speed
    fewest = 2 * np.trapezoid(np.cbrt(change / (324 * 1e-4)) * speed, t)
    assert fewest < len(fitted([CURVES["half ellipse"]], 1e-4).points) - 1 < 1.15 * fewest
    assert 40 <= len(fitted([CURVES["half ellipse"]], TOLERANCE_MM).points) - 1 <= 60
    assert 30 <= len(fitted([CURVES["interpolating spline"]], TOLERANCE_MM).points) - 1 <= 60


def rounded_fits() -> str:
    """Return all the fits to the last decimal that a file keeps."""
    contours = [fitted([stretch], TOLERANCE_MM) for stretch in CURVES.values()]
    return repr([(np.round(contour.points, 6).tolist(), np.round(contour.bulges, 10).tolist()) for contour in contours])


def test_another_processor_fits_the_same_arcs() -> None:
    # Vector units round differently in the last bits; a fit that counts or places by such bits would move its arcs.
    extensions = np.show_config(mode="dicts")["SIMD Extensions"].get("found", [])
    script = "import runpy, sys; print(runpy.run_path(sys.argv[1])['rounded_fits'](), end='')"
    settings = os.environ | {"NPY_DISABLE_CPU_FEATURES": " ".join(extensions)}
    command = [sys.executable, "-c", script, __file__]
    done = subprocess.run(command, env=settings, capture_output=True, text=True, check=True)
    assert done.stdout == rounded_fits()


def test_corners_stay_where_stretches_meet() -> None:
    stretches: list[Stretch] = [
        (line([[0, 0], [50, 0]]), 0.0, 1.0),
        (ellipse(50.0, 30.0), 0.0, math.pi),
        (line([[-50, 0], [-80, 0]]), 0.0, 1.0),
    ]
    contour = fitted(stretches, TOLERANCE_MM)
    assert contour.points[0].tolist() == [0, 0]
    assert contour.points[1] == pytest.approx([50, 0], abs=1e-12)
    assert contour.bulges[0] == 0.0
    assert contour.points[-2] == pytest.approx([-50, 0], abs=1e-12)
    assert greatest_distance(contour, ellipse(50.0, 30.0), 0.0, math.pi) <= TOLERANCE_MM + FLATTENING_MM


def test_a_straight_stretch_is_one_line() -> None:
    contour = fitted([CURVES["straight"]], TOLERANCE_MM)
    assert contour.points.tolist() == [[10, 20], [800, -90]]
    assert contour.bulges.tolist() == [0, 0]


@pytest.mark.parametrize("tip_radius_mm", [0.01, 0.02, 0.04, 0.07, 0.1, 0.15, 0.3])
@pytest.mark.parametrize("length_mm", [300.0, 965.0, 2235.0])
def test_a_sharp_round_end_has_no_segment_too_short_to_be_cut(length_mm: float, tip_radius_mm: float) -> None:
    # The end of an ellipse has the radius b^2 / a. A file without arcs of a quarter turn cuts them into halves.
    a = length_mm / 2
    curve = ellipse(a, math.sqrt(tip_radius_mm * a))
    contour = fitted([(curve, 0.0, math.pi)], TOLERANCE_MM)
    parts = contour.divided(60.0)
    assert np.hypot(*np.diff(parts.points, axis=0).T).min() >= SHORTEST_CUT_MM
    assert greatest_distance(contour, curve, 0.0, math.pi) <= TOLERANCE_MM + FLATTENING_MM
    assert greatest_distance(contour, curve, 0.0, 0.05) <= TOLERANCE_MM + FLATTENING_MM
    back = shapely.points(contour.flattened(1e-3))
    dense = LineString(curve(math.pi * (1 - np.cos(np.linspace(0, math.pi, 40_001))) / 2)[0])
    assert shapely.distance(dense, back).max() <= TOLERANCE_MM + 1e-3


def test_what_cannot_be_merged_within_tolerance_stays_short() -> None:
    curve = ellipse(400.0, 5.0)
    contour = fitted([(curve, 0.0, math.pi)], 1e-4)
    assert np.hypot(*np.diff(contour.points, axis=0).T).min() < SHORTEST_CUT_MM
    assert greatest_distance(contour, curve, 0.0, math.pi) <= 1e-4 + FLATTENING_MM


def jumping(t: Array) -> tuple[Array, Array]:
    return np.column_stack([t, np.where(t < 0.3, 0.0, 5.0)]), np.tile([1.0, 0.0], (len(t), 1))


def standing(t: Array) -> tuple[Array, Array]:
    return cusped(t)[0], cusped(t)[1] * t[:, None]


def backwards(t: Array) -> tuple[Array, Array]:
    return ellipse(100.0, 50.0)(t)[0], -ellipse(100.0, 50.0)(t)[1]


@pytest.mark.parametrize(
    ("stretches", "tolerance_mm", "reason"),
    [
        ([(outline, 0.0, 1.0)], 0.0, "tolerance above 0"),
        ([(outline, 0.0, 1.0)], math.nan, "tolerance above 0"),
        ([], TOLERANCE_MM, "at least one"),
        ([(outline, 1.0, 0.0)], TOLERANCE_MM, "up to a greater"),
        ([(outline, 0.0, 0.4), (outline, 0.5, 1.0)], TOLERANCE_MM, "mm apart"),
        (
            [(lambda t: (cusped(t)[0], cusped(t)[1] * t[:, None]), 0.0, 1.0)],
            TOLERANCE_MM,
            "no direction at parameter 0$",
        ),
        ([(lambda t: (cusped(t)[0] / 0.0, cusped(t)[1]), 1.0, 2.0)], TOLERANCE_MM, "no finite point"),
        ([(jumping, 0.0, 1.0)], TOLERANCE_MM, r"near parameter 0\.(3|29999)"),
        ([(backwards, 0.0, 1.0)], TOLERANCE_MM, "tangents are false"),
    ],
)
@pytest.mark.filterwarnings("ignore:divide by zero")
def test_what_cannot_be_fitted_is_refused(stretches: list[Stretch], tolerance_mm: float, reason: str) -> None:
    with pytest.raises(ValueError, match=re.compile(reason)):
        fitted(stretches, tolerance_mm)


def test_a_fit_asks_the_curve_few_times() -> None:
    calls = 0

    def counted(curve: Curve) -> Callable[[Array], tuple[Array, Array]]:
        def call(t: Array) -> tuple[Array, Array]:
            nonlocal calls
            calls += 1
            return curve(t)

        return call

    fitted([(counted(SPLINE), 0.0, 1.0)], TOLERANCE_MM)
    assert 3 <= calls <= 16, "intervals are to be measured level by level, all at once"
