"""A concave that the rail takes away is told."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bayloft.solid.body import Body
from bayloft.solid.draft import drafted
from bayloft.solid.hollows import hollow_findings
from bayloft.solid.measure import bottom_hollow
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import load_board

from ...demo import SPECS, changed, draft


def own(name: str) -> tuple[Board, Body]:
    shape = draft(name)
    return shape.board, shape.body


def test_a_wide_concave_between_soft_rails_is_told_with_what_is_left_of_it() -> None:
    board, body = own("spoonbill")
    (found,) = hollow_findings(board, body)
    assert found.severity == "warning"
    assert found.measured == pytest.approx(bottom_hollow(body, 2438.4))
    assert found.measured < 1.0
    assert found.limit == 2.5
    assert '1/32" (0.8 mm) is hollow' in found.text


@pytest.mark.parametrize("name", ["dunlin", "sanderling", "whimbrel"])
def test_one_that_is_there_is_not(name: str) -> None:
    assert list(hollow_findings(*own(name))) == []


def test_what_the_warning_says_does_it(tmp_path: Path) -> None:
    """A narrower concave is left."""
    text = (SPECS / "boards" / "spoonbill.toml").read_text("utf-8")
    path = changed(tmp_path, "spoonbill", text.replace('depth = "5 mm"', 'depth = "5 mm"\nwidth = "9 in"'))
    narrow = drafted(load_board(path))
    assert list(hollow_findings(narrow.board, narrow.body)) == []


def test_one_that_a_roll_fills_on_purpose_is_not_told() -> None:
    board, body = own("spoonbill")
    rolled = replace(
        board, sections={**board.sections, "roll": tuple(replace(g, value=9.0) for g in board.sections["roll"])}
    )
    assert list(hollow_findings(rolled, body)) == []
