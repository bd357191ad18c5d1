"""Spin templates: the last foot of the outline at nose and tail, to draw one side by, turn over and draw the other."""

from __future__ import annotations

from bayloft.drawing.curves.figures import SHOWN_DECIMALS, TIPS_MM, station_code
from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.marks import CODE_WITHIN_MM, EDGE_TICK_MM, edge_ticks, line
from bayloft.drawing.part import Part
from bayloft.drawing.scribing import MIDDLE
from bayloft.drawing.sheet import CUT, MARK, Drawing
from bayloft.plane.contour import Contour
from bayloft.plane.parting import crossings, parted
from bayloft.solid.draft import Draft
from bayloft.solid.measure import width
from bayloft.units import both

REACH_MM = 330.0
"""How much of the board a template holds: a foot, and a little beyond it to run into the rest of the outline."""

MOST_SHARE = 0.4
"""Share of a short board's length that it holds at most."""


def spin_templates(draft: Draft, half: Drawing, tag: Tag) -> tuple[Part, Part]:
    """Return the templates of nose and tail from the half outline's drawing, in its axes; numbers from the tag's on.

    CUT: one closed contour each, counter-clockwise: the half outline's own edge, the middle of the stringer, a square
    end. MARK: the station 12 in from the tip where it has one; SCRIBE: its ticks on both edges. TEXT: the full width
    there.
    """
    board, body = draft.board, draft.body
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
            contours += edge_ticks(station, 0.0, half_width)
            code = station_code(board, station)
            notes.append(Note(texts=(code,), near_mm=(station, EDGE_TICK_MM), within_mm=CODE_WITHIN_MM, scribed=True))
            texts = (f"{both(TIPS_MM)} from {end}", f"{both(full)} wide")
            notes.append(Note(texts=texts, near_mm=(station, half_width / 2)))
        middle = (low + high) / 2
        notes.append(Note(texts=(MIDDLE,), near_mm=(middle, bottom), within_mm=reach / 3, scribed=True))
        said = way, "straight side on the middle of the stringer", "turn over on that line for the other side"
        notes.append(Note(texts=said, near_mm=(middle, top / 3)))
        title = f"{end} spin template"
        drawing = Drawing(name=f"{board.slug}-{end}-spin", contours=tuple(contours))
        part, own = Part(drawing=drawing, title=title, number=tag.number + i), tag.onward(i)
        head = own.head(title, brief=f"{end} spin", nose=True)
        parts.append(inscribed(part, head, notes, near_mm=(middle, top / 2)))
    return parts[0], parts[1]
