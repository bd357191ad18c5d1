"""The templates of the rail bands: the half outline with the pencil lines of deck and bottom, at full size."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, SCRIBE, Drawing, Layer
from bayloft.foam.bands import FaceBands, board_bands, stretches
from bayloft.foam.section_hulls import FACES
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft

LEAST_PLACES = 4
"""A pencil line of fewer places is too short to be laid off."""


def band_lines(draft: Draft, half: Drawing, tag: Tag) -> Iterator[Part]:
    """Yield a template for the deck's flats and one for the bottom's, if the board has bands: CUT: the half outline;
    SCRIBE: the inner line of each flat, as it lies off the middle of the stringer. Laid on the squared foam, each line
    is pricked through with an awl. Cut on request.
    """
    board, bands = draft.board, draft.board.bands
    if bands is None:
        return
    found = board_bands(draft.body, bands)
    outline = [(layer, contour) for layer, contour in half.contours if layer == CUT]
    for face in found.faces:
        own = replace(tag, number=tag.number + FACES.index(face.face))
        title = f"{face.face} bands"
        lines: list[tuple[Layer, Contour]] = []
        notes: list[Note] = []
        for i in range(face.count):
            drawn = list(_lines(found.stations_mm, face, i))
            lines += drawn
            if drawn:
                x = board.length_mm * (0.3 + 0.12 * i)
                y = float(np.interp(x, found.stations_mm, np.nan_to_num(face.inner_mm[:, i])))
                notes.append(Note(texts=(f"flat {i + 1}",), near_mm=(x, y - 12.0), scribed=True))
        drawing = Drawing(name=f"{board.slug}-{face.face}-bands", contours=(*outline, *lines))
        part = Part(drawing=drawing, title=title, number=own.number, along_grain=True, on_request=True)
        near = 0.65 * board.length_mm, 0.1 * board.wide_point.value
        yield inscribed(part, own.head(title, nose=True), notes, near_mm=near)


def _lines(stations: np.ndarray, face: FaceBands, i: int) -> Iterator[tuple[Layer, Contour]]:
    own = face.inner_mm[:, i]
    for low, high in stretches(np.isfinite(own)):
        if high - low >= LEAST_PLACES:
            yield SCRIBE, Contour.straight(np.column_stack([stations[low:high], own[low:high]]), closed=False)
