"""The [float] table: what is read from it, and what is assumed."""

from __future__ import annotations

from pathlib import Path

import pytest

from bayloft.spec.bench.floating import FloatAsked
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import load_board
from bayloft.units import mass_kg, salinity_g_kg, temperature_c

from ...demo import SPECS, changed


def with_table(folder: Path, table: str) -> Board:
    text = (SPECS / "boards" / "whimbrel.toml").read_text(encoding="utf-8").partition("[[fins]]")[0]
    path = folder / "whimbrel.toml"
    path.write_text(f"{text}\n[float]\n{table}", encoding="utf-8")
    return load_board(path)


def test_without_the_table_nothing_is_asked() -> None:
    assert load_board(SPECS / "boards" / "whimbrel.toml").afloat is None


def test_all_of_it_is_read_with_its_units(tmp_path: Path) -> None:
    table = """load = "150 lb"
at = { from_nose = "4 ft" }
height = "4 in"
board_weight = "6500 g"
balance = { ahead_of_centre = "1 in" }
water = "sea"
temperature = "54.5 F"
salinity = "32 psu"
"""
    board = with_table(tmp_path, table)
    assert board.afloat == FloatAsked(
        load_kg=pytest.approx(68.0388555),
        x_mm=pytest.approx(2235.2 - 1219.2),
        above_deck_mm=pytest.approx(101.6),
        board_kg=6.5,
        balance_x_mm=pytest.approx(1117.6 + 25.4),
        water="sea",
        temperature_c=pytest.approx(12.5),
        salinity_g_kg=pytest.approx(32 * 35.16504 / 35),
    )
    assert not [each for each in board.assumed if each.path[0] == "float"]


def test_what_is_left_out_is_assumed_and_told(tmp_path: Path) -> None:
    board = with_table(tmp_path, 'load = "70 kg"\nat = { behind_centre = "2 in" }\n')
    assert board.afloat == FloatAsked(
        load_kg=70.0,
        x_mm=pytest.approx(1117.6 - 50.8),
        above_deck_mm=0.0,
        board_kg=0.0,
        balance_x_mm=None,
        water="sea",
        temperature_c=15.0,
        salinity_g_kg=pytest.approx(35.16504),
    )
    told = {each.path[1]: each.value for each in board.assumed if each.path[0] == "float"}
    assert told == {
        "height": '0" (0.0 mm)',
        "board_weight": "0 kg",
        "water": "sea",
        "temperature": "15 C",
        "salinity": "35.16504 g/kg",
    }
    fresh = with_table(
        tmp_path, 'load = "70 kg"\nat = { behind_centre = "2 in" }\nwater = "fresh"\nboard_weight = "5 kg"\n'
    )
    assert fresh.afloat is not None
    assert fresh.afloat.salinity_g_kg == 0.0
    told = {each.path[1]: each.value for each in fresh.assumed if each.path[0] == "float"}
    assert told["balance"] == "the middle of the volume"
    assert "salinity" not in told


def test_a_derived_board_takes_its_load_along(tmp_path: Path) -> None:
    text = 'edition = 2\nname = "Long"\n[from]\nboard = "spoonbill.toml"\nlength = "10 ft"\n'
    path = changed(tmp_path, "long", text)
    own, other = load_board(path).afloat, load_board(SPECS / "boards" / "spoonbill.toml").afloat
    assert own is not None
    assert other is not None
    assert own.x_mm == pytest.approx(3048.0 / 2 - (2844.8 / 2 - other.x_mm) * 3048.0 / 2844.8)
    assert (own.load_kg, own.above_deck_mm) == (other.load_kg, other.above_deck_mm)


def test_weights_and_water_as_typed() -> None:
    assert mass_kg("165 lb") == pytest.approx(165 * 0.45359237, rel=1e-15)
    assert [temperature_c(text) for text in ("12 C", "12.5°c", "-1 C", "32 F", "212 °F")] == [
        12.0,
        12.5,
        -1.0,
        0.0,
        100.0,
    ]
    assert salinity_g_kg("35 psu") == 35.16504
    assert salinity_g_kg("28 ppt") == 28.0
    for wrong in ("12", 12, "12 K", "warm"):
        with pytest.raises(ValueError, match="write a temperature such as 12 C or 54 F"):
            temperature_c(wrong)
