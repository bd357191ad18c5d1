"""What saw and old stringer take of a block, and how far its halves then lie apart: sums on paper."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from bayloft.foam.ripping import rip
from bayloft.spec.blanks.blank import OldStringer
from bayloft.spec.loading import load_board

SPECS = Path(__file__).parents[2] / "specs"
OLD = OldStringer(thickness_mm=4.8, wood="basswood")


def test_beside_through_and_without_an_old_stringer() -> None:
    own = load_board(SPECS / "boards" / "spoonbill.toml").stringer
    assert own is not None
    new = replace(own, thickness_mm=12.7, glue_line_mm=0.3, kerf_mm=3.0, through=False)
    # Two cuts beside 4.8 mm of old wood take 2.4 + 3 off each half; 6.35 + 0.3 come in.
    beside = rip(new, OLD)
    assert (beside.lost_mm, beside.out_mm, beside.once) == pytest.approx((5.4, 1.25, False))
    # One cut takes half its kerf off each, and half of the old wood stays.
    through = rip(replace(new, through=True), OLD)
    assert (through.lost_mm, through.out_mm, through.once) == pytest.approx((1.5, 5.15, True))
    assert rip(new, None) == rip(replace(new, through=True), None) == through
    # A thin new stringer in place of a thick old one leaves the board narrower.
    assert rip(replace(new, thickness_mm=3.0), replace(OLD, thickness_mm=12.0)).out_mm == pytest.approx(-7.2)
