"""Channels: as deep and as wide as they were asked, level-ended, gone where they end."""

from __future__ import annotations

import numpy as np
import pytest

from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.checks import checked_mesh
from bayloft.solid.faces import bottom_height
from bayloft.solid.integrals import integrals
from bayloft.spec.loading import load_board

from ..lines.test_section_faults import BARE

CHANNEL = """
[[bottom]]
shape = "flat"
[[channels]]
off_stringer = "30 mm"
width = "40 mm"
depth = "5 mm"
begins = { from_tail = "900 mm" }
ends = { from_tail = "300 mm" }
fade = "150 mm"
"""


@pytest.fixture(scope="module")
def bodies(tmp_path_factory: pytest.TempPathFactory) -> tuple[BoardLines, Body, Body]:
    folder = tmp_path_factory.mktemp("channels")
    made = []
    for name, more in (("sunk", CHANNEL), ("plain", CHANNEL[: CHANNEL.index("[[channels]]")])):
        spec = folder / f"{name}.toml"
        spec.write_text(BARE + more, encoding="utf-8")
        lines = board_lines(load_board(spec))
        made.append((lines, board_body(lines)))
    return made[0][0], made[0][1], made[1][1]


def depth_at(sunk: Body, plain: Body, x: float, y: np.ndarray) -> np.ndarray:
    return bottom_height(sunk, np.full_like(y, x), y) - bottom_height(plain, np.full_like(y, x), y)


def test_it_is_as_deep_as_asked_between_its_sides_and_nothing_beside_it(bodies: tuple[BoardLines, Body, Body]) -> None:
    _, sunk, plain = bodies
    off = np.array([10.0, 29.0, 40.1, 50.0, 59.9, 71.0, 90.0])
    depth = depth_at(sunk, plain, 600.0, off)
    assert depth == pytest.approx([0.0, 0.0, 5.0, 5.0, 5.0, 0.0, 0.0], abs=0.01)


def test_it_runs_in_and_out_without_a_corner(bodies: tuple[BoardLines, Body, Body]) -> None:
    _, sunk, plain = bodies
    x = np.linspace(250.0, 950.0, 141)
    depth = np.array([depth_at(sunk, plain, float(at), np.array([50.0]))[0] for at in x])
    assert depth[x <= 300.0] == pytest.approx(0.0, abs=0.01)
    assert depth[x >= 900.0] == pytest.approx(0.0, abs=0.01)
    assert depth[(x >= 450.0) & (x <= 750.0)] == pytest.approx(5.0, abs=0.01)
    # A quintic over 150 mm bends by 10/sqrt(3) x depth / fade^2 at most.
    bend = np.abs(np.diff(depth, 2)) / 25.0
    assert bend.max() < 1.1 * 10.0 / np.sqrt(3.0) * 5.0 / 150.0**2


def test_its_volume_is_that_of_a_trough(bodies: tuple[BoardLines, Body, Body]) -> None:
    _, sunk, plain = bodies
    taken = integrals(plain).volume_mm3 - integrals(sunk).volume_mm3
    # Sides of 10 mm and fades of 150 mm each count half; two channels.
    assert taken == pytest.approx(2 * 5.0 * (40.0 - 10.0) * (600.0 - 150.0), rel=2e-3)


def test_its_mesh_is_a_solid(bodies: tuple[BoardLines, Body, Body]) -> None:
    _, sunk, _ = bodies
    checked = checked_mesh(sunk, integrals(sunk), 0.1, "trial")
    assert all(finding.passed for finding in checked.findings)
