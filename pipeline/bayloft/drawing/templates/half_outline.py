"""The half-outline template: the port half of a board in plan at full size, with its stations and fins marked."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.arithmetic import lengths
from bayloft.drawing.curves.board_curves import plan_outline
from bayloft.drawing.curves.figures import TIPS_MM, station_code
from bayloft.drawing.curves.marked_stations import marked_stations
from bayloft.drawing.labels import Block, Box, free_place, widened
from bayloft.drawing.marks import CHECK_MM, CODE_WITHIN_MM, check_strokes, edge_ticks
from bayloft.drawing.scribing import CODES_MM, WIDEST_GROOVE_MM, scribed
from bayloft.drawing.sheet import CUT, MARK, Drawing, Label, Layer
from bayloft.drawing.templates.plug_marks import plug_outline, plug_texts
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.solid.measure import width
from bayloft.solid.standing import base_ends
from bayloft.spec.boards.board import Board, Placement
from bayloft.spec.boards.plug import Plug
from bayloft.tape import along
from bayloft.tolerances import ARC_FIT_MM, FLATTENING_MM, SEPARATE_STATIONS_MM
from bayloft.units import both

Array = NDArray[np.float64]

CAPS_MM = 5.0
"""Cap height of texts on the part: read from where the maker stands."""

TICK_MM = 6.0
CLEAR_MM = 2.0
"""Between a text and a line."""

_STEP_MM = 10.0
"""Between the places tried for a text."""

_FURTHEST_MM = 80.0
"""How far from its mark a text may stand: it says itself which mark is meant."""

STRAIGHT = "straight side: the middle of the stringer, not its face"
"""A board drawn with this side on a glue line is a stringer too wide."""

CHECK = Block(texts=(f"{CHECK_MM:.0f} mm",), caps_mm=CAPS_MM, least_mm=(CHECK_MM, TICK_MM + 1.4 * CAPS_MM))
"""The text over the check line, with room for the line."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mark:
    """A line square to the stringer from y[0] to y[1] at a station, the lines of its text, and its code to scribe."""

    x_mm: float
    y_mm: tuple[float, float]
    texts: tuple[str, ...]
    code: str = ""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HalfPlan:
    """The part in plan, to ask how wide it is and which boxes lie on it: points (n, 2) of its edge from the tail's
    rearmost place to the nose, and of the wall from there to the stringer.
    """

    wall: Array
    edge: Array

    @classmethod
    def within(cls, outline: Contour) -> HalfPlan:
        """Return the part within a half outline that starts on the stringer at the tail."""
        points = outline.flattened(FLATTENING_MM)
        # A wall that starts forward of its corner is another branch over the same stations.
        corner = int(np.argmin(points[:, 0]))
        return cls(wall=points[corner::-1], edge=points[corner:])

    @property
    def nose_mm(self) -> float:
        """Station of the nose tip, or where the part is cut off."""
        return float(self.edge[-1, 0])

    @property
    def widest_mm(self) -> float:
        """Greatest half-width."""
        return float(self.edge[:, 1].max())

    def outer(self, x_mm: ArrayLike) -> Array:
        """Return the half-width at stations."""
        return np.asarray(np.interp(np.asarray(x_mm, dtype=np.float64), *self.edge.T), dtype=np.float64)

    def inner(self, x_mm: ArrayLike) -> Array:
        """Return how far off the stringer the part begins: 0 but in a swallow's notch."""
        off = np.interp(np.asarray(x_mm, dtype=np.float64), self.wall[:, 0], self.wall[:, 1], right=0.0)
        return np.asarray(off, dtype=np.float64)

    def holds(self, boxes: Array) -> NDArray[np.bool_]:
        """Return which boxes (n, 4) lie on the part with CLEAR_MM to spare."""
        left, bottom, right, top = boxes.T
        below_edge = np.minimum(self.outer(left), self.outer(right)) >= top + CLEAR_MM
        off_stringer = bottom >= self.inner(left) + CLEAR_MM
        between_ends = (left >= self.edge[0, 0] + CLEAR_MM) & (right <= self.nose_mm - CLEAR_MM)
        return np.asarray(below_edge & off_stringer & between_ends, dtype=np.bool_)


def half_outline(draft: Draft) -> Drawing:
    """Return the half-outline template of a board at full size: x along the stringer from the tail end, y outward.

    CUT: one closed contour, counter-clockwise, straight along the middle of the stringer, the rest within ARC_FIT_MM of
    the surface's apex line. MARK: the given stations, wide point, centre, fins, plugs, a check line of 100 mm; SCRIBE:
    ticks of the stations on both edges, and which they are. TEXT: what all are; a text for which the part has no room
    left stands beyond the edge.
    """
    board, lines, body = draft.board, draft.lines, draft.body
    outline = plan_outline(lines, body, ARC_FIT_MM)
    part = HalfPlan.within(outline)
    fins = [*zip(board.fins, np.stack(base_ends(board.fins, body), axis=1)[..., :2], strict=True)]
    marks = [*_stations(draft, part), *(mark for fin in fins for mark in _fin_marks(*fin))]
    marks += [_plug_mark(plug, metric=board.metric) for plug in board.plugs]
    ticks = [Contour.straight([[m.x_mm, m.y_mm[0]], [m.x_mm, m.y_mm[1]]], closed=False) for m in marks]
    drawn = [*ticks, *(base for fin in fins for base in _fin_bases(*fin)), *map(plug_outline, board.plugs)]
    blocks = [*(Block(texts=mark.texts, caps_mm=CAPS_MM, turn_deg=90.0) for mark in marks), CHECK]
    places = [
        *(_beside(mark, block, part, marks) for mark, block in zip(marks, blocks, strict=False)),
        _along(CHECK, part, 0.35),
    ]
    for block, share in _words(board):
        blocks.append(block)
        places.append(_along(block, part, share))
    taken = [widened(line.bounds, CLEAR_MM / 2) for line in drawn]
    codes = _codes(marks, part, taken)
    corners = _corners(blocks, places, part, taken)
    labels = [label for block, corner in zip(blocks, corners, strict=True) for label in block.labels(*corner)]
    drawn += _check_line(corners[len(marks)])
    stringer = Contour.straight([outline.points[0], outline.points[-1]], closed=False)
    cut = Contour.joined(stringer, outline.reversed(), closed=True)
    contours: list[tuple[Layer, Contour]] = [
        (CUT, cut),
        *(tick for m in marks if m.code for tick in edge_ticks(m.x_mm, *m.y_mm)),
    ]
    contours += [(MARK, line) for line in drawn]
    return Drawing(name=f"{board.slug}-half-outline", contours=tuple(contours), labels=(*codes, *labels))


def _codes(marks: Sequence[_Mark], part: HalfPlan, taken: list[Box]) -> list[Label]:
    """Return the codes of stations beside their ticks on the rail's edge, on the side away from the next mark, and add
    the boxes they fill to those taken. One for which there is no room is left out: its text tells.
    """
    found: list[Label] = []
    for mark in marks:
        if not mark.code:
            continue
        others = [other.x_mm - mark.x_mm for other in marks if other is not mark]
        away = -np.sign(min(others, key=abs, default=-1.0))
        for caps in CODES_MM:
            stamp = scribed([mark.code], caps)
            heights = mark.y_mm[1] - stamp.size_mm[1] - np.arange(0.0, CODE_WITHIN_MM, CLEAR_MM)
            off = WIDEST_GROOVE_MM + CLEAR_MM
            sides = [mark.x_mm + (off if side > 0.0 else -off - stamp.size_mm[0]) for side in (away, -away)]
            places = np.column_stack([np.repeat(sides, len(heights)), np.tile(heights, 2)])
            corner = free_place(stamp.size_mm, places, taken, part.holds)
            if corner is not None:
                found += stamp.drawing.moved(*corner).labels
                size = stamp.size_mm
                taken.append(widened((*corner, corner[0] + size[0], corner[1] + size[1]), CLEAR_MM / 2))
                break
    return found


def _stations(draft: Draft, part: HalfPlan) -> list[_Mark]:
    """Return the marks of the outline's stations, those with names first."""
    board, lines, body = draft.board, draft.lines, draft.body
    length = board.length_mm
    named = [
        (board.wide_point.x_mm, "wide point"),
        (length / 2, "centre"),
        (TIPS_MM, "tail width"),
        (length - TIPS_MM, f"nose width, {along(TIPS_MM, metric=board.metric)} from nose"),
    ]
    rail_from = 0.0 if lines.wall is None else lines.wall.corner_x_mm
    stations: dict[float, list[str]] = {}
    others = marked_stations([x for x, _ in named], board.widths)
    for x, name in [*named, *((x, "") for x in others)]:
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
            code=station_code(board, x),
        )
        for (x, names), full in zip(stations.items(), widths, strict=True)
    ]


def _fin_marks(fin: Placement, ends: Array) -> list[_Mark]:
    pair = fin.off_stringer_mm > 0.0
    turned = f"toe {fin.toe_deg:.3g}°, cant {fin.cant_deg:.3g}°"
    marks = []
    for end, (x, y) in zip(("rear", "front"), ends.tolist(), strict=True):
        texts = (f"{fin.fin.name}, {end}", f"{both(x)} from tail", f"{both(y)} off middle")
        marks.append(_Mark(x_mm=x, y_mm=(0.0, y if pair else 4 * TICK_MM), texts=texts if pair else texts[:2]))
        if pair and end == "rear":
            marks[-1] = _Mark(x_mm=x, y_mm=marks[-1].y_mm, texts=(*texts, turned))
    return marks


def _fin_bases(fin: Placement, ends: Array) -> list[Contour]:
    """Return the line of a pair's base, with ticks square to it at its ends; a fin on the stringer needs none."""
    if fin.off_stringer_mm == 0.0:
        return []
    along = (ends[1] - ends[0]) / lengths(ends[1] - ends[0])
    across = TICK_MM * np.array([-along[1], along[0]])
    return [Contour.straight(ends, closed=False)] + [
        Contour.straight([end - across, end + across], closed=False) for end in ends
    ]


def _plug_mark(plug: Plug, *, metric: bool) -> _Mark:
    """Return the mark of a plug: across its middle, from the stringer."""
    return _Mark(x_mm=plug.x_mm, y_mm=(0.0, plug.off_mm + plug.width_mm / 2.0), texts=plug_texts(plug, metric=metric))


def _check_line(corner: tuple[float, float]) -> list[Contour]:
    """Return the check line with ticks at its ends, at the foot of its text's block."""
    return check_strokes(corner[0], corner[1] + TICK_MM / 2, TICK_MM)


def _words(board: Board) -> list[tuple[Block, float]]:
    """Return the texts that belong to no station, each with its share of the length."""
    plain = (
        (f"half outline, {both(board.length_mm)} long", 0.65),
        (STRAIGHT, 0.5),
        ("tail", 0.0),
        ("nose", 1.0),
    )
    return [(Block(texts=(text,), caps_mm=CAPS_MM), share) for text, share in plain]


def _corners(blocks: list[Block], places: list[Array], part: HalfPlan, lines: list[Box]) -> list[tuple[float, float]]:
    """Return the lower left corner of each block: the first of its places that is free, or else one beyond the edge."""
    taken, corners = list(lines), []
    for block, wanted in zip(blocks, places, strict=True):
        size = block.size_mm
        place = free_place(size, wanted, taken, part.holds)
        if place is None:
            # All boxes together cannot fill this much height over one station.
            heights = np.arange(CLEAR_MM, sum(box[3] - box[1] + size[1] + _STEP_MM for box in taken), _STEP_MM)
            x = np.full(len(heights), wanted[0, 0])
            edge = max(float(part.outer(x[0])), float(part.outer(x[0] + size[0])))
            place = free_place(size, np.column_stack([x, edge + heights]), taken, lambda boxes: boxes[:, 1] > 0.0)
        if place is None:
            raise ValueError(f"no place is free for {block.texts}, on the part or beyond its edge")
        corners.append(place)
        taken.append(widened((*place, place[0] + size[0], place[1] + size[1]), CLEAR_MM / 2))
    return corners


def _beside(mark: _Mark, block: Block, part: HalfPlan, marks: Sequence[_Mark]) -> Array:
    """Return places for a text that reads along a mark: on its nose side, on its tail side, then further off, but never
    as near to another mark as to its own, unless there is no such place.
    """
    across = block.size_mm[0]
    heights = np.arange(mark.y_mm[0] + 2 * CLEAR_MM, part.widest_mm, _STEP_MM / 2)
    further = np.arange(1.5 * CLEAR_MM, _FURTHEST_MM, _STEP_MM / 2)
    sides = mark.x_mm + np.column_stack([further, -further - across]).ravel()
    x = np.array([mark.x_mm, *(other.x_mm for other in marks if abs(other.x_mm - mark.x_mm) > SEPARATE_STATIONS_MM)])
    off = np.maximum(np.maximum(sides[:, None] - x, x - sides[:, None] - across), 0.0)
    own = off[:, 0] < off[:, 1:].min(axis=1, initial=np.inf)
    sides = sides[own] if own.any() else sides
    return np.column_stack([np.repeat(sides, len(heights)), np.tile(heights, len(sides))])


def _along(block: Block, part: HalfPlan, share: float) -> Array:
    """Return places all over the part for a level text, those near a share of the length and the stringer first."""
    tail = float(part.edge[0, 0])
    x = np.arange(tail, part.nose_mm, _STEP_MM / 2)
    y = np.arange(2 * CLEAR_MM, part.widest_mm, _STEP_MM)
    wanted = tail + share * (part.nose_mm - tail) - block.size_mm[0] / 2
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    return grid[np.argsort(np.abs(grid[:, 0] - wanted) + grid[:, 1], kind="stable")]
