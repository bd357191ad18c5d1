"""Fins from their tracings and rails from a contour gauge: points met, wrong ones named, files that load."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

from bayloft.cli import main
from bayloft.errors import SpecError
from bayloft.lift.sheet import lift
from bayloft.lines.drafting import board_lines
from bayloft.lines.fin import FinLines, fin_lines
from bayloft.lines.rail_fitting import fitted_rail
from bayloft.lines.section import over, under
from bayloft.spec.loading import load_board, load_fin
from bayloft.spec.readings.gauging import GaugedPoint, GaugedRail
from bayloft.spec.readings.taken import load_readings
from bayloft.spec.text.source import parsed

SPECS = Path(__file__).parents[2] / "specs"
READINGS = SPECS / "readings"
INCH = 25.4

ELLIPSE_IN = (8.0, 6.0)
"""Base and depth of a fin with a leading edge that is a quarter of an ellipse, x = base sqrt(1 - (h / depth)^2), over a
straight trailing edge: its tip lies over the rear end of the base."""


def sixteenth(inches: float) -> float:
    return round(inches * 16) / 16


def traced(folder: Path, wrong: dict[int, float] | None = None) -> Path:
    base, depth = ELLIPSE_IN
    rows = []
    for row, height in enumerate(np.arange(0.5, 6.0, 0.5).tolist()):
        leading = sixteenth(base * float(np.sqrt(1.0 - (height / depth) ** 2)))
        rows.append(f"{height}, {(wrong or {}).get(row, leading)}, {0.0 if height < 5 else ''}")
    path = folder / "fin.csv"
    head = f"name, Trial\nunit, in\naccuracy, 1/32 in\nbase, {base}\ndepth, {depth}\nrake, {base / 2}\n"
    path.write_text(f"{head}height, leading, trailing\n" + "\n".join(rows) + "\n", "utf-8")
    return path


def lines_of(files: Sequence[Path]) -> FinLines:
    return fin_lines(load_fin(files[0]))


def test_a_fin_of_known_form_comes_back_from_its_tracing(tmp_path: Path) -> None:
    found = lift(traced(tmp_path), tmp_path / "out")
    assert found.readings == 20
    lines = lines_of(found.files)
    base, depth = ELLIPSE_IN
    heights = np.linspace(0.3, 5.4, 60) * INCH
    drawn = np.asarray(lines.leading(lines.parameter(heights)))
    true = base * INCH * np.sqrt(1.0 - (heights / (depth * INCH)) ** 2)
    lean = np.gradient(true, heights)
    # Square to the edge, within the tape's mark: half of it by how it was read, and as much by how it is drawn.
    assert np.abs((drawn - true) / np.sqrt(1.0 + lean * lean)).max() < INCH / 16
    trailing = np.asarray(lines.trailing(lines.parameter(np.linspace(0.2, 4.5, 40) * INCH)))
    assert np.abs(trailing).max() < INCH / 32 + 0.01


def test_the_point_that_was_misread_is_named_by_its_line(tmp_path: Path) -> None:
    path = traced(tmp_path, wrong={4: sixteenth(8.0 * float(np.sqrt(1.0 - (2.5 / 6.0) ** 2))) - 0.5})
    result = CliRunner().invoke(main, ["lift", str(path), "-o", str(tmp_path / "out")])
    assert result.exit_code == 2
    assert "fin.csv:12: traced[5].leading: the leading edge would have to wiggle" in result.output
    assert re.search(r'off by about (1/2|9/16)"', result.output)
    assert "1 fault in the spec" in result.output
    assert not (tmp_path / "out").exists()


def test_the_demo_tracing_is_lifted_and_says_so(tmp_path: Path) -> None:
    out = tmp_path / "out"
    result = CliRunner().invoke(main, ["lift", str(READINGS / "turnstone-keel.csv"), "-o", str(out)])
    assert result.exit_code == 0, result.output
    assert "Turnstone keel traced  lifted from 20 readings" in result.output
    assert "edges within 0.794 mm of every point" in result.output
    names = ["fin.schema.json", "turnstone-keel-traced-readings.svg", "turnstone-keel-traced.toml"]
    assert sorted(path.name for path in out.iterdir()) == names
    lifted, original = lines_of([out / names[2]]), fin_lines(load_fin(SPECS / "fins" / "turnstone-keel.toml"))
    u = lifted.parameter(np.linspace(5.0, 120.0, 50))
    for edge in ("leading", "trailing"):
        assert np.abs(getattr(lifted, edge)(u) - getattr(original, edge)(u)).max() < INCH / 16


@pytest.mark.parametrize(
    ("text", "told"),
    [
        ("6, 1, 1", "not between base and tip"),
        ("3, ,", "neither a leading nor a trailing edge"),
        ("3, wide,", "traced[12].leading"),
        ("3, 6, 1, 2", "more cells than columns"),
    ],
)
def test_what_is_wrong_in_a_tracing_is_told(tmp_path: Path, text: str, told: str) -> None:
    path = traced(tmp_path)
    path.write_text(path.read_text("utf-8") + text + "\n", "utf-8")
    with pytest.raises(SpecError) as caught:
        lift(path, tmp_path / "out")
    assert told in str(caught.value)
    assert "fin.csv:19:" in str(caught.value)


INSIDE = (0.0, 1.0, 2.0, 4.0, 7.0, 12.0, 18.0, 25.0, 35.0, 50.0)


def gauged(name: str, share: float, noise: float) -> tuple[GaugedRail, float]:
    """Return the rail of a demo board at a share of its length as a gauge with so much noise takes it, and the true
    height of its widest point over the thickness.
    """
    lines = board_lines(load_board(SPECS / "boards" / f"{name}.toml"))
    x = share * lines.length_mm
    n = lines.section_numbers(np.array([x]))
    half, apex = float(n.half_width[0]), float(under(n, n.inset)[0])
    rng = np.random.default_rng(7)
    points = [(0.0, apex)]
    for inside in INSIDE[1:]:
        q = n.inset * (1.0 - (1.0 - inside / half) ** 2)
        points += [(inside, apex + float(over(n, q)[0])), (inside, apex - float(under(n, q)[0]))]
    taken = tuple(
        GaugedPoint(inside_mm=inside, height_mm=height + rng.uniform(-noise, noise), path=())
        for inside, height in points
    )
    thickness = float(lines.thickness(x))
    rail = GaugedRail(x_mm=x, width_mm=2 * half, thickness_mm=thickness, points=taken, path=())
    return rail, apex / thickness


@pytest.mark.parametrize("name", ["avocet", "dunlin", "fulmar", "shearwater", "spoonbill", "whimbrel"])
@pytest.mark.parametrize("share", [0.3, 0.6])
def test_rails_of_demo_boards_come_back_from_gauged_points(name: str, share: float) -> None:
    rail, apex = gauged(name, share, 0.25)
    fit, _ = fitted_rail(rail)
    assert max(fit.off_mm) < 0.5
    assert fit.apex == pytest.approx(apex, abs=0.012)


def test_the_demo_rails_are_lifted_and_a_board_takes_them(tmp_path: Path) -> None:
    specs = tmp_path / "specs"
    result = CliRunner().invoke(main, ["lift", str(READINGS / "avocet-rails.csv"), "-o", str(specs / "rails")])
    assert result.exit_code == 0, result.output
    assert result.output.count("17 points, at most 0.") == 3
    text = (SPECS / "boards" / "avocet.toml").read_text("utf-8")
    board = text.partition("[[rails]]")[0].replace("[outline]", 'rails = "../rails/avocet-rails.toml"\n[outline]', 1)
    (specs / "boards").mkdir()
    (specs / "boards" / "lifted.toml").write_text(board, "utf-8")
    lifted, original = (
        board_lines(load_board(path)) for path in (specs / "boards" / "lifted.toml", SPECS / "boards" / "avocet.toml")
    )
    # The boards' own sections where the rails were gauged: within the gauge's mark, and as much again for the drawing.
    for x in (14 * INCH, 43 * INCH, 66 * INCH):
        one, other = (lines.section_numbers(np.array([x])) for lines in (lifted, original))
        for inside in (1.0, 3.0, 8.0, 20.0, 45.0):
            heights = [
                (
                    float(over(n, n.inset * (1.0 - (1.0 - inside / n.half_width) ** 2))[0] + under(n, n.inset)[0]),
                    float(under(n, n.inset)[0] - under(n, n.inset * (1.0 - (1.0 - inside / n.half_width) ** 2))[0]),
                )
                for n in (one, other)
            ]
            assert np.abs(np.array(heights[0]) - np.array(heights[1])).max() < INCH / 16


@pytest.mark.parametrize(
    ("more", "told"),
    [
        ("tail, 30, , , 1/4, 1", "no width at this station"),
        ("tail, 30, , , 1/4, 1", "1 points of a rail"),
        ("tail, 14, , 2, 1/4, 1", "another thickness at the same station"),
        ("tail, 14, , , 9, 1", "beyond the stringer"),
        ("middle, 14, , , 1, 1", "the column `from` says tail, nose, ahead, behind"),
    ],
)
def test_what_is_wrong_in_gauged_rails_is_told(tmp_path: Path, more: str, told: str) -> None:
    path = tmp_path / "rails.csv"
    path.write_text((READINGS / "avocet-rails.csv").read_text("utf-8") + more + "\n", "utf-8")
    with pytest.raises(SpecError) as caught:
        lift(path, tmp_path / "out")
    assert told in str(caught.value)
    assert not (tmp_path / "out").exists()


SHEET = """
name = "Trial"
length = "6 ft"
accuracy = "1 mm"
rocker_datum = "lowest"
measured = "glassed"
cloths = { deck = "6 oz + 4 oz", bottom = "6 oz" }
nose = { kind = "round" }
tail = { kind = "round" }
readings = [
  { from_tail = "12 in", width = "14 in", rocker = "1 in", thickness = "1 1/2 in", rail = "3/4 in" },
  { from_tail = "36 in", width = "20 in", rocker = "0 in", thickness = "2 1/2 in" },
  { from_nose = "12 in", width = "15 in", rocker = "2 in", thickness = "1 1/2 in" },
]
"""


def test_a_laminate_is_worked_out_of_its_cloths() -> None:
    """By hand, in g/m2, g/cm3 and mm: 6 oz/yd2 are 203.4, and as much resin by weight makes 0.2034 / 2.56 + 0.2034 /
    1.2 = 0.2490 of it; 4 oz/yd2 make 0.1660. Deck 0.4150, bottom 0.2490, and both go round the rail.
    """
    taken = load_readings(parsed("trial.toml", SHEET))
    assert taken.glass.deck_mm == pytest.approx(0.4150, abs=1e-4)
    assert taken.glass.bottom_mm == pytest.approx(0.2490, abs=1e-4)
    assert taken.length_mm == pytest.approx(72 * INCH - 2 * 0.6640, abs=2e-4)
    assert taken.of["width"][0].value == pytest.approx(14 * INCH - 2 * 0.6640, abs=2e-4)
    assert taken.of["thickness"][0].value == pytest.approx(1.5 * INCH - 0.6640, abs=2e-4)
    assert taken.of["rail"][0].value == pytest.approx(0.75 * INCH - 0.2490, abs=2e-4)
    assert taken.of["rocker"][0].value == INCH


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ('cloths = { deck = "6 oz + 4 oz", bottom = "6 oz" }', "", "a glassed board is thicker than its foam"),
        ('measured = "glassed"', "", "foam has no laminate"),
        ("cloths = {", 'laminate = "1 mm"\ncloths = {', "both these and `laminate` say how thick"),
        ('"6 oz + 4 oz"', '"6 oz + much"', "cloths.deck"),
        ('"6 oz + 4 oz"', '"' + " + ".join(["6 oz"] * 9) + '"', "at most 8, with a + between them"),
    ],
)
def test_what_is_wrong_with_cloths_is_told(old: str, new: str, told: str) -> None:
    with pytest.raises(SpecError) as caught:
        load_readings(parsed("trial.toml", SHEET.replace(old, new)))
    assert told in str(caught.value)
    assert len(caught.value.faults) == 1


def test_the_gauged_point_that_was_misread_is_named_and_nothing_is_written(tmp_path: Path) -> None:
    path, right = tmp_path / "rails.csv", (READINGS / "avocet-rails.csv").read_text("utf-8")
    path.write_text(right.replace("ahead, 2, , , 1/2, 1 13/16", "ahead, 2, , , 1/2, 2 13/16"), "utf-8")
    with pytest.raises(SpecError) as caught:
        lift(path, tmp_path / "out")
    (fault,) = caught.value.faults
    assert (fault.line, fault.path[-1]) == (32, "height")
    assert "no rail passes this point and the others" in fault.problem
    assert not (tmp_path / "out").exists()
