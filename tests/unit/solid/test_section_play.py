"""Rails, deck and bottom read with a tape: their quantities run within half a mark of what was read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from bayloft.solid.dimensions import dimensions, reading_findings
from bayloft.solid.draft import Draft, drafted
from bayloft.spec.loading import load_board

SPECS = Path(__file__).parents[3] / "specs"
INCH = 25.4

BOARD = """
edition = 2
name = "Knot"
unit = "in"
length = "6'10"
{read_to}
outline = {{ nose_width = 15, tail_width = 14.75, wide_point = {{ width = 20.75, ahead_of_centre = 2, exact = true }} }}
nose = {{ kind = "round" }}
tail = {{ kind = "diamond", block = 7 }}
rocker = {{ nose = 4.75, tail = 2 }}
thickness = {{ nose = 1.625, tail = 1.625, thickest = {{ thickness = 2.625, ahead_of_centre = 2 }} }}
{sections}
"""

STATIONS = (12, 24, 43, 58, 70)
READ = {
    "radius": (0.375, 0.375, 0.5, 0.5, 0.375),
    "tuck": (0.5, 0.625, 1.0, 0.875, 1.0),
    "down": (0.375, 0.5, 0.5, 0.4375, 0.25),
}
ROLLS = {41: 0.25, 52: 0.375, 66: 0.125}


def sections(more: str = "") -> str:
    rails = [
        f"[[rails]]\nfrom_tail = {x}\nradius = {radius}\ntuck = {tuck}\n"
        f"drops = [{{ inside = 2, down = {down} }}]\n{more if x == 43 else ''}\n"
        for x, radius, tuck, down in zip(STATIONS, *READ.values(), strict=True)
    ]
    rolls = [f'[[bottom]]\nfrom_tail = {x}\nshape = "roll"\ndepth = {depth}\n' for x, depth in ROLLS.items()]
    return "\n".join([*rails, *rolls, '[[bottom]]\nfrom_tail = 12\nshape = "flat"\n'])


def draft(folder: Path, read_to: str, more: str = "") -> Draft:
    path = folder / "knot.toml"
    path.write_text(BOARD.format(read_to=read_to, sections=sections(more)), "utf-8")
    return drafted(load_board(path))


def test_numbers_of_sections_are_met_within_half_a_mark_and_no_more(tmp_path: Path) -> None:
    found = draft(tmp_path, 'read_to = "1/8 in"')
    measured = dimensions(found.board, found.lines, found.body)
    played = [each for each in measured if each.play_mm > 0.0 and each.path[0] in ("rails", "bottom")]
    assert len(played) == 18
    assert all(each.play_mm == pytest.approx(INCH / 16) for each in played)
    assert all(abs(each.error_mm) <= each.limit_mm == each.play_mm for each in played)
    assert max(abs(each.error_mm) for each in played) > 0.5
    told = {finding.where: finding.text for finding in reading_findings(measured, found.lines)}
    assert told["rails"].startswith("rails, 15 numbers:")
    assert told["bottom"].startswith("bottom, 3 numbers: 2 drawn otherwise than read, within 1.59 mm")


def test_without_a_mark_they_are_met_exactly(tmp_path: Path) -> None:
    found = draft(tmp_path, "")
    for each in dimensions(found.board, found.lines, found.body):
        assert each.play_mm == 0.0
        assert abs(each.error_mm) <= each.limit_mm


def test_what_is_exact_stays_and_what_is_none_is_none(tmp_path: Path) -> None:
    found = draft(tmp_path, 'read_to = "1/8 in"', "exact = true")
    at = 43 * INCH
    measured = dimensions(found.board, found.lines, found.body)
    exact = [each for each in measured if each.path[0] == "rails" and each.x_mm == pytest.approx(at)]
    assert [each.what for each in exact if each.play_mm == 0.0] == [
        "radius of the rail",
        "tuck",
        "drop of the deck",
    ]
    assert all(abs(each.error_mm) <= each.limit_mm <= 0.3 for each in exact)
    assert found.lines.sections.shares["roll"].at(12 * INCH) == pytest.approx(0.0, abs=1e-9)


def test_a_mark_of_its_own_comes_before_the_file_s(tmp_path: Path) -> None:
    board = draft(tmp_path, 'read_to = "1/8 in"', 'read_to = "1/4 in"').board
    plays = {round(each.x_mm / INCH): each.play_mm for each in board.sections["tuck"]}
    assert plays == pytest.approx({x: INCH / 8 if x == 43 else INCH / 16 for x in STATIONS})


def test_edges_and_chines_have_no_play(tmp_path: Path) -> None:
    board = draft(tmp_path, 'read_to = "1/8 in"', "edge_radius = 0.125").board
    assert all(each.play_mm == 0.0 for each in board.sections["edge"])


def test_shared_rails_have_the_mark_of_their_file_or_of_the_board_s(tmp_path: Path) -> None:
    folder = tmp_path / "boards"
    folder.mkdir()
    text = BOARD.format(read_to='read_to = "1/8 in"\nrails = "rails.toml"', sections="")
    (folder / "knot.toml").write_text(text, "utf-8")
    shared = 'edition = 2\nunit = "in"\n[[rails]]\nradius = 0.5\n'
    for mark, play in (("", INCH / 16), ('read_to = "1/4 in"\n', INCH / 8)):
        (folder / "rails.toml").write_text(mark + shared, "utf-8")
        assert load_board(folder / "knot.toml").sections["radius"][0].play_mm == pytest.approx(play)


def test_play_takes_out_waves_that_the_tape_put_in(tmp_path: Path) -> None:
    x = np.linspace(300.0, 1780.0, 371)

    def waves(read_to: str) -> int:
        share = draft(tmp_path, read_to).lines.sections.shares["tuck"].at(x)
        bend = np.gradient(np.gradient(share, x), x)
        return int(np.count_nonzero(np.diff(np.sign(bend[5:-5]))))

    assert waves('read_to = "1/8 in"') < waves("")
