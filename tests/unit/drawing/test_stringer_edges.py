"""The edges of a new stringer on a board's sheet: as far apart as it is thick, to the scale of their view."""

from __future__ import annotations

from dataclasses import replace

import pytest

from bayloft.drawing.curves.figures import figures
from bayloft.drawing.sheet import THIN, Drawing
from bayloft.drawing.sheets.plan_view import plan_view
from bayloft.drawing.sheets.section_view import section_view
from bayloft.solid.draft import Draft

from ...demo import draft


def edges(drawing: Drawing) -> list[tuple[float, float, float, float]]:
    return [contour.bounds for layer, contour in drawing.contours if layer == THIN]


def without(own: Draft) -> Draft:
    return replace(own, board=replace(own.board, stringer=None))


def test_the_edges_stand_in_plan_and_sections() -> None:
    own = draft("spoonbill")
    shown, bare = figures(own), figures(without(own))
    assert own.board.stringer is not None
    plan = edges(plan_view(shown, 10.0, (0.0, 300.0)))
    assert len(plan) == 2 + len(edges(plan_view(bare, 10.0, (0.0, 300.0))))
    low, high = sorted(plan, key=lambda box: box[1])[:2]
    assert high[1] - low[1] == pytest.approx(1.27)
    # A square tail from its wall, and a round nose to where it is as wide as the stringer.
    assert low[0] == pytest.approx(0.0, abs=0.01)
    assert own.board.length_mm / 10.0 - 0.1 < low[2] < own.board.length_mm / 10.0
    sections = edges(section_view(shown, 4.0, 2, (300.0, 200.0)))
    assert not edges(section_view(bare, 4.0, 2, (300.0, 200.0)))
    assert len(sections) == 2 * len(shown.sections)
    assert sections[1][0] - sections[0][0] == pytest.approx(12.7 / 4.0)
    thick = shown.section_stations[0].thickness_mm
    assert thick is not None
    assert sections[0][3] - sections[0][1] == pytest.approx(thick / 4.0)
