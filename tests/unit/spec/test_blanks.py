"""Blanks: the six on the rack, what is assumed, and what is told of one that is wrong."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from bayloft.errors import SpecError
from bayloft.lines.drafting import board_lines
from bayloft.spec import starter
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.loading import load_board
from bayloft.spec.schema import schema_of

SPECS = Path(__file__).parents[3] / "specs"
BLANKS = sorted((SPECS / "blanks").glob("*.toml"))
INCH = 25.4


@pytest.mark.parametrize("path", BLANKS, ids=[path.stem for path in BLANKS])
def test_the_rack_loads_draws_and_fits_its_schema(path: Path) -> None:
    blank = load_blank(path)
    lines = board_lines(blank.shape)
    assert lines.length_mm == blank.shape.length_mm
    assert blank.error_mm == pytest.approx(INCH / 16)
    assert blank.foam.density_kg_m3 is not None
    assert blank.shape.fins == ()
    Draft202012Validator(schema_of("blank")).validate(tomllib.loads(path.read_text("utf-8")))


def test_there_are_six_and_one_has_far_too_much_nose_rocker() -> None:
    assert [path.stem for path in BLANKS] == ["attic-green", "long-plain", "middling", "quick", "short-wide", "spear"]
    attic, plain = (load_blank(SPECS / "blanks" / f"{name}.toml").shape for name in ("attic-green", "long-plain"))
    assert attic.heights[-1].value > plain.heights[-1].value + 40.0


def test_the_starter_of_a_blank_loads(tmp_path: Path) -> None:
    path = tmp_path / starter.BLANK_FILE
    path.write_text(starter.blank_text(), "utf-8")
    blank = load_blank(path)
    assert (blank.name, blank.foam.kind, blank.stringer) == ("First blank", "polyurethane", None)
    assert {".".join(map(str, each.path)) for each in blank.shape.assumed} >= {"rails.0.kind"}


def changed(tmp_path: Path, old: str, new: str) -> Path:
    text = (SPECS / "blanks" / "middling.toml").read_text("utf-8")
    assert old in text
    path = tmp_path / "blank.toml"
    path.write_text(text.replace(old, new), "utf-8")
    return path


def test_what_a_block_may_be_less_is_its_own_or_half_the_mark(tmp_path: Path) -> None:
    assert load_blank(changed(tmp_path, "[outline]", 'error = "3 mm"\n[outline]')).error_mm == 3.0
    bare = load_blank(changed(tmp_path, 'read_to = "1/8 in"', "# "))
    assert bare.error_mm == 0.8
    assert [each.reason for each in bare.shape.assumed if each.path == ("error",)] == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('kind = "polyurethane"', 'kinds = "polyurethane"', "foam.kinds"),
        ('density = "47 kg/m3"', 'density = "47"', "foam.density"),
        ("wide_point = { width = 22.75", "wide_point = { width = 2275", "too large"),
        ("[foam]", "fins = []\n[foam]", "not a key"),
        ('thickness = "1/8 in"\nwood', 'thickness = "9 in"\nwood', "stringer.thickness"),
    ],
)
def test_what_is_wrong_with_a_blank_is_told(tmp_path: Path, old: str, new: str, told: str) -> None:
    with pytest.raises(SpecError) as caught:
        load_blank(changed(tmp_path, old, new))
    assert told in str(caught.value)


def test_a_board_is_no_blank_and_a_blank_no_board() -> None:
    with pytest.raises(SpecError, match="a board file where a blank file is needed"):
        load_blank(SPECS / "boards" / "whimbrel.toml")
    with pytest.raises(SpecError, match="a blank file where a board file is needed"):
        load_board(SPECS / "blanks" / "middling.toml")
