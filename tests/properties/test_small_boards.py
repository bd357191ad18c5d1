"""Small boards, whose ends come out sharp, have outlines that a cutting file takes."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest

from bayloft.drawing.curves.board_curves import plan_outline
from bayloft.errors import SpecError
from bayloft.lines.drafting import board_lines
from bayloft.solid.board import board_body
from bayloft.spec.loading import load_board
from bayloft.tolerances import ARC_FIT_MM, SHORTEST_CUT_MM

SPEC = """
edition = 2
name = "Handplane"
unit = "in"
length = {length}
outline = {{ nose_width = {nose}, tail_width = {tail}, wide_point = {{ width = {wide}, ahead_of_centre = 0 }} }}
nose = {{ kind = "round" }}
tail = {{ kind = "round" }}
rocker = {{ nose = 2, tail = 1 }}
thickness = {{ thickest = {{ thickness = "1 7/8", ahead_of_centre = 1 }}, nose = "1 9/16", tail = 1.5 }}
rails = [{{ kind = "60/40", apex = 0.4 }}]
deck = [{{ shape = "domed", depth = 0.25 }}]
"""


def shortest_mm(path: Path, length: float, nose: float, tail: float, wide: float) -> float:
    """Return the shortest line or arc of a board's outline, arcs cut into eighths of a turn at most."""
    path.write_text(SPEC.format(length=length, nose=nose, tail=tail, wide=wide), encoding="utf-8")
    lines = board_lines(load_board(path))
    outline = plan_outline(lines, board_body(lines), ARC_FIT_MM).divided(45.0)
    return float(np.hypot(*np.diff(outline.points, axis=0).T).min())


def test_a_handplane_of_almost_even_width(tmp_path: Path) -> None:
    assert shortest_mm(tmp_path / "handplane.toml", 38, 13, 13, 17) >= SHORTEST_CUT_MM


@pytest.mark.parametrize("seed", range(4))
def test_random_small_boards(tmp_path: Path, seed: int) -> None:
    some, fair = random.Random(seed), 0
    for _ in range(8):
        wide = some.uniform(14, 20)
        nose, tail = (wide * some.uniform(0.72, 0.9) for _ in range(2))
        try:
            shortest = shortest_mm(tmp_path / "small.toml", some.uniform(32, 60), nose, tail, wide)
        except SpecError:
            continue
        fair += 1
        assert shortest >= SHORTEST_CUT_MM
    assert fair >= 3
