"""The first page of a full-size print: a map of the pages, what to measure, how to join."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.labels import Box, dotted, free_place, shortened, text_width_mm, wrapped
from bayloft.drawing.pages.long_check import LongCheck
from bayloft.drawing.pages.page_grid import PageGrid
from bayloft.drawing.sheet import DIMENSION, FAINT, LETTERING, QUIET, THIN, VISIBLE, Drawing, Label
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import Paper

Array = NDArray[np.float64]

NAME_CAPS_MM, CAPS_MM, SMALL_MM = 6.0, 3.0, 2.4

BOXES_MM = (((100.0, 50.0), "100 × 50 mm"), ((101.6, 50.8), "4 × 2 in"))
"""What a printer must draw as large as it says, in both ways of measuring."""

GAP_MM = 7.0
INSET_MM = 1.0
"""From what the printer cannot reach: a check box of which half a line is lost would measure short."""

MOST_HIGH_MM = 300.0
"""Of what this page takes of a roll between its margins."""

BOXES = (
    "Print at 100 %, one-sided, not fitted to the page. Then measure both boxes: if a side is more than half a "
    "millimetre off, print again with other settings before you go on."
)
JOINING = (
    "Cut each page along the dashed line at its right and at its lower side. Lay it on its neighbour until crosses and "
    "rings of the same name meet, and tape it down, row by row."
)
LONG = (
    "Then measure the long check between the crosses in double rings: {text}, from {near} to {far}. If it is more than "
    "a millimetre off, join again."
)
EMPTY = "Pages that are not on the map would be empty and are left out."
DAMP = "Paper moves with damp: measure again before you glue it down, and cut to the middle of the line."


def map_page(drawing: Drawing, grid: PageGrid, check: LongCheck | None, paper: Paper, title: str) -> Drawing:
    """Return the page that comes before the others: title, the pages over the drawing, check boxes, what to do."""
    width, height = paper.width_mm, paper.height_mm
    if paper.kind == "roll":
        height = min(height, MOST_HIGH_MM + 2 * paper.margin_mm)
    inset = paper.margin_mm + INSET_MM
    wide, high = width - 2 * inset, height - 2 * inset
    count = len(grid.kept)
    names = grid.kept[0].name if count == 1 else f"{grid.kept[0].name} to {grid.kept[-1].name}"
    pages = f"full size on {paper.kind}: {count} page{'s' if count > 1 else ''} ({names}) and this one"
    head = [
        (shortened(title, NAME_CAPS_MM, wide, bold=True), NAME_CAPS_MM, LETTERING, high - NAME_CAPS_MM),
        (pages, CAPS_MM, QUIET, high - 2.2 * NAME_CAPS_MM),
    ]
    labels = [
        Label(text=text, x_mm=0.0, y_mm=y, height_mm=caps, layer=layer, bold=caps == NAME_CAPS_MM)
        for text, caps, layer, y in head
    ]
    foot = _foot(_steps(grid, check), wide)
    under_head = high - 2.2 * NAME_CAPS_MM - GAP_MM
    room = wide, under_head - _height(foot) - GAP_MM
    shown = _map(drawing, grid, check, room)
    low = under_head - _height(shown)
    page = Drawing(name=f"{drawing.name}-map", labels=tuple(labels), page_mm=(width, height))
    return page.joined(shown.moved(0.0, low), foot.moved(0.0, low - GAP_MM - _height(foot))).moved(inset, inset)


def _height(drawing: Drawing) -> float:
    return drawing.bounds[3]


def _steps(grid: PageGrid, check: LongCheck | None) -> list[str]:
    """Return what to do, in order."""
    if check is None:
        return [BOXES, DAMP]
    near, far = (cell.name for cell in check.cells)
    empty = [EMPTY] if len(grid.kept) < grid.rows * grid.columns else []
    return [BOXES, *empty, JOINING, LONG.format(text=check.text, near=near, far=far), DAMP]


def _foot(steps: Sequence[str], wide: float) -> Drawing:
    """Return the check boxes one over the other, and the steps beside them, over (0, 0)."""
    contours, labels, y = [], [], 0.0
    for (width, height), text in reversed(BOXES_MM):
        corners = [[0.0, y], [width, y], [width, y + height], [0.0, y + height]]
        contours.append((VISIBLE, Contour.straight(corners, closed=True)))
        labels.append(
            Label(
                text=text,
                x_mm=width / 2,
                y_mm=y + (height - CAPS_MM) / 2,
                height_mm=CAPS_MM,
                anchor="middle",
                layer=LETTERING,
            )
        )
        y += height + GAP_MM
    left = max(width for (width, _), _ in BOXES_MM) + GAP_MM
    top, pitch = y - GAP_MM - SMALL_MM, 1.7 * SMALL_MM
    for number, step in enumerate(steps, 1):
        for line in wrapped(f"{number}. {step}", SMALL_MM, wide - left):
            labels.append(Label(text=line, x_mm=left, y_mm=top, height_mm=SMALL_MM, layer=LETTERING))
            top -= pitch
        top -= pitch / 2
    return Drawing(name="foot", contours=tuple(contours), labels=tuple(labels))


def _map(drawing: Drawing, grid: PageGrid, check: LongCheck | None, room: tuple[float, float]) -> Drawing:
    """Return the drawing with the cells of the pages over it, as large as the room lets it, over (0, 0)."""
    (left, top), (wide, high) = grid.corner_mm, grid.size_mm
    k = min(room[0] / wide, room[1] / high)
    flat = drawing.moved(-left, high - top)
    contours = [(VISIBLE if on.cuts else FAINT, contour.scaled(k)) for on, contour in flat.contours]
    if check is not None:
        ends = (np.array(check.places_mm) - (left, top - high)) * k
        contours.append((DIMENSION, Contour.straight(ends, closed=False)))
        contours += [(DIMENSION, Contour.circle(end, 1.0)) for end in ends.tolist()]
    dots = np.concatenate([dotted(contour, 2.0) for _, contour in contours]).round(3)
    taken: list[Box] = [(x - 1.1, y - 1.1, x + 1.1, y + 1.1) for x, y in dots.tolist()]
    labels = []
    for cell in grid.kept:
        box = (np.array(grid.box(cell)) - (left, top - high) * 2) * k
        corners = box[[0, 1, 2, 1, 2, 3, 0, 3]].reshape(4, 2)
        contours.append((THIN, Contour.straight(corners, closed=True)))
        labels.append(_cell_name(cell.name, (box[:2], box[2:]), taken))
    return Drawing(name="map", contours=tuple(contours), labels=tuple(labels))


def _cell_name(name: str, box: tuple[Array, Array], taken: Sequence[Box]) -> Label:
    """Return a cell's name as near to its middle as no line is in the way, smaller where that helps."""
    low, high = box
    wide, tall = (high - low).tolist()
    caps = min(CAPS_MM, 0.8 * wide / text_width_mm(name, 1.0, bold=True), 0.5 * tall)
    x, y = np.meshgrid(np.linspace(0.05, 0.95, 19), np.linspace(0.95, 0.05, 19))
    shares = np.column_stack([x.ravel(), y.ravel()])
    shares = shares[np.argsort(np.hypot(*(shares - 0.5).T).round(6), kind="stable")]
    place = None
    for share in (1.0, 0.8, 0.6):
        size = text_width_mm(name, share * caps, bold=True), share * caps
        places = low + shares * (high - low - size)
        place = free_place(size, places, taken, lambda boxes: np.ones(len(boxes), dtype=np.bool_))
        if place is not None:
            break
    at = place or (float(places[0, 0]), float(places[0, 1]))
    return Label(text=name, x_mm=at[0], y_mm=at[1], height_mm=size[1], layer=LETTERING, bold=True)
