"""Lengths in running text: in which unit, how fine, and to which side they are rounded."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from bayloft import tape
from bayloft.units import length_mm


def read(text: str) -> float:
    return length_mm(text, None) if text not in ('0"', "0 mm") else 0.0


@pytest.mark.parametrize("metric", [True, False])
def test_each_is_rounded_as_its_name_says_and_reads_back(metric: bool) -> None:
    mark = 0.1 if metric else 25.4 / 32.0
    for mm in (0.0, 0.02, 1.0, 3.175, 25.39, 304.8, 914.4, 2843.77, *np.random.default_rng(3).uniform(0.0, 3000.0, 60)):
        near, least, most, wood = (
            read(said(mm, metric=metric)) for said in (tape.fine, tape.at_least, tape.at_most, tape.stock)
        )
        assert abs(near - mm) <= mark / 2.0 + 1e-6
        assert mm - mark - 1e-6 <= least <= mm + 1e-3
        assert mm - 1e-3 <= most <= mm + mark + 1e-6
        assert mm - 1e-3 <= wood <= mm + (1.0 if metric else 3.175)
        assert read(tape.fine(tape.fine_mm(mm, metric=metric), metric=metric)) == pytest.approx(near)
        assert tape.fine_mm(mm, metric=metric) == pytest.approx(near, abs=1e-6)


def test_what_is_less_than_nothing_is_rounded_down_too() -> None:
    """A board that is short by a hair is short."""
    assert tape.at_least(-0.02, metric=True) == "-0.1 mm"
    assert tape.at_least(-0.02, metric=False) == '-1/32"'
    assert tape.fine_mm(-2.0, metric=False) == pytest.approx(-25.4 * 3 / 32)


def test_a_place_along_a_board() -> None:
    assert tape.station(304.8, metric=False) == "1' 0\""
    assert tape.station(304.8, metric=True) == "304.8"
    assert (tape.along(304.8, metric=False), tape.along(304.8, metric=True)) == ('12"', "304.8 mm")
    assert (tape.coarse(304.8, metric=False), tape.coarse(304.8, metric=True)) == ('12"', "305 mm")


def test_figures_are_the_marks_that_fine_tells() -> None:
    for parts in range(200):
        mm = float(Fraction(254, 320) * parts)
        told = tape.figure(mm, metric=False)
        value = sum(map(Fraction, told.rstrip("+").split())) + Fraction(told.count("+"), 32)
        assert value * 32 == parts
