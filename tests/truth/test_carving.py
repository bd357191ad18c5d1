"""Carving against closed forms: the height of ridges, the length of passes, the gouge of a ball."""

from __future__ import annotations

import math

import numpy as np
import pytest

from bayloft.cutting.carving.centres import CentreZone, step_for
from bayloft.cutting.carving.paths import thinned
from bayloft.cutting.carving.stock import StockField
from bayloft.lines.section_places import APEX, EDGE
from bayloft.solid.closest import Nearest
from bayloft.solid.surface import crowded_places
from bayloft.spec.shops.shop import Cutter

from ..demo import draft

BALL = Cutter(
    name="ball", diameter_mm=12.0, depth_mm=50.0, flutes=2, chip_load_mm=0.1, spindle_rpm=12_000.0, pass_mm=6.0,
    path=(), kind="ball",
)  # fmt: skip


def cut_along_x(y: np.ndarray, tip: np.ndarray, across: np.ndarray, top: float) -> np.ndarray:
    """Return the heights across straight passes along x at these y and tips."""
    field = StockField(np.array([0.0, 1.0, 2.0]), across, top)
    x = np.arange(-1.0, 3.0, 0.25)
    for at, z in zip(y.tolist(), tip.tolist(), strict=True):
        field.cut(np.column_stack([x, np.full_like(x, at), np.full_like(x, z)]), BALL)
    return field.heights[1]


def test_ridges_on_a_plane_are_as_high_as_asked() -> None:
    for cusp in (0.05, 0.1, 0.4):
        c = step_for(6.0, cusp)
        assert c == pytest.approx(2.0 * math.sqrt(cusp * (12.0 - cusp)))
        y = c * np.arange(-3, 4)
        heights = cut_along_x(y, np.zeros_like(y), np.linspace(-c, c, 101), 20.0)
        assert heights.max() == pytest.approx(cusp, rel=5e-3)
        assert heights.min() == pytest.approx(0.0, abs=1e-6)
    # Of 6 mm radius and a tenth: 2.18 mm, as c^2 / 8 r has it to first order.
    assert step_for(6.0, 0.1) == pytest.approx(2.18, abs=0.01)


@pytest.mark.parametrize("rho", [15.0, 60.0, 400.0])
def test_ridges_on_a_cylinder_are_lower_by_its_radius(rho: float) -> None:
    c, big = step_for(6.0, 0.1), rho + 6.0
    angle = c / big * np.arange(-2, 3)
    phi = c / 2.0 / big
    exact = big * math.cos(phi) - math.sqrt(36.0 - (big * math.sin(phi)) ** 2) - rho
    ridge = (rho + exact) * math.sin(phi)
    across = np.linspace(-ridge, ridge, 101)
    heights = cut_along_x(big * np.sin(angle), big * np.cos(angle) - 6.0 - rho, across, 20.0)
    over = np.hypot(across, heights + rho) - rho
    assert over.max() == pytest.approx(exact, abs=1e-4)
    assert exact == pytest.approx(c * c / 8.0 * (1.0 / 6.0 - 1.0 / big), rel=0.02)
    assert over.min() > -1e-6


@pytest.mark.parametrize("name", ["whimbrel", "turnstone"])
def test_passes_are_as_long_as_the_centre_surface_over_their_step(name: str) -> None:
    body, c = draft(name).body, 4.0
    zone = CentreZone(body, 6.0, APEX, 1.0, crowded_places(900))
    length = sum(float(np.sqrt((np.diff(one.points, axis=0) ** 2).sum(axis=1)).sum()) for one in zone.passes(c))
    u, v = crowded_places(700)[1:-1], np.linspace(APEX + 1e-9, 1.0 - 1e-9, 500)
    normal = np.cross(body.port.grid(u, v, 0, 1), body.port.grid(u, v, 1, 0))
    centres = body.port.grid(u, v) + 6.0 * normal / np.linalg.norm(normal, axis=-1, keepdims=True)
    along, across = np.diff(centres, axis=0)[:, :-1], np.diff(centres, axis=1)[:-1]
    area = float(np.linalg.norm(np.cross(along, across), axis=-1).sum())
    # The first line is a pass of its own: half a step more than the area has, once round.
    assert 1.0 <= length / (area / c) < 1.05


@pytest.mark.parametrize("name", ["whimbrel", "fulmar"])
def test_a_ball_on_every_pass_touches_the_surface_and_no_more(name: str) -> None:
    body = draft(name).body
    for ends in ((APEX, 1.0), (EDGE, 0.0), (EDGE, APEX)):
        zone = CentreZone(body, 6.0, *ends, crowded_places(400))
        points = np.concatenate([one.points for one in zone.passes(20.0)])[::7]
        away = -Nearest(body).feet(points).depth_mm - 6.0
        assert np.quantile(np.abs(away), 0.99) < 1e-3
        assert away.max() < 1e-3
        assert zone.last_line().points[:, 1].min() > -1e-6


def test_neighbours_across_are_no_further_apart_than_the_step() -> None:
    zone = CentreZone(draft("dunlin").body, 6.0, APEX, 1.0, crowded_places(300))
    by_u = {}
    for one in zone.passes(5.0):
        for u, point in zip(one.u.tolist(), one.points, strict=True):
            by_u.setdefault(u, []).append(point)
    gaps = [
        np.linalg.norm(np.diff(np.array(points), axis=0), axis=1).max() for points in by_u.values() if len(points) > 1
    ]
    assert len(gaps) > 200
    # Measured along chords, of which an arc is told from few.
    assert max(gaps) <= 5.0 * 1.005


def test_thinning_keeps_its_tolerance() -> None:
    t = np.linspace(0.0, 20.0, 4001)
    curve = np.column_stack([30.0 * np.cos(t), 30.0 * np.sin(t), t])
    kept = thinned(curve, 0.01)
    # A chord over an arc of 30 mm radius sags 0.01 mm at 1.55 mm.
    assert 600.0 / 1.7 < len(kept) < 600.0 / 0.7
    start, step = kept[:-1], np.diff(kept, axis=0)
    away = [
        np.linalg.norm(
            p - (start + np.clip(((p - start) * step).sum(1) / (step * step).sum(1), 0, 1)[:, None] * step), axis=1
        ).min()
        for p in curve[::37]
    ]
    assert max(away) <= 0.01 + 1e-9
