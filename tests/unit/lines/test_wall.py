"""Plan curves of cut-off tails: straight, bowed, pointed, notched, and their rounded corners."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.outline import Outline, OutlineNumbers, fair_outline
from bayloft.lines.readings import Measured
from bayloft.lines.wall import Wall, wall
from bayloft.spec.boards.board import Tail

LENGTH_MM = 2200.0
SIZES: dict[str, tuple[float, float, float]] = {
    "square": (200.0, 0.0, 12.0),
    "squash": (160.0, 20.0, 14.0),
    "diamond": (170.0, 70.0, 0.0),
    "swallow": (210.0, 95.0, 0.0),
    "moon": (210.0, 42.0, 0.0),
}
"""Block, depth and corner radius in mm."""


def outline_of(kind: str | None, tail_radius_mm: float | None = None) -> Outline:
    block, depth, _ = SIZES[kind] if kind else (0.0, 0.0, 0.0)
    corner = depth if kind in ("squash", "diamond") else 0.0
    halves = (Measured(304.8, 170.0), Measured(LENGTH_MM - 304.8, 200.0), Measured(1150.0, 265.0))
    return fair_outline(
        OutlineNumbers(
            length_mm=LENGTH_MM,
            half_widths=(Measured(corner, block / 2), *halves) if kind else halves,
            wide_x_mm=1150.0,
            tail_cut_off=kind is not None,
            tail_radius_mm=tail_radius_mm,
            nose_radius_mm=90.0,
            hollow=frozenset(),
        )
    )


def wall_of(kind: str, radius_mm: float | None = None) -> tuple[Wall, Outline]:
    block, depth, radius = SIZES[kind]
    outline = outline_of(kind)
    radius = radius if radius_mm is None else radius_mm
    end = wall(outline, Tail(kind=kind, block_mm=block, depth_mm=depth, corner_radius_mm=radius))
    assert end is not None
    return end, outline


@pytest.mark.parametrize("kind", SIZES)
def test_a_wall_has_its_plan_and_ends_on_the_outline(kind: str) -> None:
    end, outline = wall_of(kind)
    block, depth, _ = SIZES[kind]
    y = np.linspace(0.0, end.arc_from_mm, 50)
    share = y / (block / 2)
    r = ((block / 2) ** 2 / depth + depth) / 2 if depth else block
    plans = {
        "square": 0.0 * share,
        "squash": depth * share**2,
        "diamond": depth * share,
        "swallow": depth * (1 - share),
        # A chord's distance from its arc: with r the radius, (r - depth + x)^2 + y^2 = r^2.
        "moon": np.sqrt(r * r - y * y) - (r - depth),
    }
    assert end.station(y) == pytest.approx(plans[kind], abs=1e-10)
    assert float(outline.at(end.corner_x_mm)) == pytest.approx(end.corner_y_mm, abs=1e-8)
    assert float(end.station(end.corner_y_mm)) == pytest.approx(end.corner_x_mm, abs=1e-8)
    assert end.reach_mm == pytest.approx(max(end.corner_x_mm, depth if kind in ("swallow", "moon") else 0.0))


@pytest.mark.parametrize(("kind", "radius"), [("square", 5.0), ("square", 40.0), ("squash", 14.0), ("squash", 60.0)])
def test_a_rounded_corner_touches_wall_and_outline(kind: str, radius: float) -> None:
    """An arc of the radius asked; its centre is that far from either curve, and it has either's direction there."""
    end, outline = wall_of(kind, radius)
    centre = np.array(end.centre_mm)
    arc = np.linspace(end.arc_from_mm, end.corner_y_mm, 200)
    assert np.hypot(*(np.column_stack([end.station(arc), arc]) - centre).T) == pytest.approx(radius, abs=1e-9)
    u, y = np.linspace(0.0, 0.4, 40001), np.linspace(0.0, SIZES[kind][0] / 2, 40001)
    for curve in ((outline.station(u), outline.half_width(u)), (end.base(y), y)):
        # No place of either is nearer, to a chord's sagitta.
        assert shapely.LineString(np.column_stack(curve)).distance(shapely.Point(centre)) == pytest.approx(
            radius, abs=1e-4
        )
    # Radii stand square on the tangents: dy/dx = slope of the outline, dx/dy = slope of the wall.
    to_outline = np.array([end.corner_x_mm, end.corner_y_mm]) - centre
    assert to_outline @ [1.0, float(outline.slope(end.corner_x_mm))] == pytest.approx(0.0, abs=1e-6)
    to_wall = np.array([float(end.base(end.arc_from_mm)), end.arc_from_mm]) - centre
    assert to_wall @ [float(end.base.slope(end.arc_from_mm)), 1.0] == pytest.approx(0.0, abs=1e-6)


def test_a_corner_beyond_the_block_is_refused() -> None:
    with pytest.raises(NoFairLineError):
        wall_of("square", 180.0)


@pytest.mark.parametrize("radius", [6.0, 35.0, 70.0])
def test_tips_are_round_with_the_radius_asked(radius: float) -> None:
    """The circle through the tip and two mirrored points near it: its radius is (x^2 + w^2) / (2 x)."""
    outline = outline_of(None, radius)
    assert outline.tip_radii_mm == pytest.approx((radius, 90.0), rel=1e-6)
    for end, asked in ((0.0, radius), (1.0, 90.0)):
        u = np.abs(end - np.array([2e-4, 1e-4]))
        x, w = np.abs(end * LENGTH_MM - outline.station(u)), outline.half_width(u)
        circles = (x * x + w * w) / (2 * x)
        # Nearly proportional to the distance in u: extrapolated to the tip.
        assert 2 * circles[1] - circles[0] == pytest.approx(asked, rel=1e-4)
    assert wall_free(outline)


def wall_free(outline: Outline) -> bool:
    return float(outline.half_width(0.0)) == pytest.approx(0.0, abs=1e-9)


def test_stations_of_a_half_width_lie_on_both_sides_of_the_wide_point() -> None:
    outline = outline_of(None, 35.0)
    aft, forward = outline.stations_of(200.0)
    assert aft < 1150.0 < forward
    assert outline.at([aft, forward]) == pytest.approx([200.0, 200.0], abs=1e-8)
    assert outline.stations_of(300.0) == []
    assert len(outline_of("square").stations_of(60.0)) == 1
