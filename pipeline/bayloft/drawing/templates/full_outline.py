"""The full outline: both halves of a board in plan at full size, to lay on a blank."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CENTRE, CUT, Drawing, Layer
from bayloft.drawing.templates.half_outline import STRAIGHT
from bayloft.plane.contour import Contour
from bayloft.spec.boards.board import Board

DRAWN_ON_HALF = {STRAIGHT: "middle of the stringer", "half outline": "full outline"}
"""Words of the half outline and what they are called here."""

CHECK_LINES = 3
"""Contours that a check line is drawn with."""


def full_outline(board: Board, half: Drawing, tag: Tag) -> Part:
    """Return the full outline from the half outline's drawing: x along the stringer from the tail end, y to port.

    CUT: one closed contour, counter-clockwise, the half outline's edge and its mirror image in the stringer, so that
    both templates have the same edge. CENTRE: the middle of the stringer. MARK, SCRIBE and TEXT: those of the half
    outline, its lines on both sides. It takes as much stock as all other parts together, and the half outline draws
    the same: cut on request.
    """
    (cut,) = (contour for layer, contour in half.contours if layer == CUT)
    edge = Contour(
        points=np.vstack([cut.points[1:], cut.points[:1]]), bulges=np.append(cut.bulges[1:], 0.0), closed=False
    )
    marks = [(layer, contour) for layer, contour in half.contours if layer is not CUT]
    stringer = Contour.straight([edge.points[-1], edge.points[0]], closed=False)
    contours: list[tuple[Layer, Contour]] = [(CUT, Contour.joined(edge, edge.mirrored().reversed(), closed=True))]
    contours += [(CENTRE, stringer), *marks]
    # The half outline's last marks are its check line, and one of it is enough.
    contours += [(layer, line.mirrored().reversed()) for layer, line in marks[:-CHECK_LINES]]
    labels = []
    for label in half.labels:
        text = label.text
        for word, here in DRAWN_ON_HALF.items():
            text = text.replace(word, here)
        labels.append(replace(label, text=text))
    drawing = Drawing(name=f"{board.slug}-full-outline", contours=tuple(contours), labels=tuple(labels))
    notes = [Note(texts=("port",), near_mm=(board.length_mm / 2, 0.35 * board.wide_point.value))]
    notes += [Note(texts=("starboard",), near_mm=(board.length_mm / 2, -0.35 * board.wide_point.value))]
    near = 0.65 * board.length_mm, -0.2 * board.wide_point.value
    notes.append(Note(texts=("deck up",), near_mm=near))
    part = Part(drawing=drawing, title="full outline", number=tag.number, along_grain=True, on_request=True)
    return inscribed(part, tag.head("full outline", nose=True), notes, near_mm=near, check=False)
