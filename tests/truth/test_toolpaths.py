"""Parallels, sweeps, feeds and times of toolpaths against closed forms."""

from __future__ import annotations

from dataclasses import replace
from math import acos, asin, pi, radians, sqrt, tan
from typing import TYPE_CHECKING

import numpy as np
import pytest
from shapely import Polygon, union_all

from bayloft.cutting.routing.passes import levels, profile
from bayloft.cutting.routing.proof import minutes
from bayloft.cutting.routing.reach import unreached
from bayloft.cutting.routing.sweep import covered, swept
from bayloft.cutting.routing.toolpath import job_of, toolpath
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, DRILL, Drawing
from bayloft.export.gcode_reader import read
from bayloft.plane.contour import Contour
from bayloft.plane.offsets import parallels
from bayloft.plane.track import Track, segments_of
from bayloft.tolerances import SWEEP_FLATTENING_MM

if TYPE_CHECKING:
    from conftest import Bench

HEAD = "G17 G21 G40 G54 G80 G90 G94\nG91.1\n"
SQUARE = Contour.straight([[0, 0], [50, 0], [50, 50], [0, 50]], closed=True)
ROUNDING_MM = 1e-9


def test_a_parallel_of_a_circle_is_a_circle_of_two_arcs() -> None:
    for offset in (3.0, -3.0):
        (found,) = parallels(Contour.circle((100, 200), 10), offset)
        assert found.length_mm == pytest.approx(2 * pi * (10 + offset), abs=ROUNDING_MM)
        assert len(found.points) == 2
        assert np.hypot(*(found.points - (100, 200)).T) == pytest.approx([10 + offset] * 2, abs=ROUNDING_MM)
    assert parallels(Contour.circle((0, 0), 10), -10.5) == ()


def test_parallels_of_a_square() -> None:
    (outside,), (inside,) = parallels(SQUARE, 3.0), parallels(SQUARE, -3.0)
    assert outside.length_mm == pytest.approx(4 * 50 + 2 * pi * 3, abs=ROUNDING_MM)
    assert outside.area_mm2 == pytest.approx(50**2 + 4 * 50 * 3 + pi * 9, abs=1e-8)
    assert inside.length_mm == pytest.approx(4 * 44, abs=ROUNDING_MM)
    assert parallels(SQUARE.reversed(), -3.0)[0].length_mm == pytest.approx(outside.length_mm, abs=ROUNDING_MM)


def test_a_neck_too_narrow_gives_two_parallels() -> None:
    # Two rooms of 30 x 30 mm and a neck of 4 mm between them.
    rooms = [[0, 0], [30, 0], [30, 13], [50, 13], [50, 0], [80, 0], [80, 30], [50, 30], [50, 17], [30, 17], [30, 30]]
    found = parallels(Contour.straight([*rooms, [0, 30]], closed=True), -3.0)
    # In each mouth two arcs about its corners, 4 mm apart, stand for 4 mm of straight wall.
    assert len(found) == 2
    for room in found:
        assert room.length_mm == pytest.approx(4 * 24 - 4 + 2 * 3 * asin(2 / 3), abs=ROUNDING_MM)


def test_parallels_of_any_contour_lie_where_a_polygon_library_puts_them() -> None:
    # GEOS thins out its input: it agrees to the flattening of 1e-3 mm and some times that, not to rounding.
    rng = np.random.default_rng(7)
    compared = 0
    for _ in range(40):
        count = int(rng.integers(4, 14))
        turns, arms = np.sort(rng.uniform(0, 2 * pi, count)), rng.uniform(20, 60, count)
        bulges = np.where(rng.uniform(size=count) < 0.5, 0.0, rng.uniform(-0.6, 0.6, count))
        points = np.column_stack([arms * np.cos(turns), arms * np.sin(turns)])
        contour = Contour(points=points, bulges=bulges, closed=True)
        ground = Polygon(contour.flattened(1e-3))
        if not ground.is_valid or contour.area_mm2 < 0.0:
            continue
        for offset in (3.0, -3.0):
            ours = Polygon()
            for found in parallels(contour, offset):
                ours = ours.symmetric_difference(Polygon(found.flattened(1e-3)))
            compared += 1
            assert ours.symmetric_difference(ground.buffer(offset, quad_segs=64)).area < 0.01 * contour.length_mm
    assert compared > 50


def test_the_ground_a_cutter_covers() -> None:
    # A circle of radius R swept by a disc of radius r < R is a ring; a straight line is a slot with round ends.
    turn = "G0 Z0.0\nG0 X40.0 Y20.0\nG3 X0.0 Y20.0 I-20.0 J0.0 F99\nG3 X40.0 Y20.0 I20.0 J0.0\n"
    (ring,) = swept(read(HEAD + turn).motions, [0.0], 3.0)
    assert ring.area == pytest.approx(2 * pi * 20 * 6, rel=2 * SWEEP_FLATTENING_MM / 6)
    (line,) = segments_of(Contour.straight([[0, 0], [30, 40]], closed=False))
    assert union_all(covered(line, 3.0)).area == pytest.approx(50 * 6 + pi * 9, rel=SWEEP_FLATTENING_MM)
    # Half a turn of radius 1 by a disc of 3: half a disc of 4, below it half of two discs whose centres lie 2 apart.
    half = segments_of(Contour(points=np.array([[1.0, 0.0], [-1.0, 0.0]]), bulges=np.array([1.0, 0.0]), closed=False))
    shared = 2 * 9 * acos(1 / 3) - sqrt(32)
    area = union_all(covered(half[0], 3.0)).area
    assert area == pytest.approx(8 * pi + (18 * pi - shared) / 2, rel=SWEEP_FLATTENING_MM)


def test_a_sloped_move_covers_only_its_deep_part() -> None:
    motions = read(f"{HEAD}G0 Z0.0\nG0 X0.0 Y0.0\nG1 X100.0 Y0.0 Z-10.0 F100\nM30\n").motions
    assert swept(motions, [-4.0], 3.0)[0].area == pytest.approx(60 * 6 + pi * 9, rel=SWEEP_FLATTENING_MM)


def test_the_time_of_a_known_way(bench: Bench) -> None:
    text = (
        f"{HEAD}G0 Z5.0\nG0 X100.0 Y0.0\nG1 Z0.0 F300\nG1 X200.0 Y0.0 F600\nG3 X200.0 Y100.0 I0.0 J50.0\nG1 Z5.0\nM30\n"
    )
    program = read(text)
    assert program.problems == ()
    assert [motion.length_mm for motion in program.motions[1:]] == pytest.approx([5, 100, 50 * pi, 5])
    assert minutes(program.motions, bench.machine) == pytest.approx(5 / 300 + (100 + 50 * pi + 5) / 600)


def test_feed_by_the_chip_load(bench: Bench) -> None:
    # Machinery's Handbook, milling: table feed = feed per tooth x teeth x revolutions per minute. The example is from
    # memory: 0.1 mm per tooth, four teeth, 1000 turns a minute.
    cutter = replace(bench.cutter, chip_load_mm=0.1, flutes=4, spindle_rpm=1000.0)
    assert cutter.feed_mm_min == pytest.approx(400.0)
    assert job_of("s", [], *bench._replace(cutter=cutter)).feed_mm_min == pytest.approx(400.0)


def test_passes_are_equal_and_none_is_too_deep() -> None:
    assert levels(6.3, 3.0) == pytest.approx((-2.1, -4.2, -6.3))
    assert levels(6.0, 3.0) == pytest.approx((-3.0, -6.0))
    assert levels(0.4, 3.0) == pytest.approx((-0.4,))


def test_entries_slope_as_asked() -> None:
    ramp = profile(200.0, 6.0, 3.0, "ramp", 3.0)
    down = 3.0 / tan(radians(3.0))
    assert np.array(ramp) == pytest.approx(
        np.array([(0, 0), (down, -3), (down + 200, -3), (2 * down + 200, -6), (2 * down + 400, -6)])
    )
    helix = profile(200.0, 6.0, 3.0, "helix", 3.0)
    assert np.array(helix) == pytest.approx(np.array([(0, 0), (400, -6), (600, -6)]))
    # Round a short track the slope is the bound: 10 mm at 3 degrees go down 0.524 mm.
    assert profile(10.0, 6.0, 3.0, "helix", 3.0)[1][0] == pytest.approx(6.0 / tan(radians(3.0)))


@pytest.mark.parametrize(("way", "sense"), [("climb", -1.0), ("conventional", 1.0)])
def test_climb_keeps_the_part_on_the_right(bench: Bench, tag: Drawing, way: str, sense: float) -> None:
    # Spindle clockwise from above, climb: clockwise round the outside, counter-clockwise inside (common practice).
    cutting = replace(bench.cutting, way=way, tabs=0)  # type: ignore[arg-type]
    path = toolpath(job_of("s", [tag], *bench._replace(cutting=cutting)))
    for stage in path.stages:
        if stage.kind in {"outline", "opening", "milled hole"}:
            deepest = min(move.z_mm for move in stage.moves)
            at = np.array([(move.x_mm, move.y_mm) for move in stage.moves if move.z_mm == deepest])
            x, y = (at - at.mean(axis=0)).T
            turning = np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))
            bulges = [move.bulge for move in stage.moves if move.bulge]
            turning = turning if abs(turning) > 1.0 else sum(bulges)
            assert np.sign(turning) == (sense if stage.kind == "outline" else -sense)


def test_what_is_left_in_a_square_inside_corner() -> None:
    # A disc of radius r in a corner of 90 degrees stands off its tip by r (sqrt 2 - 1).
    plate = Contour.straight([[0, 0], [90, 0], [90, 60], [30, 60], [30, 30], [0, 30]], closed=True)
    part = Part(drawing=Drawing(name="bracket", contours=((CUT, plate),)), title="bracket", number=1)
    (finding,) = unreached(part, 6.0)
    assert (finding.code, finding.severity) == ("corner-left", "warning")
    assert finding.measured == pytest.approx(3 * (sqrt(2) - 1), abs=3e-3)
    assert "30.0, 30.0 mm" in finding.text


def test_a_milled_hole_is_cleared_all_over(bench: Bench) -> None:
    # Rings of a 35 mm hole by a 6 mm cutter: the outermost as wide as the hole allows, no core left.
    plate = Contour.straight([[0, 0], [80, 0], [80, 80], [0, 80]], closed=True)
    drawing = Drawing(name="p", contours=((CUT, plate), (DRILL, Contour.circle((40, 40), 17.5)))).moved(100, 100)
    path = toolpath(job_of("s", [drawing], *bench, operations=("drill",)))
    (stage,) = path.stages
    radii = sorted({round(float(np.hypot(move.x_mm - 140, move.y_mm - 140)), 6) for move in stage.moves})
    assert radii[-1] == 14.5
    assert radii[0] < 3.0
    assert max(np.diff(radii)) < 6.0


def test_a_track_is_followed_by_its_length() -> None:
    track = Track.on(Contour.circle((0, 0), 10))
    assert track.length_mm == pytest.approx(20 * pi)
    ways = np.array([0.0, 5 * pi, 10 * pi, 22.5 * pi])
    angles = ways / 10
    assert track.at(ways) == pytest.approx(np.column_stack([10 * np.cos(angles), 10 * np.sin(angles)]))
    turn_and_a_half = track.between(5 * pi, 35 * pi)
    assert sum(piece.length for piece in turn_and_a_half) == pytest.approx(30 * pi)
    assert turn_and_a_half[-1].end == pytest.approx(-10j)
    assert track.started_at(5 * pi).start == pytest.approx(10j)
