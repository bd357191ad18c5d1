"""The card of a re-gluing: what it tells, on one page, in the maker's own unit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bayloft.drawing.labels import bounds
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.bending_card import bending_card
from bayloft.drawing.sheets.card import NAME_MM, station
from bayloft.foam.blocks import FoamBlock, block_for, on_rack
from bayloft.lines.drafting import board_lines
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import load_board

SPECS = Path(__file__).parents[3] / "specs"


@pytest.fixture(scope="module", name="spoonbill")
def _spoonbill() -> tuple[Board, FoamBlock]:
    board = load_board(SPECS / "boards" / "spoonbill.toml")
    assert board.blank is not None
    return board, block_for(board, board_lines(board), on_rack(load_blank(board.blank.file)))


def words(page: Drawing) -> str:
    return " ".join(label.text for label in page.labels)


def test_the_card_has_a_row_for_each_mark_and_nothing_runs_into_another(spoonbill: tuple[Board, FoamBlock]) -> None:
    board, block = spoonbill
    assert board.stringer is not None
    (page,) = bending_card(board, board.stringer, block, "42cf39")
    texts = [label.text for label in page.labels]
    assert [text for text in texts if text in {station(mark.x_mm, metric=False) for mark in block.marks}] == [
        station(mark.x_mm, metric=False) for mark in block.marks
    ]
    # The nose tip of the block, 9' 9" from its tail: 7.23 in over the floor as it lies, 4 11/16 in glued.
    assert [text for text in texts if text == "9' 9\""] == ["9' 9\""]
    assert "7 3/16+" in texts
    assert "-2 1/2" in texts
    assert "maker's sheet alone" in words(page)
    assert "16 clamps" in words(page)
    # Of the head, the name's letters reach down beside the line below it.
    boxes = [bounds(label) for label in page.labels if label.height_mm < NAME_MM]
    for i, (left, low, right, top) in enumerate(boxes):
        for other in boxes[:i]:
            assert right <= other[0] + 0.3 or other[2] <= left + 0.3 or top <= other[1] + 0.3 or other[3] <= low + 0.3


def test_a_maker_s_sheet_gives_a_verdict_cuts_and_spring_back(spoonbill: tuple[Board, FoamBlock]) -> None:
    board, block = spoonbill
    assert board.stringer is not None
    wood = replace(board.stringer, stiffness_mpa=7700.0)
    for most, told in ((0.01, "and its maker allows 1.00 %"), (0.001, "saw cuts from the bottom")):
        foam = replace(block.blank.foam, stiffness_mpa=8.0, most_strain=most)
        known = replace(block, blank=replace(block.blank, foam=foam))
        said = " ".join(words(page) for page in bending_card(board, wood, known, "42cf39"))
        assert told in said
        assert "of the bend comes back" in said


def test_a_maker_who_types_millimetres_reads_them(spoonbill: tuple[Board, FoamBlock]) -> None:
    board, block = spoonbill
    assert board.stringer is not None
    (page,) = bending_card(replace(board, metric=True), board.stringer, block, "42cf39")
    assert "183.6" in [label.text for label in page.labels]
    assert "200 mm apart" in words(page)
    assert "/" not in "".join(label.text for label in page.labels if label.height_mm > 5.0)


def test_a_block_on_the_rack_has_no_such_card(spoonbill: tuple[Board, FoamBlock]) -> None:
    board, block = spoonbill
    assert board.stringer is not None
    with pytest.raises(ValueError, match="as it lies on the rack"):
        bending_card(board, board.stringer, on_rack(block.blank), "42cf39")
