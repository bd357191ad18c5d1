"""Figures of a planform against an ellipse's closed forms, and of every demo fin against shapely."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from scipy.interpolate import make_interp_spline
from shapely import LineString, Polygon

from bayloft.lines.fin import FinLines, fin_lines
from bayloft.lines.foil import foil
from bayloft.lines.planform_figures import planform_figures
from bayloft.spec.fins.fin import Family, Fin
from bayloft.spec.fins.fin_forms import FAMILIES
from bayloft.spec.loading import load_fin

SPECS = Path(__file__).parents[2] / "specs"
FINS = sorted((SPECS / "fins").glob("*.toml"))

# Half-ellipse of depth s, root chord c0: S = pi s c0 / 4, mean chord pi c0 / 4, aerodynamic mean chord 8 c0 / (3 pi),
# centroid 4 s / (3 pi) from the root, aspect ratio with its image 8 s / (pi c0). Area and centroid read at
# ellipsair.com/analytic-geometry-planform; the aerodynamic mean chord from memory; numbers computed here.
DEPTH, ROOT = 115.0, 120.0
AREA, MEAN_CHORD, AERODYNAMIC, CENTROID = 10838.494654884786, 94.2477796076938, 101.85916357881301, 48.80751588151457
SINGLE, WITH_IMAGE = 1.2201878970378643, 2.4403757940757287
SPLINED = 1e-9
"""Relative: a quintic spline over 64 even steps leaves the smooth edge by some 1e-11 of the chord."""


@pytest.mark.parametrize("lean", [0.0, 0.4])
def test_an_elliptic_fin(lean: float) -> None:
    """Straight quarter-chord line, upright or leaning aft by `lean` mm per mm of height."""
    u = np.linspace(0.0, 1.0, 65)
    chord = ROOT * (1.0 - u) * np.sqrt(2.0 - (1.0 - u) ** 2)
    quarter = -lean * DEPTH * u * (2.0 - u)
    lines = FinLines(
        depth_mm=DEPTH,
        leading=make_interp_spline(u, quarter + chord / 4, k=5),
        trailing=make_interp_spline(u, quarter - 3 * chord / 4, k=5),
        thickness_mm=6.0,
        tip_thickness_mm=2.0,
        trailing_edge_mm=1.0,
        foil=foil("double"),
    )
    found = planform_figures(lines)
    assert found.area_mm2 == pytest.approx(AREA, rel=SPLINED)
    assert found.aspect_ratio == pytest.approx(SINGLE, rel=SPLINED)
    assert found.aspect_ratio_with_image == pytest.approx(WITH_IMAGE, rel=SPLINED)
    assert found.mean_chord_mm == pytest.approx(MEAN_CHORD, rel=SPLINED)
    assert found.aerodynamic_mean_chord_mm == pytest.approx(AERODYNAMIC, rel=SPLINED)
    assert found.centre_of_area_mm[1] == pytest.approx(CENTROID, rel=SPLINED)
    # Half a chord behind its front lies a quarter of it behind the quarter chord; chords weighted by themselves.
    assert found.centre_of_area_mm[0] == pytest.approx(-lean * CENTROID - AERODYNAMIC / 4, rel=1e-8)
    assert found.sweep_deg == pytest.approx(np.degrees(np.arctan(lean)), abs=1e-6)


def against_shapely(fin: Fin) -> None:
    lines = fin_lines(fin)
    found = planform_figures(lines)
    u = np.linspace(0.0, 1.0, 20_001)
    z = lines.height(u)
    front, back = np.stack([lines.leading(u), z], 1), np.stack([lines.trailing(u), z], 1)
    ring = Polygon(np.concatenate([front, back[-2::-1]]))
    assert ring.is_valid
    # Chords of 20 000 steps leave an edge of this size by some 1e-6 mm at most.
    assert found.area_mm2 == pytest.approx(ring.area, rel=1e-7)
    assert found.centre_of_area_mm == pytest.approx((ring.centroid.x, ring.centroid.y), abs=1e-4)
    assert found.aspect_ratio == pytest.approx(fin.depth_mm**2 / ring.area, rel=1e-7)
    # Mean chords by level cuts of shapely's own.
    levels = (np.arange(400) + 0.5) * fin.depth_mm / 400
    cuts = np.array([ring.intersection(LineString([[-900.0, at], [900.0, at]])).length for at in levels])
    assert found.mean_chord_mm == pytest.approx(cuts.mean(), rel=2e-4)
    assert found.aerodynamic_mean_chord_mm == pytest.approx((cuts**2).sum() / cuts.sum(), rel=2e-4)


@pytest.mark.parametrize("path", FINS, ids=lambda path: path.stem)
def test_demo_fins_have_the_figures_of_their_polygons(path: Path) -> None:
    against_shapely(load_fin(path))


@pytest.mark.parametrize("family", FAMILIES)
def test_families_have_the_figures_of_their_polygons(family: Family) -> None:
    usual, fin = FAMILIES[family], load_fin(SPECS / "fins" / "avocet-single.toml")
    against_shapely(
        replace(
            fin,
            family=family,
            leading_fullness=usual.leading_fullness,
            trailing_hollow=usual.trailing_hollow,
            tip_radius_mm=usual.tip_radius * fin.depth_mm,
            tip_width_mm=usual.tip_width and usual.tip_width * fin.depth_mm,
            base_fillet_mm=5.0,
        )
    )
