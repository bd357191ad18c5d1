"""A drawing at full size on the pages of a paper, to be printed and joined: each page with its marks and names."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Literal

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.labels import Box, bounds, corners, dotted, free_place, shortened, text_width_mm
from bayloft.drawing.pages.long_check import LongCheck, long_check
from bayloft.drawing.pages.page_grid import Cell, PageGrid, page_grid
from bayloft.drawing.pages.paper_map import map_page
from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.plane.contour import Contour
from bayloft.spec.shops.shop import Paper
from bayloft.tolerances import MARK_FLATTENING_MM

if TYPE_CHECKING:
    from shapely import MultiLineString

JOIN = Layer(name="JOIN", weight_mm=0.13, colour="#a0401c")
POINTER = Layer(name="POINTER", weight_mm=0.05, colour="#a0401c", fill="#a0401c")
TRIM = Layer(name="TRIM", weight_mm=0.1, dashes_mm=(3.0, 3.0), colour="#a0401c")
"""Marks, arrows and names of pages; the line on which a page is cut before it is joined."""

CROSS_MM, RING_MM = 5.0, 2.5
"""Arms of a cross at a cell's corner; radius of a ring at the middle of an edge."""

CAPS_MM, PAIR_CAPS_MM, NAME_CAPS_MM = 2.5, 2.2, 9.0

_RING_ROOM_MM = (4.0, 17.0, 15.0)
"""Of a ring with its texts: behind it and ahead of it along the side, and to both sides."""

_STEP_MM = 5.0
_MOST_PLACES = 50
"""Between the places tried for a ring or a text, and how many at most across a page."""

_ARROW_MM = (3.0, 2.4)
_INSIDE_MM = 12.0
"""From a cell's edge to the texts inside."""

Item = tuple[Layer, Contour]


@dataclass(frozen=True, slots=True, kw_only=True)
class Seam:
    """A side that two pages share: from where to where, and where on it the ring stands."""

    cells: tuple[Cell, Cell]
    ends_mm: tuple[tuple[float, float], tuple[float, float]]
    ring_mm: tuple[float, float]

    @property
    def upright(self) -> bool:
        """Whether the pages lie beside one another, not one above the other."""
        return self.cells[0].row == self.cells[1].row


def paper_pages(drawing: Drawing, paper: Paper, *, title: str) -> tuple[Drawing, ...]:
    """Return the pages on which a drawing is printed at full size: a page with map, check boxes and long check, then
    the pages of the grid row by row, in the drawing's own layers with marks on top.

    Lines run on past a page's window; whoever writes the pages cuts them off at the paper's margin.

    Raises ValueError for a paper of which margin and overlap leave too little, and for no lines.
    """
    from shapely import MultiLineString, prepare  # noqa: PLC0415

    grid = page_grid(drawing, paper)
    drawn = [(contour.flattened(MARK_FLATTENING_MM), contour.closed) for _, contour in drawing.contours]
    drawn += [(corners(label), True) for label in drawing.labels]
    lines = MultiLineString([np.vstack([points, points[:1]]) if closed else points for points, closed in drawn])
    prepare(lines)
    joints = [*_joints(grid, lines)]
    check = long_check(grid, lines)
    pages = [_page(drawing, grid, cell, joints, check, title) for cell in grid.kept]
    return (map_page(drawing, grid, check, paper, title), *pages)


def _joints(grid: PageGrid, lines: MultiLineString) -> Iterator[Seam]:
    """Return the sides that kept pages share, those to the right and below of each."""
    for cell in grid.kept:
        left, bottom, right, top = grid.box(cell)
        _, beside, _, below = cell.beside
        sides = ((beside, ((right, bottom), (right, top))), (below, ((left, bottom), (right, bottom))))
        for other, ends in sides:
            if other in grid.kept:
                yield Seam(cells=(cell, other), ends_mm=ends, ring_mm=_ring_place(ends, lines))


def _ring_place(ends: tuple[tuple[float, float], tuple[float, float]], lines: MultiLineString) -> tuple[float, float]:
    """Return the place on a side, nearest to its middle, where no line runs through the ring and the texts round it; or
    else the one furthest from all lines.
    """
    import shapely  # noqa: PLC0415

    start, end = np.array(ends)
    half_mm = float(np.hypot(*(end - start))) / 2
    along = (end - start) / (2 * half_mm)
    off = np.arange(0.0, half_mm - 3 * CROSS_MM, _STEP_MM)
    places = (start + end) / 2 + np.column_stack([off, -off]).ravel()[:, None] * along
    behind, ahead, aside = _RING_ROOM_MM
    low = places - behind * along - aside * along[::-1]
    high = places + ahead * along + aside * along[::-1]
    free = shapely.distance(shapely.box(*low.T, *high.T), lines) > 0.0
    apart = shapely.distance(shapely.points(places), lines).round(3)
    x, y = places[int(np.argmax(free if free.any() else apart))].tolist()
    return x, y


def _page(
    drawing: Drawing, grid: PageGrid, cell: Cell, joints: Sequence[Seam], check: LongCheck | None, title: str
) -> Drawing:
    """Return the page of a cell: what its window shows of the drawing, its joints, its name."""
    window = grid.window(cell)
    shown = Drawing(
        name=f"{drawing.name}-{cell.name.lower()}",
        contours=tuple((on, part) for on, contour in drawing.contours for part in _within(contour, window)),
        labels=tuple(label for label in drawing.labels if _meet(bounds(label), window)),
        page_mm=grid.page_mm,
    )
    # What reaches over half an overlap would be cut off at the margin.
    arm_mm = min(CROSS_MM, grid.overlap_mm / 2)
    marks = Drawing(name="marks", contours=tuple((JOIN, cross) for cross in _crosses(grid.box(cell), arm_mm)))
    for joint in joints:
        if cell in joint.cells:
            marks = marks.joined(_joint_marks(joint, cell, grid.overlap_mm))
    if check is not None and cell in check.cells:
        marks = marks.joined(_check_mark(check, cell, grid.box(cell)))
    place = f"page {grid.kept.index(cell) + 1} of {len(grid.kept)}"
    texts = ((cell.name, NAME_CAPS_MM), (title, CAPS_MM), (f"{place}, full size", CAPS_MM))
    name = _name_block(texts, grid.box(cell), shown.joined(marks))
    return shown.joined(marks, name).moved(grid.margin_mm - window[0], grid.margin_mm - window[1])


def _within(contour: Contour, box: Box) -> Iterator[Contour]:
    """Return the stretches of a contour, of whole segments, that may reach into a box; all of it where all may."""
    parts = contour.divided(90.0)
    segments = parts.segments
    starts, ends = segments.starts, segments.ends
    # An arc of a quarter turn at most stays within its sagitta of its chord.
    reach = segments.sagittas_mm[:, None]
    low, high = np.minimum(starts, ends) - reach, np.maximum(starts, ends) + reach
    meets: NDArray[np.bool_] = np.asarray((low <= box[2:]).all(axis=1) & (high >= box[:2]).all(axis=1))
    if not parts.closed:
        meets = np.append(meets, False)
    elif meets.all():
        yield contour
        return
    # Begun after a segment that stays outside, or after the end of an open contour, no run goes past it.
    order = (np.arange(len(meets)) + int(np.argmin(meets)) + 1) % len(meets)
    edges = np.flatnonzero(np.diff(np.concatenate([[False], meets[order], [False]]).astype(np.int8)))
    for first, last in zip(edges[::2].tolist(), edges[1::2].tolist(), strict=True):
        run = order[first:last]
        points = np.vstack([starts[run], ends[run[-1]]])
        yield Contour(points=points, bulges=np.append(segments.bulges[run], 0.0), closed=False)


def _meet(box: Box, other: Box) -> bool:
    return box[0] < other[2] and box[2] > other[0] and box[1] < other[3] and box[3] > other[1]


def _crosses(box: Box, arm_mm: float) -> Iterator[Contour]:
    """Return the two lines of a cross at each corner of a box."""
    for x, y in ((box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])):
        yield Contour.straight([[x - arm_mm, y], [x + arm_mm, y]], closed=False)
        yield Contour.straight([[x, y - arm_mm], [x, y + arm_mm]], closed=False)


def _joint_marks(joint: Seam, cell: Cell, overlap_mm: float) -> Drawing:
    """Return the marks of a joint as on the page of one of its cells, the same at the same place on both but for the
    arrow to the other.
    """
    x, y = joint.ring_mm
    other = joint.cells[1] if cell == joint.cells[0] else joint.cells[0]
    caps = max(1.5, min(PAIR_CAPS_MM, overlap_mm / 2 - 1.5))
    pair, off = f"{joint.cells[0].name}-{joint.cells[1].name}", 1.6 * RING_MM
    contours: list[Item] = [(TRIM, Contour.straight(joint.ends_mm, closed=False))]
    contours += [(JOIN, Contour.circle((x, y), RING_MM))]
    if joint.upright:
        contours.append((JOIN, Contour.straight([[x - RING_MM, y], [x + RING_MM, y]], closed=False)))
        place, turn = (x - 1.0, y + off), 90.0
    else:
        contours.append((JOIN, Contour.straight([[x, y - RING_MM], [x, y + RING_MM]], closed=False)))
        place, turn = (x + off, y + 1.0), 0.0
    labels = [Label(text=pair, x_mm=place[0], y_mm=place[1], height_mm=caps, turn_deg=turn, layer=JOIN)]
    arrow, name = _arrow(joint, cell, other)
    return Drawing(name=pair, contours=(*contours, (POINTER, arrow)), labels=(*labels, name))


def _arrow(joint: Seam, cell: Cell, other: Cell) -> tuple[Contour, Label]:
    """Return an arrow inside a cell towards its neighbour, and the neighbour's name behind it."""
    (x, y), (length, width) = joint.ring_mm, _ARROW_MM
    sense = 1.0 if cell == joint.cells[0] else -1.0
    tip, caps = 1.4 * CROSS_MM, CAPS_MM
    head = np.array([[-tip, 0.0], [-tip - length, width / 2], [-tip - length, -width / 2]])
    behind = tip + length + 1.0
    anchor: Literal["start", "middle", "end"] = "middle"
    if joint.upright:
        points, anchor = head * (sense, 1.0) + (x, y), "end" if sense > 0 else "start"
        at = x - sense * behind, y - caps / 2
    else:
        # The first of the two lies above: its arrow points down.
        points = head[:, ::-1] * (1.0, -sense) + (x, y)
        at = x, y + behind if sense > 0 else y - behind - caps
    name = Label(text=other.name, x_mm=at[0], y_mm=at[1], height_mm=caps, anchor=anchor, layer=JOIN, bold=True)
    return Contour.straight(points, closed=True), name


def _check_mark(check: LongCheck, cell: Cell, box: Box) -> Drawing:
    """Return a page's mark of the long check: a cross in two rings, and the distance to the other."""
    here = check.cells.index(cell)
    (x, y), other = check.places_mm[here], check.cells[1 - here]
    arm = 2 * RING_MM
    text = f"long check: {check.text} to the like cross on {other.name}"
    width = text_width_mm(text, CAPS_MM)
    at = min(max(x - width / 2, box[0] + RING_MM), box[2] - RING_MM - width)
    contours = [
        *(Contour.circle((x, y), radius) for radius in (RING_MM, 0.7 * RING_MM)),
        Contour.straight([[x - arm, y], [x + arm, y]], closed=False),
        Contour.straight([[x, y - arm], [x, y + arm]], closed=False),
    ]
    label = Label(text=text, x_mm=at, y_mm=y - arm - 1.5 * CAPS_MM, height_mm=CAPS_MM, layer=JOIN)
    return Drawing(name="long-check", contours=tuple((JOIN, contour) for contour in contours), labels=(label,))


def _name_block(texts: Sequence[tuple[str, float]], box: Box, drawn: Drawing) -> Drawing:
    """Return a page's name with the lines below it, as near to the upper left corner as nothing drawn is in the way;
    where there is no such place, the name alone, and in the corner if need be.
    """
    left, bottom, right, top = box
    wide, high = right - left - 2 * _INSIDE_MM, top - bottom - 2 * _INSIDE_MM
    lines = [(shortened(text, caps, wide), caps) for text, caps in texts]
    dots = np.concatenate([dotted(contour, _STEP_MM) for _, contour in drawn.contours]).round(3)
    near = dots[(dots >= (left, bottom)).all(axis=1) & (dots <= (right, top)).all(axis=1)]
    spare = _STEP_MM / 2 + 1.0
    taken: list[Box] = [(x - spare, y - spare, x + spare, y + spare) for x, y in near.tolist()]
    taken += [bounds(label) for label in drawn.labels]
    for kept in (lines, lines[:1]):
        size = (max(text_width_mm(*line, bold=True) for line in kept), sum(1.7 * caps for _, caps in kept))
        rooms = (max(wide - size[0], 0.0), max(high - size[1], 0.0))
        x, y = (np.linspace(0.0, room, min(int(room / _STEP_MM) + 1, _MOST_PLACES)) for room in rooms)
        off = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
        off = off[np.argsort(off.sum(axis=1), kind="stable")]
        corner = np.array([left + _INSIDE_MM, top - _INSIDE_MM - size[1]])
        place = free_place(size, corner + off * (1.0, -1.0), taken, lambda boxes: np.ones(len(boxes), dtype=np.bool_))
        if place is not None:
            break
    x_mm, y_mm = place or (float(corner[0]), float(corner[1]))
    falls = np.cumsum([0.0] + [1.7 * caps for _, caps in kept])
    labels = tuple(
        Label(text=text, x_mm=x_mm, y_mm=y_mm + size[1] - fall - caps, height_mm=caps, bold=caps > CAPS_MM, layer=JOIN)
        for (text, caps), (fall, _) in zip(kept, pairwise(falls.tolist()), strict=True)
    )
    return Drawing(name="name", labels=labels)
