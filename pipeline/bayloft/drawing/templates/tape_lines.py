"""The templates of cut laps: laid on a face along the stringer, the tape goes along their edge."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from bayloft.arithmetic import lengths
from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.part import Part
from bayloft.drawing.scribing import MIDDLE
from bayloft.drawing.sheet import CUT, Drawing
from bayloft.laminating.glassing import board_glass
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.face_areas import half_section
from bayloft.solid.laps import Lap

Array = NDArray[np.float64]

FACES = ("deck", "bottom")
STEP_MM, WITHIN_MM = 15.0, 0.05
"""mm along the board between places of the edge, and by which its lines may leave what runs between them."""


def tape_lines(draft: Draft, tag: Tag) -> Iterator[Part]:
    """Yield a template for each face that a lap is cut on, if laps are: CUT: straight along the middle of the stringer,
    and along the line, both as long as they are on the face itself. Cut on request.
    """
    made, board = board_glass(draft), draft.board
    if made is None or made.glass.laps != "cut":
        return
    for face in made.faces:
        if not len(face.lap.line):
            continue
        own = replace(tag, number=tag.number + FACES.index(face.other))
        title = f"tape line, {face.other}"
        edge = laid_flat(draft.body, face.lap)
        outline = Contour.straight(edge, closed=True)
        outline = outline if outline.area_mm2 > 0.0 else outline.reversed()
        drawing = Drawing(name=f"{board.slug}-tape-{face.other}", contours=((CUT, outline),))
        part = Part(drawing=drawing, title=title, number=own.number, along_grain=True, on_request=True)
        near = 0.65 * board.length_mm, 0.1 * board.wide_point.value
        notes = [
            Note(texts=(MIDDLE,), near_mm=(0.27 * board.length_mm, 0.0), within_mm=board.length_mm / 8, scribed=True),
            Note(texts=("turn over for the other side",), near_mm=near),
        ]
        yield inscribed(part, own.head(title, nose=True), notes, near_mm=near)


def laid_flat(body: Body, on: Lap) -> Array:
    """Return the line where a lap ends (n, 2), closed along the stringer, as a strip laid on the face shows it: x along
    the face at the stringer, y along the face across it.
    """
    line = shapely.get_coordinates(shapely.LineString(on.line).segmentize(STEP_MM))
    v = np.array([1.0 if on.face == "deck" else 0.0])
    share = np.linspace(0.0, 1.0, 4001)
    profile = body.port.grid(share * share * (3.0 - 2.0 * share), np.minimum(v, np.nextafter(1.0, 0.0)))[:, 0]
    far = np.concatenate([[0.0], np.cumsum(lengths(np.diff(profile, axis=0)))])
    x = np.interp(line[:, 0], profile[:, 0], far)
    y = np.array([_across(body, on, *each) for each in line.tolist()])
    flat = shapely.LineString(np.column_stack([x, y])).simplify(WITHIN_MM)
    points = shapely.get_coordinates(flat)
    points[[0, -1], 1] = 0.0
    return np.asarray(points, dtype=np.float64)


def _across(body: Body, on: Lap, x_mm: float, y_mm: float) -> float:
    if y_mm <= 0.0:
        return 0.0
    section = half_section(body, on.face, x_mm)
    last = int(np.argmax(section[:, 0])) + 1
    far = np.concatenate([[0.0], np.cumsum(lengths(np.diff(section, axis=0)))])
    # Beside a notch the section begins off the stringer, and so does the strip.
    return float(section[0, 0] + np.interp(y_mm, section[:last, 0], far[:last]))
