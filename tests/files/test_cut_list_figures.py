"""The figures of a cut list against the files beside it: shapely on the sheets as GDAL reads them, and a stopwatch of
this test's own on the text of the programs.
"""

from __future__ import annotations

import csv
import json
import re
import shutil
from itertools import combinations
from math import atan2, dist, hypot, pi
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import pyogrio
import pytest
import shapely
from shapely.affinity import rotate, scale

from bayloft.cut import cut_boards
from bayloft.cutting.sheets.choice import Wanted

KEEL = Path(__file__).parents[2] / "specs" / "fins" / "turnstone-keel.toml"
KNOT = """
edition = 2
name = "Knot"
length = "1100 mm"
outline = { nose_width = "300 mm", tail_width = "342 mm", wide_point = { width = "400 mm", ahead_of_centre = "0 mm" } }
nose = { kind = "round" }
tail = { kind = "square", block = "246 mm" }
rocker = { nose = "50 mm", tail = "20 mm" }
thickness = { thickest = { thickness = "40 mm", ahead_of_centre = "0 mm" }, nose = "28 mm", tail = "28 mm" }
fins = [{ fin = "turnstone-keel.toml", from_tail = "60 mm", off_stringer = "100 mm" }]
templates = { rail_gauges = [{ from_tail = "18 in" }] }
"""
SHED = """
name = "Shed"
paper = { kind = "A3" }

[machine]
bed_length = "1300 mm"
bed_width = "700 mm"
travel_height = "15 mm"
greatest_feed = "1200 mm/min"
rapid = "4000 mm/min"
dialect = "arcs-dwell"

[[stock]]
name = "ply"
length = "1300 mm"
width = "700 mm"
thickness = "4 mm"
sheets = 3

[[cutters]]
name = "narrow"
diameter = "3 mm"
cutting_depth = "12 mm"
flutes = 2
chip_load = "0.03 mm/flute"
rpm = 12000
pass_depth = "5 mm"
"""
SHEET_MM = 1300.0, 700.0
CUTTER_MM = 3.0
RAPID_MM_MIN = 4000.0
ARC_STEP_DEG = 0.25
"""In which GDAL walks along arcs: it leaves those of 5 m by OFF_MM."""

OFF_MM = 0.012


class Row(NamedTuple):
    """A row of the table, and the part it speaks of as it lies on its sheet: its outline less its openings."""

    told: dict[str, str]
    part: shapely.Polygon

    def number(self, key: str) -> float:
        return float(self.told[key])


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": ARC_STEP_DEG})
    specs = tmp_path_factory.mktemp("specs")
    shutil.copy(KEEL, specs)
    for name, text in (("knot.toml", KNOT), ("shed.toml", SHED)):
        (specs / name).write_text(text, encoding="utf-8")
    (done,) = cut_boards(
        [specs / "knot.toml"], specs / "shed.toml", tmp_path_factory.mktemp("out"), wanted=Wanted(parts="all")
    )
    assert done.folder is not None
    return done.folder


@pytest.fixture(scope="module")
def said(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "report.json").read_text(encoding="utf-8"))["job"]
    return found


@pytest.fixture(scope="module")
def table(folder: Path) -> list[dict[str, str]]:
    with (folder / "cut-list.csv").open(encoding="utf-8", newline="") as text:
        return list(csv.DictReader(text))


@pytest.fixture(scope="module")
def rows(folder: Path, table: list[dict[str, str]]) -> list[Row]:
    """Return the rows of parts, each with the one outline that lies where it says."""
    found = []
    for number in sorted({entry["sheet"] for entry in table}):
        rings = cuts(folder / f"sheet-{number}.dxf")
        inside = [any(other.contains(ring) for other in rings if other is not ring) for ring in rings]
        outlines = [ring for ring, within in zip(rings, inside, strict=True) if not within]
        openings = shapely.union_all([ring for ring, within in zip(rings, inside, strict=True) if within])
        parts = [entry for entry in table if (entry["sheet"], entry["kind"]) == (number, "part")]
        assert len(parts) == len(outlines)
        for entry in parts:
            x, y, length, width = (float(entry[key]) for key in ("x_mm", "y_mm", "length_mm", "width_mm"))
            box = np.array([x, y, x + length, y + width])
            (here,) = (ring for ring in outlines if np.abs(np.array(ring.bounds) - box).max() < 2 * OFF_MM)
            found.append(Row(told=entry, part=here.difference(openings)))
    return found


def cuts(path: Path) -> list[shapely.Polygon]:
    meta, _, shapes, fields = pyogrio.raw.read(path)
    layers = dict(zip(meta["fields"], fields, strict=True))["Layer"]
    lines = [shape for shape, layer in zip(shapely.from_wkb(shapes), layers, strict=True) if layer == "CUT"]
    return [shapely.Polygon(shapely.get_coordinates(line)) for line in lines]


def test_every_part_is_as_large_as_told_and_takes_that_share(rows: list[Row]) -> None:
    assert len(rows) == 11
    for row in rows:
        assert row.number("area_mm2") == pytest.approx(row.part.area, abs=OFF_MM * row.part.length), row.told["title"]
        assert row.number("share_of_sheet") == pytest.approx(row.part.area / np.prod(SHEET_MM), abs=1e-4)


def test_each_sheet_and_all_sheets_are_used_as_told(rows: list[Row], said: dict[str, Any]) -> None:
    assert len(said["sheets"]) == 2
    assert said["parts"] == len(rows)
    whole = 0.0
    for sheet in said["sheets"]:
        assert (sheet["length_mm"], sheet["width_mm"], sheet["thickness_mm"]) == (*SHEET_MM, 4.0)
        parts = [row.part for row in rows if row.told["sheet"] == str(sheet["number"])]
        assert len(parts) == len(sheet["parts"])
        used = sum(part.area for part in parts)
        whole += used
        assert sheet["used_mm2"] == pytest.approx(used, abs=OFF_MM * sum(part.length for part in parts))
        assert sheet["used_share"] == pytest.approx(used / np.prod(SHEET_MM), abs=1e-4)
    assert said["used_share"] == pytest.approx(whole / (2 * np.prod(SHEET_MM)), abs=1e-4)


def test_off_cuts_are_as_large_as_told_and_whole(
    rows: list[Row], table: list[dict[str, str]], said: dict[str, Any]
) -> None:
    found = [entry for entry in table if entry["kind"] == "off-cut"]
    assert len(found) == sum(len(sheet["off_cuts"]) for sheet in said["sheets"]) > 0
    boxes = []
    for entry in found:
        x, y, length, width = (float(entry[key]) for key in ("x_mm", "y_mm", "length_mm", "width_mm"))
        box = shapely.box(x, y, x + length, y + width)
        assert float(entry["area_mm2"]) == pytest.approx(box.area, abs=1e-6)
        assert float(entry["share_of_sheet"]) == pytest.approx(box.area / np.prod(SHEET_MM), abs=5.1e-5)
        assert shapely.box(0.0, 0.0, *SHEET_MM).covers(box)
        beside = [row.part for row in rows if row.told["sheet"] == entry["sheet"]]
        assert min(part.distance(box) for part in beside) >= CUTTER_MM - OFF_MM
        boxes.append((entry["sheet"], box))
    for (sheet, one), (other_sheet, other) in combinations(boxes, 2):
        assert sheet != other_sheet or one.intersection(other).area == 0.0


def test_a_fin_is_turned_over_and_round_as_its_row_says(rows: list[Row]) -> None:
    """Undone, its base lies below and its tip leans aft, to the left: a rake of 3 in over a depth of 5 1/4."""
    fins = [row for row in rows if row.told["title"] == "fin Turnstone keel"]
    assert sorted(row.told["turned_over"] for row in fins) == ["no", "yes"]
    assert [row.told["copy"] for row in fins] == ["1", "2"]
    for row in fins:
        laid = rotate(row.part, -row.number("turned_deg"), origin=(0.0, 0.0))
        laid = scale(laid, yfact=-1.0, origin=(0.0, 0.0)) if row.told["turned_over"] == "yes" else laid
        points = shapely.get_coordinates(laid.exterior)
        low, tip = points[:, 1].min(), points[np.argmax(points[:, 1])]
        base = points[points[:, 1] < low + 1.5]
        assert np.ptp(base[:, 0]) == pytest.approx(8.5 * 25.4, abs=4.0)
        middle = (base[:, 0].min() + base[:, 0].max()) / 2
        assert (middle - tip[0], tip[1] - low) == pytest.approx((3 * 25.4, 5.25 * 25.4), abs=2.0)


def test_a_part_is_turned_as_its_row_says(rows: list[Row]) -> None:
    """The square tail, twice 123 mm, is the only end of the outline that is straight; undone, it lies to the left."""
    (row,) = (row for row in rows if row.told["title"] == "full outline")
    laid = rotate(row.part, -row.number("turned_deg"), origin=(0.0, 0.0))
    points = shapely.get_coordinates(laid.exterior)
    steps = np.diff(points, axis=0)
    longest = int(np.argmax(np.abs(steps[:, 1])))
    assert np.abs(steps[longest]) == pytest.approx([0.0, 123.0], abs=0.1)
    assert points[longest, 0] == pytest.approx(points[:, 0].min(), abs=0.1)


class Timed(NamedTuple):
    """How long a program takes, in minutes: at the machine's rapid, at its feeds, and waiting."""

    rapid: float
    feed: float
    waits: float


def timed(text: str) -> Timed:
    """Time a program from its words: G0 at the machine's rapid, G1 to G3 at the last F, G4 for P seconds; a move along
    which any of x, y, z is not yet known goes from where the next one is said.
    """
    place: dict[str, float] = {}
    rapid = feed_time = waits = feed = 0.0
    for line in text.splitlines():
        words = dict(re.findall(r"([A-Z])(-?[0-9.]+)", re.sub(r"\(.*?\)", "", line)))
        feed = float(words.get("F", feed))
        waits += float(words["P"]) / 60 if words.get("G") == "4" else 0.0
        if not words.keys() & set("XYZ"):
            continue
        start = place
        place = place | {axis: float(words[axis]) for axis in "XYZ" if axis in words}
        if len(place) < 3:
            continue
        a, b = ([at.get(axis, place[axis]) for axis in "XYZ"] for at in (start, place))
        length = dist(a, b)
        if words["G"] in "23":
            length = hypot(arc_mm(a, b, words), b[2] - a[2])
        if words["G"] == "0":
            rapid += length / RAPID_MM_MIN
        else:
            feed_time += length / feed
    return Timed(rapid, feed_time, waits)


def arc_mm(start: list[float], end: list[float], words: dict[str, str]) -> float:
    """Return the length in plan of a G2 or G3 about start + (I, J)."""
    i, j = float(words["I"]), float(words["J"])
    first = atan2(-j, -i)
    last = atan2(end[1] - start[1] - j, end[0] - start[0] - i)
    turn = (last - first) % (2 * pi) if words["G"] == "3" else (first - last) % (2 * pi)
    return hypot(i, j) * turn


def test_minutes_are_those_of_the_written_moves(folder: Path, said: dict[str, Any]) -> None:
    assert [program["name"] for program in said["programs"]] == ["sheet-1", "sheet-2"]
    for program in said["programs"]:
        took = timed((folder / f"{program['name']}.nc").read_text(encoding="ascii"))
        assert program["minutes"] == pytest.approx(sum(took), abs=0.0501)
        # What goes rapid would take longer by far more than the last digit at the cutter's feed of 720 mm/min.
        assert took.rapid * (RAPID_MM_MIN / 720.0 - 1) > 0.5
        assert took.waits == pytest.approx(4.0 / 60)
