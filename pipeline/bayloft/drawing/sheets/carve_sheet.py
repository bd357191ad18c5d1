"""The sheet that stands beside a gantry while it carves a board: the block, how the board lies in it, zero, dowels, how
the block is turned over, the order of work, and what is finished by hand.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from bayloft.drawing.curves.board_curves import plan_outline, side_view
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.axes import axes
from bayloft.drawing.sheets.card import (
    BOARD_LINE,
    DASHED_LINE,
    EDGE_LINE,
    FINE_LINE,
    GREY,
    LABEL_MM,
    LINE_PITCH,
    LOW_MM,
    MIDDLE_LINE,
    CardHeading,
    Line,
    box,
    cards,
    lines,
    straight,
    text,
    top_mm,
    width_mm,
)
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.tolerances import ARC_FIT_MM

CAUTION = (
    "Foam dust: breathing mask; eye and ear protection, guards. Run each dry-run file first. "
    "The machine's manual and local codes come first."
)
FACTS_MM = 32.0
FACT_CAPS_MM = (2.9, 2.7, 2.5, 2.3, 2.1, 1.9)
"""Heights of capitals of facts and steps: the first with which all of them have room."""
BETWEEN = 0.75
"""Room between two of them, in capitals."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CarveFigures:
    """What the sheet shows of a set-up, in mm and in its axes: the block from and to along x, its width and thickness;
    height of the board's flat plane over the bed with the deck up; where the dowels stand along x, how wide they are,
    how deep their holes in the block; the tabs (x from and to, half-width, low and high over the bed, deck up); facts,
    a name and a text each; the order of work.
    """

    block: tuple[float, float]
    width_mm: float
    thickness_mm: float
    lift_mm: float
    dowels: tuple[float, float]
    dowel_mm: float
    hole_mm: float
    tabs: Sequence[tuple[float, float, float, float, float]]
    facts: Sequence[tuple[str, str]]
    steps: Sequence[str]


def carve_sheet(draft: Draft, told: CarveFigures, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the sheet, one page."""
    heading = CardHeading(
        board=draft.board.name,
        card="on the gantry",
        said="Two set-ups, turned over about the stringer.",
        caution=CAUTION,
        basis="All places and files are in mm.",
        day=day,
        digest=digest,
    )
    wide, top = width_mm(heading), top_mm(heading)
    views, y = _views(draft, told, wide, top - 5.0)
    told_all = next(
        (found for caps in FACT_CAPS_MM if (found := _told(told, y - 3.0, wide, caps))[-1].y_mm >= LOW_MM), None
    )
    labels = told_all or _told(told, y - 3.0, wide, FACT_CAPS_MM[-1])
    return cards(heading, [[views, Drawing(name="facts", labels=tuple(labels))]])


def _told(told: CarveFigures, y: float, wide: float, caps: float) -> list[Label]:
    """Return facts and steps in letters of a height, from a height down."""
    labels: list[Label] = []
    for name, value in told.facts:
        own = lines(value, FACTS_MM, y - caps, wide - FACTS_MM, caps)
        labels += [text(name, 0.0, y - caps, caps, GREY), *own]
        y = own[-1].y_mm - BETWEEN * caps
    y -= caps / 2.0
    for n, step in enumerate(told.steps, 1):
        own = lines(step, 6.0, y - caps, wide - 6.0, caps)
        labels += [text(f"{n}", 0.0, y - caps, caps, bold=True), *own]
        y = own[-1].y_mm - BETWEEN * caps
    return labels


def _views(draft: Draft, told: CarveFigures, wide: float, top: float) -> tuple[Drawing, float]:
    """Return the plan, and both set-ups from starboard, hanging from a height; and the height below which all is
    free.
    """
    start, end = told.block
    scale = (end - start) / (wide - 2.0)
    drawn = Drawing(name="views")
    y = top
    for title, view in (
        ("deck up, from above", _plan(draft, told, scale)),
        ("deck up, from starboard", _side(draft, told, scale, turned=False)),
        ("bottom up: turned over about the stringer, the nose where it was", _side(draft, told, scale, turned=True)),
    ):
        _, low, _, high = view.bounds
        drawn = drawn.joined(Drawing(name="title", labels=(text(title, 0.0, y - LABEL_MM, LABEL_MM, GREY),)))
        y -= LINE_PITCH * LABEL_MM + 1.0
        drawn = drawn.joined(view.moved(1.0 - start / scale, y - high))
        y -= high - low + 4.0
    note = text(
        f"1:{scale:.1f}; arrows stand at zero; tail on the left in all three", 0.0, y - LABEL_MM, LABEL_MM, GREY
    )
    return drawn.joined(Drawing(name="caption", labels=(note,))), y - 2.0 * LABEL_MM


def _plan(draft: Draft, told: CarveFigures, scale: float) -> Drawing:
    (start, end), half = told.block, told.width_mm / 2.0
    outline = plan_outline(draft.lines, draft.body, ARC_FIT_MM)
    from_dowel = _from_dowel(draft, told)
    contours: list[Line] = [
        box(EDGE_LINE, start, -half, end, half, scale),
        straight(MIDDLE_LINE, (start / scale, 0.0), (end / scale, 0.0)),
        *(box(DASHED_LINE, low, -wide, high, wide, scale) for low, high, wide, _, _ in told.tabs),
        *((BOARD_LINE, each.moved(from_dowel, 0.0).scaled(1.0 / scale)) for each in (outline, outline.mirrored())),
        *((FINE_LINE, Contour.circle((x / scale, 0.0), max(told.dowel_mm / 2.0 / scale, 0.6))) for x in told.dowels),
    ]
    return Drawing(name="plan", contours=tuple(contours)).joined(axes("x", "y"))


def _side(draft: Draft, told: CarveFigures, scale: float, *, turned: bool) -> Drawing:
    start, end = told.block
    thick = told.thickness_mm
    side = side_view(draft.lines, draft.body).moved(_from_dowel(draft, told), told.lift_mm)
    low, high = (0.0, told.hole_mm) if turned else (thick - told.hole_mm, thick)
    if turned:
        side = side.mirrored().moved(0.0, thick)
    contours: list[Line] = [
        box(EDGE_LINE, start, 0.0, end, thick, scale),
        (BOARD_LINE, side.scaled(1.0 / scale)),
        *(box(FINE_LINE, x - told.dowel_mm / 2.0, low, x + told.dowel_mm / 2.0, high, scale) for x in told.dowels),
    ]
    for a, b, _, z0, z1 in told.tabs:
        under, over = (thick - z1, thick - z0) if turned else (z0, z1)
        contours.append(box(DASHED_LINE, a, under, b, over, scale))
    return Drawing(name="side", contours=tuple(contours)).joined(axes("x", "z"))


def _from_dowel(draft: Draft, told: CarveFigures) -> float:
    """Return where the tail end lies along x."""
    return (told.dowels[1] - draft.board.length_mm) / 2.0
