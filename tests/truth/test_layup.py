"""Laminates against published values and closed forms; ply lines against foils whose contours are known."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.polynomial import Polynomial
from numpy.typing import NDArray
from scipy.integrate import quad

from bayloft.drawing.curves.ply_lines import ply_lines
from bayloft.laminating.core import core_volume_mm3
from bayloft.laminating.laminate import laminate
from bayloft.laminating.layup import fin_layup, fin_panel, ply_planes_mm
from bayloft.lines.fin import TRAILING_CORNER, FinLines, fin_lines
from bayloft.lines.foil import half_thickness
from bayloft.solid.body import Body
from bayloft.solid.fin import fin_body
from bayloft.solid.integrals import integrals
from bayloft.solid.surface import interpolated
from bayloft.spec.fins.fin import Fin
from bayloft.spec.fins.layup import USUAL, Core
from bayloft.spec.loading import load_fin
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import cloth_g_m2, density_kg_m3, mass_g

Array = NDArray[np.float64]

SPECS = Path(__file__).parents[2] / "specs"
FINS = tuple(sorted(path.stem for path in (SPECS / "fins").glob("*.toml")))

# Pairs printed in a table of weights and measures for composites (cci.one, design tips, read); 0.5 g/m2 is half a unit
# of their last digit. The factor: 28.349523125 g (international ounce) over 0.83612736 m2 (international yard),
# computed with pint.
PRINTED = {2.3: 78, 5.0: 170, 5.8: 197, 6.0: 203, 9.0: 305}
G_M2_PER_OZ_YD2 = 33.9057474748823

# E-glass and polyester, densities 2.56 (from memory) and 1.20 (read on a maker's data sheet): thickness of a cured ply
# in mm by cloth and glass by mass, and glass by volume. Computed values, not printed ones: no published table of cured
# plies was at hand. They come from the same relation, t = w / (rho V) of MIL-HDBK-17 (from memory, unverified), worked
# out apart from this code.
MASS_SHARES = (0.4, 0.45, 0.5, 0.55)
VOLUME_SHARES = (0.2381, 0.2772, 0.3191, 0.3642)
CURED_MM = {
    4.0: (0.2225, 0.1911, 0.166, 0.1454),
    6.0: (0.3338, 0.2867, 0.249, 0.2182),
    7.5: (0.4172, 0.3583, 0.3112, 0.2727),
    10.0: (0.5563, 0.4778, 0.415, 0.3636),
}
LAST_DIGIT = 5.001e-5

SKIN_MM = 1e-3
"""A fin's surface leaves its lines by less (solid/fin.py)."""


@pytest.mark.parametrize("ounces", PRINTED)
def test_cloth_weights_are_the_printed_ones(ounces: float) -> None:
    assert cloth_g_m2(f"{ounces} oz") == pytest.approx(PRINTED[ounces], abs=0.5)
    assert cloth_g_m2(f"{ounces} oz/yd2") == pytest.approx(ounces * G_M2_PER_OZ_YD2, rel=1e-14)


def test_the_ways_to_write_a_weight_mean_the_same() -> None:
    assert cloth_g_m2("250 g") == cloth_g_m2("250 g/m²") == cloth_g_m2("250 gsm") == 250.0
    assert cloth_g_m2("7 1/2 oz/yd²") == cloth_g_m2("7.5oz") == USUAL.cloth_g_m2
    assert density_kg_m3("1.2 g/cm3") == density_kg_m3("1200 kg/m³") == 1200.0
    # 1 lb/ft3 = 0.45359237 / 0.3048^3 kg/m3, exact: international pound and foot, from memory.
    assert density_kg_m3("1 lb/ft3") == pytest.approx(16.018463373960142, rel=1e-15)
    assert mass_g("0.3 kg") == mass_g("300 g") == 300.0
    assert mass_g("1 lb") == pytest.approx(16 * mass_g("1 oz"), rel=1e-15)


@pytest.mark.parametrize("ounces", CURED_MM)
@pytest.mark.parametrize("place", range(4))
def test_a_cured_ply_has_its_thickness(ounces: float, place: int) -> None:
    share = MASS_SHARES[place]
    found = laminate(replace(USUAL, cloth_g_m2=cloth_g_m2(f"{ounces} oz"), fibre_share=share))
    assert found.ply_mm == pytest.approx(CURED_MM[ounces][place], abs=LAST_DIGIT)
    # ISO 12215-5, thickness of a laminate (form from memory): t = w / 3072 (2.56 / m - 1.36), w in g/m2.
    iso = ounces * G_M2_PER_OZ_YD2 / 3072.0 * (2.56 / share - 1.36)
    assert found.ply_mm == pytest.approx(iso, rel=1e-12)
    assert found.glass_g_m2 / (2560.0 * found.ply_mm) == pytest.approx(VOLUME_SHARES[place], abs=LAST_DIGIT)


@pytest.mark.parametrize("place", range(4))
def test_a_laminate_has_the_density_of_its_parts(place: int) -> None:
    """Rule of mixtures by volume: from memory."""
    found = laminate(replace(USUAL, fibre_share=MASS_SHARES[place]))
    volume = VOLUME_SHARES[place]
    assert found.density_kg_m3 == pytest.approx(volume * 2560.0 + (1 - volume) * 1200.0, rel=1e-4)
    assert found.glass_g_m2 / (found.glass_g_m2 + found.resin_g_m2) == pytest.approx(MASS_SHARES[place], rel=1e-12)


def test_a_usual_fin_panel_has_the_plies_of_the_trade() -> None:
    """About 25 to 35 plies of 7.5 oz cloth make a panel of 9 to 10 mm: common practice, no source."""
    for thickness in (9.0, 9.5, 10.0):
        assert 25 <= thickness / laminate(USUAL).ply_mm <= 35


def read(name: str) -> tuple[Fin, FinLines, Body]:
    fin = load_fin(SPECS / "fins" / f"{name}.toml")
    lines = fin_lines(fin)
    return fin, lines, fin_body(lines)


def test_the_panel_of_a_fin_by_hand() -> None:
    """Whimbrel flex: base 7 in, depth 9.5 in, no tab, margin 3/4 in; 31 plies of 0.31124 mm for 9.5 mm."""
    fin, lines, body = read("whimbrel-flex")
    panel = fin_panel(fin, lines)
    assert panel.plies == 31
    assert panel.thickness_mm == pytest.approx(31 * 0.311244, abs=31 * 1e-6)
    assert panel.ground_mm == pytest.approx(panel.thickness_mm - 9.5, abs=1e-12)
    assert panel.size_mm[1] == np.ceil(9.5 * 25.4 + 2 * 19.05)
    rear = min(float(x) for x in body.port.grid(np.linspace(0, 1, 5001), [1.0])[:, 0, 0])
    assert panel.corner_mm == pytest.approx((rear - 19.05, -19.05), abs=1e-3)
    assert 0.0 <= panel.size_mm[0] - (7 * 25.4 - rear + 2 * 19.05) < 1.001
    laid = fin_layup(fin, lines, body, integrals(body))
    area_m2 = panel.size_mm[0] * panel.size_mm[1] / 1e6
    assert laid.cloth_g == pytest.approx(31 * 254.293 * area_m2, rel=1e-5)
    assert laid.resin_g == pytest.approx(laid.cloth_g, rel=1e-12)  # as much resin as glass
    assert laid.panel_g == pytest.approx(area_m2 * panel.thickness_mm * laminate(fin.layup).density_kg_m3, rel=1e-12)
    # A laminate of even parts by mass: 2 / (1 / 2560 + 1 / 1200) kg/m3.
    assert laid.finished_g == pytest.approx(integrals(body).volume_mm3 * 2.0 / (1 / 2.56 + 1 / 1.2) / 1e3, rel=1e-12)
    assert laid.waste_g == pytest.approx(laid.panel_g - laid.finished_g, abs=1e-9)


@pytest.mark.parametrize("name", ["whimbrel-flex", "turnstone-keel"])
@pytest.mark.parametrize("skins_mm", [0.0, 1.3, 3.7, 20.0])
def test_a_core_has_the_volume_that_its_skins_leave(name: str, skins_mm: float) -> None:
    """The lines' own sections less the skins, by scipy's quad over chord and height."""
    _, lines, body = read(name)

    def section(u: float) -> float:
        t, edge = float(lines.thickness(u)), float(lines.trailing_edge(u))
        chord = float(lines.leading(u) - lines.trailing(u))

        def left(x: float) -> float:
            return max(2.0 * float(half_thickness(x, t, edge)) - skins_mm, 0.0)

        return quad(left, 0.0, 1.0, epsabs=1e-6, limit=200)[0] * chord * lines.depth_mm * 2.0 * (1.0 - u)

    u, weights = np.polynomial.legendre.leggauss(60)
    expected = sum(w / 2 * section((at + 1) / 2) for at, w in zip(u, weights, strict=True))
    found = core_volume_mm3(body, skins_mm)
    assert found == pytest.approx(expected, rel=3e-4, abs=1e-9)
    if skins_mm == 0.0:
        assert found == pytest.approx(integrals(body).volume_mm3, rel=1e-6)


def test_a_core_fin_is_glass_outside_and_wood_inside() -> None:
    fin, lines, body = read("turnstone-keel")
    assert fin.core is not None
    exact = integrals(body)
    laid = fin_layup(fin, lines, body, exact)
    of = laminate(fin.layup)
    skins = laid.panel.plies * of.ply_mm
    assert laid.core_mm3 == core_volume_mm3(body, skins)
    glass = (exact.volume_mm3 - laid.core_mm3) * of.density_kg_m3 / 1e6
    assert laid.finished_g == pytest.approx(glass + laid.core_mm3 * 340.0 / 1e6, rel=1e-12)
    assert laid.core_g == pytest.approx(laid.panel.area_m2 * 6.35 * 340.0, rel=1e-12)
    # A core as dense as the skins makes the fin of one stuff.
    heavy = replace(fin, core=replace(fin.core, density_kg_m3=of.density_kg_m3))
    whole = fin_layup(replace(fin, core=None), lines, body, exact)
    assert fin_layup(heavy, lines, body, exact).finished_g == pytest.approx(whole.finished_g, rel=1e-12)


# A foil that is a paraboloid: y = h (1 - x^2 / a^2 - z^2 / b^2) over an elliptic plan. A ply at y = k is the ellipse
# x^2 / a^2 + z^2 / b^2 = 1 - k / h, whatever the parameters of the surface.
HALF_BASE, DEPTH, FULLEST = 60.0, 110.0, 5.0


def paraboloid(*, inside: float | None) -> Body:
    """Return the body; its inside mirrored (None), or `inside` times as full as its outer face, on the same side."""

    def face(u: Array, v: Array, full: float) -> Array:
        u, v = np.broadcast_arrays(u, v)
        left = 1.0 - u
        across = left * np.sqrt(2.0 - left**2)
        chord = np.minimum(v / TRAILING_CORNER, 1.0) ** 2
        y = full * FULLEST * across**2 * 4.0 * chord * (1.0 - chord)
        return np.stack([HALF_BASE * across * (1.0 - 2.0 * chord), y, DEPTH * u * (2.0 - u)], axis=-1)

    sites, joints = np.linspace(0.0, 1.0, 81), (0.0, TRAILING_CORNER, 1.0)
    port = interpolated(lambda u, v: face(u, v, 1.0), sites, joints, 40)
    if inside is None:
        return Body(port=port, end="face")
    return Body(port=port, starboard=interpolated(lambda u, v: face(u, v, inside), sites, joints, 40), end="face")


def off_ellipse(points: Array, share: float) -> float:
    """Return the greatest distance in mm of points from the ellipse, to first order: value over gradient."""
    x, z = points[:, 0] / HALF_BASE, points[:, 1] / DEPTH
    value = x**2 + z**2 - share
    return float(np.abs(value / (2.0 * np.hypot(x / HALF_BASE, z / DEPTH))).max())


@pytest.mark.parametrize("planes", [np.arange(-7, 8) * 0.61, (np.arange(-8, 8) + 0.5) * 0.61], ids=["even", "odd"])
def test_ply_lines_of_a_paraboloid_are_ellipses(planes: Array) -> None:
    found = ply_lines(paraboloid(inside=None), planes[planes != 0.0])
    asked = planes[(planes > 0.0) & (planes < FULLEST)]
    assert [line.level_mm for line in found] == asked.tolist()
    for line in found:
        (contour,) = line.contours
        share = 1.0 - line.level_mm / FULLEST
        assert off_ellipse(contour.flattened(1e-3), share) <= ARC_FIT_MM
        # At the base the ellipse is as wide as its half axes are.
        ends = np.sort(contour.points[[0, -1], 0])
        assert ends == pytest.approx(HALF_BASE * np.sqrt(share) * np.array([-1.0, 1.0]), abs=SKIN_MM)
        assert contour.bounds[3] == pytest.approx(DEPTH * np.sqrt(share), abs=ARC_FIT_MM)


def test_a_hollow_inside_has_ply_lines_of_its_own() -> None:
    """The planes are counted from where the inside reaches furthest out, its rim: y = 0."""
    body = paraboloid(inside=0.3)
    fin, lines, _ = read("whimbrel-flex")
    planes = ply_planes_mm(fin_panel(fin, lines), body)
    ply = laminate(fin.layup).ply_mm
    assert planes == pytest.approx(ply * np.arange(1, 31), abs=1e-6)
    inside = ply_lines(body, planes, "inside")
    assert sorted(-line.level_mm for line in inside) == pytest.approx([k * ply for k in (1, 2, 3, 4)], abs=1e-6)
    for line in inside:
        share = 1.0 + line.level_mm / (0.3 * FULLEST)
        assert off_ellipse(np.concatenate([c.flattened(1e-3) for c in line.contours]), share) <= ARC_FIT_MM


@pytest.mark.parametrize(("name", "faces"), [("whimbrel-flex", 2.0), ("dunlin-side", 1.0)])
def test_ply_lines_start_on_the_base_at_the_closed_form(name: str, faces: float) -> None:
    """NACA Report 824 (coefficients read as a public program's manual repeats them; the last one, which closes the
    trailing edge, from memory), half of it on each of two faces: roots of a polynomial in the root of the chord share.
    """
    fin, lines, body = read(name)
    closed = Polynomial([0.0, 0.2969, -0.1260, 0.0, -0.3516, 0.0, 0.2843, 0.0, -0.1036])
    edge = fin.trailing_edge_mm * Polynomial([0.0] * 8 + [1.0])
    form = (10.0 * fin.thickness_mm * closed + edge) / faces
    found = ply_lines(body, ply_planes_mm(fin_panel(fin, lines), body))
    assert len(found) >= 14
    for line in found:
        roots = (form - line.level_mm).roots()
        real = roots[np.abs(roots.imag) < 1e-9].real
        shares = real[(real > 0.0) & (real < 1.0)] ** 2
        ends = [end[0] for contour in line.contours for end in contour.points[[0, -1]] if abs(end[1]) < 1e-6]
        assert np.sort(ends) == pytest.approx(np.sort(fin.base_mm * (1.0 - shares)), abs=3 * SKIN_MM)


@pytest.mark.parametrize("name", FINS)
def test_ply_lines_lie_on_their_planes_all_along(name: str) -> None:
    """Points along the arcs, carried to the surface by the lines, their error in height turned into a distance. Most is
    asked where a trailing edge thins out to just less than a plane, near the tip.
    """
    fin, lines, body = read(name)
    fin = replace(fin, core=None)

    def height(x: Array, z: Array) -> Array:
        u = lines.parameter(np.clip(z, 0.0, fin.depth_mm))
        front, back = lines.leading(u), lines.trailing(u)
        chord = np.clip((front - x) / (front - back), 0.0, 1.0)
        return body.port.at(u, TRAILING_CORNER * np.sqrt(chord))[..., 1]

    step = 1e-3
    for line in ply_lines(body, ply_planes_mm(fin_panel(fin, lines), body)):
        for contour in line.contours:
            x, z = contour.flattened(1e-4).T
            z = np.maximum(z, step)
            along_x = (height(x + step, z) - height(x - step, z)) / (2 * step)
            along_z = (height(x, z + step) - height(x, z - step)) / (2 * step)
            off = np.abs(height(x, z) - line.level_mm) / np.hypot(along_x, along_z)
            assert off.max() <= ARC_FIT_MM


def test_skins_fill_the_foil_when_none_are_given() -> None:
    fin, lines, _ = read("whimbrel-flex")
    core = Core(material="balsa", density_kg_m3=160.0, thickness_mm=6.0, skin_plies=None)
    panel = fin_panel(replace(fin, core=core), lines)
    # (9.5 - 6) / 2 = 1.75 mm over 0.31124 mm: 5.6 plies.
    assert panel.skin_plies == 6
    assert panel.plies == 12
    assert panel.ground_mm == pytest.approx(6.0 + 12 * 0.311244 - 9.5, abs=1e-4)
