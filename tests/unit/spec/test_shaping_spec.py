"""The [shaping] table: what is read from it."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bayloft.spec.loading import load_board
from bayloft.spec.text.stations import usual_stations

from ...demo import SPECS


def test_without_the_table_there_are_no_cards() -> None:
    assert load_board(SPECS / "boards" / "avocet.toml").shaping is None


def test_stations_left_out_are_each_foot_and_told() -> None:
    board = load_board(SPECS / "boards" / "spoonbill.toml")
    assert board.shaping is not None
    feet = [304.8 * n for n in range(1, 5)]
    assert board.shaping.stations_mm == pytest.approx([*feet, 1422.4, *(2844.8 - x for x in reversed(feet))])
    assert board.shaping.pass_mm == pytest.approx(25.4 / 32)
    assert ("shaping", "stations") in [each.path for each in board.assumed]


@pytest.mark.parametrize(("length", "count"), [(1828.8, 5), (1830.0, 5), (700.0, 1), (2438.4, 7), (2440.0, 7)])
def test_no_station_is_told_twice(length: float, count: int) -> None:
    found = usual_stations(length, metric=False)
    assert len(found) == count
    assert min(np.diff([0.0, *found, length])) > 60.0


def test_who_measures_in_mm_has_stations_in_round_mm() -> None:
    assert usual_stations(1850.0, metric=True) == (300.0, 600.0, 925.0, 1250.0, 1550.0)
    assert usual_stations(2235.2, metric=False) == pytest.approx(
        (304.8, 609.6, 914.4, 1117.6, 1320.8, 1625.6, 1930.4), abs=1e-6
    )


def test_stations_are_read_as_everywhere(tmp_path: Path) -> None:
    text = (SPECS / "boards" / "whimbrel.toml").read_text(encoding="utf-8").partition("[[fins]]")[0]
    path = tmp_path / "whimbrel.toml"
    table = '[shaping]\nstations = [{ from_nose = "12 in" }, { from_tail = "2 ft" }]\n'
    path.write_text(text + table, encoding="utf-8")
    shaping = load_board(path).shaping
    assert shaping is not None
    assert shaping.stations_mm == pytest.approx((609.6, 1930.4))
    assert shaping.pass_mm is None
