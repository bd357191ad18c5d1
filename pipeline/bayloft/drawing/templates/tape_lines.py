"""The templates of cut laps: laid on a face along the stringer, the tape goes along their edge."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray

from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.part import Part
from bayloft.drawing.scribing import MIDDLE
from bayloft.drawing.sheet import CUT, Drawing
from bayloft.laminating.glassing import board_glass
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.face_areas import across_face
from bayloft.solid.laps import Lap, along_stringer

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
    the face at the stringer, y along the face across it. Prongs of a tail reach aft of the stringer, to below 0.
    """
    line = shapely.get_coordinates(shapely.LineString(on.line).segmentize(STEP_MM))
    stations, far = along_stringer(body, on.face)
    x = np.interp(line[:, 0], stations, far) + np.minimum(line[:, 0] - stations[0], 0.0)
    y = [np.interp(off, *across_face(body, on.face, station)) if off > 0.0 else 0.0 for station, off in line.tolist()]
    flat = shapely.LineString(np.column_stack([x, y])).simplify(WITHIN_MM)
    points = shapely.get_coordinates(flat)
    points[[0, -1], 1] = 0.0
    return np.asarray(points, dtype=np.float64)
