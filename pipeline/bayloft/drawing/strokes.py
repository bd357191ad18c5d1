"""Letters of single strokes, as a router or a scribe follows them: open contours, no outlines."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from typing import TYPE_CHECKING

import numpy as np

from bayloft.drawing.sheet import SCRIBE, Drawing, Label, Layer
from bayloft.drawing.spelling import spelled
from bayloft.plane.contour import Contour

if TYPE_CHECKING:
    from HersheyFonts import HersheyFonts

FACE = "futural"
"""The plain Hershey face, "simplex" of single strokes (A. V. Hershey, "Calligraphy for Computers", U.S. Naval Weapons
Laboratory, 1967), as the library carries it."""

CAP_HEIGHT = 21.0
"""Height of its capitals and figures in its own units: from 9 below the middle to 12 above."""

TRACKING = 0.06
"""Between two letters beyond the face's own distance, in cap heights: grooves of 1/8 in then do not run
together in letters of 10 mm."""

ARROW = "→"
"""The one sign that the face lacks."""

_ARROW = (((0.0, 0.5), (1.5, 0.5)), ((1.1, 0.85), (1.5, 0.5), (1.1, 0.15)))
_ARROW_ADVANCE = 1.8

TURNED_ALIKE = frozenset("01689HINOSXZ./-")
"""What reads as something else, or as itself, when it is turned over: a word of nothing else has its 6 and 9
underlined."""

_LINE = -0.45
"""Height of the line under a 6 or a 9, in cap heights."""

Stroke = tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Written:
    """The strokes of a text in cap heights, the leftmost on x = 0, its foot on y = 0, and the corners of its box."""

    strokes: tuple[Stroke, ...]
    low: float
    right: float
    high: float


@cache
def _face() -> HersheyFonts:
    """Return the face; it is unpacked from among thirty, once."""
    from HersheyFonts import HersheyFonts  # noqa: PLC0415 - only parts need one

    face = HersheyFonts()
    face.load_default_font(FACE)
    return face


@cache
def _letter(letter: str) -> tuple[tuple[Stroke, ...], float]:
    """Return a letter's strokes in cap heights, those that meet end to end as one, and how far the next stands off."""
    if letter == ARROW:
        return _ARROW, _ARROW_ADVANCE
    foot = 9.0
    strokes = [
        tuple((x / CAP_HEIGHT, (foot - y) / CAP_HEIGHT) for x, y in stroke)
        for stroke in _face().strokes_for_text(letter)
        if len(stroke) > 1
    ]
    return _chained(strokes), _face().all_glyphs[letter].char_width / CAP_HEIGHT + TRACKING


def _chained(strokes: Sequence[Stroke]) -> tuple[Stroke, ...]:
    """Return strokes with those that share an end joined: a cutter is lifted less often."""
    chains: list[Stroke] = []
    for stroke in strokes:
        chain, met = stroke, True
        while met:
            met = False
            for other in chains:
                ways = (
                    (one, two)
                    for one, two in ((other, chain), (other, chain[::-1]), (chain, other), (other[::-1], chain))
                    if one[-1] == two[0]
                )
                joined = next(ways, None)
                if joined is not None:
                    chains.remove(other)
                    chain, met = joined[0] + joined[1][1:], True
                    break
        chains.append(chain)
    return tuple(chains)


def _known(letter: str) -> bool:
    return letter in (" ", ARROW) or (letter in _face().all_glyphs and letter.isprintable())


@lru_cache(maxsize=4096)
def scribable(text: str) -> str:
    """Return a text as it is scribed: in capitals of ASCII and arrows, one blank between words, "?" for each letter
    that has no such spelling.
    """
    capitals = unicodedata.normalize("NFC", text).upper()
    plain = "".join(letter if _known(letter) else spelled(letter).upper() for letter in capitals)
    return " ".join("".join(letter if _known(letter) else "?" for letter in plain).split())


@lru_cache(maxsize=4096)
def _written(text: str) -> _Written:
    """Return a text's strokes. Raises ValueError for a letter that the face lacks, and for a text without strokes."""
    lacking = sorted({letter for letter in text if not _known(letter)})
    if lacking:
        raise ValueError(f"no stroke writes {', '.join(map(repr, lacking))} in {text!r}")
    strokes: list[Stroke] = []
    at = 0.0
    for word in text.split(" "):
        alike = set(word) <= TURNED_ALIKE
        for letter in word:
            own, advance = _letter(letter)
            strokes += [tuple((at + x, y) for x, y in stroke) for stroke in own]
            if alike and letter in "69":
                ends = [at + pick(x for stroke in own for x, _ in stroke) for pick in (min, max)]
                strokes.append(((ends[0], _LINE), (ends[1], _LINE)))
            at += advance
        at += _letter(" ")[1]
    if not strokes:
        raise ValueError(f"no stroke writes {text!r}")
    x, y = np.array([point for stroke in strokes for point in stroke]).T
    left = float(x.min())
    moved = tuple(tuple((a - left, b) for a, b in stroke) for stroke in strokes)
    return _Written(strokes=moved, low=float(y.min()), right=float(x.max()) - left, high=float(y.max()))


def stroke_size(text: str) -> tuple[float, float]:
    """Return how wide a text is in cap heights, and how far its strokes reach below its foot and above its caps, the
    same on both sides: a text that is mirrored keeps its box. Raises ValueError as `strokes` does.
    """
    written = _written(text)
    return written.right, max(0.0, -written.low, written.high - 1.0)


def strokes(text: str, height_mm: float) -> Drawing:
    """Return a text in single strokes on SCRIBE, its foot on y = 0, its leftmost stroke on x = 0, capitals and figures
    `height_mm` high; 6 and 9 underlined in words that can be read upside down.

    Raises ValueError for a letter that the face lacks, and for a text without strokes.
    """
    lines = [Contour.straight(np.array(stroke) * height_mm, closed=False) for stroke in _written(text).strokes]
    return Drawing(name="strokes", contours=tuple((SCRIBE, line) for line in lines))


def struck(drawing: Drawing) -> Drawing:
    """Return a drawing whose labels on SCRIBE are single strokes: as a tool follows them, and as they are written."""
    contours: list[tuple[Layer, Contour]] = [*drawing.contours]
    for label in drawing.labels:
        if label.layer == SCRIBE:
            contours += _placed(label).contours
    kept = tuple(label for label in drawing.labels if label.layer != SCRIBE)
    return replace(drawing, contours=tuple(contours), labels=kept)


def _placed(label: Label) -> Drawing:
    back = {"start": 0.0, "middle": 0.5, "end": 1.0}[label.anchor] * stroke_size(label.text)[0] * label.height_mm
    return strokes(label.text, label.height_mm).moved(-back, 0.0).turned(label.turn_deg).moved(label.x_mm, label.y_mm)
