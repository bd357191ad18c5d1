"""A published table of offsets, read to the mark of a tape, comes back as one fair line."""

from __future__ import annotations

import numpy as np
import pytest

from bayloft.lines.outline import OutlineNumbers, fair_outline
from bayloft.lines.profile import ProfileNumbers, fair_profile
from bayloft.lines.readings import Measured
from bayloft.lines.swells import swells

from .test_foil import ORDINATES, STATIONS

MARK_MM = 25.4 / 16
LENGTH_MM, WIDER = 2000.0, 2.0
"""The foils of NACA Report 824's table (its source stands beside it in test_foil.py), drawn 2 m long and twice as thick
as they are: the plan of a blunt-nosed board of 18 7/8 in."""


def true_mm(share: np.ndarray, thickness: int) -> np.ndarray:
    """Half-widths in mm, by the polynomial of the table: y/c = 5 t (0.2969 sqrt x - 0.126 x - 0.3516 x^2 + 0.2843 x^3
    - 0.1015 x^4).
    """
    x = share
    form = 0.2969 * np.sqrt(x) - 0.126 * x - 0.3516 * x**2 + 0.2843 * x**3 - 0.1015 * x**4
    return 5.0 * thickness / 100.0 * form * LENGTH_MM * WIDER


def read(thickness: int, mark_mm: float) -> list[tuple[float, float]]:
    """Stations from the tail, ascending, and half-widths in mm of the table, the whole widths read to a mark."""
    offsets = zip(STATIONS, ORDINATES[thickness], strict=True)
    found = [
        (LENGTH_MM * (1.0 - x / 100.0), round(2.0 * y / 100.0 * LENGTH_MM * WIDER / mark_mm) * mark_mm / 2.0)
        for x, y in offsets
        if 4.0 < x < 96.0
    ]
    return sorted(found)


@pytest.mark.parametrize("thickness", [8, 12])
def test_a_table_of_offsets_comes_back_as_an_outline(thickness: int) -> None:
    readings = tuple(Measured(x, half, MARK_MM / 4) for x, half in read(thickness, MARK_MM))
    outline = fair_outline(
        OutlineNumbers(
            length_mm=LENGTH_MM,
            half_widths=readings,
            wide_x_mm=0.7 * LENGTH_MM,
            wide_free_mm=25.0,
            tail_cut_off=False,
            tail_radius_mm=None,
            nose_radius_mm=None,
            hollow=frozenset(),
            straightness=0.3,
        )
    )
    for x, half, play in readings:
        assert abs(float(outline.at(x)) - half) <= play + 1e-6
    share = np.linspace(0.045, 0.955, 400)
    off = outline.at(LENGTH_MM * (1.0 - share)) - true_mm(share, thickness)
    assert 2.0 * np.abs(off).max() < MARK_MM


@pytest.mark.parametrize("thickness", [8, 12])
def test_a_table_of_offsets_comes_back_as_a_foil_with_one_swell(thickness: int) -> None:
    """Its middle, from an eighth to nine tenths: a thickness has no blunt end that stands square to the board."""
    given = [(x, half) for x, half in read(thickness, MARK_MM) if 0.1 < 1.0 - x / LENGTH_MM < 0.92]
    foil = fair_profile(
        ProfileNumbers(
            length_mm=LENGTH_MM,
            values=tuple(Measured(x, half, MARK_MM / 4) for x, half in given),
            turning_x_mm=0.7 * LENGTH_MM,
            bend="arched",
        )
    )
    share = np.linspace(0.15, 0.9, 300)
    x = LENGTH_MM * (1.0 - share)
    assert np.abs(foil.at(x) - true_mm(share, thickness)).max() < MARK_MM / 2
    assert len(swells(x[::-1] - x[-1], -1000.0 * foil.at(x[::-1], 2))) <= 1
