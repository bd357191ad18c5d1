"""Parallels of what comes out of the loft: rounding, which differs from machine to machine, does not move them."""

from __future__ import annotations

import numpy as np
import pytest

from bayloft.drawing.sheet import CUT
from bayloft.drawing.templates.half_outline import half_outline
from bayloft.plane.contour import Contour
from bayloft.plane.offsets import parallels

from ..demo import draft

NOISE_MM = 1e-12
"""Some last bits of a coordinate of two metres."""


@pytest.mark.parametrize("name", ["dunlin", "fulmar", "sanderling", "turnstone", "whimbrel"])
@pytest.mark.parametrize("distance_mm", [3.0, -3.0])
def test_last_bits_do_not_move_a_parallel(name: str, distance_mm: float) -> None:
    (outline,) = (contour for layer, contour in half_outline(draft(name)).contours if layer is CUT)
    (given,) = parallels(outline, distance_mm)
    random = np.random.default_rng(20261127)
    for _ in range(3):
        noise = NOISE_MM * random.normal(size=outline.points.shape)
        (moved,) = parallels(Contour(points=outline.points + noise, bulges=outline.bulges, closed=True), distance_mm)
        assert moved.points == pytest.approx(given.points, abs=1e3 * NOISE_MM)
