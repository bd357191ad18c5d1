"""The card of a re-gluing: what it tells, on one page, in the maker's own unit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bayloft.drawing.labels import bounds
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.bending_card import bending_card
from bayloft.drawing.sheets.card import NAME_MM
from bayloft.fit import fit_blank
from bayloft.foam.blocks import on_rack
from bayloft.foam.fitting import Fit
from bayloft.foam.releasing import released
from bayloft.foam.sawing import wedge_cuts
from bayloft.tape import station
from bayloft.units import feet_inches

SPECS = Path(__file__).parents[3] / "specs"


@pytest.fixture(scope="module", name="spoonbill")
def _spoonbill() -> Fit:
    return fit_blank(SPECS / "boards" / "spoonbill.toml")[0].fit


def words(page: Drawing) -> str:
    return " ".join(label.text for label in page.labels)


def test_the_card_has_a_row_for_each_mark_and_nothing_runs_into_another(spoonbill: Fit) -> None:
    board, block = spoonbill.board, spoonbill.block
    assert board.stringer is not None
    (page,) = bending_card(spoonbill, board.stringer, "42cf39")
    texts = [label.text for label in page.labels]
    assert [
        text for text in texts if text in {station(mark.x_mm, metric=False) for mark in block.marks(metric=False)}
    ] == [station(mark.x_mm, metric=False) for mark in block.marks(metric=False)]
    # The nose tip of the block, 9' 9" from its tail: 7.23 in over the floor as it lies, 4 11/16 in glued.
    assert [text for text in texts if text == "9' 9\""] == ["9' 9\""]
    assert "7 3/16+" in texts
    # What sinks is the difference of the two heights as they are written, in a column of its own.
    assert "2 1/2" in texts
    assert not any(text.startswith("-") for text in texts)
    assert "maker's sheet alone" in words(page)
    # Where the stringer is set, from the fit's own cover: what is under the bottom there, less what is left on it.
    under = spoonbill.stations[0].upright_bottom_mm
    assert under is not None
    assert f'{feet_inches(under - board.stringer.allowance_mm, 32)} 12" from its tail end' in words(page)
    # Of the head, the name's letters reach down beside the line below it.
    boxes = [bounds(label) for label in page.labels if label.height_mm < NAME_MM]
    for i, (left, low, right, top) in enumerate(boxes):
        for other in boxes[:i]:
            assert right <= other[0] + 0.3 or other[2] <= left + 0.3 or top <= other[1] + 0.3 or other[3] <= low + 0.3


def test_a_maker_s_sheet_gives_a_verdict_cuts_and_spring_back(spoonbill: Fit) -> None:
    board, block = spoonbill.board, spoonbill.block
    assert board.stringer is not None
    wood = replace(board.stringer, stiffness_mpa=7700.0)
    assert block.regluing is not None
    for most, told in ((0.01, "its maker allows 1.00 %."), (0.001, "saw cuts across each half from the bottom, ")):
        foam = replace(block.blank.foam, stiffness_mpa=8.0, most_strain=most)
        cuts = wedge_cuts(block.regluing, most, board.stringer.kerf_mm)
        known = replace(block, blank=replace(block.blank, foam=foam), cuts=cuts)
        said = " ".join(words(page) for page in bending_card(replace(spoonbill, block=known), wood, "42cf39"))
        assert told in said
        assert "of the bend comes back" in said


def test_a_maker_who_types_millimetres_reads_them(spoonbill: Fit) -> None:
    board = spoonbill.board
    assert board.stringer is not None
    (page,) = bending_card(replace(spoonbill, board=replace(board, metric=True)), board.stringer, "42cf39")
    assert "183.6" in [label.text for label in page.labels]
    assert "/" not in "".join(label.text for label in page.labels if label.height_mm > 5.0)


def test_a_block_on_the_rack_has_no_such_card(spoonbill: Fit) -> None:
    board, block = spoonbill.board, spoonbill.block
    assert board.stringer is not None
    with pytest.raises(ValueError, match="as it lies on the rack"):
        bending_card(replace(spoonbill, block=on_rack(block.blank)), board.stringer, "42cf39")


def test_what_springs_back_is_reckoned_with_the_stringer_as_high_as_it_is_sawn(spoonbill: Fit) -> None:
    """At the middle: 3 in of board, and what is left on at both edges; the block there is a good inch deeper."""
    assert spoonbill.board.stringer is not None
    wood = replace(spoonbill.board.stringer, stiffness_mpa=7700.0)
    foam = replace(spoonbill.blank.foam, stiffness_mpa=8.0)
    known = replace(spoonbill, block=replace(spoonbill.block, blank=replace(spoonbill.blank, foam=foam)))
    back = released(known, wood)
    assert back is not None
    middle = min(spoonbill.block.resisting, key=lambda each: abs(each.x_mm - spoonbill.block.lines.length_mm / 2.0))
    high = 76.2 + 2.0 * wood.allowance_mm
    soft, stiff = 8.0 * middle.moment_mm4, 7700.0 * wood.thickness_mm * high**3 / 12.0
    assert back.least <= soft / (soft + stiff) <= back.most
    assert soft / (soft + stiff) > 0.07
    assert released(spoonbill, wood) is None


def test_a_block_that_ends_short_of_the_board_still_has_its_card(spoonbill: Fit) -> None:
    """There is no foam upright under the ends, so nothing is told of them."""
    assert spoonbill.board.stringer is not None
    none = replace(spoonbill.stations[0], upright_bottom_mm=None, upright_deck_mm=None)
    short = replace(spoonbill, stations=(none, *spoonbill.stations[1:-1], none))
    told = words(bending_card(short, spoonbill.board.stringer, "42cf39")[0])
    assert "Set the stringer's tail end" in told
    assert "inside the block's bottom" not in told
