"""The pictures of a board in its blank: plan, profile, half sections, with the tight places marked."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.labels import spread, text_width_mm
from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.drawing.sheets.card import (
    BOARD_LINE,
    EDGE_LINE,
    FINE_LINE,
    GREY,
    INK,
    LABEL_MM,
    MIDDLE_LINE,
    SECOND_LINE,
    WORDS_MM,
    Line,
    straight,
)
from bayloft.foam.fitting import Fit, TightPlace
from bayloft.lines.section_places import APEX
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.measure import places
from bayloft.tape import station

Array = NDArray[np.float64]

BLOCK_LINE = Layer(name="BLOCK", weight_mm=0.35, colour="#555555")
PLACES, SECTION_PLACES = 241, 121
SCALES = (6.0, 8.0, 10.0, 11.0, 12.0, 13.0, 14.0, 15.0, 16.0, 18.0, 20.0, 22.0, 25.0, 30.0, 40.0)
SECTION_SCALES = (4.0, 5.0, 6.0, 8.0, 10.0)
"""Scales of plan and profile, and of the half sections; the largest that fits is taken."""
HEIGHTS = 2.0
"""By how much heights in the profile are drawn larger than lengths."""
SECTIONS = (0.18, 0.5, 0.82)
"""Shares of the board's length at which half sections are drawn."""
SECTION_MM = (54.0, 26.0)
SECTION_GAP_MM = 9.0
RINGS_MM = (1.7, 2.4)
"""Radii of the double ring at a tight place."""
ROW_MM = 5.0
"""From an outline to the words beside it."""
LETTERS = "ABCDEFGH"
OFF_MM = 12.0
"""Distance off the stringer from which a tight place is marked in the plan too: nearer ones the profile tells."""


def lettered(fit: Fit) -> list[tuple[str, TightPlace]]:
    """Return the tight places with their letters, tail end first."""
    order = sorted(fit.tight, key=lambda place: (place.x_mm, place.off_mm, place.height_mm))
    return list(zip(LETTERS, order, strict=False))


def extent_mm(fit: Fit) -> tuple[float, float]:
    """Return from where to where board and block together reach, mm from the block's tail end."""
    tail, nose = ends_mm(fit)
    return min(0.0, tail), max(block_end_mm(fit), nose)


def block_end_mm(fit: Fit) -> float:
    """Return where the block's nose tip lies, mm from its tail end."""
    return float(fit.block.standing(fit.block.body.port.at(1.0, 0.0)[None])[0, 0])


def ends_mm(fit: Fit) -> tuple[float, float]:
    """Return where the board's tail end and nose tip lie in the block, mm from the block's tail end."""
    x = _placed(fit, _half_plan(fit.body))[:, 0]
    return float(x.min()), float(x.max())


def plan(fit: Fit, scale: float) -> Drawing:
    """Return the plan, the block's tail at x = 0 and its stringer on y = 0; words above it."""
    contours: list[Line] = []
    for layer, points in _both(fit, _half_plan):
        half = points[:, :2] / scale
        contours.append((layer, _closed(np.vstack([half, half[::-1] * [1.0, -1.0]]))))
    left, right = (end / scale for end in extent_mm(fit))
    contours.append(straight(MIDDLE_LINE, (left, 0.0), (right, 0.0)))
    drawn = Drawing(name="plan", contours=tuple(contours))
    marked = [(letter, place) for letter, place in lettered(fit) if place.off_mm >= OFF_MM]
    at = [_spot(fit, place, scale, (0, 1)) for _, place in marked]
    return drawn.joined(_marks(marked, at, drawn.bounds[3] + ROW_MM, left, right))


def profile(fit: Fit, scale: float) -> Drawing:
    """Return the profile, the block's tail at x = 0, the flat that it stands on at y = 0, heights drawn larger; tight
    places of the deck have their words above, others below.
    """
    stretch = np.array([1.0, HEIGHTS]) / scale
    contours = [(layer, _closed(points[:, [0, 2]] * stretch)) for layer, points in _both(fit, _side)]
    left, right = (end / scale for end in extent_mm(fit))
    contours.append(straight(SECOND_LINE, (left, 0.0), (right, 0.0)))
    drawn = Drawing(name="profile", contours=tuple(contours))
    for deck, y in ((True, drawn.bounds[3] + ROW_MM), (False, drawn.bounds[1] - ROW_MM - WORDS_MM)):
        marked = [(letter, place) for letter, place in lettered(fit) if (place.face == "deck") is deck]
        at = [_spot(fit, place, scale, (0, 2)) for _, place in marked]
        drawn = drawn.joined(_marks(marked, at, y, left, right))
    return drawn


def sections(fit: Fit) -> Drawing:
    """Return three half sections side by side, tail first, each stringer at its left, over their captions, from (0, 0)
    up.
    """
    cuts = []
    for share in SECTIONS:
        x = share * fit.board.length_mm
        points = fit.placing.placed(_section(fit.body, x), fit.middle_mm)
        own = fit.block.standing(points)
        block = fit.block.standing(_section(fit.block.body, float(points[:, 0].mean())))
        # Beyond the block's end there is none of it.
        block = block[np.isfinite(block).all(axis=1)]
        cuts.append((x, own, block, float(np.vstack([own, block])[:, 2].min())))
    both = [np.vstack([own, block]) for _, own, block, _ in cuts]
    wide, tall = (max(float(np.ptp(points[:, axis])) for points in both) for axis in (1, 2))
    scale = next(
        (s for s in SECTION_SCALES if wide / s <= SECTION_MM[0] and tall / s <= SECTION_MM[1]), SECTION_SCALES[-1]
    )
    drawn = Drawing(name="sections")
    for i, (x, own, block, low) in enumerate(cuts):
        left = i * (SECTION_MM[0] + SECTION_GAP_MM)
        contours: list[Line] = [
            (layer, Contour.straight(_distinct((points[:, 1:] - [0.0, low]) / scale), closed=False))
            for layer, points in ((BLOCK_LINE, block), (BOARD_LINE, own))
            if len(points)
        ]
        top = max(contour.bounds[3] for _, contour in contours)
        contours.append(straight(MIDDLE_LINE, (0.0, -1.0), (0.0, top + 1.0)))
        caption = f"{station(x, metric=fit.board.metric)} from tail"
        label = Label(text=caption, x_mm=0.0, y_mm=-LABEL_MM - 2.4, height_mm=LABEL_MM, layer=GREY)
        cell = Drawing(name="section", contours=tuple(contours), labels=(label,))
        drawn = drawn.joined(cell.moved(left, LABEL_MM + 2.4))
    return drawn


def _marks(
    marked: Sequence[tuple[str, TightPlace]], at: Sequence[tuple[float, float]], y: float, left: float, right: float
) -> Drawing:
    """Return a double ring at each place, and in a row at the height y the words, apart, each with a line to its ring;
    the places ascend.
    """
    words = [f"tight {letter}" for letter, _ in marked]
    widths = [text_width_mm(each, WORDS_MM, bold=True) for each in words]
    middles = spread([x for x, _ in at], widths, left, right, WORDS_MM)
    contours: list[Line] = []
    labels = []
    for each, (x, height), middle in zip(words, at, middles.tolist(), strict=True):
        contours += [(EDGE_LINE, Contour.circle((x, height), radius)) for radius in RINGS_MM]
        end = (middle, y - 1.2) if y > height else (middle, y + WORDS_MM + 1.2)
        away = np.array(end) - (x, height)
        start = np.array((x, height)) + away * (RINGS_MM[1] / float(np.sqrt((away * away).sum())))
        contours.append(straight(FINE_LINE, (float(start[0]), float(start[1])), end))
        labels.append(Label(text=each, x_mm=middle, y_mm=y, height_mm=WORDS_MM, anchor="middle", layer=INK, bold=True))
    return Drawing(name="tight", contours=tuple(contours), labels=tuple(labels))


def _spot(fit: Fit, place: TightPlace, scale: float, axes: tuple[int, int]) -> tuple[float, float]:
    at = _placed(fit, np.array([[place.x_mm, place.off_mm, place.height_mm]]))[0] / scale
    return float(at[axes[0]]), float(at[axes[1]]) * (HEIGHTS if axes[1] == 2 else 1.0)


def _half_plan(body: Body) -> Array:
    """Return the plan of a body's port side (n, 3), from the stringer at the tail round to the nose."""
    edge = body.port.grid(np.linspace(0.0, 1.0, PLACES) ** 2, [APEX])[:, 0]
    wall = body.port.grid([0.0], np.linspace(0.0, APEX, 41))[0] if body.end == "wall" else edge[:1]
    return np.vstack([wall, edge])


def _side(body: Body) -> Array:
    """Return the profile at the stringer (n, 3): along the bottom to the nose, and back along the deck."""
    u = np.linspace(0.0, 1.0, PLACES)
    lines = body.port.grid(u, [0.0, 1.0])
    return np.vstack([lines[:, 0], lines[::-1, 1]])


def _section(body: Body, x_mm: float) -> Array:
    """Return the port half of the section of a body at a station (n, 3), from bottom to deck."""
    return places(body, [x_mm], np.linspace(0.0, 1.0, SECTION_PLACES).tolist())[:, 0]


def _placed(fit: Fit, points: Array) -> Array:
    """Return points of the board where they lie in the block, as that stands."""
    return fit.block.standing(fit.placing.placed(points, fit.middle_mm))


def _both(fit: Fit, line: Callable[[Body], Array]) -> tuple[tuple[Layer, Array], tuple[Layer, Array]]:
    """Return a line of the block and of the board in it, as the block stands, with their layers."""
    return (BLOCK_LINE, fit.block.standing(line(fit.block.body))), (BOARD_LINE, _placed(fit, line(fit.body)))


def _closed(points: Array) -> Contour:
    return Contour.straight(_distinct(points), closed=True)


def _distinct(points: Array) -> Array:
    """Return points without those that repeat the one before them."""
    apart = np.sqrt((np.diff(points, axis=0) ** 2).sum(axis=1))
    kept: Array = points[np.concatenate([[True], apart > 1e-6])]
    return kept[:-1] if float(np.sqrt(((kept[0] - kept[-1]) ** 2).sum())) <= 1e-6 else kept
