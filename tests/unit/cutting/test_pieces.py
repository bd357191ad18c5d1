"""What pieces of a part carry, how their joints are shaped, and what cannot be cut in pieces."""

from __future__ import annotations

import datetime
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon, box

from bayloft.cutting.joining.pieces import NoPieceError, pieced
from bayloft.drawing.labels import bounds
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, MARK, SCRIBE, Drawing, Label
from bayloft.drawing.templates.part_set import part_set
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import JointKind

from ... import demo
from ...demo import draft, told

SPECS = Path(__file__).parents[3] / "specs"

CUTTING = replace(demo.CUTTING, fit_mm=0.15)
JOINTS: tuple[JointKind, ...] = ("dovetail", "half-lap", "splice")


@cache
def parts() -> tuple[Part, ...]:
    return part_set(told(draft("whimbrel"), fins=()), [], date=datetime.date(2026, 5, 1))


def plank(length: float, height: float, *marks: Contour) -> Part:
    outline = Contour.straight([[0.0, 0.0], [length, 0.0], [length, height], [0.0, height]], closed=True)
    contours = ((CUT, outline), *((MARK, mark) for mark in marks))
    return Part(drawing=Drawing(name="plank", contours=contours), title="plank", number=7, along_grain=True)


def texts(part: Part) -> list[str]:
    return [label.text for label in part.drawing.labels]


def test_a_part_that_fits_stays_as_it_is() -> None:
    for part in parts():
        assert pieced(part, 2_400.0, 1_200.0, CUTTING) == (part,)


@pytest.mark.parametrize("joint", JOINTS)
def test_pieces_carry_their_names_and_what_stood_there(joint: JointKind) -> None:
    for part in parts()[:4]:
        found = pieced(part, 900.0, 600.0, replace(CUTTING, joint=joint))
        pieces = [piece for piece in found if "splice plate" not in piece.title]
        plates = found[len(pieces) :]
        count = len(pieces)
        assert len(plates) == (count - 1 if joint == "splice" else 0)
        assert [piece.title for piece in pieces] == [f"{part.title}, piece {i + 1} of {count}" for i in range(count)]
        for piece in found:
            assert (piece.number, piece.board, piece.day, piece.kind) == (part.number, "Whimbrel", part.day, part.kind)
            assert piece.along_grain
            said = "  ".join(label.text for label in piece.head)
            assert "WHIMBREL" in said
            assert "2026-05-01" in "  ".join(texts(piece))
            assert {label.layer for label in piece.head} == {SCRIBE}
        for i, piece in enumerate(pieces, 1):
            said = "  ".join(label.text for label in piece.head)
            assert said.startswith(f"{part.number}-{i} {part.title.upper()}")
            assert f"{i} OF {count}" in said
            assert "NOSE →" in said
        for plate, letter in zip(plates, "ABCDEF", strict=False):
            assert f"{part.number}-{letter} SPLICE" in "  ".join(label.text for label in plate.head)
        for piece in pieces:
            assert any("100 mm" in text for text in texts(piece))
            shape = Polygon(piece.outline.flattened(0.01))
            for label in piece.drawing.labels:
                middle = box(*bounds(label)).centroid
                # A check line that finds no room inside stands under the piece.
                under = label.text.startswith("check") and middle.y < shape.bounds[1]
                assert under or shape.contains(middle), (piece.title, label.text)
        # Every text of the part but for its head is on exactly one piece, where it was.
        held = [(label.text, label.x_mm, label.y_mm) for piece in pieces for label in piece.drawing.labels]
        for label in (label for label in part.drawing.labels if label not in part.head):
            assert held.count((label.text, label.x_mm, label.y_mm)) == 1
        assert sum(len(piece.holes) for piece in pieces) >= len(part.holes)


def test_keys_have_corners_that_a_cutter_goes_round() -> None:
    for part in parts()[:4]:
        for fit in (0.0, 0.15, 0.4):
            for piece in pieced(part, 900.0, 600.0, replace(CUTTING, fit_mm=fit)):
                contour = piece.outline
                chords = np.hypot(*(np.roll(contour.points, -1, axis=0) - contour.points).T)
                hollow = contour.bulges < -1e-3
                radii = chords[hollow] * (1 + contour.bulges[hollow] ** 2) / (4 * np.abs(contour.bulges[hollow]))
                assert radii.min() == pytest.approx(4.0, abs=1e-9) or radii.min() > 4.0


def test_a_key_stands_off_its_socket_by_the_fit() -> None:
    one, other = pieced(plank(1_500.0, 90.0), 900.0, 200.0, replace(CUTTING, fit_mm=0.2))
    key, socket = (Polygon(piece.outline.flattened(1e-4)) for piece in (one, other))
    x = other.outline.bounds[0]
    # Beyond the shoulder, where it meets: flanks and head, measured square to them.
    flank = key.intersection(box(x + 8.0, 0.0, x + 100.0, 90.0))
    assert flank.distance(socket) == pytest.approx(0.2, abs=1e-3)
    assert flank.exterior.coords is not None
    assert key.bounds[2] - x == pytest.approx(24.0)
    head = socket.intersection(box(x, 0.0, x + 24.2, 90.0))
    assert head.area < 90.0 * 24.2
    # A key wider at its head than at its neck cannot be drawn out.
    neck, end = (key.intersection(box(at, 0.0, at + 0.01, 90.0)).area / 0.01 for at in (x + 6.0, x + 18.0))
    assert end > neck + 4.0


def test_match_marks_are_alike_on_both_sides_of_a_joint() -> None:
    pieces = pieced(plank(2_000.0, 80.0), 800.0, 200.0, CUTTING)
    assert len(pieces) == 3
    letters = []
    for piece in pieces:
        strokes = [line for layer, line in piece.drawing.contours if layer is SCRIBE]
        letters.append([round(line.length_mm, 6) for line in strokes if np.ptp(line.points[:, 1]) <= 7.01])
    # A on the first and the second, B on the second and the third.
    first, second, third = letters
    assert set(first) & set(second)
    assert set(second) & set(third)


def test_a_joint_keeps_clear_of_marks() -> None:
    marks = [Contour.straight([[x, 0.0], [x, 80.0]], closed=False) for x in (700.0, 760.0, 820.0)]
    one, other = pieced(plank(1_500.0, 80.0, *marks), 900.0, 200.0, CUTTING)
    x = other.outline.bounds[0]
    assert all(abs(x - mark) > 16.0 for mark in (700.0, 760.0, 820.0))
    drawn = [*one.drawing.contours, *other.drawing.contours]
    # Each check line has two ticks of its own.
    assert sum(layer is MARK and np.ptp(c.points[:, 0]) == 0.0 for layer, c in drawn) == 3 + 4


def test_texts_in_the_way_of_every_joint_are_set_beside_it() -> None:
    labels = tuple(Label(text=f"text {i}", x_mm=20.0 + 40.0 * i, y_mm=20.0 + 4.0 * (i % 3)) for i in range(36))
    bare = plank(1_500.0, 80.0)
    part = replace(bare, drawing=replace(bare.drawing, labels=labels))
    pieces = pieced(part, 900.0, 200.0, CUTTING)
    assert sorted(t for piece in pieces for t in texts(piece) if t.startswith("text")) == sorted(
        label.text for label in labels
    )
    for piece in pieces:
        shape = Polygon(piece.outline.flattened(0.01))
        boxes = [box(*bounds(label)) for label in piece.drawing.labels]
        assert all(shape.contains(each) for each in boxes)
        assert not any(one.overlaps(other) for i, one in enumerate(boxes) for other in boxes[i + 1 :])


def test_a_level_line_ends_at_the_joint() -> None:
    stringer = Contour.straight([[0.0, 70.0], [1_500.0, 70.0]], closed=False)
    one, other = pieced(plank(1_500.0, 80.0, stringer), 900.0, 200.0, CUTTING)
    lines = [c for part in (one, other) for layer, c in part.drawing.contours if layer is MARK and c.length_mm > 101.0]
    assert [line.points[:, 0].tolist() for line in lines] == [
        [0.0, other.outline.bounds[0]],
        [other.outline.bounds[0], 1_500.0],
    ]


def test_what_is_too_wide_or_full_of_marks_is_refused() -> None:
    with pytest.raises(NoPieceError, match="too wide for every sheet, and parts are cut in pieces along their length"):
        pieced(parts()[1], 900.0, 400.0, CUTTING)
    marks = [Contour.straight([[float(x), 0.0], [float(x), 80.0]], closed=False) for x in range(30, 1_500, 30)]
    with pytest.raises(NoPieceError, match="too long, and no dovetail joints clear of marks make pieces that short"):
        pieced(plank(1_500.0, 80.0, *marks), 900.0, 200.0, CUTTING)
    with pytest.raises(NoPieceError, match="no splice joints"):
        pieced(plank(1_500.0, 30.0), 900.0, 200.0, replace(CUTTING, joint="splice"))
    with pytest.raises(NoPieceError, match="no half-lap joints"):
        pieced(plank(1_500.0, 20.0), 900.0, 200.0, replace(CUTTING, joint="half-lap"))
    with pytest.raises(NoPieceError, match="no dovetail joints"):
        pieced(plank(1_500.0, 30.0), 900.0, 200.0, CUTTING)


def test_a_splice_plate_lies_inside_the_part_with_holes_over_its_pieces() -> None:
    *pieces, plate = pieced(plank(1_500.0, 90.0), 900.0, 200.0, replace(CUTTING, joint="splice"))
    inside = Polygon([(0, 10), (1_500, 10), (1_500, 80), (0, 80)]).buffer(1e-9)
    assert inside.contains(Polygon(plate.outline.flattened(0.01)))
    holes = sorted(tuple(np.round(hole.bounds, 6)) for piece in pieces for hole in piece.holes)
    assert holes == sorted(tuple(np.round(hole.bounds, 6)) for hole in plate.holes)
    assert len(holes) == 4


def test_holes_of_a_half_lap_are_in_both_pieces() -> None:
    one, other = pieced(plank(1_500.0, 90.0), 900.0, 200.0, replace(CUTTING, joint="half-lap"))
    assert len(one.holes) == len(other.holes) == 2
    assert [hole.bounds for hole in one.holes] == [hole.bounds for hole in other.holes]
    assert "rebate this face" in texts(one)
    assert "rebate the other face" in texts(other)
