"""What a cutter cannot do is refused with its place and size, and what it can do is ordered and held."""

from __future__ import annotations

from dataclasses import replace
from math import atan, degrees
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import Point, union_all

from bayloft.cutting.routing.passes import lifted
from bayloft.cutting.routing.reach import polygon
from bayloft.cutting.routing.sweep import covered
from bayloft.cutting.routing.tabs import HoldingTab, spans_along, tabs_along
from bayloft.cutting.routing.tasks import KINDS, tasks_of
from bayloft.cutting.routing.toolpath import job_of, toolpath
from bayloft.cutting.routing.waste import milled_away, tied
from bayloft.delivery.programs import cut_files
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, DRILL, Drawing
from bayloft.findings import CheckError, Finding
from bayloft.plane.contour import Contour
from bayloft.plane.track import Track
from bayloft.tolerances import HOLDING_MM

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


def test_what_an_opening_frees_is_held_or_goes(bench: Bench) -> None:
    # Of windows of 30 and 20 mm the 6 mm cutter frees pieces of 18 and 8 mm side, of one of 14 mm a crumb of 2 mm.
    kinds = {}
    for side in (30.0, 20.0, 14.0):
        window = Contour.straight([[30, 30], [30 + side, 30], [30 + side, 30 + side], [30, 30 + side]], closed=True)
        long = bench._replace(cutting=replace(bench.cutting, tab_length_mm=14.0 if side == 20.0 else 8.0))
        path = toolpath(job_of("s", [plate((CUT, window))], *long))
        inside = [tab for tab in path.tabs if 130.0 < tab.x_mm < 160.0 and 80.0 < tab.y_mm < 110.0]
        kinds[side] = len(inside), len(path.cleared), [stage.kind for stage in path.stages]
        assert cut_files("s", [plate((CUT, window))], *long).tabs == len(path.tabs)
    assert kinds == {
        30.0: (4, 0, ["opening", "outline"]),
        20.0: (0, 1, ["waste", "opening", "outline"]),
        14.0: (0, 0, ["opening", "outline"]),
    }
    free = bench._replace(cutting=replace(bench.cutting, tabs=0))
    assert "no-tabs" in {finding.code for finding in cut_files("s", [plate()], *free).findings}


def test_waste_between_parts_is_tied_or_left_to_the_mill(bench: Bench) -> None:
    """Four plates 8 mm apart round a square of 48 mm, of which their cuts leave 36 mm."""
    corners = [(-60, -60, 40, 0), (48, -60, 108, 40), (8, 48, 108, 108), (-60, 8, 0, 108)]
    outlines = [
        Contour.straight([[x0, y0], [x1, y0], [x1, y1], [x0, y1]], closed=True).moved(200.0, 200.0)
        for x0, y0, x1, y1 in corners
    ]
    tasks, tabs = [], []
    for number, outline in enumerate(outlines):
        part = Part(drawing=Drawing(name="p", contours=((CUT, outline),)), title=f"plate {number}", number=number)
        (task,) = tasks_of(part, 6.0, "climb", ("cut",), scribing=False)
        tasks.append(task)
        found = tabs_along(task.tracks[0], part.title, 6.0, bench.cutting, bench.stock, waste_on_left=True)
        tabs += [tab for tab in found if np.hypot(tab.x_mm - 224.0, tab.y_mm - 224.0) > 45.0]
    assert len(tabs) >= 4
    more, loose = tied(tasks, tabs, bench.stock, bench.cutter, bench.cutting)
    (tie,) = more[len(tabs) :]
    assert loose == ()
    assert max(abs(tie.x_mm - 224.0), abs(tie.y_mm - 224.0)) == pytest.approx(21.0)
    # A tab that is as long as a side finds no place.
    long = replace(bench.cutting, tab_length_mm=45.0)
    more, (piece,) = tied(tasks, tabs, bench.stock, bench.cutter, long)
    assert len(more) == len(tabs)
    assert piece.area == pytest.approx((36.0 - HOLDING_MM) ** 2, abs=1.0)
    # The mill leaves nothing of it, and does not come near the plates.
    task, ground = milled_away(piece, "plate 0", bench.cutter)
    gone = union_all([shape for track in task.tracks for each in track.segments for shape in covered(each, 3.0)])
    assert piece.difference(gone).area == 0.0
    assert gone.difference(ground.buffer(3.0 + 1e-3)).area < 0.1
    assert min(gone.distance(polygon(outline)) for outline in outlines) == pytest.approx(3.0, abs=0.15)


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
    # A slope of 1 in 10; the tab stands from 20 to 60 mm of 100, up to -4.5.
    tab = (20.0, 60.0)
    found = lifted(((0.0, 0.0), (60.0, -6.0), (160.0, -6.0)), [tab], 100.0, -4.5, degrees(atan(0.1)))
    over = [(0, 0), (20, -2), (45, -4.5), (60, -4.5)]
    # Behind it 1.5 mm down: 7.5 mm forth and back. Once round, the tab is met again at 120 mm.
    assert found == tuple(
        pytest.approx(place)
        for place in [*over, (67.5, -5.25), (60, -6), (100, -6), (120, -6), (120, -4.5), (160, -4.5)]
        if place != (100, -6)
    )


def test_behind_a_tab_what_is_cleared_is_gone_through_and_the_rest_is_ramped() -> None:
    # Once round at -5, then at -8. There the cutter goes straight down to -5, and by 30 mm of way in 8 mm of room.
    tabs = [(20.0, 40.0), (48.0, 60.0)]
    places = ((0.0, -5.0), (100.0, -5.0), (130.0, -8.0), (230.0, -8.0))
    found = lifted(places, tabs, 100.0, -4.0, degrees(atan(0.1)))
    behind = found[found.index((140.0, -4.0)) + 1 :][:6]
    assert behind == tuple(
        pytest.approx(place) for place in [(140, -5), (147.5, -5.75), (140, -6.5), (147.5, -7.25), (140, -8), (148, -8)]
    )


def test_tabs_without_room_between_them_are_one_span() -> None:
    track = Track.on(Contour.circle((0, 0), 40))

    def tab(degrees_round: float) -> HoldingTab:
        x, y = 40 * np.cos(np.radians(degrees_round)), 40 * np.sin(np.radians(degrees_round))
        return HoldingTab(x_mm=x, y_mm=y, ground=Point(x, y).buffer(5.0), top_mm=-4.5, part="ring")

    # Each takes up the ways at which the cutter's rim is within 5 mm of its middle.
    half = np.degrees(2 * np.arcsin((5.0 + 3.0) / 80.0))
    for gap_deg, spans in ((3.0, 2), (0.5, 1)):
        found = spans_along(track, [tab(90.0), tab(90.0 + 2 * half + gap_deg)], 6.0)
        assert len(found) == spans
        assert found[-1][1] - found[0][0] == pytest.approx(np.radians(4 * half + gap_deg) * 40, abs=0.1)
    # Over the start of the track, too.
    assert len(spans_along(track, [tab(-half - 0.2), tab(half + 0.2)], 6.0)) == 1


def test_a_hole_that_is_no_circle_and_a_track_of_no_length_are_defects(bench: Bench) -> None:
    square = Contour.straight([[10, 10], [20, 10], [20, 20], [10, 20]], closed=True)
    with pytest.raises(ValueError, match="a drilled contour is a circle"):
        cut_files("s", [plate((DRILL, square))], *bench)
    with pytest.raises(ValueError, match="no track"):
        Track.on(Contour.straight([[1, 1], [1, 1]], closed=False))
    with pytest.raises(ValueError, match="no dialect of G-code is called grunt"):
        cut_files("s", [plate()], *bench._replace(machine=replace(bench.machine, dialect="grunt")))
