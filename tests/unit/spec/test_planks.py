"""Planks: those of the demo, the starter, what is assumed, and a stringer's table with its plank."""

from __future__ import annotations

import tomllib
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from bayloft.build import check_boards
from bayloft.errors import SpecError
from bayloft.spec import starter
from bayloft.spec.loading import load_board
from bayloft.spec.plank_loading import load_plank
from bayloft.spec.schema import schema_of

SPECS = Path(__file__).parents[3] / "specs"
PLANKS = sorted((SPECS / "planks").glob("*.toml"))


@pytest.mark.parametrize("path", PLANKS, ids=[path.stem for path in PLANKS])
def test_the_planks_load_and_fit_their_schema(path: Path) -> None:
    plank = load_plank(path)
    assert plank.knots
    assert plank.length_mm > plank.width_mm > plank.thickness_mm
    Draft202012Validator(schema_of("plank")).validate(tomllib.loads(path.read_text("utf-8")))


def test_there_is_one_for_spoonbill_one_too_short_and_one_too_thin() -> None:
    assert [path.stem for path in PLANKS] == ["bed-slat", "garden-gate", "greenhouse-bench"]
    thin, short, bench = map(load_plank, PLANKS)
    assert thin.thickness_mm < 12.7
    assert short.length_mm < 1500.0
    stringer = load_board(SPECS / "boards" / "spoonbill.toml").stringer
    assert stringer is not None
    assert stringer.plank is not None
    assert load_plank(stringer.plank) == bench
    assert (stringer.thickness_mm, stringer.allowance_mm, stringer.kerf_mm) == (12.7, 3.175, 3.175)
    assert bench.near_mm(bench.length_mm / 2.0) == pytest.approx(bench.crook_mm)
    assert bench.wide_mm(bench.length_mm) == pytest.approx(bench.width_other_mm)


def test_what_a_stringer_does_not_say_is_told() -> None:
    board = load_board(SPECS / "boards" / "spoonbill.toml")
    told = {each.path[1] for each in board.assumed if each.path[0] == "stringer"}
    assert told == {"strips", "rip", "scarf", "glue_line", "kerf", "allowance", "clamps_every"}


def test_the_starter_of_a_plank_loads(tmp_path: Path) -> None:
    path = tmp_path / starter.PLANK_FILE
    path.write_text(starter.plank_text(), "utf-8")
    plank = load_plank(path)
    assert (plank.name, plank.wood, len(plank.knots)) == ("First plank", "western red cedar", 1)
    assert {each.path for each in plank.assumed} == {("clearance",)}


def test_a_plank_is_neither_board_nor_blank() -> None:
    with pytest.raises(SpecError, match="a board file where a plank file is needed"):
        load_plank(SPECS / "boards" / "whimbrel.toml")
    with pytest.raises(SpecError, match="a blank file where a plank file is needed"):
        load_plank(SPECS / "blanks" / "middling.toml")
    with pytest.raises(SpecError, match="a plank file where a board file is needed"):
        load_board(SPECS / "planks" / "bed-slat.toml")


@pytest.mark.parametrize(("typed", "read"), [("1:8", 8.0), ("1 : 10", 10.0), ("12", 12.0)])
def test_a_scarf_is_typed_as_a_ratio(tmp_path: Path, typed: str, read: float) -> None:
    assert read_with(tmp_path, f'scarf = "{typed}"').scarf == read


def read_with(tmp_path: Path, more: str):
    for folder in ("boards", "planks", "blanks", "fins", "rails"):
        (tmp_path / folder).mkdir()
        for path in (SPECS / folder).glob("*.toml"):
            (tmp_path / folder / path.name).write_bytes(path.read_bytes())
    path = tmp_path / "boards" / "spoonbill.toml"
    text = path.read_text("utf-8")
    path.write_text(text.replace('thickness = "1/2 in"', f'thickness = "1/2 in"\n{more}'), "utf-8")
    return load_board(path).stringer


def test_a_broken_plank_stops_the_build_with_its_faults(tmp_path: Path) -> None:
    read_with(tmp_path, 'spread = "300 g/m2"\npigment = "3 %"')
    plank = tmp_path / "planks" / "greenhouse-bench.toml"
    plank.write_text(plank.read_text("utf-8").replace("width = 7.5", "width = 75"), "utf-8")
    with pytest.raises(SpecError, match=r"greenhouse-bench\.toml:8: width: too large"):
        check_boards([tmp_path / "boards" / "spoonbill.toml"])
