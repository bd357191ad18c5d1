"""Figures with stacked fractions: what is written is what was measured, and is set as it is written."""

from __future__ import annotations

from fractions import Fraction

import pytest

from bayloft.drawing.sheet import Label
from bayloft.drawing.stacked import is_stack, unstacked
from bayloft.tape import NOTHING, figure

INCH = 25.4


def read(text: str) -> Fraction:
    """What a maker reads in a figure, a trailing + being 1/32."""
    sign = -1 if text.startswith(("-", "−")) else 1
    more = Fraction(1, 32) if text.endswith("+") else Fraction(0)
    return sign * (sum(map(Fraction, text.strip("-−+").split()), Fraction(0)) + more)


def set_as(text: str) -> tuple[str, str, str]:
    """Whole figures, numerator and denominator, as they stand on paper."""
    drawn = unstacked(Label(text=text, x_mm=0.0, y_mm=0.0, height_mm=6.5, anchor="axis"))
    small = [label for label in drawn.labels if label.height_mm < 6.0 and label.text != "+"]
    whole = "".join(label.text for label in drawn.labels if label.height_mm > 6.0)
    over, under = (
        ("", "") if not small else (max(small, key=lambda each: each.y_mm), min(small, key=lambda each: each.y_mm))
    )
    return whole, over.text if small else "", under.text if small else ""


@pytest.mark.parametrize("parts", [*range(-70, 71), 399, 1023])
def test_a_figure_reads_and_stands_as_what_it_is(parts: int) -> None:
    """Each thirty-second of an inch: written, read back, and taken apart as it is set: 11/16 is not 1 and 1/16."""
    text = figure(parts * INCH / 32.0, metric=False)
    assert read(text) == Fraction(parts, 32)
    assert is_stack(text)
    whole, over, under = set_as(text)
    sign = -1 if whole.startswith(("-", "−")) else 1
    told = Fraction(whole.strip("-−") or 0) + (Fraction(int(over), int(under)) if over else 0)
    assert sign * (told + (Fraction(1, 32) if text.endswith("+") else 0)) == Fraction(parts, 32)


def test_what_lies_between_marks_goes_to_the_nearest_and_nothing_is_a_dash() -> None:
    assert figure(17.1, metric=False) == "11/16"
    assert figure(17.1, metric=True) == "17.1"
    assert figure(0.2, metric=False) == "0"
    assert figure(None, metric=False) == NOTHING
    assert not is_stack("about 3")
