"""The best placing of one body in another where it is known: an ellipsoid in a larger one, a slab in a slab."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from bayloft.foam.placing import Placing, Reach, Search, best_placing, ceiling, exchanged_placing
from bayloft.solid.closest import Feet

Array = NDArray[np.float64]

AXES_MM = np.array([1100.0, 250.0, 40.0])
GROWN = 1.1
REACH = Reach(shift_mm=60.0, lift_mm=30.0, pitch_rad=0.02)


def ellipsoid(count: int) -> Array:
    t, p = np.meshgrid(np.linspace(0.0, np.pi, count), np.linspace(0.0, 2.0 * np.pi, count))
    shape = np.stack([np.cos(t), np.sin(t) * np.cos(p), np.sin(t) * np.sin(p)], axis=-1)
    return (shape * AXES_MM).reshape(-1, 3)


def in_ellipsoid(points: Array) -> Feet:
    """Distances to the larger ellipsoid by its Lagrange multiplier: the foot is a_i^2 p_i / (a_i^2 + t)."""
    axes = GROWN * AXES_MM
    feet = np.empty_like(points)
    for i, point in enumerate(points):
        low, high = -(axes.min() ** 2) + 1e-9, float(axes.max() * np.sqrt((point * point).sum()))

        def excess(t: float, point: Array = point) -> float:
            return float(((axes * point / (axes * axes + t)) ** 2).sum() - 1.0)

        t = brentq(excess, low, high + 1.0) if excess(low) > 0.0 else low
        feet[i] = axes * axes * point / (axes * axes + t)
        if excess(low) <= 0.0:
            feet[i, 2] = np.copysign(axes[2] * np.sqrt(max(1.0 - ((feet[i, :2] / axes[:2]) ** 2).sum(), 0.0)), point[2])
    out = feet / (axes * axes)
    out /= np.sqrt((out * out).sum(axis=1))[:, None]
    depth = ((feet - points) * out).sum(axis=1)
    return Feet(points=feet, depth_mm=depth, inward=-out)


def test_an_ellipsoid_in_a_larger_one() -> None:
    """Its least half axis is 40 mm, so a tenth of it is over it above and below, wherever it is best placed."""
    rng = np.random.default_rng(5)
    search = Search(
        depths=in_ellipsoid,
        points=ellipsoid(17),
        middle_mm=np.zeros(3),
        start=Placing(shift_mm=0.0, lift_mm=0.0, pitch_rad=0.0),
        reach=REACH,
    )
    found = []
    for _ in range(4):
        begin = Placing.of(rng.uniform(-1.0, 1.0, 3) * [30.0, 10.0, 0.01])
        placed, _ = exchanged_placing(search, ellipsoid(25), begin)
        found.append(placed.cover_mm)
    assert found == pytest.approx([0.1 * AXES_MM[2]] * 4, abs=2e-3)
    assert np.ptp(found) < 1e-3


HALVES_MM = np.array([900.0, 220.0, 30.0])
BLOCK_MM = np.array([950.0, 260.0, 41.0])


def in_slab(points: Array) -> Feet:
    gaps = BLOCK_MM - np.abs(points)
    axis = np.argmin(gaps, axis=1)
    row = np.arange(len(points))
    inward = np.zeros_like(points)
    inward[row, axis] = -np.sign(points[row, axis])
    return Feet(points=points - inward * gaps[row, axis][:, None], depth_mm=gaps[row, axis], inward=inward)


def corners() -> Array:
    grid = np.stack(np.meshgrid(*(np.array([-1.0, 0.0, 1.0]),) * 3), axis=-1).reshape(-1, 3)
    return grid * HALVES_MM


def test_a_slab_in_a_slab_lies_level_in_its_middle_and_that_is_proven() -> None:
    search = Search(
        depths=in_slab,
        points=corners(),
        middle_mm=np.zeros(3),
        start=Placing(shift_mm=8.0, lift_mm=-4.0, pitch_rad=0.004),
        reach=REACH,
    )
    placed = best_placing(search)
    assert placed.cover_mm == pytest.approx(11.0, abs=1e-3)
    assert placed.placing.lift_mm == pytest.approx(0.0, abs=1e-3)
    assert placed.placing.pitch_rad == pytest.approx(0.0, abs=1e-6)
    proven = ceiling(search, found_mm=placed.cover_mm, within_mm=0.05, most_boxes=2000, hollow_mm=1e9)
    assert proven.closed
    assert placed.cover_mm <= proven.cover_mm <= placed.cover_mm + 0.05


def test_what_is_larger_is_short_by_as_much_as_it_is() -> None:
    search = Search(
        depths=lambda points: in_slab(points * [1.0, 1.0, 1.5]),
        points=corners(),
        middle_mm=np.zeros(3),
        start=Placing(shift_mm=0.0, lift_mm=5.0, pitch_rad=0.0),
        reach=REACH,
    )
    assert best_placing(search).cover_mm == pytest.approx(41.0 - 45.0, abs=1e-3)


@pytest.mark.parametrize("pitch", [-0.01, 0.02])
def test_a_placing_turns_about_the_board_s_middle_nose_up(pitch: float) -> None:
    placing = Placing(shift_mm=10.0, lift_mm=3.0, pitch_rad=pitch)
    middle = np.array([1000.0, 0.0, 20.0])
    nose, centre = placing.placed(np.array([[2000.0, 0.0, 20.0], [1000.0, 50.0, 20.0]]), middle)
    assert centre == pytest.approx([1010.0, 50.0, 23.0])
    assert nose[2] - centre[2] == pytest.approx(1000.0 * np.sin(pitch))
