"""Spin templates: the last foot of the outline at nose and tail, to draw one side by, turn over and draw the other."""

from __future__ import annotations

from bayloft.drawing.contour import Contour
from bayloft.drawing.figures import SHOWN_DECIMALS, TIPS_MM
from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.marks import line
from bayloft.drawing.part import Part
from bayloft.drawing.parting import crossings, parted
from bayloft.drawing.sheet import CUT, MARK, Drawing
from bayloft.solid.body import Body
from bayloft.solid.measure import width
from bayloft.spec.board import Board
from bayloft.units import both

REACH_MM = 330.0
"""How much of the board a template holds: a foot, and a little beyond it to run into the rest of the outline."""

MOST_SHARE = 0.4
"""Share of a short board's length that it holds at most."""


def spin_templates(board: Board, half: Drawing, body: Body, tag: Tag) -> tuple[Part, Part]:
    """Return the templates of nose and tail from the half outline's drawing, in its axes; numbers from the tag's on.

    CUT: one closed contour each, counter-clockwise: the half outline's own edge, the stringer, a square end. MARK: the
    station 12 in from the tip where it has one. TEXT: the full width there.
    """
    (cut,) = (contour for layer, contour in half.contours if layer == CUT)
    reach = min(REACH_MM, MOST_SHARE * board.length_mm)
    ends = (
        ("nose", board.length_mm - reach, board.length_mm - TIPS_MM, "nose tip to the right"),
        ("tail", reach, TIPS_MM, "tail end to the left"),
    )
    parts = []
    for i, (end, at, station, way) in enumerate(ends):
        left, right = parted(cut, at)
        outline = Contour.joined(right if end == "nose" else left, closed=True)
        contours, notes = [(CUT, outline)], []
        low, bottom, high, top = outline.bounds
        if low < station < high:
            half_width = crossings(outline, station)[-1].y_mm
            # The edge is within ARC_FIT_MM of the surface, and what is written is what the other parts say.
            full = round(float(width(body, [station])[0]), SHOWN_DECIMALS)
            contours.append(line(MARK, (station, 0.0), (station, half_width)))
            texts = (f"{both(TIPS_MM)} from {end}", f"{both(full)} wide")
            notes.append(Note(texts=texts, near_mm=(station, half_width / 2)))
        middle = (low + high) / 2
        notes.append(Note(texts=("stringer edge",), near_mm=(middle, bottom)))
        notes.append(Note(texts=(way, "turn over on the stringer for the other side"), near_mm=(middle, top / 3)))
        title = f"{end} spin template"
        drawing = Drawing(name=f"{board.slug}-{end}-spin", contours=tuple(contours))
        number = Tag(board=tag.board, number=tag.number + i, day=tag.day)
        drawing = inscribed(drawing, number, title, notes, near_mm=(middle, top / 2))
        parts.append(Part(drawing=drawing, title=title, number=number.number))
    return parts[0], parts[1]
