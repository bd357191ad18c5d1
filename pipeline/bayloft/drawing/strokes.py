"""Letters of single strokes, as a router or a scribe follows them: open contours, no outlines."""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from bayloft.drawing.contour import Contour
from bayloft.drawing.sheet import SCRIBE, Drawing

if TYPE_CHECKING:
    from HersheyFonts import HersheyFonts

FACE = "futural"
"""The plain Hershey face, "simplex" of single strokes (A. V. Hershey, "Calligraphy for Computers", U.S. Naval Weapons
Laboratory, 1967), as the library carries it."""

CAP_HEIGHT = 21.0
"""Height of its capitals and figures in its own units: from 9 below the middle to 12 above."""


@cache
def _face() -> HersheyFonts:
    """Return the face; it is unpacked from among thirty, once."""
    from HersheyFonts import HersheyFonts  # noqa: PLC0415 - only parts need one

    face = HersheyFonts()
    face.load_default_font(FACE)
    return face


@cache
def _written(text: str) -> tuple[tuple[tuple[float, float], ...], ...]:
    """Return the strokes of a text in cap heights, its first on x = 0 and its foot on y = 0."""
    strokes = [[*stroke] for stroke in _face().strokes_for_text(text)]
    if not strokes:
        raise ValueError(f"no stroke writes {text!r}")
    left, foot = min(x for stroke in strokes for x, _ in stroke), max(y for stroke in strokes for _, y in stroke)
    return tuple(tuple(((x - left) / CAP_HEIGHT, (foot - y) / CAP_HEIGHT) for x, y in stroke) for stroke in strokes)


def strokes(text: str, height_mm: float) -> Drawing:
    """Return a text in single strokes on SCRIBE, its lower left corner at (0, 0), figures `height_mm` high.

    Raises ValueError for a text without strokes.
    """
    lines = [
        Contour.straight(np.array(stroke) * height_mm, closed=False) for stroke in _written(text) if len(stroke) > 1
    ]
    return Drawing(name="strokes", contours=tuple((SCRIBE, line) for line in lines))
