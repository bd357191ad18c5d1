"""How much room labels take, and where they go so that none lies on another."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import isotonic_regression

from bayloft.arithmetic import product
from bayloft.drawing.sheet import SCRIBE, Label
from bayloft.drawing.stacked import STACK, reach_mm
from bayloft.drawing.strokes import stroke_size
from bayloft.plane.contour import Contour

Array = NDArray[np.float64]
Box = tuple[float, float, float, float]
"""Least x, least y, greatest x, greatest y in mm."""

_WIDTHS = {
    "'ijlIJ": 0.41,
    " ,.·/:;|f-": 0.5,
    "t()!²r": 0.58,
    '"_°szc': 0.76,
    "kFvxyLPaeoTY": 0.86,
    "0123456789bdghnpquESK": 0.91,
    "ABVXZCRUNHD": 1.07,
    "GOQw+=<>×": 1.17,
}
"""Advance widths of letters in cap heights, none narrower than those of DejaVu Sans, the widest of the usual
sans-serif faces: whichever of them a reader has, a text takes no more room than this."""

_WIDEST = 1.4
_BOLD = 1.16
_DEPTH = 0.33
"""How far letters reach below the line, in cap heights."""

PITCH = 1.6
"""From one line of a block to the next, in cap heights."""

_BLOCK_DEPTH = 0.4
"""Room below a block's last line, in cap heights."""


def text_width_mm(text: str, height_mm: float, *, bold: bool = False) -> float:
    """Return at most how wide a line of text is whose capitals are `height_mm` high."""
    share = sum(_letter(letter) for letter in unicodedata.normalize("NFC", text))
    return float(share * height_mm * (_BOLD if bold else 1.0))


@cache
def _letter(letter: str) -> float:
    plain = unicodedata.normalize("NFKD", letter)[0]
    return next((width for letters, width in _WIDTHS.items() if plain in letters), _WIDEST)


def widened(box: Box, spare_mm: float) -> Box:
    """Return a box with so much room on every side."""
    left, bottom, right, top = box
    return left - spare_mm, bottom - spare_mm, right + spare_mm, top + spare_mm


def corners(label: Label) -> Array:
    """Return the corners (4, 2) in mm of the box a label fills; of strokes, that of their middle lines."""
    width, below, above = text_width_mm(label.text, label.height_mm, bold=label.bold), _DEPTH, 0.0
    if label.layer == SCRIBE:
        wide, below = stroke_size(label.text)
        width, above = wide * label.height_mm, below
    start = {"start": 0.0, "middle": -width / 2, "end": -width}.get(label.anchor, 0.0)
    if label.anchor == "axis":
        before, after = reach_mm(label.text, label.height_mm)
        start, width = -before, before + after
        below, above = (STACK, STACK) if "/" in label.text else (0.0, 0.0)
    low, high = -below * label.height_mm, (1.0 + above) * label.height_mm
    box = np.array([[start, low], [start + width, low], [start + width, high], [start, high]])
    cosine, sine = np.cos(np.radians(label.turn_deg)), np.sin(np.radians(label.turn_deg))
    turned = product(box, [[cosine, sine], [-sine, cosine]])
    return np.asarray(turned + np.array([label.x_mm, label.y_mm]), dtype=np.float64)


def bounds(label: Label) -> Box:
    """Return the upright box round a label."""
    least, greatest = corners(label).min(axis=0), corners(label).max(axis=0)
    return float(least[0]), float(least[1]), float(greatest[0]), float(greatest[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Block:
    """Lines of text of one cap height in mm, level (turn 0) or read upward (turn 90), in a box not below `least_mm`."""

    texts: tuple[str, ...]
    caps_mm: float
    turn_deg: float = 0.0
    bold: bool = False
    least_mm: tuple[float, float] = (0.0, 0.0)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the box it fills on the drawing."""
        along = max(text_width_mm(text, self.caps_mm, bold=self.bold) for text in self.texts)
        across = (1.0 + _BLOCK_DEPTH + PITCH * (len(self.texts) - 1)) * self.caps_mm
        width, height = (across, along) if self.turn_deg else (along, across)
        return max(width, self.least_mm[0]), max(height, self.least_mm[1])

    def labels(self, x_mm: float, y_mm: float) -> list[Label]:
        """Return the labels of a block whose box has its lower left corner at (x, y): level ones hang from its top, in
        the middle.
        """
        (width, height), labels = self.size_mm, []
        for i, text in enumerate(self.texts):
            down = (1.0 + PITCH * i) * self.caps_mm
            level = x_mm + (width - text_width_mm(text, self.caps_mm, bold=self.bold)) / 2, y_mm + height - down
            x, y = (x_mm + down, y_mm) if self.turn_deg else level
            labels.append(
                Label(text=text, x_mm=x, y_mm=y, height_mm=self.caps_mm, turn_deg=self.turn_deg, bold=self.bold)
            )
        return labels


def shortened(text: str, height_mm: float, room_mm: float, *, bold: bool = False) -> str:
    """Return the text, cut and ended with three dots where it is wider than the room."""
    if text_width_mm(text, height_mm, bold=bold) <= room_mm:
        return text
    while text and text_width_mm(f"{text}...", height_mm, bold=bold) > room_mm:
        text = text[:-1].rstrip()
    return f"{text}..."


def wrapped(text: str, height_mm: float, room_mm: float, *, bold: bool = False) -> list[str]:
    """Return the text in lines that are no wider than the room; a word that is wider by itself is shortened."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width_mm(longer, height_mm, bold=bold) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(shortened(word, height_mm, room_mm, bold=bold))
    return lines


def spread(wanted_mm: ArrayLike, widths_mm: ArrayLike, low_mm: float, high_mm: float, gap_mm: float) -> Array:
    """Return middles (n,) of labels in a row, ascending as `wanted_mm`, as near to it as they can be in least squares.

    Neighbours stay `gap_mm` apart and all lie between low and high, as long as there is room for them.
    """
    wanted, widths = np.asarray(wanted_mm, dtype=np.float64), np.asarray(widths_mm, dtype=np.float64)
    if len(wanted) == 0:
        return wanted
    # Less the room of all labels before it, each position need only not fall below the one before.
    offsets = np.append(0.0, np.cumsum((widths[:-1] + widths[1:]) / 2 + gap_mm))
    low, high = low_mm + widths[0] / 2, high_mm - widths[-1] / 2 - offsets[-1]
    fitted = np.asarray(isotonic_regression(wanted - offsets).x, dtype=np.float64)
    return np.asarray(np.maximum(np.minimum(fitted, high), low) + offsets, dtype=np.float64)


_FIRST_TRIED, _MOST_TRIED = 32, 2048
"""Places looked at together: few at first, lest all be tried where one of the first is free, then twice as many each
time.
"""


def free_place(
    size_mm: tuple[float, float],
    places: Array,
    taken: Sequence[Box] | Array,
    inside: Callable[[Array], NDArray[np.bool_]],
) -> tuple[float, float] | None:
    """Return the first of `places` (n, 2) for the lower left corner of a box that is inside and meets none taken.

    `inside` tells for boxes (n, 4) which are. None where no place is free.
    """
    others = np.array(taken, dtype=np.float64).reshape(-1, 1, 4)
    start, count = 0, _FIRST_TRIED
    while start < len(places):
        tried = places[start : start + count]
        start, count = start + count, min(2 * count, _MOST_TRIED)
        boxes = np.hstack([tried, tried + np.array(size_mm)])
        apart = (
            (others[..., 0] >= boxes[:, 2])
            | (others[..., 2] <= boxes[:, 0])
            | (others[..., 1] >= boxes[:, 3])
            | (others[..., 3] <= boxes[:, 1])
        )
        free = np.asarray(apart.all(axis=0), dtype=np.bool_)
        if free.any():
            free[free] = inside(boxes[free])
        if free.any():
            x, y = tried[int(np.argmax(free))].tolist()
            return x, y
    return None


def dotted(contour: Contour, step_mm: float) -> Array:
    """Return points (n, 2) along a contour, `step_mm` apart at most, for texts to keep clear of."""
    points = contour.flattened(step_mm / 10)
    ends = np.vstack([points, points[:1]]) if contour.closed else points
    along = np.append(0.0, np.cumsum(np.hypot(*np.diff(ends, axis=0).T)))
    places = np.linspace(0.0, along[-1], int(along[-1] / step_mm) + 2)
    return np.column_stack([np.interp(places, along, ends[:, axis]) for axis in (0, 1)])
