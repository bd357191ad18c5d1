"""`bayloft cut` as a maker meets it: its files read back by other readers, its refusals, its place beside a build."""

from __future__ import annotations

import csv
import hashlib
import json
from pathlib import Path
from xml.etree import ElementTree

import pyogrio
import pytest
import shapely
from click.testing import CliRunner, Result
from svgpathtools import parse_path

from bayloft.cli import main

SPECS = Path(__file__).parents[2] / "specs"
DUNLIN = SPECS / "boards" / "dunlin.toml"
ROUTER = SPECS / "shop" / "boatshed-router.toml"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def tree(folder: Path) -> dict[str, str]:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    out = tmp_path_factory.mktemp("place") / "out"
    return out, run("cut", DUNLIN, "--shop", ROUTER, "-o", out)


def test_what_is_said_and_written(done: tuple[Path, Result]) -> None:
    out, result = done
    assert result.exit_code == 0, result.output
    assert sorted(tree(out)) == [
        "dunlin/cut/cut-list.csv",
        "dunlin/cut/report.json",
        "dunlin/cut/sheet-1.dxf",
        "dunlin/cut/sheet-1.svg",
    ]
    assert "1 sheet, 3 parts, " in result.output
    assert "birch ply 6, 3 parts" in result.output
    assert "assumed (not in the shop file): " in result.output


def test_report_lists_the_files_and_the_parts(done: tuple[Path, Result]) -> None:
    folder = done[0] / "dunlin" / "cut"
    said = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    listed = {entry["name"]: entry["sha256"] for entry in said["files"]}
    assert listed == {name: digest for name, digest in tree(folder).items() if name != "report.json"}
    (sheet,) = said["sheets"]
    assert sheet["used_share"] == pytest.approx(sheet["used_mm2"] / (2440 * 1220), abs=1e-4)
    assert sheet["used_mm2"] == pytest.approx(sum(part["area_mm2"] for part in sheet["parts"]), abs=0.01)
    assert {check["severity"] for check in said["checks"]} == {"note"}
    rows = list(csv.DictReader((folder / "cut-list.csv").read_text(encoding="utf-8").splitlines()))
    parts = [row for row in rows if row["kind"] == "part"]
    assert [(row["number"], row["title"]) for row in parts] == [
        ("1", "half outline"),
        ("2", "Dunlin side"),
        ("3", "Dunlin centre"),
    ]
    for row, part in zip(parts, sheet["parts"], strict=True):
        assert float(row["x_mm"]) == part["x_mm"]
        assert float(row["share_of_sheet"]) == pytest.approx(part["area_mm2"] / (2440 * 1220), abs=1e-4)
    assert len(rows) - len(parts) == len(sheet["off_cuts"]) > 0


def test_gdal_finds_the_parts_of_the_sheet_apart(done: tuple[Path, Result]) -> None:
    folder = done[0] / "dunlin" / "cut"
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.25})
    meta, _, shapes, fields = pyogrio.raw.read(folder / "sheet-1.dxf")
    layers = dict(zip(meta["fields"], fields, strict=True))["Layer"]
    found = list(zip(layers.tolist(), shapely.from_wkb(shapes), strict=True))
    (edge,) = [shape for layer, shape in found if layer == "STOCK"]
    assert edge.bounds == (0.0, 0.0, 2440.0, 1220.0)
    parts = [shapely.Polygon(shape.coords) for layer, shape in found if layer == "CUT"]
    said = json.loads((folder / "report.json").read_text(encoding="utf-8"))["sheets"][0]
    assert len(parts) == len(said["parts"]) == 3
    for one, told in zip(parts, said["parts"], strict=True):
        # Arcs in steps of a quarter degree lose that much of what they enclose.
        assert one.area == pytest.approx(told["area_mm2"], rel=5e-5)
        assert one.bounds[:2] == pytest.approx((told["x_mm"], told["y_mm"]), abs=0.02)
        assert shapely.box(21, 21, 2419, 1199).buffer(0.01).covers(one)
        assert all(one.distance(other) > 7.99 for other in parts if other is not one)
    on_parts = shapely.union_all(parts).buffer(0.2)
    assert all(on_parts.covers(shape) for layer, shape in found if layer not in ("STOCK", "CUT"))


def test_the_page_shows_every_part_once(done: tuple[Path, Result]) -> None:
    root = ElementTree.parse(done[0] / "dunlin" / "cut" / "sheet-1.svg").getroot()
    assert root.attrib["viewBox"] == "0 0 297.000 210.000"
    group = next(each for each in root if each.attrib.get("id") == "CUT_FACE")
    lengths = [parse_path(path.attrib["d"]).length() for path in group]
    assert len(lengths) == 3
    texts = [text.text for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "Dunlin: sheet 1 of 1" in texts
    assert sum(text in ("1", "2", "3") for text in texts) == 3
    assert sum("run each program in the air first" in (text or "") for text in texts) == 1
    assert any("off-cut A" in (text or "") for text in texts)


def test_the_same_again_and_as_json(done: tuple[Path, Result], tmp_path: Path) -> None:
    result = run("cut", DUNLIN, "--shop", ROUTER, "-o", tmp_path, "--json")
    assert result.exit_code == 0
    assert tree(tmp_path) == tree(done[0])
    assert json.loads(result.stdout)[0] == json.loads((tmp_path / "dunlin/cut/report.json").read_text("utf-8"))


def test_a_build_takes_former_cuts_away_and_leaves_strangers(tmp_path: Path) -> None:
    fresh = run("cut", DUNLIN, "--shop", ROUTER, "-o", tmp_path)
    assert fresh.exit_code == 0
    assert run("build", DUNLIN, "-o", tmp_path).exit_code == 0
    assert not (tmp_path / "dunlin" / "cut").exists()
    assert run("cut", DUNLIN, "--shop", ROUTER, "-o", tmp_path).exit_code == 0
    assert (tmp_path / "dunlin" / "report.json").exists()
    (tmp_path / "dunlin" / "cut" / "notes.txt").write_text("mine", encoding="utf-8")
    for command in (["cut", DUNLIN, "--shop", ROUTER], ["build", DUNLIN]):
        refused = run(*command, "-o", tmp_path)
        assert refused.exit_code == 2
        assert "notes.txt" in refused.output


def test_a_part_larger_than_all_stock(tmp_path: Path) -> None:
    result = run("cut", SPECS / "boards" / "fulmar.toml", "--shop", ROUTER, "-o", tmp_path)
    assert result.exit_code == 2
    assert "Fulmar: part 1, half outline: 10' 2\" (3098.8 mm)" in result.output
    assert "is larger than all stock" in result.output
    assert not list(tmp_path.iterdir())


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--shop", SPECS / "shop" / "boatshed-printer.toml"), "this shop has no router"),
        (("--shop", ROUTER, "--stock", "birch"), "--stock: "),
        (("--shop", ROUTER, "--cutter", "6 mm strait"), 'try:     --cutter "6 mm straight"'),
        (("--shop", DUNLIN), "a board file where a shop file is needed"),
        (("--shop", SPECS / "shop" / "none.toml"), "no such file"),
    ],
)
def test_refusals(more: tuple[str | Path, ...], said: str, tmp_path: Path) -> None:
    result = run("cut", DUNLIN, *more, "-o", tmp_path)
    assert result.exit_code == 2
    assert said in result.output
    assert not list(tmp_path.iterdir())


def test_faults_of_shop_and_board_are_told_together(tmp_path: Path) -> None:
    board, shop = tmp_path / "board.toml", tmp_path / "shop.toml"
    board.write_text('name = "Knot"\nlength = "6 fingers"\n', encoding="utf-8")
    shop.write_text('name = "Shed"\n[paper]\nkind = "A5"\n', encoding="utf-8")
    result = run("cut", board, "--shop", shop, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert "board.toml:2: length: not a length" in result.output
    assert "shop.toml:3: paper.kind: not one of its choices" in result.output
