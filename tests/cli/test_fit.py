"""A board in a blank by the command line: the verdict, the proofs, the rack, and files that are wrong."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner, Result
from pypdf import PdfReader

from bayloft.cli import main
from bayloft.drawing.sheets.shaping_card import planed
from bayloft.fit import fit_blank
from bayloft.foam.remedies import flatter, shorter, thinner
from bayloft.lines.drafting import board_lines
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.loading import load_board
from bayloft.tape import NOTHING

from ..demo import changed
from ..unit.solid.test_closest import to_triangles

SPECS = Path(__file__).parents[2] / "specs"
BOARDS, RACK = SPECS / "boards", SPECS / "blanks"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["fit", *map(str, arguments)])


def test_turnstone_comes_out_of_the_short_wide_block(tmp_path: Path) -> None:
    fitted, (drawing, second, printed) = fit_blank(BOARDS / "turnstone.toml", RACK / "short-wide.toml", 3.0, tmp_path)
    fit = fitted.fit
    assert fitted.short_mm == 0.0
    assert fitted.remedies == ()
    # What was found lies between what is proven from below and from above, and these are near one another.
    assert fit.floor_mm <= fit.cover_mm <= fit.ceiling.cover_mm
    assert fit.ceiling.closed
    assert fit.ceiling.cover_mm - fit.floor_mm < 0.6
    assert fit.sure_mm == pytest.approx(fit.floor_mm - fit.block.error_mm)
    # The tape's half mark, and what the block's fair lines pass outside of what was read with it.
    assert 0.5 < fit.block.error_mm - fit.blank.error_mm <= 2.0 * fit.blank.error_mm
    # The tight places, by brute force on a mesh of the block, within its chords' tolerance.
    block = meshed(fit.block.body, grid_for(fit.block.body, 0.05))
    for place in fit.tight:
        at = fit.placing.placed(np.array([[place.x_mm, place.off_mm, place.height_mm]]), fit.middle_mm)[0]
        assert to_triangles(block, at) == pytest.approx(place.cover_mm, abs=0.06)
    assert min(place.cover_mm for place in fit.tight) == pytest.approx(fit.cover_mm, abs=0.05)
    # No station has less than the least, and the tight ones are on more than one face, or it could be moved.
    assert all(min(each.deck_mm, each.rail_mm, each.bottom_mm) >= fit.cover_mm - 1e-6 for each in fit.stations)
    assert len({place.face for place in fit.tight}) >= 2
    assert fit.shift_mm[0] <= 0.0 <= fit.shift_mm[1]
    assert [file.name for file in (drawing, second, printed)] == [
        f"turnstone-in-short-wide{end}" for end in ("-1.svg", "-2.svg", ".pdf")
    ]
    pages = PdfReader(printed).pages
    for page in pages:
        # As wide as A4 and as high as Letter.
        sides = [float(side) * 25.4 / 72.0 for side in page.mediabox[2:]]
        assert sides == pytest.approx([210.0, 279.4], abs=0.01)
    assert [page.extract_text().count("Turnstone") for page in pages] == [1, 1]
    assert "It comes out." in pages[0].extract_text()
    text = drawing.read_text("utf-8")
    assert "In Short wide" in text
    assert len(re.findall(r'[\d/ ]+" (over the deck|at the (bottom|rail)), ', text)) == len(fit.tight)


def test_the_command_tells_it_in_a_maker_s_words(tmp_path: Path) -> None:
    result = run(BOARDS / "turnstone.toml", "--blank", RACK / "short-wide.toml", "-o", tmp_path, "--cover", "1/8 in")
    assert result.exit_code == 0, result.output
    assert "Turnstone in Short wide  comes out" in result.output
    assert "proven at least" in result.output
    assert "to be planed off" in result.output
    assert result.output.count("tight:") == 4
    # A block of which nobody said what its rails are is taken to be boxy, and that is told.
    assert re.search(r"assumed \(not in the blank's spec\): .*rails\[1\]\.kind", result.output)


def test_a_rack_is_ranked_and_what_cannot_do_is_sorted_out() -> None:
    result = run(BOARDS / "fulmar.toml", "--rack", RACK, "--jobs", "1")
    assert result.exit_code == 0, result.output
    assert "too short: 7' 8\" for" in result.output
    result = run(BOARDS / "dunlin.toml", "--rack", RACK, "--jobs", "1", "--cover", "1 mm")
    names = [re.split(r"\s{2,}", line.strip())[0] for line in result.output.splitlines()]
    assert names[-1] == "Short wide"
    assert re.search(r"Quick +-0\.\d mm +is short", result.output)
    assert re.search(r"Middling +\d+\.\d mm +comes out", result.output)


def test_spoonbill_comes_out_of_the_attic_s_block_once_that_is_bent(tmp_path: Path) -> None:
    """The board's own file names the block and the new stringer; on the rack the block is short."""
    fitted, files = fit_blank(BOARDS / "spoonbill.toml", folder=tmp_path)
    assert [file.suffix for file in files] == [".svg", ".svg", ".pdf", ".svg", ".pdf", ".svg", ".pdf"]
    assert fitted.wanted_mm == pytest.approx(25.4 / 8.0)
    assert fitted.on_rack_mm is not None
    assert fitted.on_rack_mm < -2.0
    assert fitted.short_mm == 0.0
    assert fitted.fit.sure_mm - fitted.wanted_mm > 3.0
    assert fitted.fit.floor_mm <= fitted.fit.cover_mm <= fitted.fit.ceiling.cover_mm
    result = run(BOARDS / "spoonbill.toml", "-o", tmp_path / "again")
    assert result.exit_code == 0, result.output
    assert "re-glued to the new stringer" in result.output
    assert re.search(r"  9' 9\" +7 3/16\+ +4 11/16\+ +2 1/2 down", result.output)
    assert "its maker's sheet alone says whether it bears that" in result.output


def test_without_its_stringer_the_same_board_is_short_and_told_what_would_do(tmp_path: Path) -> None:
    text = (BOARDS / "spoonbill.toml").read_text("utf-8")
    spec = changed(tmp_path, "spoonbill", text[: text.index("[stringer]")])
    fitted, _ = fit_blank(spec)
    assert fitted.on_rack_mm is None
    assert fitted.fit.block.regluing is None
    assert fitted.short_mm > 5.0
    assert [remedy.what for remedy in fitted.remedies] == ["length"]


def test_changes_of_a_board_leave_the_rest_as_it_is() -> None:
    board = load_board(BOARDS / "avocet.toml")
    lower, short, thin = flatter(board, 0.9), shorter(board, 0.95), thinner(board, 0.9)
    assert lower.heights[-1].value == pytest.approx(0.9 * board.heights[-1].value)
    assert lower.heights[0] == board.heights[0]
    assert short.length_mm == pytest.approx(0.95 * board.length_mm)
    assert [each.value for each in short.widths] == [each.value for each in board.widths]
    assert board_lines(short).length_mm == short.length_mm
    assert thin.thickest.value == pytest.approx(0.9 * board.thickest.value)
    assert replace(thin, thicknesses=(), thickest=board.thickest, sections={}).widths == board.widths


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ([], "names no blank"),
        (["--blank", RACK / "middling.toml", "--rack", RACK], "name a blank with --blank"),
        (["--blank", RACK / "middlin.toml"], "no such file"),
        (["--blank", BOARDS / "dunlin.toml"], "a board file where a blank file is needed"),
        (["--rack", SPECS / "nowhere"], "no such folder"),
        (["--rack", SPECS / "blanks" / ".."], "this folder holds no blanks"),
        (["--blank", RACK / "middling.toml", "--cover", "1"], "a length without a unit"),
        (["--blank", RACK / "middling.toml", "--cover", "much"], "--cover"),
        (["--blank", RACK / "middling.toml", "--cover", "1 m"], "no cover that a block has"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_written(tmp_path: Path, arguments: list[str | Path], told: str) -> None:
    result = run(BOARDS / "whimbrel.toml", *arguments, "-o", tmp_path / "fits")
    assert result.exit_code == 2
    assert told in result.output
    assert "Traceback" not in result.output
    assert not (tmp_path / "fits").exists()


def bench(tmp_path: Path, text: str, foam: str = "") -> Path:
    """Return Spoonbill's file in specs of its own, changed, its block's foam with a line more."""
    spec = changed(tmp_path, "spoonbill", text)
    block = tmp_path / "specs" / "blanks" / "attic-green.toml"
    block.write_text(block.read_text("utf-8").replace("[foam]\n", f"[foam]\n{foam}"), "utf-8")
    return spec


SPOONBILL = (BOARDS / "spoonbill.toml").read_text("utf-8")


def test_a_foam_that_bears_the_bend_only_with_saw_cuts_is_told_in_the_verdict(tmp_path: Path) -> None:
    spec = bench(tmp_path, SPOONBILL, 'most_strain = "0.1 %"\n')
    fitted, files = fit_blank(spec, folder=tmp_path / "fits")
    without, _ = fit_blank(BOARDS / "spoonbill.toml")
    assert fitted.saw_cuts >= 5
    # What a half stands off between two of them is in the margin.
    off = max(each.off_mm for each in fitted.fit.block.cuts)
    assert fitted.fit.block.error_mm - without.fit.block.error_mm == pytest.approx(off)
    result = run(spec, "-o", tmp_path / "again")
    assert f"comes out, but only with {fitted.saw_cuts} saw cuts" in result.output.splitlines()[0]
    card = PdfReader(next(file for file in files if file.name.endswith("attic-green.pdf"))).pages[0].extract_text()
    assert f"only with {fitted.saw_cuts} saw cuts" in " ".join(card.split())


def test_a_block_that_is_better_left_as_it_is_is_told_so(tmp_path: Path) -> None:
    """A board of the block's own rocker."""
    rocker = "[rocker]\nnose = 6.2\ntail = 3\nlowest = { behind_centre = 5 }\n"
    start, end = SPOONBILL.index("[rocker]"), SPOONBILL.index("[thickness]")
    spec = bench(tmp_path, SPOONBILL[:start] + rocker + SPOONBILL[end:])
    fitted, _ = fit_blank(spec)
    assert fitted.on_rack_mm is not None
    assert fitted.better_left == (fitted.on_rack_mm >= max(fitted.fit.sure_mm, fitted.wanted_mm))
    said = run(spec, "-o", tmp_path / "fits").output.splitlines()[0]
    assert ("no need to re-glue" in said) == fitted.better_left
    assert fitted.better_left


def test_cards_of_one_board_in_two_blocks_are_told_apart(tmp_path: Path) -> None:
    digests = set()
    for name in ("short-wide", "middling"):
        _, files = fit_blank(BOARDS / "turnstone.toml", RACK / f"{name}.toml", 3.0, tmp_path / name)
        digests.add(re.findall(r"file [0-9a-f]{6}", files[0].read_text("utf-8"))[0])
    assert len(digests) == 2


def test_passes_and_what_is_left_then_make_up_what_is_planed_off() -> None:
    board = load_board(BOARDS / "turnstone.toml")
    fit = fit_blank(BOARDS / "turnstone.toml", RACK / "short-wide.toml", 3.0)[0].fit
    for metric, pass_mm in ((False, 25.4 / 32.0), (False, 1.0), (True, 1.0), (True, 0.7), (False, 3.175)):
        own = replace(fit, board=replace(board, metric=metric))
        for row in planed(own, [400.0, 863.6, 1300.0], pass_mm):
            for whole, count, rest in (row.cells[1:4], row.cells[4:7]):
                mm = [0.0 if each == NOTHING else read_figure(each, metric=metric) for each in (whole, rest)]
                mark = 0.1 if metric else 25.4 / 32.0
                assert -1e-9 <= mm[0] - int(count) * pass_mm - mm[1] < mark + 1e-6
                assert mm[1] < pass_mm


def read_figure(told: str, *, metric: bool) -> float:
    if metric:
        return float(told)
    return float(sum(map(Fraction, told.rstrip("+").split())) + Fraction(told.count("+"), 32)) * 25.4
