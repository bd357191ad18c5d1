"""The commands as a user meets them: what they print, write, and answer with."""

from __future__ import annotations

import hashlib
import json
import os
import re
import subprocess
import sys
from collections.abc import Callable
from fnmatch import fnmatch
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from bayloft.cli import main
from bayloft.record.libraries import libraries
from bayloft.spec.plank_loading import load_plank

from ..demo import changed

SPECS = Path(__file__).parents[2] / "specs"
WHIMBREL = SPECS / "boards" / "whimbrel.toml"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def tree(folder: Path) -> dict[str, str]:
    return {
        path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("place") / "out"
    result = run("build", SPECS, "-o", out, "--jobs", "1")
    assert result.exit_code == 0, result.output
    return out


def test_all_boards_are_built(built: Path) -> None:
    boards = sorted(path.name for path in built.iterdir())
    assert boards == [
        "avocet",
        "dunlin",
        "fulmar",
        "sanderling",
        "shearwater",
        "spoonbill",
        "turnstone",
        "whimbrel",
    ]
    assert sorted(tree(built / "whimbrel")) == [
        "drawing.pdf",
        "drawing.svg",
        "fins/tail.pdf",
        "fins/tail.svg",
        "fins/whimbrel-flex-cut.svg",
        "fins/whimbrel-flex-gauges-cut.svg",
        "fins/whimbrel-flex-gauges.dxf",
        "fins/whimbrel-flex-gauges.svg",
        "fins/whimbrel-flex-layup.pdf",
        "fins/whimbrel-flex-layup.svg",
        "fins/whimbrel-flex.dxf",
        "fins/whimbrel-flex.svg",
        "picture.svg",
        "rails.pdf",
        "rails.svg",
        "report.json",
        "solids/whimbrel-flex.stl",
        "solids/whimbrel-with-fins.stl",
        "solids/whimbrel.stl",
        "templates/fin-marks-cut.svg",
        "templates/fin-marks.dxf",
        "templates/fin-marks.svg",
        "templates/full-outline-cut.svg",
        "templates/full-outline.dxf",
        "templates/full-outline.svg",
        "templates/gauges-cut.svg",
        "templates/gauges.dxf",
        "templates/gauges.svg",
        "templates/half-outline-cut.svg",
        "templates/half-outline-r12-mm.dxf",
        "templates/half-outline.dxf",
        "templates/half-outline.svg",
        "templates/rocker-stick-cut.svg",
        "templates/rocker-stick.dxf",
        "templates/rocker-stick.svg",
        "templates/spin-templates-cut.svg",
        "templates/spin-templates.dxf",
        "templates/spin-templates.svg",
        "templates/stringer-cut.svg",
        "templates/stringer.dxf",
        "templates/stringer.svg",
    ]


def test_the_day_given_stands_on_every_drawing_and_no_other(tmp_path: Path, built: Path) -> None:
    assert run("build", WHIMBREL, "-o", tmp_path, "--date", "2026-05-01").exit_code == 0
    dated, undated = tmp_path / "whimbrel", built / "whimbrel"
    sheets = ("drawing.svg", "rails.svg", "fins/tail.svg", "fins/whimbrel-flex-layup.svg")
    for name in (*sheets, "fins/whimbrel-flex-gauges.svg"):
        assert "2026-05-01" in (dated / name).read_text(encoding="utf-8")
        assert not re.search(r"20\d\d-\d\d-\d\d", (undated / name).read_text(encoding="utf-8"))
    # On a template the day is no text but strokes, which a router scribes into the wood.
    kinds = ("full-outline", "gauges", "half-outline", "rocker-stick", "spin-templates", "stringer", "fin-marks")
    for name in ("fins/whimbrel-flex.svg", *(f"templates/{kind}.svg" for kind in kinds)):
        with_day, without = ((folder / name).read_text(encoding="utf-8") for folder in (dated, undated))
        assert len(with_day) > len(without)


def test_how_long_each_stage_took_is_said_when_asked_for() -> None:
    result = run("check", WHIMBREL, "-v", "--json")
    assert result.exit_code == 0
    assert re.search(r"Whimbrel: loft and checks \d+\.\d\d s, drawings \d+\.\d\d s\n", result.stderr)
    assert json.loads(result.stdout)[0]["name"] == "Whimbrel"


def test_a_day_that_is_none_is_refused(tmp_path: Path) -> None:
    result = run("build", WHIMBREL, "-o", tmp_path, "--date", "2026-02-30")
    assert result.exit_code == 2
    assert "2026-02-30" in result.output
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", ["drawing.svg", "picture.svg"])
def test_the_readme_shows_what_is_built(name: str, built: Path, same_text: Callable[[str, Path], None]) -> None:
    drawn = (built / "whimbrel" / name).read_text(encoding="utf-8")
    same_text(drawn, Path(__file__).parents[1] / "golden" / "whimbrel" / name)


def test_the_readme_lists_every_file(built: Path) -> None:
    """Each row of README's table is of files that are built, and each file is of a row."""
    text = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    table = text.split("| file in `out/whimbrel/` | what it is |")[1].split("\n\n")[0]
    patterns: list[str] = []
    for row in table.splitlines()[2:]:
        names = re.findall(r"`([^`]+)`", row.split("|")[1])
        folder = names[0].rsplit("/", 1)[0] + "/" if "/" in names[0] else ""
        for name in names:
            last = patterns[-1] if name.startswith(".") and patterns else ""
            whole = last.rsplit(".", 1)[0] + name if last else name if "/" in name or not folder else folder + name
            patterns.append(whole)
    files = set(tree(built / "whimbrel"))
    of_none = {pattern for pattern in patterns if not any(fnmatch(name, pattern) for name in files)}
    cards = {f"cards/{name}.pdf" for name in ("bands", "float", "glass", "sanding", "shaping", "stringer", "weight")}
    panels = {"cards/panels.pdf", "templates/fin-panels.dxf"}
    others = {"avocet": {"readings.svg", "readings.pdf"}, "spoonbill": cards, "turnstone": panels}
    assert of_none == {"templates/fin-slots.dxf", "templates/fin-slots.svg"}.union(*others.values())
    assert all(named <= set(tree(built / board)) for board, named in others.items())
    assert {name for name in files if not any(fnmatch(name, pattern) for pattern in patterns)} == set()


@pytest.mark.parametrize("length", ["7 ft 4 2/3 in", "88 1/6 in", "2235.2000000004 mm"])
def test_lengths_that_are_no_round_millimetres(tmp_path: Path, length: str) -> None:
    assert run("new", tmp_path).exit_code == 0
    board = tmp_path / "first-board.toml"
    board.write_text(board.read_text("utf-8").replace('length = "7 ft"', f'length = "{length}"'), encoding="utf-8")
    result = run("check", board)
    assert result.exit_code == 0, result.output


def test_report_lists_every_file_and_every_check(built: Path) -> None:
    for board in built.iterdir():
        report = json.loads((board / "report.json").read_text(encoding="utf-8"))
        listed = {entry["name"]: entry["sha256"] for entry in report["files"]}
        assert listed == {name: digest for name, digest in tree(board).items() if name != "report.json"}
        assert report["program"]["libraries"] == libraries()
        assert report["checks"]["failed"] == 0
        assert report["checks"]["made"] > 30
        assert all(abs(item["error_mm"]) <= item["limit_mm"] for item in report["dimensions"])
        for item in report["dimensions"]:
            assert item["limit_mm"] == max(item["play_mm"], 0.01) or "radius" in item["what"]
        relative = report["mesh"]["volume_mm3"] / report["integrals"]["volume_mm3"] - 1.0
        assert -1e-3 <= relative < 0.0


def test_the_float_is_told_of_the_board_that_asks_for_it(built: Path) -> None:
    told = {board.name: json.loads((board / "report.json").read_text("utf-8"))["float"] for board in built.iterdir()}
    assert [name for name, said in told.items() if said] == ["spoonbill"]
    own = told["spoonbill"]
    assert own["rests"] is True
    assert [each["fate"] for each in own["loads"]] == ["floats"] * 3
    result = run("check", SPECS / "boards" / "spoonbill.toml")
    assert f"  float: {own['verdict']}" in result.output.splitlines()


def test_report_tells_stringer_and_bands_of_the_board_that_asks_for_them(built: Path) -> None:
    told = {board.name: json.loads((board / "report.json").read_text("utf-8")) for board in built.iterdir()}
    assert [name for name, report in told.items() if report["stringer"] or report["bands"]] == ["spoonbill"]
    stringer, bands = told["spoonbill"]["stringer"], told["spoonbill"]["bands"]
    assert stringer["comes_out"] is True
    assert stringer["verdict"] == "Comes out of Greenhouse bench, turned 0.6°."
    # The area of the profile by the DXF's own outline, both sides glued; the weight by thickness and density.
    mass = stringer["finished_g"] / (12.7e-3 * 370.0 * 1e3)
    assert mass * 1e6 == pytest.approx(180e3, rel=0.05)
    assert stringer["glued_mm2"] / 2.0 == pytest.approx(mass * 1e6 * 1.09, rel=0.03)
    assert stringer["clamps"]["apart_mm"] * (stringer["clamps"]["count"] - 1) == pytest.approx(2852, abs=4.0)
    deck = bands["faces"]["deck"]
    assert [each["slope_deg"][0] for each in deck] == [20.0, 45.0]
    for inner, outer in zip(deck[0]["inner_off_middle_mm"], deck[1]["inner_off_middle_mm"], strict=True):
        assert inner < outer


def test_a_plank_that_does_not_hold_the_stringer_is_told_by_build_and_check(tmp_path: Path) -> None:
    text = (SPECS / "boards" / "spoonbill.toml").read_text("utf-8")
    spec = changed(tmp_path, "spoonbill", text.replace("greenhouse-bench", "bed-slat"))
    result = CliRunner().invoke(main, ["check", str(spec)])
    assert result.exit_code == 0, result.output
    assert "look: stringer: Does not come out of Bed slat. It is" in result.output
    assert "strips = 2 would do" in result.output


@pytest.mark.parametrize("surroundings", [{"PYTHONHASHSEED": "7", "TZ": "Asia/Tokyo"}, {"OPENBLAS_NUM_THREADS": "1"}])
def test_same_spec_same_bytes(built: Path, tmp_path: Path, surroundings: dict[str, str]) -> None:
    subprocess.run(
        [sys.executable, "-m", "bayloft", "build", SPECS, "-o", tmp_path / "again", "--jobs", "2"],
        check=True,
        capture_output=True,
        env=os.environ | surroundings,
        cwd=tmp_path,
    )
    assert tree(tmp_path / "again") == tree(built)


def test_summary_speaks_feet_and_litres(tmp_path: Path) -> None:
    result = run("build", WHIMBREL, "-o", tmp_path)
    assert result.exit_code == 0
    assert "Whimbrel" in result.output
    assert "7' 4\"" in result.output
    assert "2235.2 mm" in result.output
    assert " L " in result.output


def test_json_is_the_report(tmp_path: Path) -> None:
    result = run("build", WHIMBREL, "-o", tmp_path, "--json")
    assert json.loads(result.stdout) == [
        json.loads((tmp_path / "whimbrel" / "report.json").read_text(encoding="utf-8"))
    ]


def test_check_writes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    result = run("check", SPECS, "--jobs", "2")
    assert result.exit_code == 0, result.output
    assert result.output.count("checked, nothing written") == 8
    assert list(tmp_path.iterdir()) == []


def test_new_plank_is_written_and_loads(tmp_path: Path) -> None:
    result = run("new", "--plank", tmp_path)
    assert result.exit_code == 0
    assert {path.name for path in tmp_path.iterdir()} == {"first-plank.toml", "plank.schema.json"}
    assert load_plank(tmp_path / "first-plank.toml").thickness_mm == pytest.approx(15.875)
    assert run("new", "--plank", tmp_path).exit_code == 2
    assert run("new", "--plank", "--blank", tmp_path).exit_code == 2


def test_new_specs_build(tmp_path: Path) -> None:
    assert run("new", tmp_path / "mine").exit_code == 0
    assert run("build", tmp_path / "mine" / "first-board.toml", "-o", tmp_path / "out").exit_code == 0
    again = run("new", tmp_path / "mine")
    assert again.exit_code == 2
    assert "is there already" in again.output


def test_a_folder_of_specs_of_all_kinds_names_its_boards(tmp_path: Path) -> None:
    mine = tmp_path / "mine"
    assert run("new", mine).exit_code == 0
    done = run("check", mine)
    assert done.exit_code == 0, done.output
    (mine / "broken.toml").write_text("outline = [", encoding="utf-8")
    assert f"{mine / 'broken.toml'}:" in run("check", mine).output
    for path in (mine / "broken.toml", mine / "first-board.toml"):
        path.unlink()
    without = run("check", mine)
    assert without.exit_code == 2
    assert "this folder holds no specs" in without.output


def test_schemas_beside_the_specs_are_current(tmp_path: Path) -> None:
    assert run("schema", "-o", tmp_path).exit_code == 0
    assert tree(tmp_path) == tree(SPECS / "schema")
    assert json.loads(run("schema", "fin").stdout) == json.loads((tmp_path / "fin.schema.json").read_text("utf-8"))


def test_rebuild_replaces_and_leaves_nothing_behind(built: Path, tmp_path: Path) -> None:
    for _ in range(2):
        assert run("build", WHIMBREL, "-o", tmp_path).exit_code == 0
    assert [path.name for path in tmp_path.iterdir()] == ["whimbrel"]
    assert tree(tmp_path / "whimbrel") == tree(built / "whimbrel")


def test_faulty_spec_leaves_former_build(tmp_path: Path) -> None:
    assert run("build", WHIMBREL, "-o", tmp_path).exit_code == 0
    before = tree(tmp_path)
    broken = tmp_path.parent / "boards" / "whimbrel.toml"
    broken.parent.mkdir(exist_ok=True)
    broken.write_text('name = "Whimbrel"\nlength = "7 ft"\nlenght = 3\n', encoding="utf-8")
    result = run("build", broken, WHIMBREL, "-o", tmp_path)
    assert result.exit_code == 2
    assert "whimbrel.toml:3" in result.output
    assert tree(tmp_path) == before


def test_two_boards_of_one_name_are_refused(tmp_path: Path) -> None:
    place = tmp_path / "boards"
    place.mkdir()
    assert run("new", place).exit_code == 0
    (place / "second.toml").write_text((place / "first-board.toml").read_text("utf-8"), encoding="utf-8")
    result = run("build", place / "first-board.toml", place / "second.toml", "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert "another board of this name" in result.output
    assert not (tmp_path / "out").exists()


def test_files_of_others_are_not_replaced(tmp_path: Path) -> None:
    assert run("build", WHIMBREL, "-o", tmp_path).exit_code == 0
    (tmp_path / "whimbrel" / "notes.txt").write_text("sand lightly", encoding="utf-8")
    before = tree(tmp_path)
    result = run("build", WHIMBREL, "-o", tmp_path)
    assert result.exit_code == 2
    assert "notes.txt" in result.output
    assert tree(tmp_path) == before


def test_a_file_in_the_way(tmp_path: Path) -> None:
    (tmp_path / "whimbrel").write_text("not a folder", encoding="utf-8")
    result = run("build", WHIMBREL, "-o", tmp_path)
    assert result.exit_code == 2
    assert "in the way" in result.output
    assert (tmp_path / "whimbrel").read_text(encoding="utf-8") == "not a folder"


@pytest.mark.skipif(sys.platform == "win32", reason="needs POSIX resource limits")
def test_full_place_leaves_former_build(tmp_path: Path) -> None:
    assert run("build", WHIMBREL, "-o", tmp_path).exit_code == 0
    before = tree(tmp_path)
    # A limit on file size stands for a full disk: the solid of some megabytes cannot be written whole.
    small = "import resource, signal; resource.setrlimit(resource.RLIMIT_FSIZE, (200_000, 200_000)); "
    ignored = "signal.signal(signal.SIGXFSZ, signal.SIG_IGN); from bayloft.cli import main; main()"
    result = subprocess.run(
        [sys.executable, "-c", small + ignored, "build", WHIMBREL, "-o", tmp_path],
        capture_output=True,
        text=True,
        check=False,
    )
    assert result.returncode == 2, result.stderr
    assert "cannot write there: File too large" in result.stderr
    assert tree(tmp_path) == before


def test_unwritable_place(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    result = run("build", WHIMBREL, "-o", tmp_path / "file" / "out")
    assert result.exit_code == 2
    assert "cannot write there" in result.output


@pytest.mark.parametrize("tolerance", ["0", "-1", "nan", "inf", "1e9", "1e-9"])
def test_tolerance_out_of_range(tmp_path: Path, tolerance: str) -> None:
    result = run("build", WHIMBREL, "-o", tmp_path, "--tolerance", tolerance)
    assert result.exit_code == 2
    assert "chord tolerance" in result.output
    assert list(tmp_path.iterdir()) == []


def test_failed_check_is_not_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bayloft.solid.checks.MESH_ORDER", (2.9, 3.1))
    result = run("build", WHIMBREL, "-o", tmp_path, "--jobs", "1")
    assert result.exit_code == 3
    assert "mesh-order" in result.output
    assert list(tmp_path.iterdir()) == []


def test_defect_names_the_spec(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise ZeroDivisionError("a fault of ours")

    monkeypatch.setattr("bayloft.delivery.board_files.part_set", broken)
    result = run("build", WHIMBREL, "-o", tmp_path, "--jobs", "1")
    assert result.exit_code == 1
    assert "whimbrel.toml" in result.output
    assert "a fault of ours" in result.output
    assert list(tmp_path.iterdir()) == []


def test_no_colour_and_no_bar_off_a_terminal(tmp_path: Path) -> None:
    result = subprocess.run(
        [sys.executable, "-m", "bayloft", "build", SPECS, "-o", tmp_path], capture_output=True, text=True, check=True
    )
    assert "\x1b" not in result.stdout + result.stderr
    assert result.stderr == ""


def test_help_teaches_with_an_example() -> None:
    for command in ([], ["build"], ["check"], ["new"], ["schema"], ["cut"]):
        text = run(*command, "--help").output
        assert "bayloft" in text
        assert "xample" in text or "first board" in text
