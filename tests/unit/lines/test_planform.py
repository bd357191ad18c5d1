"""Edges through measured points, base fillets and tip widths; and what is said of edges that cannot be."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from bayloft.errors import SpecError
from bayloft.lines.fin import FinLines, fin_lines
from bayloft.lines.planform import FILLET_HEIGHT
from bayloft.solid.fin import fin_body
from bayloft.spec.fins.fin import EdgePoint, Fin
from bayloft.spec.loading import load_fin

SPECS = Path(__file__).parents[3] / "specs"
PLAIN = replace(load_fin(SPECS / "fins" / "whimbrel-flex.toml"), base_fillet_mm=0.0)
ROUNDED_MM = 1e-8
"""Coefficients are rounded to 1e-9 mm; a value sums a few of them."""
PLACES = np.linspace(0.0, 1.0, 2001)


def measured(edge: str, heights: list[float], lines: FinLines) -> tuple[EdgePoint, ...]:
    """What a tape would show on a fin of these lines."""
    x = getattr(lines, edge)(lines.parameter(heights))
    points = zip(heights, np.round(x, 1).tolist(), strict=True)
    return tuple(EdgePoint(height_mm=z, x_mm=x, path=("planform", edge, i)) for i, (z, x) in enumerate(points))


HEIGHTS = [20.0, 55.0, 90.0, 130.0, 165.0, 200.0, 225.0]


def lifted(fin: Fin) -> Fin:
    """The fin as measured: all shape numbers replaced by points, the tip left open."""
    lines = fin_lines(fin)
    points = {edge: measured(edge, HEIGHTS, lines) for edge in ("leading", "trailing")}
    return replace(fin, leading=points["leading"], trailing=points["trailing"], tip_radius_mm=None, tip_width_mm=None)


@pytest.mark.parametrize("fillet_mm", [0.0, 7.0])
@pytest.mark.parametrize(("radius_mm", "found_mm"), [(PLAIN.tip_radius_mm, 0.3), (None, 2.0)])
def test_measured_edges_pass_through_their_points_and_give_the_fin_back(
    fillet_mm: float, radius_mm: float | None, found_mm: float
) -> None:
    first = replace(PLAIN, base_fillet_mm=fillet_mm)
    fin = replace(lifted(first), tip_radius_mm=radius_mm)
    lines, before = fin_lines(fin), fin_lines(first)
    for edge in ("leading", "trailing"):
        for point in getattr(fin, edge):
            u = float(lines.parameter(point.height_mm))
            assert float(getattr(lines, edge)(u)) == pytest.approx(point.x_mm, abs=ROUNDED_MM)
        # A tape rounded to 0.1 mm; above the highest point, where edges run nearly level, the tip's radius decides.
        apart = np.abs(getattr(lines, edge)(PLACES) - getattr(before, edge)(PLACES))
        assert apart.max() < found_mm


@pytest.mark.parametrize("edge", ["leading", "trailing"])
def test_a_point_that_makes_a_wiggle_is_named(edge: str) -> None:
    fin = lifted(PLAIN)
    points = list(getattr(fin, edge))
    points[3] = replace(points[3], x_mm=points[3].x_mm + (-9.0 if edge == "leading" else 9.0))
    points[4] = replace(points[4], x_mm=points[4].x_mm + (9.0 if edge == "leading" else -9.0))
    with pytest.raises(SpecError) as caught:
        fin_lines(replace(fin, **{edge: tuple(points)}))  # type: ignore[arg-type]
    first = caught.value.faults[0]
    assert first.path[:2] == ("planform", edge)
    assert {fault.path[2] for fault in caught.value.faults} & {3, 4}
    assert "would have to wiggle" in first.problem
    assert first.allowed.startswith("about ")


def test_points_on_the_wrong_side_cross() -> None:
    point = EdgePoint(height_mm=120.0, x_mm=110.0, path=("planform", "trailing", 0))
    with pytest.raises(SpecError, match="cross or nearly meet") as caught:
        fin_lines(replace(PLAIN, trailing=(point,)))
    assert caught.value.faults[0].path == ("planform", "trailing", 0, "x")


def test_a_tip_has_its_radius_and_width() -> None:
    lines = fin_lines(PLAIN)
    # x'^2 / |z''| where z' = 0.
    for edge in (lines.leading, lines.trailing):
        assert float(edge(1.0, 1)) ** 2 / (2 * lines.depth_mm) == pytest.approx(PLAIN.tip_radius_mm, rel=1e-9)
    u = float(lines.parameter(0.9 * PLAIN.depth_mm))
    assert float(lines.leading(u) - lines.trailing(u)) == pytest.approx(PLAIN.tip_width_mm, abs=ROUNDED_MM)


@pytest.mark.parametrize(("width_mm", "radius_mm", "named"), [(300.0, 5.0, "tip_width"), (None, 1.0, "tip_radius")])
def test_a_tip_too_wide_for_its_radius_is_named(width_mm: float | None, radius_mm: float, named: str) -> None:
    with pytest.raises(SpecError, match="the tip would fold") as caught:
        fin_lines(replace(PLAIN, tip_width_mm=width_mm, tip_radius_mm=radius_mm, leading_fullness=0.3))
    assert caught.value.faults[0].path == ("planform", named)


def test_a_fillet_flares_both_edges_and_nothing_above_it() -> None:
    """The flare is length (1 - u / u_f)^5 to the last bits, added to edges that start that much inside."""
    length = 9.0
    lines = fin_lines(replace(PLAIN, base_fillet_mm=length))
    assert float(lines.leading(0.0)) == pytest.approx(PLAIN.base_mm, abs=ROUNDED_MM)
    assert float(lines.trailing(0.0)) == pytest.approx(0.0, abs=ROUNDED_MM)
    assert float(lines.height(lines.fillet_u)) == pytest.approx(FILLET_HEIGHT * length, rel=1e-12)
    inner = replace(PLAIN, base_mm=PLAIN.base_mm - 2 * length)
    plain = fin_lines(inner)
    flare = length * np.maximum(1.0 - PLACES / lines.fillet_u, 0.0) ** 5
    assert lines.leading(PLACES) - flare == pytest.approx(plain.leading(PLACES) + length, abs=1e-7)
    assert lines.trailing(PLACES) + flare == pytest.approx(plain.trailing(PLACES) + length, abs=1e-7)


def test_the_skin_follows_a_fillet() -> None:
    lines = fin_lines(replace(PLAIN, base_fillet_mm=12.0))
    body = fin_body(lines)
    v = np.linspace(0.0, 1.0, 201)
    off = body.port.grid(PLACES, v) - lines.face(PLACES[:, None], v[None, :])
    assert np.abs(off).max() < 1e-3


def test_edges_bend_once() -> None:
    """Hollow below one place, bulging outward above it, in plan."""
    for path in sorted((SPECS / "fins").glob("*.toml")):
        fin = replace(load_fin(path), base_fillet_mm=0.0)
        lines = fin_lines(fin)
        for outward, edge in ((1.0, lines.leading), (-1.0, lines.trailing)):
            bulge = outward * (-edge(PLACES, 1) - (1.0 - PLACES) * edge(PLACES, 2))
            signs = np.sign(np.where(np.abs(bulge) < 1e-3 * np.abs(bulge).max(), 0.0, bulge))
            signs = signs[signs != 0.0]
            assert (np.diff(signs) != 0).sum() <= 1
            assert signs[-1] == 1.0
