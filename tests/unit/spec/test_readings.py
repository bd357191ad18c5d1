"""A sheet of readings: what it may say, and what is told of one that says otherwise."""

from __future__ import annotations

from pathlib import Path

import pytest

from bayloft.errors import SpecError
from bayloft.spec.readings.sheet import sheet_source
from bayloft.spec.readings.taken import SheetReadings, load_readings

SHEET = """# off the rack
name, Trial
length, 72
unit, in
accuracy, 1 mm
rocker_datum, lowest
nose.kind, round
tail.kind, squash
tail.block, 6
from, at, width, rocker, thickness, rail, drop, roll
tail, 12, 14 1/2, 1, 1 1/2, , 3/8,
nose, 12, 14, 2 1/4, 1.5
behind, 6, 19 3/4, 0, 2 3/8, 1, 1/4, 1/8
ahead, 0, 20, , 2 1/2
"""

TOML = """name = "Trial"
length = 72
unit = "in"
accuracy = "1 mm"
rocker_datum = "lowest"
nose = { kind = "round" }
tail = { kind = "squash", block = 6 }
readings = [
  { from_nose = 12, width = 14, rocker = 2.25, thickness = 1.5 },
  { ahead_of_centre = 0, width = 20, thickness = 2.5 },
  { from_tail = 12, width = 14.5, rocker = 1, thickness = 1.5, drop = "3/8" },
  { behind_centre = 6, width = 19.75, rocker = 0, thickness = 2.375, rail = 1, drop = 0.25, roll = "1/8" },
]
"""


def taken(tmp_path: Path, text: str = SHEET, name: str = "trial.csv") -> SheetReadings:
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return load_readings(sheet_source(path))


def faults(tmp_path: Path, text: str) -> list[str]:
    with pytest.raises(SpecError) as caught:
        taken(tmp_path, text)
    return [str(fault).replace(str(tmp_path), "").splitlines()[0] for fault in caught.value.faults]


def numbers(found: SheetReadings) -> dict[str, list[tuple[float, float]]]:
    return {
        kind: [(round(number.x_mm, 6), round(number.value, 6)) for number in given] for kind, given in found.of.items()
    }


def test_a_table_says_what_toml_says_in_any_order_and_with_gaps(tmp_path: Path) -> None:
    table, toml = taken(tmp_path), taken(tmp_path, TOML, "trial.toml")
    assert numbers(table) == numbers(toml)
    assert numbers(table)["rocker"] == [(304.8, 25.4), (762.0, 0.0), (1524.0, 57.15)]
    assert table.ends == toml.ends
    assert table.play_mm == 1.0
    assert not table.metric


@pytest.mark.parametrize("mark", [";", "\t"])
def test_other_separators_are_read(tmp_path: Path, mark: str) -> None:
    assert numbers(taken(tmp_path, SHEET.replace(", ", mark).replace(",", mark))) == numbers(taken(tmp_path))


def test_a_board_measured_over_its_glass_is_taken_back_to_the_foam(tmp_path: Path) -> None:
    """By hand: two laminates off widths and thicknesses, one off the rail's height and from either end; rocker, drops
    and the bottom's shape are differences, and stay.
    """
    glassed = taken(tmp_path, SHEET.replace("rocker_datum", "measured, glassed\nlaminate, 1.5 mm\nrocker_datum"))
    foam = taken(tmp_path)
    assert glassed.length_mm == foam.length_mm - 3.0
    for kind, less in (
        ("width", 3.0),
        ("thickness", 3.0),
        ("rail", 1.5),
        ("rocker", 0.0),
        ("drop", 0.0),
        ("roll", 0.0),
    ):
        for over, under in zip(glassed.of[kind], foam.of[kind], strict=True):
            assert over.value == pytest.approx(under.value - less)
            assert over.x_mm == pytest.approx(under.x_mm - 1.5)


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("tail, 12, 14 1/2", "stern, 12, 14 1/2", "/trial.csv:11: row: the column `from` says"),
        ("tail, 12, 14 1/2", "tail, 12, wide", "/trial.csv:11: readings[1].width: "),
        ("tail, 12, 14 1/2", "tail, 99, 14 1/2", "/trial.csv:11: readings[1].from_tail: off the board"),
        ("from, at, width", "from, width", "/trial.csv:10: row: the column after `from` is `at`"),
        ("width, rocker", "widht, rocker", "/trial.csv:11: readings[1].widht: not a key of this table"),
        (
            "nose, 12, 14, 2 1/4, 1.5",
            "nose, 12, 14, 2 1/4, 1.5, , , , 3",
            "/trial.csv:12: row: more cells than columns",
        ),
        ("length, 72", "length", "/trial.csv:3: row: neither a key and its value"),
        ("length, 72", "length, 72\nlength, 73", "/trial.csv:4: row: a key that was given before"),
        ("accuracy, 1 mm\n", "", "/trial.csv: accuracy: missing"),
        ("rocker_datum, lowest\n", "", "/trial.csv: rocker_datum: missing"),
        ("rocker_datum", "measured, glassed\nrocker_datum", "/trial.csv: laminate: missing"),
        ("rocker_datum", "laminate, 1 mm\nrocker_datum", "/trial.csv:6: laminate: foam has no laminate"),
        ("nose, 12, 14, 2 1/4", "nose, 12, 14, ", "/trial.csv: readings: 2 readings of rocker"),
        ("from, at, width", "away, at, width", "/trial.csv:10: row: neither a key"),
    ],
)
def test_what_a_sheet_may_not_say_is_told_with_its_line(tmp_path: Path, old: str, new: str, told: str) -> None:
    assert old in SHEET
    assert any(fault.startswith(told) for fault in faults(tmp_path, SHEET.replace(old, new, 1)))


def test_a_sheet_without_readings_is_told(tmp_path: Path) -> None:
    assert "no readings" in faults(tmp_path, SHEET.split("from,", maxsplit=1)[0])[0]


def test_what_to_try_is_told_as_a_row_of_the_sheet(tmp_path: Path) -> None:
    with pytest.raises(SpecError) as caught:
        taken(tmp_path, SHEET.replace("accuracy, 1 mm\n", ""))
    assert [fault.hint.split("  #")[0] for fault in caught.value.faults] == ["accuracy, 1 mm"]
