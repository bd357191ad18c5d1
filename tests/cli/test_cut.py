"""`bayloft cut` as a maker meets it: its files read back by other readers, its refusals, its place beside a build."""

from __future__ import annotations

import csv
import hashlib
import json
import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pyogrio
import pypdf
import pytest
import shapely
from click.testing import CliRunner, Result
from svgpathtools import parse_path

from bayloft.cli import main
from bayloft.record.libraries import libraries

from .small_board import KNOT

SPECS = Path(__file__).parents[2] / "specs"
FULMAR = SPECS / "boards" / "fulmar.toml"
ROUTER = SPECS / "shop" / "boatshed-router.toml"
PRINTER = SPECS / "shop" / "boatshed-printer.toml"

# A narrow cutter: few passes.
SHED = """
name = "Shed"
paper = { kind = "A3" }
machine = { bed_length = "1300 mm", bed_width = "600 mm", travel_height = "15 mm", greatest_feed = "1200 mm/min" }

[[stock]]
name = "ply"
length = "1300 mm"
width = "600 mm"
thickness = "4 mm"
sheets = 2

[[cutters]]
name = "narrow"
diameter = "3 mm"
cutting_depth = "12 mm"
flutes = 2
chip_load = "0.03 mm/flute"
rpm = 12000
pass_depth = "5 mm"

[[cutters]]
name = "wide"
diameter = "20 mm"
cutting_depth = "20 mm"
flutes = 2
chip_load = "0.03 mm/flute"
rpm = 12000
pass_depth = "5 mm"
"""
KNOT_PRINTS = [
    "prints/001-half-outline.pdf",
    "prints/003-stringer.pdf",
    "prints/004-rocker-stick.pdf",
    "prints/005-nose-spin-template.pdf",
    "prints/006-tail-spin-template.pdf",
    "prints/021-thickness-card.pdf",
    "prints/101-rail-gauge-457-2-mm-from-tail.pdf",
]
KNOT_SHEETS = [f"sheet-1{end}" for end in ("-dry-run.nc", ".dxf", ".nc", ".svg")]


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [str(argument) for argument in arguments])


def tree(folder: Path) -> dict[str, str]:
    files = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}


def said_in(folder: Path) -> dict[str, Any]:
    said: dict[str, Any] = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    return said


def written(place: Path, text: str) -> Path:
    place.write_text(text, encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def done(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    """A board longer than all stock, all its parts cut with two cutters."""
    out = tmp_path_factory.mktemp("place") / "out"
    return out / "fulmar" / "cut", run("cut", FULMAR, "--shop", ROUTER, "--parts", "all", "-o", out)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    place = tmp_path_factory.mktemp("specs")
    return written(place / "knot.toml", KNOT), written(place / "shed.toml", SHED)


@pytest.fixture(scope="module")
def small_done(small: tuple[Path, Path], tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    out = tmp_path_factory.mktemp("small") / "out"
    return out / "knot" / "cut", run("cut", small[0], "--shop", small[1], "-o", out)


def test_what_is_said_and_written(done: tuple[Path, Result]) -> None:
    folder, result = done
    assert result.exit_code == 0, result.output
    names = [name for name in tree(folder) if not name.startswith("prints/")]
    programs = ["sheet-1-cut", "sheet-1-scribe-drill", "sheet-2-cut", "sheet-2-scribe-drill"]
    expected = ["cut-list.csv", "report.json", "sheet-1.dxf", "sheet-1.svg", "sheet-2.dxf", "sheet-2.svg"]
    assert names == sorted([*expected, *(f"{name}{end}.nc" for name in programs for end in ("", "-dry-run"))])
    prints = [name for name in tree(folder) if name.startswith("prints/")]
    numbered, others = prints[:-2], prints[-2:]
    numbers = [int(name[7:10]) for name in numbered]
    assert numbers == sorted(set(numbers))
    assert others == ["prints/fin-marks.pdf", "prints/fulmar-gun-gauges.pdf"]
    assert "2 sheets, 18 parts, " in result.output
    assert f"{len(prints)} drawings as full-size prints on A3" in result.output
    assert result.output.count("; proved, with a dry run beside it") == len(programs)
    assert "assumed (not in the shop file): " in result.output


def test_small_parts_take_the_narrow_cutter_alone(small_done: tuple[Path, Result]) -> None:
    folder, result = small_done
    assert result.exit_code == 0, result.output
    assert list(tree(folder)) == sorted(["cut-list.csv", *KNOT_PRINTS, "report.json", *KNOT_SHEETS])


def test_what_no_shop_does_is_said(small_done: tuple[Path, Result]) -> None:
    lines = SHED.splitlines()
    deep = lines.index('pass_depth = "5 mm"') + 1
    told = [line for line in small_done[1].output.splitlines() if "is unusual" in line]
    assert told[0] == (
        f'  warning: shed.toml:{deep}: cutters[1].pass_depth: "5 mm" is unusual for a cutter of 3 mm: 0.3 to 3 mm is '
        "usual; less takes hours, more bends or snaps the cutter (common practice, no source)"
    )
    # Of the wide one its diameter and its chip load.
    assert [line.split(": ")[2] for line in told[1:]] == ["cutters[2].diameter", "cutters[2].chip_load"]
    listed = [check for check in said_in(small_done[0])["job"]["checks"] if check["code"] == "unusual"]
    assert [f"  warning: {check['where']}: {check['text']}" for check in listed] == told


def test_the_shops_of_the_shed_are_usual(done: tuple[Path, Result]) -> None:
    assert "is unusual" not in done[1].output


def test_report_lists_the_files_the_parts_and_the_programs(done: tuple[Path, Result]) -> None:
    folder = done[0]
    said = said_in(folder)
    listed = {entry["name"]: entry["sha256"] for entry in said["files"]}
    assert listed == {name: digest for name, digest in tree(folder).items() if name != "report.json"}
    assert said["program"]["libraries"] == libraries()
    assert said["paper"] == {"kind": "A3", "overlap_mm": 10.0}
    job = said["job"]
    assert job["parts"] == sum(len(sheet["parts"]) for sheet in job["sheets"]) == 18
    assert [(each["name"], each["cutter"]) for each in job["programs"]] == [
        ("sheet-1-scribe-drill", "3 mm straight"),
        ("sheet-1-cut", "6 mm straight"),
        ("sheet-2-scribe-drill", "3 mm straight"),
        ("sheet-2-cut", "6 mm straight"),
    ]
    for program in job["programs"]:
        assert program["minutes"] > 0.0
        assert (program["tabs"] > 0) == program["name"].endswith("cut")
    for sheet in job["sheets"]:
        assert sheet["used_share"] == pytest.approx(sheet["used_mm2"] / (2440 * 1220), abs=1e-4)
        assert sheet["used_mm2"] == pytest.approx(sum(part["area_mm2"] for part in sheet["parts"]), abs=0.01)
    assert {check["severity"] for check in job["checks"]} <= {"note", "warning"}
    for code in ("gouged", "left-standing"):
        found = [check["measured"] for check in job["checks"] if check["code"] == code]
        assert len(found) == len(job["programs"])
        assert max(found) <= 0.05


def test_the_cut_list_agrees_with_the_report(done: tuple[Path, Result]) -> None:
    folder = done[0]
    sheets = said_in(folder)["job"]["sheets"]
    rows = list(csv.DictReader((folder / "cut-list.csv").read_text(encoding="utf-8").splitlines()))
    parts = [row for row in rows if row["kind"] == "part"]
    told = [(sheet["number"], part) for sheet in sheets for part in sheet["parts"]]
    for row, (number, part) in zip(parts, told, strict=True):
        assert (row["sheet"], row["number"], row["title"]) == (str(number), str(part["number"]), part["title"])
        assert float(row["x_mm"]) == part["x_mm"]
        assert float(row["share_of_sheet"]) == pytest.approx(part["area_mm2"] / (2440 * 1220), abs=1e-4)
    assert len(rows) - len(parts) == sum(len(sheet["off_cuts"]) for sheet in sheets) > 0


def test_a_part_longer_than_all_stock_is_in_pieces(done: tuple[Path, Result]) -> None:
    parts = [part for sheet in said_in(done[0])["job"]["sheets"] for part in sheet["parts"]]
    for number, title in ((1, "half outline"), (2, "full outline"), (3, "stringer")):
        pieces = [part for part in parts if part["number"] == number]
        assert sorted(part["title"] for part in pieces) == [f"{title}, piece {n} of 2" for n in (1, 2)]
        assert all(part["length_mm"] < 2440 for part in pieces)
        # The board is 3098.8 mm long; what the key reaches beyond the joint is there twice.
        assert 3098.8 < sum(part["length_mm"] for part in pieces) < 3098.8 + 60.0


@pytest.mark.parametrize("number", [1, 2])
def test_gdal_finds_the_parts_of_the_sheet_apart(done: tuple[Path, Result], number: int) -> None:
    folder = done[0]
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.25})
    meta, _, shapes, fields = pyogrio.raw.read(folder / f"sheet-{number}.dxf")
    layers = dict(zip(meta["fields"], fields, strict=True))["Layer"]
    found = list(zip(layers.tolist(), shapely.from_wkb(shapes), strict=True))
    (edge,) = [shape for layer, shape in found if layer == "STOCK"]
    assert edge.bounds == (0.0, 0.0, 2440.0, 1220.0)
    rings = [shapely.Polygon(shape.coords) for layer, shape in found if layer == "CUT"]
    # An opening lies in another ring; what is left are the parts, in the order of the report.
    parts = [ring for ring in rings if not any(other.contains(ring) for other in rings if other is not ring)]
    told = said_in(folder)["job"]["sheets"][number - 1]["parts"]
    assert len(parts) == len(told) > 1
    for one, part in zip(parts, told, strict=True):
        assert one.bounds[:2] == pytest.approx((part["x_mm"], part["y_mm"]), abs=0.02)
        assert one.bounds[2] - one.bounds[0] == pytest.approx(part["length_mm"], abs=0.02)
        assert shapely.box(21, 21, 2419, 1199).buffer(0.01).covers(one)
        assert all(one.distance(other) > 7.99 for other in parts if other is not one)
    on_parts = shapely.union_all(parts).buffer(0.2)
    assert all(on_parts.covers(shape) for layer, shape in found if layer not in ("STOCK", "CUT"))


def test_the_page_shows_every_part_once(done: tuple[Path, Result]) -> None:
    folder = done[0]
    root = ElementTree.parse(folder / "sheet-2.svg").getroot()
    assert root.attrib["viewBox"] == "0 0 297.000 210.000"
    group = next(each for each in root if each.attrib.get("id") == "CUT_FACE")
    assert all(parse_path(path.attrib["d"]).length() > 0.0 for path in group)
    before, told = (sheet["parts"] for sheet in said_in(folder)["job"]["sheets"])
    assert len(group) == len(told)
    texts = [text.text or "" for text in root.iter("{http://www.w3.org/2000/svg}text")]
    assert "Fulmar: sheet 2 of 2" in texts
    # Pieces share their part's number.
    pieces = [(part["number"], re.fullmatch(r".*, piece (\d) of 2", part["title"])) for part in told]
    assert {number for number, _ in pieces} <= {part["number"] for part in before}
    assert [texts.count(f"{number}.{piece[1]}") for number, piece in pieces if piece] == [1] * len(told)
    assert sum("run each program in the air first" in text for text in texts) == 1
    assert any("off-cut A" in text for text in texts)


def test_programs_are_ascii_with_a_dry_run_that_stays_in_the_air(small_done: tuple[Path, Result]) -> None:
    cut, dry = ((small_done[0] / f"sheet-1{end}.nc").read_text(encoding="ascii") for end in ("", "-dry-run"))
    assert " Z-4." in cut
    assert "\nM3 " in cut
    assert " Z-" not in dry
    assert "M3 " not in dry
    assert "DRY RUN IN THE AIR" in dry.splitlines()[0]


def test_the_same_again_and_as_json(small: tuple[Path, Path], small_done: tuple[Path, Result], tmp_path: Path) -> None:
    result = run("cut", small[0], "--shop", small[1], "-o", tmp_path, "--json")
    assert result.exit_code == 0
    assert tree(tmp_path / "knot" / "cut") == tree(small_done[0])
    assert json.loads(result.stdout)[0] == said_in(tmp_path / "knot" / "cut")


def test_a_printer_alone_has_prints_alone(small: tuple[Path, Path], tmp_path: Path) -> None:
    result = run("cut", small[0], "--shop", PRINTER, "-o", tmp_path)
    assert result.exit_code == 0, result.output
    folder = tmp_path / "knot" / "cut"
    assert list(tree(folder)) == [*KNOT_PRINTS, "report.json"]
    assert "7 drawings as full-size prints on A4" in result.output
    assert "left out: 2 full outline; --parts all takes it too" in result.output
    said = said_in(folder)
    assert said["job"] is None
    assert said["paper"]["kind"] == "A4"
    for name in KNOT_PRINTS:
        sizes = {
            (float(page.mediabox.width), float(page.mediabox.height)) for page in pypdf.PdfReader(folder / name).pages
        }
        # A4 either way up, in points.
        assert all(sorted(size) == pytest.approx((595.28, 841.89), abs=0.05) for size in sizes)


@pytest.mark.parametrize("date", [(), ("--date", "2026-05-01")])
def test_the_day_is_on_every_part_if_it_is_given(
    date: tuple[str, ...], small: tuple[Path, Path], tmp_path: Path
) -> None:
    assert run("cut", small[0], "--shop", PRINTER, "-o", tmp_path, *date).exit_code == 0
    for name in KNOT_PRINTS:
        pages = pypdf.PdfReader(tmp_path / "knot" / "cut" / name).pages
        assert any("2026-05-01" in page.extract_text() for page in pages) == bool(date)


def test_a_build_takes_former_cuts_away_and_leaves_strangers(small: tuple[Path, Path], tmp_path: Path) -> None:
    board = small[0]
    assert run("cut", board, "--shop", PRINTER, "-o", tmp_path).exit_code == 0
    assert run("build", board, "-o", tmp_path).exit_code == 0
    assert not (tmp_path / "knot" / "cut").exists()
    assert run("cut", board, "--shop", PRINTER, "-o", tmp_path).exit_code == 0
    assert (tmp_path / "knot" / "report.json").exists()
    (tmp_path / "knot" / "cut" / "notes.txt").write_text("mine", encoding="utf-8")
    before = tree(tmp_path)
    for command in (["cut", board, "--shop", PRINTER], ["build", board]):
        refused = run(*command, "-o", tmp_path)
        assert refused.exit_code == 2
        assert "notes.txt" in refused.output
        assert tree(tmp_path) == before


def test_a_part_wider_than_all_stock(small: tuple[Path, Path], tmp_path: Path) -> None:
    shop = written(tmp_path / "narrow.toml", SHED.replace("600 mm", "300 mm"))
    result = run("cut", small[0], "--shop", shop, "--parts", "all", "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert result.stderr == (
        "bayloft: Knot: part 2, full outline: too wide for every sheet, and parts are cut in pieces along their length "
        "only\n"
        '    found:   3\' 7 5/16" (1100.0 mm) x 15 3/4" (400.0 mm)\n'
        # Of 300 mm, the margin and the cutter take 18 mm on either side.
        '    allowed: at most 4\' 1 3/4" (1264.0 mm) x 10 3/8" (264.0 mm) on ply along its grain: the sheet less '
        "margins and cutter\n"
        '    try:     sheets at least 17 3/16" (436.1 mm) wide, on a bed as wide; or --parts "1, 3-6, 21, 101" leaves '
        "it out\n"
        "nothing was written\n"
    )
    assert not (tmp_path / "out").exists()


def test_a_cutter_wider_than_an_inside_radius(small: tuple[Path, Path], tmp_path: Path) -> None:
    result = run("cut", small[0], "--shop", small[1], "--cutter", "wide", "-o", tmp_path)
    assert result.exit_code == 3
    assert "thickness card: the inside radius of 3.50 mm at " in result.output
    assert "is less than the cutter's 10 mm, which would leave " in result.output
    assert "take a cutter of at most 7.00 mm (radius-small: " in result.output
    assert result.output.splitlines()[-1] == '    try: --cutter "narrow"; or --parts "1, 3-6" leaves them out'
    assert not list(tmp_path.iterdir())


def test_some_parts_only_and_holes_that_no_cutter_goes_into(small: tuple[Path, Path], tmp_path: Path) -> None:
    """The rocker stick's 3.2 mm holes, and a shop with one cutter of 6 mm: left to a hand drill, and told."""
    shop = written(tmp_path / "six.toml", SHED.replace('diameter = "3 mm"', 'diameter = "6 mm"'))
    result = run("cut", small[0], "--shop", shop, "--parts", "4", "-o", tmp_path / "out")
    assert result.exit_code == 0, result.output
    folder = tmp_path / "out" / "knot" / "cut"
    assert [name for name in tree(folder) if name.startswith("prints/")] == ["prints/004-rocker-stick.pdf"]
    assert "holes are left to drill by hand, 3.2 mm and up" in result.output
    codes = {check["code"]: check["severity"] for check in said_in(folder)["job"]["checks"]}
    assert codes["holes-left"] == "warning"
    refused = run("cut", small[0], "--shop", shop, "--parts", "4, 99", "-o", tmp_path / "none")
    assert refused.exit_code == 2
    assert "--parts: Knot has no part of this number" in refused.output


def test_a_short_cutter_does_what_it_reaches_and_blocks_nothing(small: tuple[Path, Path], tmp_path: Path) -> None:
    """Of a wide cutter and a short narrow one the latter scribes; the rocker stick's holes are for a longer one."""
    short = SHED.replace('diameter = "20 mm"', 'diameter = "6 mm"').replace(
        'diameter = "3 mm"\ncutting_depth = "12 mm"', 'diameter = "3 mm"\ncutting_depth = "3 mm"'
    )
    short = short.replace('pass_depth = "5 mm"', 'pass_depth = "2 mm"')
    long = f"""{short}
[[cutters]]
name = "drill"
diameter = "3 mm"
cutting_depth = "30 mm"
"""
    for text, programs, left in (
        (short, {"sheet-1-scribe": "narrow", "sheet-1-cut": "wide"}, True),
        (long, {"sheet-1-scribe": "narrow", "sheet-1-drill": "drill", "sheet-1-cut": "wide"}, False),
    ):
        shop, out = written(tmp_path / "shop.toml", text), tmp_path / f"{left}"
        result = run("cut", small[0], "--shop", shop, "--parts", "4", "-o", out)
        assert result.exit_code == 0, result.output
        said = said_in(out / "knot" / "cut")
        assert {each["name"]: each["cutter"] for each in said["job"]["programs"]} == programs
        assert ("left to drill by hand" in result.output) == left
        assert said["left_out"] == []
    result = run("cut", small[0], "--shop", shop, "--parts", "4", "--cutter", "narrow", "-o", tmp_path / "none")
    assert result.exit_code == 2
    assert "narrow does not go through ply" in result.output
    assert 'try:     --cutter "wide"' in result.output


def test_parts_reach_the_edge_of_a_sheet_without_a_margin(small: tuple[Path, Path], tmp_path: Path) -> None:
    shop = written(tmp_path / "whole.toml", SHED.replace("sheets = 2", "sheets = 2\nmargin = 0"))
    result = run("cut", small[0], "--shop", shop, "-o", tmp_path / "out")
    assert result.exit_code == 0, result.output
    parts = said_in(tmp_path / "out" / "knot" / "cut")["job"]["sheets"][0]["parts"]
    # The cutter itself goes along the edge.
    assert min(part["x_mm"] for part in parts) == pytest.approx(3.0, abs=0.02)


def test_the_full_outline_is_cut_when_asked_for(
    small: tuple[Path, Path], small_done: tuple[Path, Result], tmp_path: Path
) -> None:
    assert "left out: 2 full outline; --parts all takes it too" in small_done[1].output
    assert said_in(small_done[0])["left_out"] == [{"number": 2, "title": "full outline"}]
    whole = [1, 2, 3, 4, 5, 6, 21, 101]
    for asked, numbers in (("all", whole), ("1-101", whole), ("2", [2])):
        result = run("cut", small[0], "--shop", PRINTER, "--parts", asked, "-o", tmp_path)
        assert result.exit_code == 0, result.output
        assert "left out" not in result.output
        prints = [name for name in tree(tmp_path / "knot" / "cut") if name.startswith("prints/")]
        assert [int(name[7:10]) for name in prints] == [*numbers]
    refused = run("cut", small[0], "--shop", PRINTER, "--parts", "", "-o", tmp_path)
    assert refused.exit_code == 2
    assert 'numbers and runs of them, as "1, 51-53"; or "all"' in refused.output


def test_sheets_that_run_out(small: tuple[Path, Path], tmp_path: Path) -> None:
    shop = written(tmp_path / "one.toml", SHED.replace("sheets = 2", "sheets = 1"))
    result = run("cut", small[0], "--shop", shop, "--parts", "all", "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert "Knot: the sheets are full (1 of ply) and " in result.output
    assert "sheets = 2 of ply in the shop file, or fewer parts at once with --parts" in result.output
    assert "nothing was written" in result.output
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (("--shop", PRINTER, "--cutter", "6 mm straight"), "this shop has no router"),
        (("--shop", ROUTER, "--stock", "birch"), "--stock: "),
        (("--shop", ROUTER, "--cutter", "6 mm strait"), 'try:     --cutter "6 mm straight"'),
        (("--shop", FULMAR), "a board file where a shop file is needed"),
        (("--shop", SPECS / "shop" / "none.toml"), "no such file"),
    ],
)
def test_refusals(more: tuple[str | Path, ...], said: str, small: tuple[Path, Path], tmp_path: Path) -> None:
    result = run("cut", small[0], *more, "-o", tmp_path)
    assert result.exit_code == 2
    assert said in result.output
    assert not list(tmp_path.iterdir())


def test_faults_of_shop_and_board_are_told_together(tmp_path: Path) -> None:
    board = written(tmp_path / "board.toml", 'name = "Knot"\nlength = "6 fingers"\n')
    shop = written(tmp_path / "shop.toml", 'name = "Shed"\n[paper]\nkind = "A5"\n')
    result = run("cut", board, "--shop", shop, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert "board.toml:2: length: not a length" in result.output
    assert "shop.toml:3: paper.kind: not one of its choices" in result.output
    assert not (tmp_path / "out").exists()
