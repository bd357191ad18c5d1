"""The plan of a board on its sheet: both halves, widths as flags, fins hidden under the board, length."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.curves.figures import Figures
from bayloft.drawing.dimensions import horizontal, upright
from bayloft.drawing.flags import DEPTH_MM, Flag, flagged
from bayloft.drawing.labels import Box, dotted, free_place, text_width_mm
from bayloft.drawing.sheet import CENTRE, FAINT, FOAM, HIDDEN, LETTERING, QUIET, THIN, Drawing, Label, Layer
from bayloft.drawing.templates.plug_marks import plug_outline
from bayloft.lines.foil import NATURAL_TRAILING_EDGE, half_thickness
from bayloft.plane.contour import Contour
from bayloft.solid.standing import FIRST_FIN
from bayloft.spec.boards.board import Placement
from bayloft.units import both

Array = NDArray[np.float64]

LENGTH_ROW_MM, OFFSET_ROW_MM, BELOW_MM, ABOVE_MM = 2.0, 7.6, 12.4, 2.0
"""Heights of the dimension lines of length and offset, room below the board, and between board and flags."""

ROOM_MM = BELOW_MM + ABOVE_MM + DEPTH_MM
CAPTION_CAPS_MM, NOTE_CAPS_MM, NUMBER_CAPS_MM = 2.5, 1.8, 2.2
FOIL_PLACES = 13
STRINGER_MM = 0.05
"""mm within which the outline is drawn in lines to see where a stringer's edges meet it."""

FAR_MM = 1e3
"""Beyond any place on the sheet."""


def plan_height_mm(shown: Figures, scale: float) -> float:
    """Return the height of the plan with its flags and dimensions on the sheet."""
    return ROOM_MM + shown.greatest_width_mm / scale


def caption(name: str, note: str, left_mm: float, top_mm: float) -> tuple[Drawing, float]:
    """Return a view's name over a note, its upper left corner at (left, top), and where its room ends to the right."""
    labels = (
        Label(
            text=name,
            x_mm=left_mm,
            y_mm=top_mm - CAPTION_CAPS_MM,
            height_mm=CAPTION_CAPS_MM,
            layer=LETTERING,
            bold=True,
        ),
        Label(text=note, x_mm=left_mm, y_mm=top_mm - CAPTION_CAPS_MM - 3.4, height_mm=NOTE_CAPS_MM, layer=QUIET),
    )
    widths = [text_width_mm(label.text, label.height_mm, bold=label.bold) for label in labels]
    return Drawing(name="caption", labels=labels), left_mm + max(widths)


def plan_view(shown: Figures, scale: float, between_mm: tuple[float, float]) -> Drawing:
    """Return the plan at 1 : `scale`, tail end at x = 0, nose to the right, its lowest line at y = 0.

    `between_mm` is the room to both sides, for flags and caption.
    """
    board, length = shown.board, shown.board.length_mm / scale
    top = plan_height_mm(shown, scale)
    middle = BELOW_MM + shown.greatest_width_mm / scale / 2
    half = shown.half_outline.scaled(1.0 / scale)
    outline = Contour.joined(half, half.mirrored().reversed(), closed=True).moved(0.0, middle)
    flags = [
        Flag(
            x_mm=station.x_mm / scale,
            tip_mm=middle + station.width_mm / scale / 2,
            where=station.where,
            value_mm=station.width_mm,
            rank=0 if station.x_mm == board.wide_point.x_mm else 1,
        )
        for station in shown.widths
        if station.width_mm is not None
    ]
    dimensions = [
        upright(flag.x_mm, (middle - flag.value_mm / scale / 2, middle + flag.value_mm / scale / 2)) for flag in flags
    ]
    flags += _block_flag(shown, scale, middle)
    name, after = caption("PLAN", "full widths", between_mm[0], top)
    row = flagged(flags, top - DEPTH_MM, between_mm=(after + 2.0, between_mm[1]), above=True)
    centre_line = Contour.straight([[-3.0, middle], [length + 3.0, middle]], closed=False)
    drawn = Drawing(name="plan", contours=((FOAM, outline), (CENTRE, centre_line)))
    fins = _fins(shown, scale, middle, [flag.x_mm for flag in flags]).joined(_plugs(shown, scale, middle))
    return drawn.joined(name, row, *dimensions, fins, _stringer(shown, scale, middle), *_lengths(shown, scale, middle))


def _plugs(shown: Figures, scale: float, middle: float) -> Drawing:
    """Return the outlines of plugs and boxes: those in the deck as seen from above, those in the bottom hidden."""
    contours: list[tuple[Layer, Contour]] = []
    for plug in shown.board.plugs:
        layer, port = THIN if plug.face == "deck" else HIDDEN, plug_outline(plug).scaled(1.0 / scale)
        starboard = port.mirrored().reversed()
        shapes = {"port": [port], "starboard": [starboard], "centre": [port, starboard]}
        contours += [(layer, each.moved(0.0, middle)) for side in plug.sides for each in shapes[side]]
    return Drawing(name="plugs", contours=tuple(contours))


def _stringer(shown: Figures, scale: float, middle: float) -> Drawing:
    """Return the edges of a new stringer, where the board has one, as far as the board is wider."""
    stringer = shown.board.stringer
    if stringer is None:
        return Drawing(name="stringer")
    half = stringer.thickness_mm / 2.0
    points = shown.half_outline.flattened(STRINGER_MM)
    x = points[points[:, 1] > half, 0] / scale
    edges = [[(float(end), middle + side * half / scale) for end in (x.min(), x.max())] for side in (-1.0, 1.0)]
    return Drawing(name="stringer", contours=tuple((THIN, Contour.straight(edge, closed=False)) for edge in edges))


def _block_flag(shown: Figures, scale: float, middle: float) -> list[Flag]:
    """Return the flag of a cut-off tail's block, measured as if its corners were sharp."""
    tail, wall = shown.board.tail, shown.lines.wall
    if wall is None:
        return []
    x = float(wall.base(tail.block_mm / 2)) / scale
    tip = middle + tail.block_mm / scale / 2
    return [Flag(x_mm=x, tip_mm=tip, where="block", value_mm=tail.block_mm)]


def _lengths(shown: Figures, scale: float, middle: float) -> list[Drawing]:
    """Return the overall length and, where there is any, the wide point's distance from the centre, as dimensions."""
    board, wall = shown.board, shown.lines.wall
    length, centre, wide = (x / scale for x in (board.length_mm, board.length_mm / 2, board.wide_point.x_mm))
    tail_y = 0.0 if wall is None or float(wall.base(0.0)) == 0.0 else wall.corner_y_mm / scale
    found = [
        horizontal((0.0, length), LENGTH_ROW_MM, both(board.length_mm), from_y_mm=(middle - tail_y, middle)),
    ]
    offset = board.wide_point.x_mm - board.length_mm / 2
    if abs(offset) >= 1.0:
        text = f"{both(abs(offset))} {'ahead of' if offset > 0 else 'behind'} centre"
        edge = middle - shown.greatest_width_mm / scale / 2
        ends = (min(centre, wide), max(centre, wide))
        found.append(horizontal(ends, OFFSET_ROW_MM, text, from_y_mm=(edge, edge)))
    half = [shown.half_outline.bounds[3] / scale * side for side in (-1.0, 1.0)]
    line = Contour.straight([[centre, middle + y] for y in half], closed=False)
    return [Drawing(name="centre", contours=((FAINT, line),)), *found]


def _fins(shown: Figures, scale: float, middle: float, lines_x_mm: list[float]) -> Drawing:
    """Return the fins' bases as hidden lines, each placement with its number beside the port one."""
    foils = [base_foil(fin).scaled(1.0 / scale) for fin in shown.board.fins]
    contours: list[tuple[Layer, Contour]] = []
    for fin, foil in zip(shown.board.fins, foils, strict=True):
        sides = (foil, foil.mirrored().reversed()) if fin.off_stringer_mm > 0.0 else (foil,)
        contours += [(HIDDEN, side.moved(0.0, middle)) for side in sides]
    edge = dotted(shown.half_outline.scaled(1.0 / scale), 0.4)

    def clear_of_edge(boxes: Array) -> NDArray[np.bool_]:
        near = (edge[:, 0] >= boxes[:, :1]) & (edge[:, 0] <= boxes[:, 2:3])
        bottom, top = boxes[:, 1:2] - middle, boxes[:, 3:] - middle
        crossed = near & (edge[:, 1] > bottom - 0.4) & (edge[:, 1] < top + 0.4)
        return np.asarray(~crossed.any(axis=1), dtype=np.bool_)

    labels: list[Label] = []
    taken: list[Box] = [(x - 0.6, -FAR_MM, x + 0.6, FAR_MM) for x in lines_x_mm] + [c.bounds for _, c in contours]
    for number, foil in enumerate(foils, FIRST_FIN):
        text = str(number)
        left, _, right, top = foil.bounds
        size = text_width_mm(text, NUMBER_CAPS_MM), 1.4 * NUMBER_CAPS_MM
        x = np.linspace(left, right - size[0], 9)[[4, 3, 5, 2, 6, 1, 7, 0, 8]]
        heights = middle + top + 0.6 + np.arange(20) * size[1] / 2
        places = np.column_stack([np.tile(x, len(heights)), np.repeat(heights, len(x))])
        spot = free_place(size, places, taken, clear_of_edge)
        if spot is not None:
            taken.append((spot[0] - 0.8, spot[1], spot[0] + size[0] + 0.8, spot[1] + size[1]))
            y = spot[1] + 0.4 * NUMBER_CAPS_MM
            labels.append(Label(text=text, x_mm=spot[0], y_mm=y, height_mm=NUMBER_CAPS_MM, layer=LETTERING))
    return Drawing(name="fins", contours=tuple(contours), labels=tuple(labels))


def base_foil(fin: Placement) -> Contour:
    """Return the outline of a fin's base in plan on the port side, at full size in mm."""
    spec = fin.fin
    chord = np.linspace(1.0, 0.0, FOIL_PLACES) ** 2
    half = half_thickness(chord, spec.thickness_mm, NATURAL_TRAILING_EDGE * spec.thickness_mm)
    x = spec.base_mm * (1.0 - chord)
    points = np.concatenate([np.column_stack([x, half]), np.column_stack([x, -half])[-2::-1]])
    base = Contour.straight(points, closed=True)
    return base.turned(-fin.toe_deg).moved(fin.from_tail_mm, fin.off_stringer_mm)
