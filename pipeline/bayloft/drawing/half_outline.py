"""The half-outline template: the port half of a board in plan at full size, with its stations and fins marked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.board_curves import plan_outline
from bayloft.drawing.contour import Contour
from bayloft.drawing.labels import PITCH, Box, free_place, text_width_mm
from bayloft.drawing.sheet import CUT, MARK, Drawing, Label, Layer
from bayloft.lines.board import BoardLines
from bayloft.solid.body import Body
from bayloft.solid.measure import width
from bayloft.spec.board import Board, Placement
from bayloft.tolerances import ARC_FIT_MM, FLATTENING_MM, SEPARATE_STATIONS_MM
from bayloft.units import both, feet_inches

Array = NDArray[np.float64]
Inside = NDArray[np.bool_]

CAPS_MM = 5.0
"""Cap height of texts on the part: read from where the maker stands."""

NAME_CAPS_MM = 12.0
CHECK_MM = 100.0
TICK_MM = 6.0
CLEAR_MM = 2.0
"""Between a text and a line."""

TIPS_MM = 304.8
"""12 in: where nose and tail are measured."""

_STEP_MM = 10.0
"""Between the places tried for a text."""

_FURTHEST_MM = 80.0
"""How far from its mark a text may stand: it says itself which mark is meant."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mark:
    """A line square to the stringer from y[0] to y[1] at a station, and the lines of its text."""

    x_mm: float
    y_mm: tuple[float, float]
    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Block:
    """Lines of text, their cap height in mm, level (turn 0) or read along a tick (turn 90)."""

    texts: tuple[str, ...]
    caps_mm: float = CAPS_MM
    turn_deg: float = 90.0
    bold: bool = False

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the box it fills on the drawing."""
        along = max(text_width_mm(text, self.caps_mm, bold=self.bold) for text in self.texts)
        across = (1.4 + PITCH * (len(self.texts) - 1)) * self.caps_mm
        return (across, along) if self.turn_deg else (along, across)

    def labels(self, x_mm: float, y_mm: float) -> Iterator[Label]:
        """Yield the labels of a block whose box has its lower left corner at (x, y)."""
        for i, text in enumerate(self.texts):
            if self.turn_deg:
                x, y = x_mm + (1.0 + PITCH * i) * self.caps_mm, y_mm
            else:
                x, y = x_mm, y_mm + (0.4 + PITCH * (len(self.texts) - 1 - i)) * self.caps_mm
            yield Label(text=text, x_mm=x, y_mm=y, height_mm=self.caps_mm, turn_deg=self.turn_deg, bold=self.bold)


class _Part:
    """The part's plan shape as a table, to ask how wide it is and which boxes lie on it."""

    def __init__(self, outline: Contour) -> None:
        points = outline.flattened(FLATTENING_MM)
        # A wall that starts forward of its corner is another branch over the same stations.
        corner = int(np.argmin(points[:, 0]))
        self._wall, self._edge = points[corner::-1], points[corner:]
        self.tail_mm, self.stringer_mm = float(points[corner, 0]), float(points[0, 0])
        self.nose_mm, self.widest_mm = float(points[-1, 0]), float(points[np.argmax(points[:, 1]), 0])

    def outer(self, x_mm: Array | float) -> Array:
        """Return the half-width at stations."""
        return np.asarray(np.interp(x_mm, self._edge[:, 0], self._edge[:, 1]))

    def inner(self, x_mm: Array | float) -> Array:
        """Return how far off the stringer the part begins: 0 but in a swallow's notch."""
        return np.asarray(np.interp(x_mm, self._wall[:, 0], self._wall[:, 1], right=0.0))

    def holds(self, boxes: Array) -> Inside:
        """Return which boxes (n, 4) lie on the part with CLEAR_MM to spare."""
        left, bottom, right, top = boxes.T
        above = np.minimum(self.outer(left), self.outer(right)) >= top + CLEAR_MM
        on = (
            (left >= self.tail_mm + CLEAR_MM)
            & (right <= self.nose_mm - CLEAR_MM)
            & (bottom >= self.inner(left) + CLEAR_MM)
        )
        return np.asarray(above & on, dtype=np.bool_)


def half_outline(board: Board, lines: BoardLines, body: Body) -> Drawing:
    """Return the half-outline template of a board at full size: x along the stringer from the tail end, y outward.

    CUT: one closed contour, counter-clockwise, straight along the stringer, the rest within ARC_FIT_MM of the surface's
    apex line. MARK: the given stations, wide point, centre, fins, a check line of 100 mm. TEXT: what they are.
    """
    outline = plan_outline(lines, body, ARC_FIT_MM)
    part = _Part(outline)
    marks = [*_stations(board, lines, body, part), *(mark for fin in board.fins for mark in _fin_marks(fin))]
    bases = [base for fin in board.fins for base in _fin_bases(fin)]
    ticks = [Contour.straight([[m.x_mm, m.y_mm[0]], [m.x_mm, m.y_mm[1]]], closed=False) for m in marks]
    taken = [_widened(line.bounds) for line in (*ticks, *bases)]
    labels: list[Label] = []
    for mark in marks:
        _set(_Block(texts=mark.texts), _beside(mark, part), part, taken, labels)
    check = _check_line(part, taken, labels)
    _words(board, part, taken, labels)
    stringer = Contour.straight([[part.stringer_mm, 0.0], [part.nose_mm, 0.0]], closed=False)
    cut = Contour.joined(stringer, outline.reversed(), closed=True)
    drawn: list[tuple[Layer, Contour]] = [(CUT, cut), *((MARK, line) for line in (*ticks, *bases, *check))]
    return Drawing(name=f"{board.slug}-half-outline", contours=tuple(drawn), labels=tuple(labels))


def _stations(board: Board, lines: BoardLines, body: Body, part: _Part) -> list[_Mark]:
    """Return the marks of the outline's stations, those with names first."""
    length = board.length_mm
    named = [
        (board.wide_point.x_mm, "wide point"),
        (length / 2, "centre"),
        (TIPS_MM, "tail width"),
        (length - TIPS_MM, f"nose width, {feet_inches(TIPS_MM)} from nose"),
    ]
    rail_from = 0.0 if lines.wall is None else lines.wall.corner_x_mm
    stations: dict[float, list[str]] = {}
    for x, name in [*named, *((given.x_mm, "") for given in board.widths)]:
        same = next((other for other in stations if abs(other - x) <= SEPARATE_STATIONS_MM), None)
        if same is not None:
            stations[same] += [name] if name else []
        elif rail_from + SEPARATE_STATIONS_MM < x < length - SEPARATE_STATIONS_MM:
            stations[x] = [name] if name else []
    # 44.45 mm is not to read 44.5 on one mark and 44.4 on another.
    widths = np.round(width(body, list(stations)), 3)
    return [
        _Mark(
            x_mm=x,
            y_mm=(float(part.inner(x)), float(full) / 2),
            texts=(*([", ".join(names)] if names else []), f"{both(x)} from tail", f"{both(float(full))} wide"),
        )
        for (x, names), full in zip(stations.items(), widths, strict=True)
    ]


def _ends(fin: Placement) -> Array:
    """Return the rear and the front end (2, 2) of a fin's base in plan, port side."""
    toe = np.radians(fin.toe_deg)
    rear = np.array([fin.from_tail_mm, fin.off_stringer_mm])
    return np.stack([rear, rear + fin.fin.base_mm * np.array([np.cos(toe), -np.sin(toe)])])


def _fin_marks(fin: Placement) -> list[_Mark]:
    pair = fin.off_stringer_mm > 0.0
    turned = f"toe {fin.toe_deg:g}°, cant {fin.cant_deg:g}°"
    marks = []
    for end, (x, y) in zip(("rear", "front"), _ends(fin).tolist(), strict=True):
        texts = (f"{fin.fin.name}, {end}", f"{both(x)} from tail", f"{both(y)} off stringer")
        marks.append(_Mark(x_mm=x, y_mm=(0.0, y if pair else 4 * TICK_MM), texts=texts if pair else texts[:2]))
        if pair and end == "rear":
            marks[-1] = _Mark(x_mm=x, y_mm=marks[-1].y_mm, texts=(*texts, turned))
    return marks


def _fin_bases(fin: Placement) -> list[Contour]:
    """Return the line of a pair's base, with ticks square to it at its ends; a fin on the stringer needs none."""
    if fin.off_stringer_mm == 0.0:
        return []
    ends = _ends(fin)
    along = (ends[1] - ends[0]) / fin.fin.base_mm
    across = TICK_MM * np.array([-along[1], along[0]])
    return [Contour.straight(ends, closed=False)] + [
        Contour.straight([end - across, end + across], closed=False) for end in ends
    ]


def _check_line(part: _Part, taken: list[Box], labels: list[Label]) -> list[Contour]:
    text = f"{CHECK_MM:.0f} mm"
    size = (CHECK_MM, CLEAR_MM + TICK_MM + 1.4 * CAPS_MM)
    x, y = _found(size, _along(size, part, 0.35), part, taken)
    line = y + TICK_MM / 2
    block = _Block(texts=(text,), turn_deg=0.0)
    labels += block.labels(x + (CHECK_MM - block.size_mm[0]) / 2, line + CLEAR_MM)
    right = x + CHECK_MM
    return [
        Contour.straight([[x, line], [right, line]], closed=False),
        *(Contour.straight([[at, y], [at, y + TICK_MM]], closed=False) for at in (x, right)),
    ]


def _words(board: Board, part: _Part, taken: list[Box], labels: list[Label]) -> None:
    """Set the words that are no station's: name, length, the ends, the stringer edge."""
    name = _Block(texts=(board.name,), caps_mm=NAME_CAPS_MM, turn_deg=0.0, bold=True)
    _set(name, _along(name.size_mm, part, 0.65, 2.5 * NAME_CAPS_MM), part, taken, labels)
    for texts, share in (
        ((f"half outline, {both(board.length_mm)} long",), 0.65),
        (("stringer edge",), 0.5),
        (("tail",), 0.0),
        (("nose",), 1.0),
    ):
        block = _Block(texts=texts, turn_deg=0.0)
        _set(block, _along(block.size_mm, part, share), part, taken, labels)


def _set(block: _Block, places: Array, part: _Part, taken: list[Box], labels: list[Label]) -> None:
    """Append the block's labels at the first free of the places, and its box to those taken."""
    labels += block.labels(*_found(block.size_mm, places, part, taken))


def _found(size: tuple[float, float], places: Array, part: _Part, taken: list[Box]) -> tuple[float, float]:
    """Return the first free of the places, or else one beyond the part's edge, and append its box to those taken."""
    place = free_place(size, places, taken, part.holds)
    if place is None:
        # The edge is nowhere further out than the widest place, so some height beyond it is free.
        beyond = np.arange(CLEAR_MM, (len(taken) + 2) * (_STEP_MM + size[1]) + part.nose_mm, _STEP_MM)
        x = np.repeat(places[:1, 0], len(beyond))
        edge = np.maximum(part.outer(x), part.outer(x + size[0]))
        place = free_place(size, np.column_stack([x, edge + beyond]), taken, lambda boxes: boxes[:, 1] > 0.0)
    if place is None:
        raise ValueError("no free place beyond the part: the boxes taken reach further than their number allows")
    taken.append(_widened((*place, place[0] + size[0], place[1] + size[1])))
    return place


def _beside(mark: _Mark, part: _Part) -> Array:
    """Return places for a text that reads along a mark: on its nose side, on its tail side, then further off."""
    across = _Block(texts=mark.texts).size_mm[0]
    heights = np.arange(mark.y_mm[0] + 2 * CLEAR_MM, float(part.outer(part.widest_mm)), _STEP_MM / 2)
    further = np.arange(1.5 * CLEAR_MM, _FURTHEST_MM, _STEP_MM / 2)
    sides = mark.x_mm + np.column_stack([further, -further - across]).ravel()
    return np.column_stack([np.repeat(sides, len(heights)), np.tile(heights, len(sides))])


def _along(size: tuple[float, float], part: _Part, share: float, off_mm: float = 0.0) -> Array:
    """Return places all over the part for a level text, those near a share of the length and `off_mm` first."""
    x = np.arange(part.tail_mm, part.nose_mm, _STEP_MM / 2)
    y = np.arange(2 * CLEAR_MM, float(part.outer(part.widest_mm)), _STEP_MM)
    wanted = part.tail_mm + share * (part.nose_mm - part.tail_mm) - size[0] / 2
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return grid[np.argsort(np.abs(grid[:, 0] - wanted) + np.abs(grid[:, 1] - off_mm), kind="stable")]


def _widened(box: Box) -> Box:
    left, bottom, right, top = box
    spare = CLEAR_MM / 2
    return left - spare, bottom - spare, right + spare, top + spare
