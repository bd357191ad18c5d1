"""Section numbers that contradict one another: told at the number, with what would do, and that does."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from bayloft.errors import SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.spec.loading import load_board

BARE = """
edition = 2
name = "Trial"
length = "7 ft"
[outline]
nose_width = "16 in"
tail_width = "14 in"
wide_point = { width = "21 in", ahead_of_centre = 0 }
[nose]
kind = "round"
[tail]
kind = "squash"
block = "6 in"
[rocker]
nose = "4 in"
tail = "2 in"
[thickness]
thickest = { thickness = "2 5/8 in", ahead_of_centre = 0 }
nose = "1 5/8 in"
tail = "1 5/8 in"
"""
BARE = BARE.replace("ahead_of_centre = 0", 'ahead_of_centre = "0 in"')


def lines_of(tmp_path: Path, more: str) -> BoardLines:
    spec = tmp_path / "trial.toml"
    spec.write_text(BARE + more, encoding="utf-8")
    return board_lines(load_board(spec))


CASES = {
    "tuck": ('[[rails]]\ntuck = "4 in"', "rails[1].tuck", "too wide for the board"),
    "radius": ('[[rails]]\nradius = "2 in"', "rails[1].radius", "rounder than the rail is high"),
    "drop": ('[[rails]]\ndrops = [{ inside = "2 in", down = "2 in" }]', "rails[1].drops[1].down", "as much there"),
    "little drop": (
        '[[rails]]\ndrops = [{ inside = "2 in", down = "1 mm" }]',
        "rails[1].drops[1].down",
        "as little there",
    ),
    "dome": ('[[deck]]\nshape = "domed"\ndepth = "1 7/8 in"', "deck[1].depth", "drops below the rail's widest point"),
    "roll": (
        '[[bottom]]\nshape = "roll"\ndepth = "1 1/4 in"',
        "bottom[1].depth",
        "rises above the rail's widest point",
    ),
    "vee": ('[[bottom]]\nshape = "vee"\ndepth = "1 1/8 in"', "bottom[1].depth", "rises above the rail's widest point"),
    "concave": ('[[bottom]]\nshape = "concave"\ndepth = "1 1/2 in"', "bottom[1].depth", "deeper than half"),
    "chine": ('[[bottom]]\nshape = "chine"\ndepth = "1/8 in"\nwidth = "6 in"', "bottom[1].width", "too wide"),
    "deck chine": ('[[deck]]\nshape = "chine"\ndepth = "1/8 in"\nwidth = "6 in"', "deck[1].width", "too wide"),
    "flat deck": ('[[deck]]\nshape = "domed"\ndepth = "1/4 in"\nflat = "24 in"', "deck[1].flat", "wider than"),
    "wide hollow": (
        '[[bottom]]\nshape = "concave"\ndepth = "1/4 in"\nwidth = "24 in"',
        "bottom[1].width",
        "wider than",
    ),
    "channel": (
        '[[channels]]\noff_stringer = "8 in"\nwidth = "3 in"\ndepth = "1/8 in"\n'
        'begins = { from_tail = "4 ft" }\nends = { from_tail = "3 ft" }',
        "channels[1].off_stringer",
        "runs over the rail",
    ),
    "deep channel": (
        '[[channels]]\noff_stringer = "2 in"\nwidth = "3 in"\ndepth = "1 1/2 in"\n'
        'begins = { from_tail = "4 ft" }\nends = { from_tail = "3 ft" }',
        "channels[1].depth",
        "deeper than half",
    ),
}


@pytest.mark.parametrize("case", CASES)
def test_a_number_without_room_is_told_and_what_would_do_does(case: str, tmp_path: Path) -> None:
    more, key, problem = CASES[case]
    with pytest.raises(SpecError) as caught:
        lines_of(tmp_path, more)
    (fault,) = caught.value.faults
    assert fault.line is not None
    assert f"{key}: " in str(caught.value)
    assert problem in fault.problem
    length = re.search(r"\((\d+\.\d) mm\)", fault.allowed.rsplit(" to ")[-1])
    assert length, fault.allowed
    last = key.rsplit(".")[-1]
    would_do = re.sub(rf'({last} = )"[^"]*"', rf'\g<1>"{length[1]} mm"', more)
    assert would_do != more
    lines_of(tmp_path, would_do)


def test_too_thick_for_its_width_is_told_at_the_thickness(tmp_path: Path) -> None:
    spec = tmp_path / "thick.toml"
    blunt = BARE.replace('nose = "1 5/8 in"', 'nose = "2 1/2 in"')
    spec.write_text(f'{blunt}thicknesses = [{{ from_nose = "1/4 in", thickness = "2 1/4 in" }}]', encoding="utf-8")
    with pytest.raises(SpecError, match=r"thickness\.thicknesses\[1\]\.thickness: thicker than a section"):
        board_lines(load_board(spec))


def test_nothing_is_refused_near_the_tips_where_no_number_is(tmp_path: Path) -> None:
    lines_of(
        tmp_path,
        '[[rails]]\nfrom_tail = "3 ft"\nkind = "down"\ntuck = "1 in"\n[[rails]]\nfrom_nose = "3 ft"\nkind = "boxy"',
    )
    lines_of(tmp_path, '[[bottom]]\nshape = "roll"\ndepth = "3/8 in"\n[[deck]]\nshape = "domed"\ndepth = "5/8 in"')


@pytest.mark.parametrize(
    ("more", "key", "problem"),
    [
        ('begins = { from_tail = "3 ft" }\nends = { from_tail = "35 in" }', "channels[1].begins", "not ahead of"),
        (
            'begins = { from_tail = "3 ft" }\nends = { from_tail = "1 ft" }\nfade = "20 in"',
            "channels[1].fade",
            "longer than half",
        ),
        ('begins = { from_tail = "9 ft" }', "channels[1].begins.from_tail", "off the board"),
    ],
)
def test_a_channel_has_room_to_run_in_and_out(more: str, key: str, problem: str, tmp_path: Path) -> None:
    with pytest.raises(SpecError) as caught:
        lines_of(tmp_path, f'[[channels]]\noff_stringer = "1 in"\nwidth = "1 in"\ndepth = "1/8 in"\n{more}')
    assert f"{key}: {problem}" in str(caught.value)


def test_channels_do_not_overlap(tmp_path: Path) -> None:
    one = '[[channels]]\noff_stringer = "{}"\nwidth = "2 in"\ndepth = "1/8 in"\nbegins = {{ from_tail = "3 ft" }}\n'
    one += 'ends = {{ from_tail = "2 ft" }}\n'
    lines_of(tmp_path, one.format("1 in") + one.format("3 1/4 in"))
    with pytest.raises(SpecError, match="overlaps the channel inside it"):
        lines_of(tmp_path, one.format("1 in") + one.format("2 1/2 in"))


def test_a_channel_without_an_end_needs_a_tail_that_is_cut_off(tmp_path: Path) -> None:
    channel = (
        '[[channels]]\noff_stringer = "1/2 in"\nwidth = "1 in"\ndepth = "1/8 in"\nbegins = { from_tail = "3 ft" }\n'
    )
    lines_of(tmp_path, channel)
    spec = tmp_path / "closed.toml"
    spec.write_text(BARE.replace('kind = "squash"\nblock = "6 in"', 'kind = "pin"') + channel, encoding="utf-8")
    with pytest.raises(SpecError, match="a channel without an end"):
        load_board(spec)
