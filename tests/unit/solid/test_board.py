"""The loft of a board: it follows its sections, kinks get knots, the fan of a cut-off tail is short."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import LEAST_GRADATION_MM, board_lines
from bayloft.lines.section_lines import edge_radius as section_edge_radius
from bayloft.lines.section_places import APEX, EDGE
from bayloft.solid.board import FAN_REACHES, LEAST_FAN_MM, SKIN_MM, board_body, section_joints, wall_parameters
from bayloft.solid.body import Body
from bayloft.solid.integrals import parameter_at
from bayloft.solid.measure import edge_radius, section_slopes
from bayloft.spec.boards.board import Board, Tail
from bayloft.spec.loading import load_board
from bayloft.spec.text.given import Given

from ...made_sections import line, made_sections

Array = NDArray[np.float64]

BOARDS = Path(__file__).parents[3] / "specs" / "boards"
NAMES = sorted(path.stem for path in BOARDS.glob("*.toml"))
QUICK_MM = 2e-2
"""mm by which a surface may leave its sections where two stations are as near as they may be: a sanding scratch is a
twentieth of a millimetre."""
FOOT_MM = 304.8


@cache
def demo(name: str) -> tuple[BoardLines, Body]:
    lines = board_lines(load_board(BOARDS / f"{name}.toml"))
    return lines, board_body(lines)


def off_lines(lines: BoardLines, body: Body) -> float:
    """The greatest distance in mm of the surface, between its sites too, from the lines at the same station and v."""
    u, v = (
        np.unique(np.concatenate([breaks, *(breaks[:-1] + share * np.diff(breaks) for share in (0.25, 0.5, 0.75))]))
        for breaks in body.port.breaks
    )
    found = body.port.grid(u, v)
    at = lines.outline.parameter(np.clip(found[..., 0], 0.0, lines.length_mm))
    expected = lines.points(at, np.broadcast_to(v, found.shape[:2]))
    return float(np.linalg.norm(found - expected, axis=-1).max())


def curvatures(body: Body, x: Array, v: float) -> Array:
    """The curvature in 1/mm of sections at stations x, at the parameter v."""
    at = np.full_like(x, v)
    slope, bend = section_slopes(body, parameter_at(body.port, x, at), at)
    return np.asarray((slope[:, 0] * bend[:, 1] - slope[:, 1] * bend[:, 0]) / (slope**2).sum(axis=-1) ** 1.5)


def with_rails(board: Board, **told: tuple[Given, ...]) -> Board:
    return replace(board, sections=made_sections(board.length_mm, **told), drops=())


def quick(board: Board, x_mm: float) -> Board:
    """The board with rails that change from full and soft to thin and hard as quickly as they may."""
    ends = x_mm, x_mm + LEAST_GRADATION_MM
    return with_rails(
        board,
        apex=line("apex", *zip(ends, (0.5, 0.3), strict=True), form="share"),
        radius=line("radius", *zip(ends, (0.17, 0.25), strict=True), form="share"),
        shoulder=line("shoulder", *zip(ends, (0.9, 0.4), strict=True), form="share"),
        tuck=line("tuck", *zip(ends, (25.0, 6.0), strict=True)),
        edge=line("edge", *zip(ends, (12.0, 0.0), strict=True), form="radius"),
    )


@pytest.mark.parametrize("name", NAMES)
def test_the_surface_of_every_demo_board_meets_its_lines(name: str) -> None:
    assert off_lines(*demo(name)) < SKIN_MM


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("share", [0.3, 0.6])
def test_quick_changes_are_resolved(name: str, share: float) -> None:
    board = load_board(BOARDS / f"{name}.toml")
    lines = board_lines(quick(board, share * board.length_mm))
    body = board_body(lines)
    assert off_lines(lines, body) < QUICK_MM
    # Nothing swings out to either side: no place is wider than the outline has it.
    points = body.port.grid(np.linspace(0.0, 1.0, 601), np.linspace(0.0, 1.0, 101))
    beyond = points[..., 1] - lines.outline.at(np.clip(points[..., 0], 0.0, board.length_mm))
    assert beyond.max() < 1e-5


@pytest.mark.parametrize("name", NAMES)
def test_a_rail_has_one_curvature_at_its_widest_point(name: str) -> None:
    """On the surface itself, a ten-millionth of v below and above the joint."""
    lines, body = demo(name)
    x = np.linspace(0.12, 0.95, 60) * lines.length_mm
    below, above = (curvatures(body, x, APEX + step) for step in (-1e-7, 1e-7))
    assert above.min() > 0.0
    assert np.abs(below / above - 1.0).max() < 2e-3
    # The formula's own: both branches have the rail's radius there.
    n = lines.section_numbers(x)
    lean = 2.0 * n.inset / n.half_width
    assert above * n.radius * lean == pytest.approx(1.0, abs=5e-3)


def test_an_edge_fades_out_over_a_foot_without_a_seam() -> None:
    """From the least radius to one of 12 mm over a foot: it grows all along, and nothing bends suddenly where it
    begins.
    """
    board = load_board(BOARDS / "dunlin.toml")
    first, last = 600.0, 600.0 + FOOT_MM
    let_down = with_rails(
        board,
        apex=line("apex", (first, 0.4), form="share"),
        radius=line("radius", (first, 0.2), form="share"),
        tuck=line("tuck", (first, 0.5), form="share"),
        edge=line("edge", (first, 0.0), (last, 12.0), form="radius"),
    )
    lines = board_lines(let_down)
    body = board_body(lines)
    assert off_lines(lines, body) < SKIN_MM
    x = np.linspace(first + 60.0, last, 60)
    radii = edge_radius(body, x)
    assert np.diff(radii).min() > 0.0
    asked = section_edge_radius(lines.section_numbers(x))
    assert np.abs(radii - asked).max() < 0.1
    assert radii[-1] == pytest.approx(12.0, rel=0.05)
    x = np.linspace(first - 40.0, last, 60)
    slopes = []
    for v in (EDGE - 1e-6, EDGE + 1e-6):
        at = np.full_like(x, v)
        slopes.append(section_slopes(body, parameter_at(body.port, x, at), at)[0])
    turn = np.degrees(np.diff([np.arctan2(slope[:, 1], slope[:, 0]) for slope in slopes], axis=0)[0])
    # An edge that is let down is nowhere sharper than the net can show.
    assert np.abs(turn).max() < 0.5
    # Along the edge itself the fading begins and ends with no curvature but the board's own.
    shares = lines.sections.shares["edge"]
    assert shares.spline is not None
    for order in (1, 2):
        assert np.abs(shares.spline(np.array([first, last]), order)).max() * FOOT_MM**order < 1e-6


def test_a_rail_keeps_its_proportions_to_the_tip() -> None:
    """What is given at one station alone is the same share of the depth everywhere, to the nose itself, where the rail
    is as full as it is in the middle.
    """
    board = load_board(BOARDS / "whimbrel.toml")
    x_mm = board.length_mm / 2
    lines = board_lines(
        with_rails(
            board,
            apex=line("apex", (x_mm, 0.4), form="share"),
            radius=line("radius", (x_mm, 14.0)),
            tuck=line("tuck", (x_mm, 30.0)),
        )
    )
    x = np.array([5.0, 100.0, x_mm, board.length_mm - 100.0, board.length_mm - 1.0])
    n = lines.section_numbers(x)
    for values in (n.radius, n.tuck, n.apex_mm):
        assert values / n.depth == pytest.approx(values[2] / n.depth[2], rel=1e-9)
    assert n.radius[2] == pytest.approx(14.0, abs=1e-3)
    # Near the tip the side view ends in the rail's own round.
    body = board_body(lines)
    end = body.port.grid(np.linspace(0.9995, 1.0, 21), [0.0, 1.0])
    radius = float(lines.section_numbers(board.length_mm).radius)
    for face in (0, 1):
        inside, high = board.length_mm - end[:-1, face, 0], np.abs(end[:-1, face, 2] - end[-1, face, 2])
        # z = sqrt(2 R q), and at the stringer q is the distance inside the tip to first order.
        near = inside < 0.5
        assert near.sum() >= 3
        slope = abs(float(lines.rocker.at(board.length_mm, 1)))
        assert high[near] ** 2 / (2.0 * inside[near]) == pytest.approx(radius, rel=0.1 + slope)


def test_tips_are_poles_with_one_normal() -> None:
    """On a ring round the nose's pole the normals lie near one another, and nearer the closer it is."""
    lines, body = demo("whimbrel")
    v = np.linspace(0.0, 1.0, 41)[1:-1]
    spread = []
    for du in (4e-3, 1e-3):
        u = np.full_like(v, 1.0 - du)
        along, across = body.port.at(u, v, 1, 0), body.port.at(u, v, 0, 1)
        normal = np.cross(across, along)
        normal /= np.linalg.norm(normal, axis=-1)[:, None]
        spread.append(float(np.degrees(np.arccos(np.clip(normal[:, 0], -1.0, 1.0))).max()))
    assert spread[1] < 0.3 * spread[0]
    assert np.ptp(body.port.net[-1], axis=0).max() < 1e-9
    assert body.port.net[-1, 0] == pytest.approx([lines.length_mm, 0.0, float(lines.rail_line(lines.length_mm))])


def test_sections_are_upright_forward_of_the_fan() -> None:
    lines, body = demo("turnstone")
    assert lines.wall is not None
    fan = max(FAN_REACHES * lines.wall.reach_mm, LEAST_FAN_MM)
    u = np.linspace(0.0, 1.0, 401)
    x = body.port.grid(u, np.linspace(0.0, 1.0, 81))[..., 0]
    forward = x.min(axis=1) > fan
    assert forward.sum() > 200
    # The fan's end is a knot, but only its first two derivatives vanish there: the spline rings for a step or two.
    assert np.ptp(x[forward], axis=1).max() < 1e-4
    assert np.ptp(x[~forward], axis=1).max() > 0.9 * lines.wall.reach_mm


def test_joints_lie_where_sections_may_turn() -> None:
    board = load_board(BOARDS / "whimbrel.toml")
    assert section_joints(board_lines(with_rails(board))) == [0.0, EDGE, APEX, 1.0]
    x_mm = board.length_mm / 2
    chined = with_rails(
        board,
        tuck=line("tuck", (x_mm, 12.0)),
        chine=line("chine", (x_mm, 5.0), table="bottom"),
        chine_width=line("chine_width", (x_mm, 20.0), table="bottom"),
        deck_chine=line("deck_chine", (x_mm, 5.0), table="deck"),
        deck_chine_width=line("deck_chine_width", (x_mm, 20.0), table="deck"),
    )
    lines = board_lines(chined)
    assert section_joints(lines) == [0.0, 0.2, EDGE, APEX, 0.7, 1.0]
    assert off_lines(lines, board_body(lines)) < QUICK_MM


def test_a_corners_arc_begins_on_a_joint() -> None:
    """Where the plan's curvature jumps the surface has a joint, on bottom and deck, so both edges keep the plan."""
    lines, body = demo("dunlin")
    assert lines.wall is not None
    assert lines.wall.radius_mm > 0.0
    usual = np.array(section_joints(lines))
    extra = body.port.joints[np.abs(body.port.joints[:, None] - usual).min(axis=1) > 1e-9]
    assert len(extra) == 2
    assert body.port.at(0.0, extra)[:, 1] == pytest.approx([lines.wall.arc_from_mm] * 2, abs=1e-6)


@pytest.mark.parametrize("radius", [4.0, 15.0, 30.0, 45.0])
@pytest.mark.parametrize("tuck", [2.4, 9.0])
def test_both_edges_of_a_wall_keep_its_plan(radius: float, tuck: float) -> None:
    """A narrow tuck leaves the whole arc to a few millimetres of the bottom's long inner piece."""
    board = load_board(BOARDS / "dunlin.toml")
    narrow = replace(
        with_rails(board, tuck=line("tuck", (900.0, tuck)), edge=line("edge", (900.0, 0.3), form="share")),
        tail=Tail(kind="square", block_mm=190.0, corner_radius_mm=radius),
    )
    lines = board_lines(narrow)
    edge = board_body(lines).port.grid([0.0], np.linspace(0.0, 1.0, 4001))[0]
    assert lines.wall is not None
    assert np.abs(edge[:, 0] - lines.wall.station(edge[:, 1])).max() < 2e-3


def test_a_closed_tail_has_no_wall() -> None:
    lines, body = demo("whimbrel")
    v = np.linspace(0.0, 1.0, 7)
    assert wall_parameters(lines, v).tolist() == [0.0] * 7
    assert body.end == "closed"
    assert np.ptp(body.port.net[0], axis=0).tolist() == [0.0, 0.0, 0.0]


def test_every_kink_of_the_lines_is_a_knot() -> None:
    lines, body = demo("whimbrel")
    knots = lines.outline.station(body.port.breaks[0])
    assert len(lines.kinks_mm) > 10
    # The spline's ends are not knots: the step next to each end is one polynomial with its neighbour.
    inside = lines.kinks_mm[(lines.kinks_mm > knots[1]) & (lines.kinks_mm < knots[-2])]
    assert np.abs(knots[:, None] - inside).min(axis=0).max() < 1e-6
