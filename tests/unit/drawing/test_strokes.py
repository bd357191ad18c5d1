"""Single strokes: open lines of the height asked for, from their lower left corner."""

from __future__ import annotations

import pytest

from bayloft.drawing.sheet import SCRIBE
from bayloft.drawing.strokes import strokes


@pytest.mark.parametrize("text", ["1", "12", "3-2", "A", "0123456789", "7-B"])
def test_strokes_are_open_and_of_their_height(text: str) -> None:
    drawn = strokes(text, 10.0)
    left, low, right, high = drawn.bounds
    # Hershey's capitals and figures are 21 units high; a few reach a unit beyond.
    assert (left, low) == pytest.approx((0.0, 0.0), abs=1e-12)
    assert high == pytest.approx(10.0, abs=0.5)
    assert 0.0 < right < 12.0 * len(text)
    assert all(layer is SCRIBE and not line.closed for layer, line in drawn.contours)


def test_a_one_is_two_strokes_that_meet() -> None:
    # From the Hershey "simplex" table, character 1: a flag and a stem, drawn as one stroke of four points here.
    (one,) = strokes("1", 21.0).contours
    assert len(one[1].points) == 4


def test_a_text_without_strokes_is_refused() -> None:
    with pytest.raises(ValueError, match="no stroke writes"):
        strokes(" ", 10.0)
