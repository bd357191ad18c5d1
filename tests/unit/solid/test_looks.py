"""Every check that looks must be able to fail: each is shown the fault it is there for."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.findings import Finding
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.section_places import APEX, EDGE
from bayloft.record.report import report
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.drops import drop_findings
from bayloft.solid.loft import lofted
from bayloft.solid.looks import across_joint, looks, rail_dip, stretches
from bayloft.solid.surface import Surface, interpolated
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import load_board
from bayloft.summary import board_summary
from bayloft.tolerances import TAPE_MM

Array = NDArray[np.float64]
Loft = tuple[Board, BoardLines, Body]

BOARDS = Path(__file__).parents[3] / "specs" / "boards"
WHIMBREL = re.sub(r"\[\[fins\]\].*", "", (BOARDS / "whimbrel.toml").read_text(encoding="utf-8"), flags=re.DOTALL)
BARE = re.sub(r"\n\[\[(rails|deck|bottom)\]\].*?(?=\n\[|\Z)", "\n", WHIMBREL, flags=re.DOTALL)
"""Whimbrel without fins; and without anything about its sections."""


@pytest.fixture
def loft(tmp_path: Path) -> Callable[[str], Loft]:
    def made(text: str) -> Loft:
        (tmp_path / "board.toml").write_text(text, encoding="utf-8")
        board = load_board(tmp_path / "board.toml")
        lines = board_lines(board)
        return board, lines, board_body(lines)

    return made


@pytest.fixture(scope="module")
def whimbrel() -> Loft:
    board = load_board(BOARDS / "whimbrel.toml")
    lines = board_lines(board)
    return board, lines, board_body(lines)


def told(lines: BoardLines, body: Body) -> list[Finding]:
    return [finding for finding in looks(lines, body) if finding.severity != "note"]


@pytest.mark.parametrize("name", sorted(path.stem for path in BOARDS.glob("*.toml")))
def test_a_demo_board_looks_as_it_should(name: str) -> None:
    lines = board_lines(load_board(BOARDS / f"{name}.toml"))
    body = board_body(lines)
    assert told(lines, body) == []
    measured: dict[str, float] = {}
    for finding in looks(lines, body):
        measured[finding.code] = max(measured.get(finding.code, 0.0), finding.measured)
    # Far inside the limits: what is by construction is not nearly met.
    assert measured["tip-dip"] < 0.01
    assert measured["tip-crease"] < 0.1
    assert measured["pole-normals"] < 0.01
    assert measured["joint-turn"] < 0.05
    assert measured["joint-curvature"] < 1.25


def changed(body: Body, change: Callable[[Array], None]) -> Body:
    net = body.port.net.copy()
    change(net)
    return replace(body, port=replace(body.port, net=net))


def column(surface: Surface, joint: float) -> int:
    """The column of control points that lies on a joint."""
    return int(np.flatnonzero(np.abs(surface.knots_v - joint) < 1e-12)[0]) - 1


def test_a_nose_that_dives_and_its_stations_are_caught(whimbrel: Loft) -> None:
    board, lines, body = whimbrel

    def dived(net: Array) -> None:
        near = np.clip(1.0 - (board.length_mm - net[..., 0]) / 40.0, 0.0, 1.0)
        net[..., 2] -= 40.0 * near * near

    failed = {(f.code, f.where) for f in looks(lines, changed(body, dived)) if not f.passed}
    assert ("tip-dip", "nose tip") in failed
    assert ("tip-dip", "tail tip") not in failed


@pytest.mark.parametrize(("axis", "what"), [(0, "plan"), (2, "elevation")])
def test_a_creased_tip_is_caught(whimbrel: Loft, axis: int, what: str) -> None:
    _, lines, body = whimbrel

    def creased(net: Array) -> None:
        net[..., axis] -= 0.1 * net[..., 1]

    found = {(f.code, f.where): f for f in looks(lines, changed(body, creased)) if not f.passed}
    # A fold in elevation lies in the plane to which the normals of a round tip are square.
    assert {code for code, _ in found} >= ({"tip-crease", "pole-normals"} if axis == 0 else {"tip-crease"})
    crease = found["tip-crease", "nose tip"]
    assert crease.measured == pytest.approx(2.0 * np.degrees(np.arctan(0.1)), rel=0.05)
    if axis == 0:
        assert what in crease.text


def test_a_crease_of_the_deck_alone_is_caught(whimbrel: Loft) -> None:
    _, lines, body = whimbrel

    def creased(net: Array) -> None:
        net[:, -2, 2] -= 0.2 * net[:, -2, 1]

    found = [f for f in looks(lines, changed(body, creased)) if f.code == "tip-crease" and not f.passed]
    assert [f.where for f in found] == ["nose tip", "tail tip"]
    assert all("the deck" in f.text for f in found)


@pytest.mark.parametrize(("further", "code"), [(1, "joint-turn"), (2, "joint-curvature")])
def test_a_joint_that_turns_or_changes_its_curvature_is_caught(whimbrel: Loft, further: int, code: str) -> None:
    _, lines, body = whimbrel
    here = column(body.port, APEX)

    def bent(net: Array) -> None:
        # The handle's end, and the point beyond it, which alone bears on the curvature.
        net[100, here + further, 1] -= 0.02 if further == 1 else 0.5

    found = {f.code: f for f in looks(lines, changed(body, bent)) if not f.passed}
    assert code in found
    assert "widest point of the rail" in found[code].text
    if further == 2:
        assert "joint-turn" not in found
    station = float(re.search(r"(\d+) mm from the tail", found[code].text)[1])  # type: ignore[index]
    assert abs(station - body.port.net[100, here, 0]) < 60.0


def test_curvatures_beside_a_joint_are_those_of_its_arcs() -> None:
    """A trough whose section is an arc of 20 mm and one of 40 mm that continues it, or one that turns by 2 degrees."""

    def trough(turn: float) -> Callable[[Array, Array], Array]:
        def points(u: Array, v: Array) -> Array:
            first, second = np.minimum(v, 0.5) * 2.0 - 1.0, np.maximum(v - 0.5, 0.0) * 2.0
            y = np.where(v <= 0.5, 20.0 * np.sin(first), 40.0 * (np.sin(second + turn) - np.sin(turn)))
            z = np.where(v <= 0.5, 20.0 * (1 - np.cos(first)), 40.0 * (np.cos(turn) - np.cos(second + turn)))
            return np.stack(np.broadcast_arrays(100.0 * u, y, z), axis=-1)

        return points

    u = np.linspace(0.1, 0.9, 5)
    ratio, turn = across_joint(interpolated(trough(0.0), np.linspace(0, 1, 9), [0.0, 0.5, 1.0], 24), u, 0.5)
    assert ratio == pytest.approx(2.0, rel=5e-3)
    assert turn.max() < 1e-2
    _, turn = across_joint(interpolated(trough(np.radians(2.0)), np.linspace(0, 1, 9), [0.0, 0.5, 1.0], 24), u, 0.5)
    assert turn == pytest.approx(2.0, rel=1e-3)


@pytest.mark.parametrize(
    ("rise", "dive", "dips", "falls"),
    [(0.0, 5.0, 5.0, 5.0), (0.0, 0.0, 0.0, 0.0), (-0.1, 0.0, 0.0, 6.0), (0.1, 5.0, 1.59, 1.59)],
)
def test_a_dive_is_what_falls_below_its_own_trend(rise: float, dive: float, dips: float, falls: float) -> None:
    """A rail line of 1 m along the top of an upright sheet: level or sloping, with a dive in its last 40 mm or none."""

    def points(u: Array, v: Array) -> Array:
        x = 1000.0 * u * (2.0 - u)
        near = np.clip((x - 960.0) / 40.0, 0.0, 1.0)
        z = rise * x - dive * near * near * (3.0 - 2.0 * near)
        return np.stack(np.broadcast_arrays(x, 100.0 * (1.0 - u) + 0.0 * v, z), axis=-1)

    dip, fall = rail_dip(interpolated(points, np.linspace(0, 1, 401), [0.0, APEX, 1.0], 8), 1.0, 1000.0)
    assert dip == pytest.approx(dips, abs=0.05)
    assert fall == pytest.approx(falls, abs=0.15)


def test_a_rail_line_that_falls_itself_is_no_failure(loft: Callable[[str], Loft]) -> None:
    text = WHIMBREL.replace('thickness = "2 3/4 in"', 'thickness = "3 1/2 in"').replace('"4 3/4 in"', '"1/2 in"')
    text = text.replace('"2 1/4 in"', '"1/2 in"').replace('lowest = { behind_centre = "3 in" }', "")
    _, lines, body = loft(text)
    found = {f.where: f for f in looks(lines, body) if f.code == "tip-dip"}
    assert found["nose tip"].severity == "note"
    assert re.fullmatch(r"the rail line itself falls \d\.\d mm to the nose", found["nose tip"].text)


def test_stretches_are_told_apart_and_sag_by_their_arcs() -> None:
    n = 100
    step = np.full((2, n), 1.0)
    turns = np.full((2, n), 0.01)
    turns[0, 20:40] = turns[1, 90:] = turns[1, :10] = -0.01
    found = stretches(turns, step, turns < 0.0)
    assert found.row.tolist() == [0, 1, 1]
    assert found.first.tolist() == [20, 0, 90]
    assert found.last.tolist() == [39, 9, 99]
    # An arc of radius 100 mm and length 20 mm.
    assert found.sag_mm[0] == pytest.approx(100.0 * (1.0 - np.cos(0.1)), rel=1e-2)
    assert len(stretches(turns, step, turns > 1.0).row) == 0


def test_waves_of_rail_line_and_edge_are_told_with_their_stations(loft: Callable[[str], Loft]) -> None:
    _, lines, body = loft(
        BARE
        + '\n[[rails]]\nahead_of_centre = "6 in"\napex = 0.5\ntuck = "2 in"\nedge_radius = 0\n'
        + '\n[[rails]]\nbehind_centre = "6 in"\napex = 0.25\ntuck = "1/2 in"\nedge_radius = 0\n'
    )
    found = {f.where: f for f in told(lines, body) if f.code == "curvature-signs"}
    assert {"rail line in profile", "bottom edge in plan"} <= found.keys()
    assert all(f.severity == "warning" for f in found.values())
    stations = re.search(r"between (\d+) and (\d+)", found["rail line in profile"].text)
    assert stations is not None
    assert 800.0 < float(stations[1]) < float(stations[2]) < 1600.0


@pytest.mark.parametrize("face", ["deck", "underside of the rail"])
def test_a_hollow_of_a_section_is_told_with_its_station_and_face(whimbrel: Loft, face: str) -> None:
    _, lines, body = whimbrel

    def dented(net: Array) -> None:
        x, y = net[..., 0], net[..., 1]
        if face == "deck":
            up = np.linspace(0.0, 1.0, net.shape[1]) > APEX
            net[..., 2] -= 2.0 * np.exp(-(((x - 1100.0) / 60.0) ** 2) - ((y - 120.0) / 25.0) ** 2) * up
        else:
            edge, here = (column(body.port, joint) for joint in (EDGE, APEX))
            dent = np.zeros((len(net), net.shape[1]))
            dent[95:105, edge + 1 : here] = np.sin(np.linspace(0.0, np.pi, here - edge + 1)[1:-1]) ** 2
            net[..., 1] -= 12.0 * dent
            net[..., 2] += 12.0 * dent

    found = [f for f in told(lines, changed(body, dented)) if f.code == "hollow-section"]
    assert [f.where for f in found] == [face]
    assert found[0].severity == "warning"
    assert "mm from the tail" in found[0].text


@pytest.mark.parametrize(
    "asked",
    [
        '[[deck]]\nshape = "concave"\ndepth = "1/4 in"\n',
        '[[deck]]\nshape = "rolled"\ndepth = "3/4 in"\n',
        '[[deck]]\nshape = "chine"\ndepth = "3/8 in"\n',
        '[[bottom]]\nshape = "concave"\ndepth = "1/2 in"\n',
        '[[rails]]\nkind = "boxy"\n',
        '[[rails]]\nkind = "beaked"\n',
    ],
)
def test_what_the_numbers_ask_for_is_no_hollow(loft: Callable[[str], Loft], asked: str) -> None:
    _, lines, body = loft(f"{BARE}\n{asked}")
    assert [f for f in told(lines, body) if f.code == "hollow-section"] == []


def dropped(down: str, more: str = "") -> str:
    return (
        f'{BARE}\n[[rails]]\nkind = "60/40"\n{more}\nbehind_centre = "1 in"\n'
        f'drops = [{{ inside = "2 in", down = "3/8 in" }}, {{ inside = "1 in", down = "{down}" }}]\n'
    )


def test_a_second_drop_that_fair_rails_allow_is_a_note_and_what_it_suggests_works(loft: Callable[[str], Loft]) -> None:
    found = drop_findings(*loft(dropped("19/32 in")))
    assert [(f.code, f.severity) for f in found] == [("second-drop", "note")]
    assert found[0].measured > TAPE_MM
    suggested = re.search(r'; (radius = "[\d.]+ mm")(?: and (shoulder = [\d.]+))? ha(?:s|ve) both', found[0].text)
    assert suggested is not None
    after = drop_findings(*loft(dropped("19/32 in", "\n".join(filter(None, suggested.groups())))))
    assert after[0].measured < 0.1
    assert "both" not in after[0].text


@pytest.mark.parametrize("down", ["3/8 in", "1 in"])
def test_a_second_drop_that_no_fair_rail_has_is_a_warning_that_tells_the_window(
    loft: Callable[[str], Loft], down: str
) -> None:
    (found,) = drop_findings(*loft(dropped(down)))
    assert found.severity == "warning"
    ends = [float(mm) for mm in re.findall(r"\(([\d.]+) mm\)", found.text.split("fair rails have")[1])]
    assert len(ends) == 2
    assert 9.5 < ends[0] < ends[1] < 25.4
    assert "radius" not in found.text


def test_report_and_summary_tell_of_second_drops(tmp_path: Path) -> None:
    (tmp_path / "board.toml").write_text(dropped("1 in"), encoding="utf-8")
    said = report(lofted(load_board(tmp_path / "board.toml"), 1.0), None, "0")
    text = next(finding["text"] for finding in said["findings"] if finding["code"] == "second-drop")
    assert any(text in line for line in board_summary(said, None))


def test_the_corner_line_beside_a_crease_is_no_fault(loft: Callable[[str], Loft]) -> None:
    """A child's squash tail with down rails: the line from its corner runs a tenth of a millimetre inside the edge, and
    what bends there is the edge.
    """
    board, lines, body = loft("""
edition = 2
name = "Sandpiper"
unit = "in"
length = "4 ft"
outline = { nose_width = 14, tail_width = 14, wide_point = { width = 17.5, ahead_of_centre = 1 } }
nose = { kind = "round" }
tail = { kind = "squash", block = 6 }
rocker = { nose = 3, tail = 1.25 }
thickness = { thickest = { thickness = 1.75, ahead_of_centre = 2 }, nose = 1.5, tail = 1.5 }
rails = [{ kind = "down", ahead_of_centre = 0 }]
""")
    assert board.tail.corner_radius_mm > 0.0
    assert [finding.code for finding in looks(lines, body) if not finding.passed] == []
