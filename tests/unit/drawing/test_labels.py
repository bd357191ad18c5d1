"""Room of labels, rows of labels, free places, dimension lines."""

from __future__ import annotations

import struct
import zlib
from pathlib import Path

import numpy as np
import pytest
import resvg_py

from bayloft.drawing.dimensions import ARROW_MM, GAP_MM, OVERSHOOT_MM, horizontal, leader, upright
from bayloft.drawing.flags import Flag, flagged
from bayloft.drawing.labels import (
    bounds,
    corners,
    dotted,
    free_place,
    shortened,
    spread,
    text_width_mm,
    wrapped,
)
from bayloft.drawing.sheet import ARROW, DIMENSION, LETTERING, QUIET, Drawing, Label
from bayloft.export import svg
from bayloft.plane.contour import Contour

TEXTS = (
    "7' 4 3/16\" (2240.0 mm) ahead of centre",
    "WHIMBREL WADING, MWQ",
    "full height 0.051 per m, 24.1°, 2.07 m²",
    "Écluse grève Åland × 12",
)


def everywhere(boxes: np.ndarray) -> np.ndarray:
    return np.ones(len(boxes), dtype=bool)


@pytest.mark.parametrize("bold", [False, True])
@pytest.mark.parametrize("text", TEXTS)
def test_a_text_is_drawn_no_wider_than_its_room(text: str, bold: bool, tmp_path: Path) -> None:
    # Rendered by resvg with whatever of the named faces the machine has; the widest of them is what the table holds.
    height, dots_per_mm = 10.0, 2.0
    room = text_width_mm(text, height, bold=bold)
    label = Label(text=text, x_mm=5.0, y_mm=10.0, height_mm=height, bold=bold, layer=LETTERING)
    drawing = Drawing(name="text", labels=(label,), page_mm=(room + 60.0, 30.0))
    svg.write(drawing, tmp_path / "text.svg", style="sheet")
    data = bytes(resvg_py.svg_to_bytes(svg_path=str(tmp_path / "text.svg"), dpi=25.4 * dots_per_mm, background="white"))
    right = ink_right(data) / dots_per_mm
    assert right <= 5.0 + room + 1.0 / dots_per_mm
    # And not much less, or labels would be kept apart for nothing: narrower faces take three quarters of it.
    assert right >= 5.0 + 0.6 * room


def ink_right(png: bytes) -> int:
    """Return the column after the last one that is not white in an 8-bit PNG, filters undone by hand."""
    width, height, depth, colour = struct.unpack(">IIBB", png[16:26])
    channels = {0: 1, 2: 3, 6: 4}[colour]
    assert depth == 8
    packed, at = b"", 8
    while at < len(png):
        (size,), kind = struct.unpack(">I", png[at : at + 4]), png[at + 4 : at + 8]
        packed += png[at + 8 : at + 8 + size] if kind == b"IDAT" else b""
        at += 12 + size
    lines = np.frombuffer(zlib.decompress(packed), dtype=np.uint8).reshape(height, 1 + width * channels)
    above = np.zeros((width, channels), dtype=np.int64)
    inked = np.zeros(width, dtype=bool)
    for line in lines:
        row = line[1:].reshape(width, channels).astype(np.int64)
        row = undone(int(line[0]), row, above)
        inked |= (row[:, :3] < 200).any(axis=1)
        above = row
    return int(np.flatnonzero(inked)[-1]) + 1


def undone(kind: int, row: np.ndarray, above: np.ndarray) -> np.ndarray:
    """Return a row of a PNG with its filter undone (PNG specification, third edition, 9.2)."""
    if kind == 0:
        return row
    if kind == 2:
        return (row + above) % 256
    if kind == 1:
        return np.cumsum(row, axis=0) % 256
    done = np.zeros_like(row)
    for i in range(len(row)):
        left, corner = (done[i - 1], above[i - 1]) if i else (np.zeros_like(row[0]), np.zeros_like(row[0]))
        if kind == 3:
            guess = (left + above[i]) // 2
        else:
            start = left + above[i] - corner
            far = np.abs(np.stack([left, above[i], corner]) - start)
            guess = np.choose(far.argmin(axis=0), [left, above[i], corner])
        done[i] = (row[i] + guess) % 256
    return done


def test_the_box_of_a_turned_label_stands_on_its_side() -> None:
    label = Label(text="stringer edge", x_mm=100.0, y_mm=50.0, height_mm=5.0, turn_deg=90.0)
    width = text_width_mm(label.text, 5.0)
    assert bounds(label) == pytest.approx((95.0, 50.0, 101.65, 50.0 + width), abs=1e-9)
    level = Label(text="stringer edge", x_mm=100.0, y_mm=50.0, height_mm=5.0, anchor="middle")
    assert corners(level)[:, 0].mean() == pytest.approx(100.0, abs=1e-9)
    assert bounds(level)[0] == pytest.approx(100.0 - width / 2, abs=1e-9)


def test_a_row_is_spread_as_little_as_it_must_be() -> None:
    # Two labels 10 wide that want one place stand 12 apart, each moved by half; a third far away stays.
    assert spread([50.0, 50.0, 90.0], [10.0, 10.0, 10.0], 0.0, 100.0, 2.0) == pytest.approx([44.0, 56.0, 90.0])
    # At the edge the first cannot give way, and pushes the others along.
    assert spread([1.0, 2.0], [10.0, 10.0], 0.0, 100.0, 2.0) == pytest.approx([5.0, 17.0])
    assert spread([99.0, 99.0], [10.0, 20.0], 0.0, 100.0, 2.0) == pytest.approx([73.0, 90.0])
    assert len(spread([], [], 0.0, 100.0, 2.0)) == 0


def test_the_first_free_place_is_taken() -> None:
    places = np.array([[0.0, 0.0], [12.0, 0.0], [30.0, 0.0]])
    assert free_place((10.0, 5.0), places, [], everywhere) == (0.0, 0.0)
    assert free_place((10.0, 5.0), places, [(5.0, 1.0, 13.0, 2.0)], everywhere) == (30.0, 0.0)
    # Touching is not overlapping.
    assert free_place((10.0, 5.0), places, [(-5.0, 0.0, 0.0, 5.0)], everywhere) == (0.0, 0.0)
    assert free_place((10.0, 5.0), places, [], lambda boxes: boxes[:, 0] > 5.0) == (12.0, 0.0)
    assert free_place((10.0, 5.0), places, [(-99.0, -99.0, 99.0, 99.0)], everywhere) is None


def test_long_texts_are_cut_or_broken_within_their_room() -> None:
    text = "the numbers force the outline to run straight for 599 mm"
    assert shortened(text, 2.0, 500.0) == text
    short = shortened(text, 2.0, 40.0)
    assert short.endswith("...")
    assert text_width_mm(short, 2.0) <= 40.0
    lines = wrapped(text, 2.0, 40.0)
    assert " ".join(lines) == text
    assert len(lines) > 1
    assert all(text_width_mm(line, 2.0) <= 40.0 for line in lines)
    assert wrapped("M" * 60, 2.0, 40.0)[0].endswith("...")


def test_dots_follow_a_contour() -> None:
    circle = Contour.circle((0.0, 0.0), 10.0)
    points = dotted(circle, 1.0)
    assert np.hypot(*points.T) == pytest.approx(np.full(len(points), 10.0), abs=0.1)
    assert np.hypot(*np.diff(points, axis=0).T).max() <= 1.0


def test_a_level_dimension_has_heads_gaps_and_overshoot() -> None:
    drawn = horizontal((10.0, 60.0), -8.0, "50 mm", from_y_mm=(0.0, 2.0))
    lines = [contour.points for layer, contour in drawn.contours if layer is DIMENSION]
    heads = [contour for layer, contour in drawn.contours if layer is ARROW]
    assert lines[0] == pytest.approx(np.array([[10.0, -GAP_MM], [10.0, -8.0 - OVERSHOOT_MM]]))
    assert lines[1] == pytest.approx(np.array([[60.0, 2.0 - GAP_MM], [60.0, -8.0 - OVERSHOOT_MM]]))
    assert lines[2] == pytest.approx(np.array([[10.0, -8.0], [60.0, -8.0]]))
    assert heads[0].bounds == pytest.approx((10.0, -8.3, 12.0, -7.7))
    assert heads[1].bounds == pytest.approx((58.0, -8.3, 60.0, -7.7))
    assert drawn.labels[0].x_mm == 35.0
    assert bounds(drawn.labels[0])[1] > -8.0


def test_a_short_dimension_has_its_heads_and_text_outside() -> None:
    drawn = horizontal((10.0, 13.0), 0.0, "3 mm", from_y_mm=(0.0, 0.0))
    heads = [contour.bounds for layer, contour in drawn.contours if layer is ARROW]
    assert heads[0][2] == pytest.approx(10.0)
    assert heads[1][0] == pytest.approx(13.0)
    assert bounds(drawn.labels[0])[0] > 13.0 + ARROW_MM[0]


def test_an_upright_dimension_and_a_leader_point_where_they_should() -> None:
    heads = [contour.bounds for layer, contour in upright(5.0, (0.0, 20.0)).contours if layer is ARROW]
    assert heads == [pytest.approx((4.7, 0.0, 5.3, 2.0)), pytest.approx((4.7, 18.0, 5.3, 20.0))]
    led = leader((0.0, 0.0), (-10.0, 10.0), "apex")
    (head,) = (contour for layer, contour in led.contours if layer is ARROW)
    assert head.points[0] == pytest.approx((0.0, 0.0))
    assert head.points[1:].mean(axis=0) == pytest.approx(ARROW_MM[0] * np.array([-0.5, 0.5]) * np.sqrt(2.0))
    assert led.labels[0].anchor == "end"
    assert bounds(led.labels[0])[2] < -10.0


def test_flags_keep_their_order_and_the_least_important_go_first() -> None:
    wanted = [
        Flag(x_mm=x, tip_mm=0.0, where=f"{x:g}", value_mm=x, rank=int(x != 50.0)) for x in (10.0, 49.0, 50.0, 90.0)
    ]
    row = flagged(wanted, 20.0, between_mm=(0.0, 100.0), above=True)
    names = [label.text for label in row.labels if label.layer is QUIET and "." not in label.text]
    assert names == ["10", "49", "50", "90"]
    tight = flagged(wanted, 20.0, between_mm=(0.0, 26.0), above=True)
    assert "50" in [label.text for label in tight.labels]
    assert len(tight.labels) < len(row.labels)
    assert all(bounds(label)[1] > 20.0 for label in row.labels)
    below = flagged(wanted, 20.0, between_mm=(0.0, 100.0), above=False)
    assert all(bounds(label)[3] < 20.0 for label in below.labels)
