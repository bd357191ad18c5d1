"""G-code read by an independent interpreter (pygcode), and files spoilt on purpose that the proof must refuse."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from math import pi, sqrt
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import LineString, Point, Polygon, unary_union

from bayloft.cutting.routing.toolpath import Toolpath, job_of, toolpath
from bayloft.delivery.programs import cut_files, proved
from bayloft.drawing.sheet import CUT, DRILL, Drawing
from bayloft.drawing.templates.half_outline import half_outline
from bayloft.export.gcode import comment, written
from bayloft.export.gcode_reader import read
from bayloft.findings import CheckError
from bayloft.plane.contour import Contour
from bayloft.plane.offsets import parallels
from bayloft.spec.shops.dialects import DIALECTS
from bayloft.tolerances import CUT_TRUE_MM, HOLDING_MM, LOOSE_MM2

from ..demo import draft
from .gcode_ways import FINE_MM, ways

if TYPE_CHECKING:
    from conftest import Bench

SPECS = Path(__file__).parents[2] / "specs"


@cache
def outline() -> Drawing:
    """The half-outline of a swallow-tail as it lies on a sheet."""
    drawing = half_outline(draft("turnstone"))
    left, bottom, _, _ = drawing.bounds
    return drawing.moved(20.0 - left, 20.0 - bottom)


@pytest.fixture
def path(bench: Bench, tag: Drawing) -> Toolpath:
    return toolpath(job_of("sheet 1", [tag], *bench))


@pytest.fixture
def refused(path: Toolpath) -> Callable[[str], set[str]]:
    """Give the codes for which a spoilt text of the tag's file is refused."""

    def codes(text: str) -> set[str]:
        assert text != written(path, DIALECTS["arcs"])
        with pytest.raises(CheckError) as refusal:
            proved(path, text, written(path, DIALECTS["arcs"], air=True))
        return {finding.code for finding in refusal.value.findings}

    return codes


def ground(text: str, level_mm: float, radius_mm: float) -> Polygon:
    """Return the ground over which a file's feed moves go level at a depth, or end at it, by pygcode alone."""
    lines = []
    for word, points in ways(text):
        if word != "G0" and np.abs(points[:, 2] - level_mm).max() < 1e-6:
            lines.append(LineString(points[:, :2]))
        elif word != "G0" and abs(points[-1, 2] - level_mm) < 1e-6:
            lines.append(Point(points[-1, :2]))
    return unary_union([line.buffer(radius_mm, quad_segs=64) for line in lines])


def part_of(drawing: Drawing) -> Polygon:
    cut = [contour for layer, contour in drawing.contours if layer in (CUT, DRILL)]
    first, *inside = [Polygon(contour.flattened(FINE_MM)) for contour in cut]
    return first.difference(unary_union(inside))


@pytest.mark.parametrize("dialect", sorted(DIALECTS))
def test_another_reader_finds_the_part(bench: Bench, tag: Drawing, dialect: str) -> None:
    files = cut_files("sheet 1", [tag], *bench._replace(machine=replace(bench.machine, dialect=dialect)))
    gone = ground(files.cut, -6.3, 3.0)
    part = part_of(tag)
    outer = Polygon(part.exterior).buffer(6.0, quad_segs=64)
    # Nothing of the part is gone; round it all is gone but the tabs, and nothing beyond the cutter's width.
    assert part.buffer(-CUT_TRUE_MM).intersection(gone).area == 0.0
    assert gone.difference(outer.buffer(CUT_TRUE_MM)).area == 0.0
    band = part.buffer(3.0, quad_segs=64).difference(part.buffer(CUT_TRUE_MM)).difference(gone)
    bridges = [piece for piece in band.geoms if piece.area > 1.0]
    assert len(bridges) == files.tabs
    assert all(piece.area > 8.0 * 2.9 for piece in bridges)


def test_another_reader_finds_the_half_outline(bench: Bench) -> None:
    files = cut_files("sheet 1", [outline()], *bench)
    gone = ground(files.cut, -6.3, 3.0)
    part = part_of(outline())
    assert part.buffer(-CUT_TRUE_MM).intersection(gone).area == 0.0
    rim = part.buffer(CUT_TRUE_MM).boundary.difference(gone)
    # At the rim only tabs stand, of 8 mm and on either side what a disc of 3 mm leaves 2.95 mm from its middle line.
    assert files.tabs == 10
    assert rim.length == pytest.approx(10 * (8 + 2 * (3 - sqrt(3**2 - 2.95**2))), rel=0.01)
    words = [word for word, _ in ways(files.cut)]
    turns = len([bulge for bulge in outline().contours[0][1].bulges if bulge])
    assert words.count("G2") > 3 * turns * 0.9
    assert min(points[:, 2].min() for word, points in ways(files.cut) if word == "G0") >= 0.0
    assert not [finding for finding in files.findings if not finding.passed]


def test_rapids_stay_high_and_the_dry_run_in_the_air(bench: Bench, tag: Drawing) -> None:
    files = cut_files("sheet 1", [tag], *bench)
    cut, air = ways(files.cut)[1:], ways(files.air)[1:]
    assert all(points[:, 2].min() >= 5.0 for word, points in cut[1:] if word == "G0")
    assert min(points[:, 2].min() for _, points in air) >= 5.0
    assert "M3 " not in files.air
    lift = 6.3 + 5.0
    for (word, points), (air_word, air_points) in zip(cut[1:], air[1:], strict=True):
        assert word == air_word
        assert air_points == pytest.approx(points + np.array([0.0, 0.0, lift]), abs=1e-6)


def test_a_narrow_cutter_scribes(bench: Bench, tag: Drawing) -> None:
    narrow = bench._replace(cutter=replace(bench.cutter, diameter_mm=3.0))
    files = cut_files("sheet 1", [tag], *narrow)
    grooves = ground(files.cut, -0.5, 1.5)
    line = LineString([(130, 605), (130, 650)]).buffer(1.5, quad_segs=64)
    assert grooves.symmetric_difference(line).area < 0.01 * line.area
    only = cut_files("sheet 1", [tag], *narrow, operations=("scribe",))
    assert (only.tabs, only.cut.count("G0 X")) == (0, 1)


def test_same_job_same_bytes_anywhere(bench: Bench, tag: Drawing, tmp_path: Path) -> None:
    first, second = cut_files("sheet 1", [tag], *bench), cut_files("sheet 1", [tag], *bench)
    assert first == second
    names = first.write(tmp_path, "sheet-1")
    assert [name.name for name in names] == ["sheet-1.nc", "sheet-1-dry-run.nc"]
    written_bytes = names[0].read_bytes()
    assert b"\r" not in written_bytes
    assert written_bytes.decode("ascii") == first.cut


def test_words_are_those_of_the_subset(bench: Bench, tag: Drawing) -> None:
    for dialect in DIALECTS.values():
        files = cut_files("s", [tag], *bench._replace(machine=replace(bench.machine, dialect=dialect.name)))
        body = re.sub(r"\(.*\)\n", "", files.cut)
        allowed = {"G0", "G1", "G17", "G21", "G40", "G54", "G80", "G90", "G91.1", "G94", "M3", "M5", "M30"}
        allowed |= {"G2", "G3"} if dialect.arcs else set()
        allowed |= {"G4"} if dialect.dwell_s else set()
        assert set(re.findall(r"[GM][0-9.]+", body)) == allowed
        assert files.cut.startswith("%\n") == files.cut.endswith("\n%\n") == dialect.percent
        assert ("N10 " in body) == dialect.numbered
        assert max(map(len, files.cut.splitlines())) <= 80


def test_comments_cannot_end_early() -> None:
    assert comment("tail (left)\nG0 Z-9 ; % ö") == "(tail -left- G0 Z-9 - - -)"
    assert read(comment("()") + "\nM30\n").problems == ()
    assert len(comment("x" * 500)) == 74


HOSTILE = ["MSG,stop", "LOGOPEN,x", " msg , stop", "DEBUG,#1", "PRINT,G0 Z-9", "AXIS,hide", "!", "~?", "$X"]


@pytest.mark.parametrize("dialect", DIALECTS)
@pytest.mark.parametrize("name", HOSTILE)
def test_no_name_becomes_a_command(bench: Bench, tag: Drawing, tmp_path: Path, name: str, dialect: str) -> None:
    machine = replace(bench.machine, dialect=dialect)
    files = cut_files(name, [replace(tag, name=name)], *bench._replace(machine=machine), ("drill",))
    for place in files.write(tmp_path, "s"):
        text = place.read_text(encoding="ascii")
        comments = [line for line in text.splitlines() if "(" in line]
        assert sum("hole, " in line for line in comments) == 2
        ours = "program|stock|places|cutter|way|CAUTION:|Use|Manuals|step|DRY"
        assert all(re.fullmatch(rf"\(({ours}) [^()!?~%;]*\)", line) for line in comments)
        assert not re.findall(r"[!?~]", text)


@pytest.mark.parametrize("name", ["(MSG,stop)", "( logopen , x)", "(,)", "(wait!)", "(?)", "(~)"])
def test_a_comment_that_is_a_command_is_a_problem(name: str) -> None:
    (problem,) = read(f"{name}\nM30\n").problems
    assert problem == f"line 1: a comment that a controller may act on: {name!r}"


# Files spoilt on purpose.


def test_a_wrong_side_is_refused(bench: Bench, tag: Drawing, path: Toolpath) -> None:
    # The same plate, its outline drawn a cutter's width further in: the file of a cut on the wrong side.
    contours = [(layer, contour) for layer, contour in tag.contours]
    contours[0] = (CUT, parallels(contours[0][1], -6.0)[0])
    wrong = toolpath(job_of("sheet 1", [replace(tag, contours=tuple(contours))], *bench))
    with pytest.raises(CheckError) as refusal:
        proved(path, *(written(wrong, DIALECTS["arcs"], air=air) for air in (False, True)))
    assert {"gouged", "left-standing"} <= {finding.code for finding in refusal.value.findings}


def test_a_missing_tab_is_refused(path: Toolpath, refused: Callable[[str], set[str]]) -> None:
    lines = written(path, DIALECTS["arcs"]).splitlines()
    first = max(i for i, line in enumerate(lines) if "outline" in line)
    # Straight up before the tab; over it; to and fro behind it.
    lift = next(i for i in range(first, len(lines)) if lines[i] == "G1 Z-4.5000" and "Z-6.3" in lines[i + 3])
    del lines[lift + 2 : lift + 4], lines[lift]
    assert "tab-cut" in refused("\n".join(lines) + "\n")


def test_a_plunge_behind_a_tab_is_refused(path: Toolpath, refused: Callable[[str], set[str]]) -> None:
    lines = written(path, DIALECTS["arcs"]).splitlines()
    first = max(i for i, line in enumerate(lines) if "outline" in line)
    lift = next(i for i in range(first, len(lines)) if lines[i] == "G1 Z-4.5000" and "Z-6.3" in lines[i + 3])
    lines[lift + 2 : lift + 4] = ["G1 Z-6.3000 F540"]
    lines[lift + 3] += " F1800"
    assert refused("\n".join(lines) + "\n") == {"plunged", "air-other"}


@pytest.mark.parametrize("depth_mm", [-0.5, -2.1, -6.3])
def test_a_plunge_into_the_wood_is_refused(path: Toolpath, refused: Callable[[str], set[str]], depth_mm: float) -> None:
    text = written(path, DIALECTS["arcs"])
    start = text.rindex("outline")
    assert "plunged" in refused(text[:start] + text[start:].replace("G1 Z0.0000", f"G1 Z{depth_mm:.4f}", 1))


def test_a_ramp_too_steep_is_refused(bench: Bench, tag: Drawing) -> None:
    for entry in ("ramp", "helix"):
        cutting = replace(bench.cutting, entry=entry)
        steep = bench._replace(cutting=replace(cutting, ramp_deg=4.0))
        written_for = toolpath(job_of("sheet 1", [tag], *steep, operations=("cut",)))
        asked = replace(written_for, job=replace(written_for.job, cutting=cutting))
        texts = [written(written_for, DIALECTS["arcs"], air=air) for air in (False, True)]
        assert proved(written_for, *texts).tabs > 0
        with pytest.raises(CheckError) as refusal:
            proved(asked, *texts)
        assert {finding.code for finding in refusal.value.findings} == {"plunged"}


def test_loose_waste_is_refused(bench: Bench) -> None:
    # The window frees a disc of 5 mm radius, too small for a tab of 20 mm: it is milled away; without that it is loose.
    plate = Contour.straight([[0, 0], [120, 0], [120, 90], [0, 90]], closed=True)
    drawing = Drawing(name="frame", contours=((CUT, plate), (CUT, Contour.circle((60, 45), 11)))).moved(100.0, 100.0)
    long = bench._replace(cutting=replace(bench.cutting, tab_length_mm=20.0))
    whole = toolpath(job_of("sheet 1", [drawing], *long))
    assert [stage.kind for stage in whole.stages] == ["waste", "opening", "outline"]
    spoilt = replace(whole, stages=whole.stages[1:])
    with pytest.raises(CheckError) as refusal:
        proved(whole, *(written(spoilt, DIALECTS["arcs"], air=air) for air in (False, True)))
    (finding,) = refusal.value.findings
    assert (finding.code, finding.limit) == ("waste-loose", LOOSE_MM2)
    # Drawn in by half of what holds nothing.
    assert finding.measured == pytest.approx(pi * (5.0 - HOLDING_MM / 2) ** 2, rel=0.01)
    assert "waste of 9.5 x 9.5 mm comes loose at 155.3, 140.3 mm on the sheet" in finding.text


def test_a_part_without_tabs_is_not_held(bench: Bench, tag: Drawing, path: Toolpath) -> None:
    free = toolpath(job_of("sheet 1", [tag], *bench._replace(cutting=replace(bench.cutting, tabs=0))))
    assert "no-tabs" in {finding.code for finding in free.findings}
    with pytest.raises(CheckError) as refusal:
        proved(path, *(written(free, DIALECTS["arcs"], air=air) for air in (False, True)))
    assert {"tab-cut", "not-held"} <= {finding.code for finding in refusal.value.findings}


def spoilt(old: str, new: str, count: int = 1) -> Callable[[str], str]:
    return lambda text: re.sub(old, new, text, count=count, flags=re.MULTILINE)


def other_digit(text: str) -> str:
    """Change 180 to 181 in the place where the last corner's arc ends."""
    before, after = text.rsplit("G2 X180.", 1)
    return f"{before}G2 X181.{after}"


def other_centre(text: str) -> str:
    """Change the second decimal of the last arc's centre."""
    before, after = text.rsplit("I-3.00", 1)
    return f"{before}I-3.01{after}"


def other_way_round(text: str) -> str:
    before, after = text.rsplit("G2", 1)
    return f"{before}G3{after}"


def swapped(text: str) -> str:
    return re.sub(r"I(\S+) J(\S+)", r"I\2 J\1", text)


def in_inches(text: str) -> str:
    head, body = text.split("G91.1\n")
    return head + "G91.1\n" + re.sub(r"([XYZIJF])(-?[0-9.]+)", lambda m: f"{m[1]}{float(m[2]) / 25.4:.4f}", body)


def without_a_level(text: str) -> str:
    """Leave out the level moves of the outline's first pass."""
    start = text.rindex("outline")
    return text[:start] + re.sub(r"(?<=\n)G[12] X\S+ Y\S+( I\S+ J\S+)?\n", "", text[start:], count=8)


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        pytest.param(other_digit, "gcode-text", id="a digit of an arc's end"),
        pytest.param(other_centre, "gcode-text", id="a digit of an arc's centre"),
        pytest.param(spoilt(r"^G1 X97\.0000", "G1 X97.1000"), "gouged", id="a digit of a line's end"),
        pytest.param(swapped, "gcode-text", id="I and J swapped"),
        pytest.param(spoilt("G21", "G20"), "gcode-text", id="inch mode"),
        pytest.param(in_inches, "left-standing", id="inches under G21"),
        pytest.param(spoilt(r"^G1 X", "G0 X"), "rapid-low", id="a rapid in the material"),
        pytest.param(spoilt(r"^M3 S18000\n", ""), "spindle-off", id="spindle never started"),
        pytest.param(spoilt(r"Z-6\.3000", "Z-6.4000"), "too-low", id="deeper than asked"),
        pytest.param(spoilt(r"Z-6\.3000", "Z-6.2000", 99), "left-standing", id="not through"),
        pytest.param(spoilt(r"F1800", "F18000"), "feed-high", id="a nought too many"),
        pytest.param(spoilt(r"^G1 Z-2\.1000\nG1 Z1\.0000 F1800\n", ""), "pass-deep", id="a peck left out"),
        pytest.param(spoilt(r"^G0 X\d+", "G0 X-12"), "off-bed", id="off the bed"),
        pytest.param(other_way_round, "gouged", id="an arc the other way round"),
        pytest.param(spoilt(r"G90 ", ""), "gcode-text", id="absolute places not said"),
        pytest.param(spoilt(r"^M30\n", ""), "gcode-text", id="no end"),
        pytest.param(spoilt(r"^M5\n", ""), "gcode-text", id="spindle never stopped"),
        pytest.param(spoilt(r"\)", "", 1), "gcode-text", id="a comment that does not end"),
        pytest.param(spoilt(r"^G1 X", "G1 X1.0 X"), "gcode-text", id="a word twice"),
        pytest.param(without_a_level, "pass-deep", id="lines lost"),
    ],
)
def test_spoilt_files_are_refused(
    path: Toolpath, refused: Callable[[str], set[str]], spoil: Callable[[str], str], code: str
) -> None:
    assert code in refused(spoil(written(path, DIALECTS["arcs"])))


def test_a_missing_pass_is_refused(bench: Bench, tag: Drawing, path: Toolpath) -> None:
    for entry in ("ramp", "helix"):
        twice = replace(bench.cutter, pass_mm=6.3)
        cutting = replace(bench.cutting, entry=entry)
        deep = toolpath(job_of("sheet 1", [tag], *bench._replace(cutter=twice, cutting=cutting), operations=("cut",)))
        asked = replace(path, job=replace(path.job, operations=("cut",), cutting=cutting), tabs=deep.tabs)
        with pytest.raises(CheckError) as refusal:
            proved(asked, *(written(deep, DIALECTS["arcs"], air=air) for air in (False, True)))
        assert {finding.code for finding in refusal.value.findings} == {"pass-deep"}


def test_a_cut_off_the_stock_is_refused(bench: Bench, tag: Drawing) -> None:
    with pytest.raises(CheckError, match="off-stock"):
        cut_files("sheet 1", [tag.moved(-96.0, 0.0)], *bench)


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        pytest.param(spoilt(r"^G0 Z\S+\n", "G0 Z16.3000\nM3 S100\n"), "air-spindle", id="spindle on"),
        pytest.param(spoilt(r"^G1 Z11\.3000", "G1 Z4.0000"), "air-low", id="down to the stock"),
        pytest.param(spoilt(r"^G1 X\d+", "G1 X300"), "air-other", id="another way"),
    ],
)
def test_spoilt_dry_runs_are_refused(path: Toolpath, spoil: Callable[[str], str], code: str) -> None:
    air = written(path, DIALECTS["arcs"], air=True)
    assert spoil(air) != air
    with pytest.raises(CheckError, match=code):
        proved(path, written(path, DIALECTS["arcs"]), spoil(air))
