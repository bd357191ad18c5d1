"""Cards of long names, many bands, many strips, notches and blocks that are far too small: each is drawn, and stays on
its paper.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from bayloft.drawing.sheets.band_card import band_cards
from bayloft.drawing.sheets.bending_card import bending_card
from bayloft.drawing.sheets.blank_card import blank_cards
from bayloft.drawing.sheets.card import FINE_LINE
from bayloft.drawing.sheets.stringer_card import stringer_cards
from bayloft.foam.asking import fitted
from bayloft.foam.blocks import on_rack
from bayloft.foam.stringers import cut_stringer
from bayloft.solid.draft import Draft
from bayloft.spec.bench.bands import Bands
from bayloft.spec.bench.stringer import Stringer
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.text.stations import usual_stations
from bayloft.tape import fine

from ..demo import SPECS, draft
from ..unit.drawing.test_cards import crowded, outside

LONG_NAME = "The second-hand block from the attic of the old boathouse here"


def with_stringer(name: str, **changes: object) -> tuple[Draft, Stringer]:
    own, stringer = draft(name), draft("spoonbill").board.stringer
    assert stringer is not None
    stringer = replace(stringer, **changes)
    return replace(own, board=replace(own.board, stringer=stringer)), stringer


def test_a_block_of_a_long_name_has_its_cards() -> None:
    own, stringer = with_stringer("spoonbill")
    attic = load_blank(SPECS / "blanks" / "attic-green.toml")
    blank = replace(attic, shape=replace(attic.shape, name=LONG_NAME), foam=replace(attic.foam, kind=LONG_NAME))
    found = fitted(own, on_rack(blank), 3.0)
    for page in (*blank_cards(found, "42cf39"), *bending_card(found.fit, stringer, "42cf39")):
        assert outside(page) == []
        assert crowded(page) == []


def test_a_wood_and_a_plank_of_long_names_have_their_card() -> None:
    own, _ = with_stringer("spoonbill", wood="W" * 60, strips=3)
    cut = cut_stringer(own)
    assert cut is not None
    assert cut.plank is not None
    for page in stringer_cards(own, replace(cut, plank=replace(cut.plank, name="W" * 60)), None, "42cf39"):
        assert outside(page) == []


def test_many_bands_at_many_stations_have_their_card() -> None:
    shape = draft("fulmar")
    x = usual_stations(shape.board.length_mm, metric=False)
    stations = sorted({*x, *(0.5 * (a + b) for a, b in pairwise(x))})
    bands = Bands(deck=5, bottom=4, stations_mm=tuple(stations), sole_mm=300.0)
    pages = band_cards(shape, bands, "42cf39aa")
    assert len(pages) >= 7
    for page in pages:
        assert outside(page) == []


@pytest.mark.parametrize("strips", [10, 12])
def test_a_plank_for_more_pieces_than_are_laid_out_is_told_at_once(strips: int) -> None:
    own, _ = with_stringer("fulmar", plank=SPECS / "planks" / "bed-slat.toml", thickness_mm=50.0, strips=strips)
    cut = cut_stringer(own)
    assert cut is not None
    assert not cut.comes_out
    for page in stringer_cards(own, cut, None, "42cf39"):
        assert outside(page) == []
        assert crowded(page) == []


def test_a_board_far_too_long_for_its_block_has_its_cards() -> None:
    own, _ = with_stringer("fulmar")
    found = fitted(own, on_rack(load_blank(SPECS / "blanks" / "quick.toml")), 3.0)
    assert found.short_mm > 0.0
    for page in blank_cards(found, "42cf39"):
        # A ring round a figure of two feet is wider than its column.
        assert [each for each in outside(page) if each != FINE_LINE.name] == []


def test_a_swallow_s_place_is_told_from_its_tips_and_its_stringer_s_from_the_notch() -> None:
    own, stringer = with_stringer("turnstone")
    found = fitted(own, on_rack(load_blank(SPECS / "blanks" / "short-wide.toml")), 3.0)
    fit = found.fit
    tips = fit.block.standing(
        fit.placing.placed(fit.body.port.grid([0.0], [0.5, fit.body.wall_corner, 0.6])[0], fit.middle_mm)
    )
    # All but what the block's tilt makes of their height.
    assert fit.tail_gap_mm == pytest.approx(float(tips[:, 0].min()), abs=3.0)
    notch = float(fit.body.port.at(0.0, 0.0)[0])
    assert notch > 100.0
    (page, *_) = bending_card(fit, stringer, "42cf39")
    said = " ".join(label.text for label in page.labels)
    assert f"tail end {fine(fit.tail_gap_mm + notch - stringer.allowance_mm, metric=False)} ahead" in said
