"""The loft of a board: kinks get knots, the fan of a cut-off tail is short, and quick changes are resolved."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.lines.board import BoardLines
from bayloft.lines.fairing import LEAST_GRADATION_MM, board_lines
from bayloft.lines.section import SEGMENTS
from bayloft.solid.board import FAN_REACHES, LEAST_FAN_MM, board_body, wall_stations
from bayloft.solid.body import Body
from bayloft.spec.board import Board, Tail
from bayloft.spec.given import Given
from bayloft.spec.loading import load_board

Array = NDArray[np.float64]

BOARDS = Path(__file__).parents[2] / "specs" / "boards"
LINES_MM = 1e-3
"""mm by which a board's surface may leave its lines, by its own word."""

QUICK_MM = 2e-2
"""The same where two stations are as near as they may be: a twentieth of a millimetre is a sanding scratch."""


def off_lines(lines: BoardLines, body: Body) -> float:
    """The greatest distance in mm of the surface, between its sites too, from the lines at the same station and v."""
    u, v = (
        np.unique(np.concatenate([breaks, *(breaks[:-1] + share * np.diff(breaks) for share in (0.25, 0.5, 0.75))]))
        for breaks in body.port.breaks
    )
    found = body.port.grid(u, v)
    expected = lines.section_points(found[..., 0], np.broadcast_to(v, found.shape[:2]))
    return float(np.linalg.norm(found - expected, axis=-1).max())


def quick(board: Board, x_mm: float) -> Board:
    """The board with a flat bottom and rails that change from full and soft to thin and hard as quickly as they may."""

    def line(key: str, before: float, after: float) -> tuple[Given, ...]:
        stations = enumerate(((x_mm, before), (x_mm + LEAST_GRADATION_MM, after)))
        return tuple(Given(x_mm=x, value=value, path=("rails", i, key)) for i, (x, value) in stations)

    flat = (Given(x_mm=x_mm, value=0.0, path=("bottom", 0, "depth")),)
    return replace(
        board,
        roll=flat,
        vee=flat,
        concave=flat,
        double_concave=flat,
        apex=line("apex", 0.5, 0.3),
        tuck=line("tuck", 18.0, 3.0),
        edge=line("edge", 0.0, 1.0),
        fullness=line("fullness", 0.9, 0.2),
    )


@pytest.mark.parametrize("name", sorted(path.stem for path in BOARDS.glob("*.toml")))
def test_the_surface_of_every_demo_board_meets_its_lines(name: str) -> None:
    lines = board_lines(load_board(BOARDS / f"{name}.toml"))
    assert off_lines(lines, board_body(lines)) < LINES_MM


@pytest.mark.parametrize("name", ["whimbrel", "spoonbill", "dunlin", "turnstone"])
@pytest.mark.parametrize("share", [0.1, 0.6])
def test_quick_changes_are_resolved_everywhere(name: str, share: float) -> None:
    """Forward, where knots lie on every kink, and in the fan of a wall, where they cannot."""
    board = load_board(BOARDS / f"{name}.toml")
    lines = board_lines(quick(board, share * board.length_mm))
    body = board_body(lines)
    assert off_lines(lines, body) < QUICK_MM
    # Nothing swings out to either side: no place is wider than the outline has it.
    points = body.port.grid(np.linspace(0.0, 1.0, 601), np.linspace(0.0, 1.0, 101))
    beyond = points[..., 1] - lines.outline.at(np.clip(points[..., 0], 0.0, board.length_mm))
    assert beyond.max() < QUICK_MM


def test_sections_are_upright_forward_of_the_fan() -> None:
    lines = board_lines(load_board(BOARDS / "turnstone.toml"))
    assert lines.wall is not None
    fan = max(FAN_REACHES * lines.wall.reach_mm, LEAST_FAN_MM)
    u = np.linspace(0.0, 1.0, 401)
    x = board_body(lines).port.grid(u, np.linspace(0.0, 1.0, 81))[..., 0]
    forward = x.min(axis=1) > fan
    assert forward.sum() > 200
    # The fan's end is a knot, but only its first two derivatives vanish there: the spline rings for a step or two.
    assert np.ptp(x[forward], axis=1).max() < 1e-5
    assert np.ptp(x[~forward], axis=1).max() > 0.9 * lines.wall.reach_mm


def test_a_corners_arc_begins_on_a_joint() -> None:
    """Where the plan's curvature jumps the surface has a joint, on bottom and deck, so both edges keep the plan."""
    lines = board_lines(load_board(BOARDS / "dunlin.toml"))
    assert lines.wall is not None
    assert lines.wall.radius_mm > 0.0
    body = board_body(lines)
    even = np.linspace(0.0, 1.0, SEGMENTS + 1)
    extra = body.port.joints[np.abs(body.port.joints[:, None] - even).min(axis=1) > 1e-9]
    assert len(extra) == 2
    assert body.port.at(0.0, extra)[:, 1] == pytest.approx([lines.wall.arc_from_mm] * 2, abs=1e-6)


@pytest.mark.parametrize("radius", [4.0, 15.0, 30.0, 45.0])
@pytest.mark.parametrize("tuck", [2.4, 9.0])
def test_both_edges_of_a_wall_keep_its_plan(radius: float, tuck: float) -> None:
    """A narrow tuck leaves the whole arc to a few millimetres of the bottom's long inner segment."""
    board = load_board(BOARDS / "dunlin.toml")
    narrow = replace(
        board,
        tail=Tail(kind="square", block_mm=190.0, corner_radius_mm=radius),
        tuck=(Given(x_mm=900.0, value=tuck, path=("rails", 0, "tuck")),),
        edge=(Given(x_mm=900.0, value=0.0, path=("rails", 0, "edge")),),
    )
    lines = board_lines(narrow)
    edge = board_body(lines).port.grid([0.0], np.linspace(0.0, 1.0, 4001))[0]
    assert lines.wall is not None
    assert np.abs(edge[:, 0] - lines.wall.station(edge[:, 1])).max() < 2e-3


def test_a_closed_tail_has_no_wall() -> None:
    lines = board_lines(load_board(BOARDS / "whimbrel.toml"))
    v = np.linspace(0.0, 1.0, 7)
    assert wall_stations(lines, v).tolist() == [0.0] * 7
    body = board_body(lines)
    assert body.end == "closed"
    assert np.ptp(body.port.net[0], axis=0).tolist() == [0.0, 0.0, 0.0]


def test_every_kink_of_the_lines_is_a_knot() -> None:
    lines = board_lines(load_board(BOARDS / "whimbrel.toml"))
    knots = lines.outline.station(board_body(lines).port.breaks[0])
    assert len(lines.kinks_mm) > 10
    # The spline's ends are not knots: the step next to each end is one polynomial with its neighbour.
    inside = lines.kinks_mm[(lines.kinks_mm > knots[1]) & (lines.kinks_mm < knots[-2])]
    assert np.abs(knots[:, None] - inside).min(axis=0).max() < 1e-6
