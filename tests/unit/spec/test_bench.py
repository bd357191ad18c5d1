"""What the bench is told in a board's file: the blank that it is to come out of."""

from __future__ import annotations

from pathlib import Path

import pytest

from bayloft.errors import SpecError
from bayloft.spec.loading import load_board

SPECS = Path(__file__).parents[3] / "specs"


def with_table(tmp_path: Path, table: str) -> Path:
    """A demo board with a table at its end, among copies of all specs."""
    for folder in ("fins", "rails", "blanks", "boards"):
        (tmp_path / folder).mkdir()
        for file in (SPECS / folder).glob("*.toml"):
            (tmp_path / folder / file.name).write_text(file.read_text("utf-8"), "utf-8")
    path = tmp_path / "boards" / "dunlin.toml"
    path.write_text(path.read_text("utf-8") + table, "utf-8")
    return path


def test_a_board_names_its_blank(tmp_path: Path) -> None:
    path = with_table(tmp_path, '\n[blank]\nfile = "../blanks/quick.toml"\nleast_cover = "1/8 in"\n')
    blank = load_board(path).blank
    assert blank is not None
    assert (blank.file.name, blank.least_cover_mm) == ("quick.toml", 3.175)
    assert load_board(SPECS / "boards" / "dunlin.toml").blank is None


def test_a_cover_that_is_not_said_is_assumed_and_told(tmp_path: Path) -> None:
    found = load_board(with_table(tmp_path, '\n[blank]\nfile = "../blanks/quick.toml"\n'))
    assert found.blank is not None
    assert found.blank.least_cover_mm == 3.0
    assert ("blank", "least_cover") in [each.path for each in found.assumed]


def test_what_is_wrong_with_it_is_told_together(tmp_path: Path) -> None:
    path = with_table(tmp_path, '\n[blank]\nfile = "../blanks/quik.toml"\nleast_cover = "1 m"\n')
    with pytest.raises(SpecError) as caught:
        load_board(path)
    told = {fault.path: fault for fault in caught.value.faults}
    assert set(told) == {("blank", "file"), ("blank", "least_cover")}
    assert told["blank", "file"].hint == '"../blanks/quick.toml"'
    assert "60.0 mm" in told["blank", "least_cover"].allowed
