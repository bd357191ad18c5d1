"""Drawings turned and mirrored: lines go where geometry says, labels stay to be read."""

from __future__ import annotations

import numpy as np
import pytest

from bayloft.drawing.labels import corners
from bayloft.drawing.sheet import CUT, Drawing, Label
from bayloft.plane.contour import Contour

TEXT = Label(text="tail", x_mm=30.0, y_mm=12.0, height_mm=5.0, turn_deg=25.0, anchor="end")
DRAWING = Drawing(
    name="part",
    contours=((CUT, Contour(points=[[0, 0], [40, 0], [40, 20]], bulges=[0, 0.4, 0], closed=True)),),
    labels=(TEXT,),
)


def test_turned_labels_keep_their_place_on_the_part() -> None:
    turned = DRAWING.turned(70.0)
    turn = np.radians(70.0)
    rotation = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    np.testing.assert_allclose(corners(turned.labels[0]), corners(TEXT) @ rotation, atol=1e-12)
    assert turned.contours[0][1].area_mm2 == pytest.approx(DRAWING.contours[0][1].area_mm2, rel=1e-12)


def test_a_mirrored_label_is_read_where_its_mirror_image_would_stand() -> None:
    mirrored = DRAWING.mirrored()
    (label,) = mirrored.labels
    assert (label.text, label.anchor, label.turn_deg) == ("tail", "end", 335.0)
    # Without the letters' depth below the line the box is its mirror image.
    up = np.array([-np.sin(np.radians(25.0)), np.cos(np.radians(25.0))]) * 5.0
    foot, head = np.array([30.0, 12.0]), np.array([30.0, 12.0]) + up
    assert (label.x_mm, label.y_mm) == pytest.approx((head[0], -head[1]), abs=1e-12)
    again = label.mirrored()
    assert (again.x_mm, again.y_mm, again.turn_deg) == pytest.approx((*foot, 25.0), abs=1e-9)
    assert mirrored.contours[0][1].area_mm2 == pytest.approx(DRAWING.contours[0][1].area_mm2, rel=1e-12)
