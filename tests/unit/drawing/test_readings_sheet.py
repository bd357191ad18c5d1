"""The sheet of readings of a board that was read with a tape: every reading, where it is, and how far off it is."""

from __future__ import annotations

import pytest

from bayloft.delivery.board_files import deliveries, read_marks
from bayloft.drawing.sheet import VISIBLE
from bayloft.drawing.sheets.readings_sheet import MARGIN_MM, PAGE_MM, readings_sheet
from bayloft.solid.loft import loft

from ...demo import draft


def test_every_reading_stands_at_its_station_with_what_it_is_off() -> None:
    lofted = loft(draft("avocet"), 1.0)
    marks = read_marks(lofted)
    assert len(marks) == 37
    assert {mark.play_mm for mark in marks} == {1.0}
    assert all(abs(mark.drawn_mm - mark.read_mm) <= mark.play_mm for mark in marks)
    sheet = readings_sheet("Avocet", lofted.draft.lines, marks)
    scale = (PAGE_MM[0] - 2 * MARGIN_MM) / lofted.board.length_mm
    uprights = [
        contour.bounds
        for layer, contour in sheet.contours
        if layer is VISIBLE and len(contour.points) == 2 and abs(contour.points[0, 0] - contour.points[1, 0]) < 1e-9
    ]
    # A bar for each reading, as long as it is off, at its station.
    assert len(uprights) == len(marks)
    for mark in marks:
        at = MARGIN_MM + mark.x_mm * scale
        assert any(abs(bar[0] - at) < 1e-6 for bar in uprights)
    said = [label.text for label in sheet.labels]
    for mark in marks:
        assert f"{round(mark.drawn_mm - mark.read_mm, 1) + 0.0:+.1f}" in said
    assert "37 readings, lines within 1 mm of each; tail at the left, 6' 9 15/16\" (2080.8 mm) long" in said


@pytest.mark.parametrize(("name", "has"), [("avocet", True), ("whimbrel", False)])
def test_a_board_has_the_sheet_where_it_was_read(name: str, has: bool) -> None:
    names = [delivery.name for delivery in deliveries(loft(draft(name), 1.0), "1", None)]
    assert ("readings.svg" in names, "readings.pdf" in names) == (has, has)
