"""The template that carries the fins' places to the board: the tail in plan, from the tail end along the stringer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import lengths
from bayloft.drawing.curves.board_curves import plan_outline
from bayloft.drawing.inscription import headed, named
from bayloft.drawing.labels import Block, Box, bounds, free_place, widened
from bayloft.drawing.marks import CHECK_MM, TICK_MM, awl_hole, check_line, line
from bayloft.drawing.room import Room
from bayloft.drawing.scribing import CODES_MM, MIDDLE, WIDEST_GROOVE_MM, Head, scribed
from bayloft.drawing.sheet import CUT, MARK, SCRIBE, Drawing, Layer
from bayloft.drawing.templates.half_outline import STRAIGHT, HalfPlan
from bayloft.drawing.templates.plug_marks import plug_outline, plug_texts
from bayloft.lines.section_places import APEX
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.solid.integrals import parameter_at
from bayloft.solid.standing import Stand
from bayloft.spec.boards.board import Board
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import both

Array = NDArray[np.float64]

AHEAD_MM = 40.0
"""How far the template reaches ahead of the foremost base."""

CAPS_MM = 3.5
REACH_MM = 22.0
"""Length of the ticks of a fin on the stringer."""

_STEP_MM = 3.0
_SPARE_MM = 1.2


def reach_mm(board: Board, stands: Sequence[Stand]) -> float:
    """Return the station as far as which a drawing of the tail shows all fins."""
    return float(min(max(stand.front_mm[0] for stand in stands) + AHEAD_MM, board.length_mm / 2))


def tail_outline(draft: Draft, to_mm: float) -> Contour:
    """Return the outline of the port half from the stringer at the tail end to a station, open, as x and y."""
    to_u = float(parameter_at(draft.body.port, np.array([to_mm]), np.array([APEX]))[0])
    return plan_outline(draft.lines, draft.body, ARC_FIT_MM, to_u)


def fin_marks(draft: Draft, stands: Sequence[Stand], day: date | None = None) -> Drawing:
    """Return the transfer template at full size: x along the stringer from the tail end, y outward.

    It lies on the bottom with its straight side on the middle of the stringer and its round one flush with the outline:
    on starboard as drawn, turned over on port. CUT: its outline within ARC_FIT_MM, closed; holes for an awl over both
    ends of each base of a pair, and over plugs beside the stringer. MARK: base lines with ticks at their ends, outlines
    of plugs in the bottom. SCRIBE: what it is, the straight side, the ends of a fin on the stringer. TEXT: distances
    from the tail end and off the middle of the stringer, toe, cant.
    """
    board = draft.board
    outline = tail_outline(draft, reach_mm(board, stands))
    end = outline.points[-1]
    foot = Contour.straight([[end[0], 0.0], outline.points[0]], closed=False)
    cut = Contour.joined(Contour.straight([end, [end[0], 0.0]], closed=False), foot, closed=False)
    cut = Contour.joined(outline, cut, closed=True).reversed()
    part = HalfPlan.within(outline)
    contours: list[tuple[Layer, Contour]] = [(CUT, cut)]
    blocks: list[tuple[Block, tuple[float, float]]] = []
    for stand in stands:
        contours += _base(stand)
        blocks += _texts(stand)
    for plug in board.plugs:
        if plug.face == "bottom" and plug.x_mm + plug.length_mm / 2.0 < end[0]:
            contours.append((MARK, plug_outline(plug)))
            contours += [awl_hole(plug.x_mm, plug.off_mm)] if plug.off_mm else []
            blocks.append(
                (Block(texts=plug_texts(plug, metric=board.metric), caps_mm=CAPS_MM), (plug.x_mm, plug.off_mm))
            )
    room = Room.of(Drawing(name="marks", contours=tuple(contours)))
    head = Head(kind="fin marks", board=board.name, day=day, nose=True)
    # At the straight side, which it is about, before the head takes the room.
    straight = room.placed([scribed([MIDDLE], caps) for caps in CODES_MM], (0.5 * float(end[0]), 0.0))
    scribing = headed(room, head, (0.5 * float(end[0]), 0.42 * float(end[1])))
    labels = [*scribing.labels, *(straight.labels if straight else ())]
    taken: list[Box] = [widened(contour.bounds, _SPARE_MM) for _, contour in contours[1:]]
    taken += [widened(bounds(label), WIDEST_GROOVE_MM) for label in labels]
    check = check_line(0.0, 0.0)
    size = Block(texts=("",), caps_mm=CAPS_MM, least_mm=(CHECK_MM, TICK_MM + 2.0 * CAPS_MM)).size_mm
    for block, near in [*blocks, *_words(named(board.name, "fin marks", day), end)]:
        place = _free(block.size_mm, near, taken, part)
        labels += block.labels(*place)
        taken.append(widened((*place, place[0] + block.size_mm[0], place[1] + block.size_mm[1]), _SPARE_MM))
    place = _free(size, (0.6 * float(end[0]), 0.7 * part.widest_mm), taken, part)
    drawing = Drawing(name=f"{board.slug}-fin-marks", contours=tuple(contours), labels=tuple(labels))
    return drawing.joined(check.moved(place[0], place[1] + TICK_MM / 2))


def _base(stand: Stand) -> list[tuple[Layer, Contour]]:
    """Return the base line with ticks, and awl holes at the ends of a pair's."""
    rear, front = stand.rear_mm[:2], stand.front_mm[:2]
    if len(stand.sides) == 1:
        return [line(SCRIBE, (float(x), 0.0), (float(x), REACH_MM)) for x in (rear[0], front[0])]
    along = (front - rear) / lengths(front - rear)
    across = TICK_MM * np.array([-along[1], along[0]])
    contours = [line(MARK, tuple(rear + 1.5 * along), tuple(front - 1.5 * along))]
    for end in (rear, front):
        contours += [line(MARK, tuple(end + 1.5 / TICK_MM * side), tuple(end + side)) for side in (across, -across)]
        contours.append(awl_hole(*end.tolist()))
    return contours


def _texts(stand: Stand) -> list[tuple[Block, tuple[float, float]]]:
    """Return a block of text for each end of a base, with the place it should be near."""
    placement, pair = stand.placement, len(stand.sides) > 1
    found = []
    for name, (x, y) in (("rear", stand.rear_mm[:2].tolist()), ("front", stand.front_mm[:2].tolist())):
        lines = [f"{stand.number}  {placement.fin.name}, {name}", f"{both(x)} from tail"]
        lines += [f"{both(y)} off the middle of the stringer"] if pair else ["on the middle of the stringer"]
        found.append((Block(texts=tuple(lines), caps_mm=CAPS_MM), (x, y)))
    if pair:
        middle = ((stand.rear_mm + stand.front_mm) / 2)[:2].tolist()
        lines = [f"toe {placement.toe_deg:.3g}°: front {stand.toe_mm:.1f} mm nearer", f"cant {placement.cant_deg:.3g}°"]
        found.append((Block(texts=tuple(lines), caps_mm=CAPS_MM), (middle[0], middle[1])))
    return found


def _words(name: str, end: Array) -> list[tuple[Block, tuple[float, float]]]:
    x, y = end.tolist()
    use = (name, "board bottom up", "this side up: starboard", "turn over for port")
    plain = ((STRAIGHT, (x / 2, 0.0)), ("tail", (0.0, 0.0)), ("forward", (x, 0.0)))
    return [
        (Block(texts=use, caps_mm=CAPS_MM), (0.5 * x, 0.42 * y)),
        *((Block(texts=(text,), caps_mm=CAPS_MM), near) for text, near in plain),
    ]


def _free(
    size_mm: tuple[float, float], near: tuple[float, float], taken: list[Box], part: HalfPlan
) -> tuple[float, float]:
    """Return the lower left corner nearest to a place where a text is free on the part, or else beyond its edge."""
    x = np.arange(float(part.edge[0, 0]), part.nose_mm, _STEP_MM)
    y = np.arange(_STEP_MM / 2, part.widest_mm, _STEP_MM)
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    away = np.hypot(*(grid + np.array(size_mm) / 2 - near).T)
    place = free_place(size_mm, grid[np.argsort(away, kind="stable")], taken, part.holds)
    if place is not None:
        return place
    # Above all that is taken there is always room.
    top = max([part.widest_mm, *(box[3] for box in taken)])
    return near[0], top + _STEP_MM
