"""What a cutter cannot do is refused with its place and size, and what it can do is ordered and held."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest

from bayloft.cutting.passes import lifted
from bayloft.cutting.tasks import KINDS
from bayloft.cutting.toolpath import job_of, toolpath
from bayloft.cutting.track import Track
from bayloft.drawing.contour import Contour
from bayloft.drawing.sheet import CUT, DRILL, Drawing
from bayloft.export.gcode import cut_files
from bayloft.findings import CheckError, Finding

if TYPE_CHECKING:
    from conftest import Bench


def plate(*inside: tuple[object, Contour], outline: Contour | None = None) -> Drawing:
    """Return a plate of 100 x 80 mm that lies 100 mm from the sheet's left and 50 mm from its lower edge."""
    edge = outline or Contour.straight([[0, 0], [100, 0], [100, 80], [0, 80]], closed=True)
    return Drawing(name="plate", contours=((CUT, edge), *inside)).moved(100.0, 50.0)  # type: ignore[arg-type]


def refusals(bench: Bench, *placed: Drawing) -> dict[str, Finding]:
    with pytest.raises(CheckError) as refusal:
        cut_files("sheet 1", placed, *bench)
    return {finding.code: finding for finding in refusal.value.findings}


def test_an_inside_radius_smaller_than_the_cutter_is_refused_with_its_place(bench: Bench) -> None:
    # An opening of 40 x 30 mm with corners of 2 mm radius.
    corner = np.tan(np.pi / 8)
    points = [[32, 20], [68, 20], [70, 22], [70, 48], [68, 50], [32, 50], [30, 48], [30, 22]]
    opening = Contour(points=np.array(points, dtype=float), bulges=np.array([0, corner] * 4), closed=True)
    finding = refusals(bench, plate((CUT, opening)))["radius-small"]
    # In a corner of radius 2 a disc of 3 stands off by (3 - 2) (sqrt 2 - 1).
    assert finding.measured == pytest.approx(np.sqrt(2) - 1, abs=5e-3)
    assert "the inside radius of 2.00 mm" in finding.text
    assert "a cutter of at most 4.00 mm" in finding.text
    assert "mm from the part's left" in finding.text
    assert cut_files("s", [plate((CUT, opening))], *bench._replace(cutter=replace(bench.cutter, diameter_mm=3.9))).tabs


def test_a_gap_too_narrow_is_refused(bench: Bench) -> None:
    notched = Contour.straight(
        [[0, 0], [48, 0], [48, 40], [52, 40], [52, 0], [100, 0], [100, 80], [0, 80]], closed=True
    )
    finding = refusals(bench, plate(outline=notched))["gap-narrow"]
    assert finding.measured > 30.0
    assert "148.0, 90.0" in finding.text or "152.0, 90.0" in finding.text


def test_an_opening_too_narrow_is_refused(bench: Bench) -> None:
    slot = Contour.straight([[20, 20], [60, 20], [60, 25], [20, 25]], closed=True)
    assert "120.0, 70.0 mm" in refusals(bench, plate((CUT, slot)))["opening-narrow"].text


def test_a_hole_smaller_than_the_cutter_is_refused_unless_it_is_drilled_otherwise(bench: Bench) -> None:
    drawing = plate((DRILL, Contour.circle((30, 30), 2)))
    assert (refusals(bench, drawing)["hole-small"].measured, refusals(bench, drawing)["hole-small"].limit) == (6.0, 4.0)
    assert cut_files("s", [drawing], *bench, operations=("cut",)).tabs == 4
    drill = replace(bench.cutter, diameter_mm=4.0)
    assert cut_files("s", [drawing], *bench._replace(cutter=drill), operations=("drill",)).tabs == 0


def test_a_short_cutter_and_tabs_as_high_as_the_stock_are_refused_at_once(bench: Bench) -> None:
    short = bench._replace(
        cutter=replace(bench.cutter, depth_mm=5.0), cutting=replace(bench.cutting, tab_height_mm=6.0)
    )
    found = refusals(short, plate())
    assert found.keys() == {"cutter-short", "tab-high"}
    assert (found["cutter-short"].measured, found["cutter-short"].limit) == (5.0, 6.3)


def test_a_part_too_small_for_its_tabs_is_refused(bench: Bench) -> None:
    small = Drawing(name="button", contours=((CUT, Contour.circle((200, 200), 6)),))
    assert refusals(bench, small).keys() == {"tabs-few"}


def test_a_feed_beyond_the_machine_is_held_back_and_said(bench: Bench) -> None:
    fast = bench._replace(cutter=replace(bench.cutter, chip_load_mm=0.1))
    path = toolpath(job_of("s", [plate()], *fast))
    (finding,) = [finding for finding in path.findings if finding.code == "feed-held-back"]
    assert (finding.measured, finding.limit) == (3600.0, 3000.0)
    assert "falls to 0.083 mm; 15000 turns per minute would keep it" in finding.text
    assert max(move.feed_mm_min or 0.0 for stage in path.stages for move in stage.moves) == 3000.0


def test_what_comes_loose_is_said(bench: Bench) -> None:
    window = Contour.straight([[30, 30], [44, 30], [44, 44], [30, 44]], closed=True)
    codes = {finding.code for finding in cut_files("s", [plate((CUT, window))], *bench).findings}
    assert "tabs-few-inside" in codes
    # A slot not wider than two cutters leaves nothing that could come loose.
    slot = Contour(
        points=np.array([[30.0, 30], [60, 30], [60, 40], [30, 40]]), bulges=np.array([0, 1, 0, 1]), closed=True
    )
    codes = {finding.code for finding in cut_files("s", [plate((CUT, slot))], *bench).findings}
    assert "tabs-few-inside" not in codes
    free = bench._replace(cutting=replace(bench.cutting, tabs=0))
    assert "no-tabs" in {finding.code for finding in cut_files("s", [plate()], *free).findings}


def test_inside_comes_before_outside(bench: Bench, tag: Drawing) -> None:
    stages = toolpath(job_of("s", [tag, tag.moved(200.0, 0.0)], *bench)).stages
    kinds = [KINDS.index(stage.kind) for stage in stages]
    assert kinds == sorted(kinds)
    assert len(stages) == 8


def test_travel_is_short(bench: Bench) -> None:
    holes = [(DRILL, Contour.circle((10.0 + 20.0 * i, 10.0), 3.0)) for i in (3, 0, 2, 1)]
    stages = toolpath(job_of("s", [plate(*holes)], *bench, operations=("drill",))).stages
    assert [stage.moves[0].x_mm for stage in stages] == [110.0, 130.0, 150.0, 170.0]


@pytest.mark.parametrize("gap_mm", [6.0, 8.0, 13.0])
def test_neighbours_a_cutter_apart_keep_each_others_tabs(bench: Bench, gap_mm: float) -> None:
    files = cut_files("s", [plate(), plate().moved(100.0 + gap_mm, 0.0)], *bench)
    assert files.tabs == 8
    assert all(finding.passed for finding in files.findings)


def test_neighbours_nearer_than_the_cutter_are_refused(bench: Bench) -> None:
    assert "gouged" in refusals(bench, plate(), plate().moved(105.0, 0.0))


def test_tabs_stand_no_further_apart_than_asked(bench: Bench) -> None:
    path = toolpath(job_of("s", [plate()], *bench._replace(cutting=replace(bench.cutting, tab_spacing_mm=60.0))))
    ground = Contour.straight(
        [[97, 50], [100, 47], [200, 47], [203, 50], [203, 130], [200, 133], [100, 133]], closed=True
    )
    places = np.array([(tab.x_mm, tab.y_mm) for tab in path.tabs])
    assert len(path.tabs) >= ground.length_mm / 60.0 - 1
    for place in places:
        others = np.sort(np.hypot(*(places - place).T))
        assert others[1] <= 60.0


def test_a_profile_is_lifted_over_tabs_and_nowhere_else() -> None:
    found = lifted(((0.0, 0.0), (50.0, -6.0), (150.0, -6.0)), [(20.0, 60.0)], 100.0, -4.5)
    # The ramp meets the tab's top at 37.5 mm; once round, the same tab is met again at 120 mm.
    expected = [(0, 0), (20, -2.4), (37.5, -4.5), (50, -4.5), (60, -4.5), (60, -6), (100, -6), (120, -6), (120, -4.5)]
    assert [place for place in found if place[0] != 100.0] == [
        pytest.approx(place) for place in [*(e for e in expected if e[0] != 100), (150, -4.5)]
    ]


def test_a_hole_that_is_no_circle_and_a_track_of_no_length_are_defects(bench: Bench) -> None:
    square = Contour.straight([[10, 10], [20, 10], [20, 20], [10, 20]], closed=True)
    with pytest.raises(ValueError, match="a drilled contour is a circle"):
        cut_files("s", [plate((DRILL, square))], *bench)
    with pytest.raises(ValueError, match="no track"):
        Track.along(Contour.straight([[1, 1], [1, 1]], closed=False))
    with pytest.raises(ValueError, match="no dialect of G-code is called grunt"):
        cut_files("s", [plate()], *bench._replace(machine=replace(bench.machine, dialect="grunt")))
