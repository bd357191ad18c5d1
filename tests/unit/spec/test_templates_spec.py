"""The [templates] table: what is read from it."""

from __future__ import annotations

from pathlib import Path

import pytest

from bayloft.spec.boards.templates import AS_LOFTED
from bayloft.spec.loading import load_board

SPECS = Path(__file__).parents[3] / "specs"


def test_without_the_table_all_is_as_lofted() -> None:
    assert load_board(SPECS / "boards" / "avocet.toml").templates == AS_LOFTED


def test_its_numbers_are_read_with_their_units(tmp_path: Path) -> None:
    text = (SPECS / "boards" / "whimbrel.toml").read_text(encoding="utf-8").partition("[[fins]]")[0]
    table = """
[templates]
deck_skin = "1/8 in"
sanding = "0.5 mm"
rail_gauges = [{ from_nose = "12 in" }, { from_tail = "2 ft" }, { ahead_of_centre = 0 }]
"""
    path = tmp_path / "whimbrel.toml"
    path.write_text(text + table, encoding="utf-8")
    found = load_board(path).templates
    assert (found.deck_skin_mm, found.sanding_mm) == pytest.approx((3.175, 0.5))
    # 7'4" is 2235.2 mm; ascending from the tail end.
    assert found.rail_gauges_mm == pytest.approx((609.6, 1117.6, 1930.4))
