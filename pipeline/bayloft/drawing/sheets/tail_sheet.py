"""The tail sheet: a board's tail from below with every mark that carries its fins to it, on one landscape page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from bayloft.arithmetic import product
from bayloft.drawing.dimensions import horizontal, upright
from bayloft.drawing.labels import shortened, wrapped
from bayloft.drawing.marks import line
from bayloft.drawing.sheet import (
    CENTRE,
    FRAME,
    HIDDEN,
    LETTERING,
    QUIET,
    THIN,
    TINT,
    VISIBLE,
    Drawing,
    Label,
    Layer,
)
from bayloft.drawing.sheets.sheet_layout import SCALES
from bayloft.drawing.templates.fin_marks import reach_mm, tail_outline
from bayloft.drawing.templates.fin_slots import slot_outline, tab_middle
from bayloft.drawing.title_block import SheetPanel, dated, table
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.standing import Stand
from bayloft.units import feet_inches

PAGES_MM = ((297.0, 210.0), (420.0, 297.0))
"""A4 and A3, landscape: the smaller one unless the tail would come out below 1 : LARGEST_ON_A4."""

LARGEST_ON_A4 = 4.0
MARGIN_MM, PAD_MM = 10.0, 5.0
ROW_MM = 6.0
CAPS_MM, SMALL_CAPS_MM = 2.2, 1.8
TABLE_COLUMNS = (0.0, 30.0, 47.0, 64.0, 81.0, 95.0)
CAPTION_MM = 9.0


def tail_sheet(draft: Draft, stands: Sequence[Stand], day: date | None = None) -> Drawing:
    """Return the sheet at a round scale: the tail in plan, both halves, forward to the right, its bottom up.

    Distances from the tail end along the stringer below it, off the stringer beside the fins; in the table both ends of
    every base, toe as an angle and over the base, cant, slot; and the day, if given. All distances are in plan, as a
    square and a straightedge tell them.
    """
    board, body = draft.board, draft.body
    to = reach_mm(board, stands)
    outline = tail_outline(draft, to)
    text = _texts(stands, _longer_mm(body, to))
    rows = 2 * len(stands)
    page, scale = PAGES_MM[-1], SCALES[-1]
    for page in PAGES_MM:
        room = page[0] - 2 * (MARGIN_MM + PAD_MM) - text.width_mm - 2 * PAD_MM
        high = page[1] - 2 * (MARGIN_MM + PAD_MM) - CAPTION_MM - ROW_MM * rows
        scale = next(each for each in SCALES if to <= room * each and 2 * outline.bounds[3] <= high * each)
        if scale <= LARGEST_ON_A4:
            break
    frame = Contour.straight(_box(MARGIN_MM, MARGIN_MM, page[0] - MARGIN_MM, page[1] - MARGIN_MM), closed=True)
    sheet = Drawing(name=f"{board.slug}-tail", contours=((FRAME, frame),), page_mm=page)
    middle = MARGIN_MM + PAD_MM + ROW_MM * rows + high / 2
    plan = _plan(outline, stands, scale, to).joined(*_dimensions(outline, stands, scale))
    scale_text = f"scale 1:{scale:g}, bottom up, forward to the right; marks at full size: templates/fin-marks"
    head = _head(dated(f"{board.name}: fins", day), scale_text, MARGIN_MM + PAD_MM, page[1] - MARGIN_MM - PAD_MM)
    right = page[0] - MARGIN_MM - PAD_MM - text.width_mm
    top = page[1] - MARGIN_MM - PAD_MM - text.height_mm
    return sheet.joined(plan.moved(MARGIN_MM + PAD_MM, middle), head, text.drawing.moved(right, top))


def _box(left: float, bottom: float, right: float, top: float) -> list[list[float]]:
    return [[left, bottom], [right, bottom], [right, top], [left, top]]


def _head(title: str, scale: str, x: float, y: float) -> Drawing:
    labels = (
        Label(text=title, x_mm=x, y_mm=y - 4.0, height_mm=4.0, layer=LETTERING, bold=True),
        Label(text=scale, x_mm=x, y_mm=y - 8.0, height_mm=SMALL_CAPS_MM, layer=QUIET),
    )
    return Drawing(name="head", labels=labels)


def base_outline(stand: Stand) -> Contour:
    """Return the outline of a port or single fin's base in plan, at full size."""
    edges = []
    for face, edge in ((stand.outer_face, stand.outer), (stand.inner_face, stand.inner)):
        own = np.column_stack([face, edge[:, 1]])
        edges.append((stand.rear_mm + product(own, stand.axes))[:, :2])
    return Contour.straight(np.concatenate([edges[0], edges[1][:0:-1]]), closed=True)


def _plan(outline: Contour, stands: Sequence[Stand], scale: float, to_mm: float) -> Drawing:
    """Return the tail with its stringer at y = 0 and the tail end at x = 0."""
    small = outline.scaled(1.0 / scale)
    # From the cut-off end round the tail to the other side.
    whole = Contour.joined(small.reversed(), small.mirrored(), closed=True)
    open_line = Contour.joined(small.reversed(), small.mirrored(), closed=False)
    contours: list[tuple[Layer, Contour]] = [(TINT, whole), (VISIBLE, open_line), _break(*small.points[-1].tolist())]
    tail = float(outline.points[0, 0]) / scale
    contours.append(line(CENTRE, (tail, 0.0), (to_mm / scale + 4.0, 0.0)))
    if tail > 0.0:
        contours.append(line(THIN, (0.0, 0.0), (tail, 0.0)))
    labels = []
    for stand in stands:
        base = base_outline(stand).scaled(1.0 / scale)
        bases = [base] if len(stand.sides) == 1 else [base, base.mirrored().reversed()]
        contours += [(VISIBLE, each) for each in bases]
        if stand.placement.slot is not None and stand.placement.fin.tab is not None:
            x, y = tab_middle(stand, stand.placement.fin.tab)
            turn = float(np.degrees(np.arctan2(*(stand.front_mm - stand.rear_mm)[1::-1])))
            slot = slot_outline(stand.placement.slot).moved(x, y).turned(turn)
            slot = slot.moved(*stand.rear_mm[:2].tolist()).scaled(1.0 / scale)
            contours += [
                (HIDDEN, each) for each in ([slot] if len(stand.sides) == 1 else [slot, slot.mirrored().reversed()])
            ]
        left, _, right, top = base.bounds
        labels.append(_number(stand.number, (left + right) / 2, top + 1.2))
        if len(stand.sides) > 1:
            labels.append(_number(stand.number, (left + right) / 2, -top - 1.2 - CAPS_MM))
    right, edge = (small.points[-1] - [2.0, 6.0]).tolist()
    # Seen with the bottom up and forward to the right, port is the nearer side.
    for text, y in (("starboard", edge), ("port", -edge - SMALL_CAPS_MM)):
        labels.append(Label(text=text, x_mm=right, y_mm=y, height_mm=SMALL_CAPS_MM, anchor="end", layer=QUIET))
    return Drawing(name="plan", contours=tuple(contours), labels=tuple(labels))


def _break(x: float, y: float) -> tuple[Layer, Contour]:
    """Return the line at which the drawing leaves the board off, with a kink at the stringer."""
    return line(THIN, (x, y + 2.0), (x, 2.5), (x + 1.5, 0.8), (x - 1.5, -0.8), (x, -2.5), (x, -y - 2.0))


def _number(n: int, x: float, y: float) -> Label:
    return Label(text=str(n), x_mm=x, y_mm=y, height_mm=CAPS_MM, anchor="middle", layer=LETTERING, bold=True)


def _dimensions(outline: Contour, stands: Sequence[Stand], scale: float) -> list[Drawing]:
    """Return the distances from the tail end in rows below the plan, the shortest first, and those off the stringer."""
    found = []
    low = -outline.bounds[3] / scale
    ends = sorted(
        (float(end[0]), -float(end[1]) if len(stand.sides) > 1 else 0.0, f"{stand.number} {name}")
        for stand in stands
        for name, end in (("rear", stand.rear_mm), ("front", stand.front_mm))
    )
    tail_y = float(outline.points[int(np.argmin(outline.points[:, 0])), 1]) / scale
    for i, (x, y, name) in enumerate(ends):
        row = low - ROW_MM * (i + 1) + 1.5
        text = f"{name}  {feet_inches(x)} ({x:.1f})"
        found.append(horizontal((0.0, x / scale), row, text, from_y_mm=(-tail_y, y / scale)))
    for stand in stands:
        if len(stand.sides) == 1:
            continue
        for end, side in ((stand.rear_mm, -1.0), (stand.front_mm, 1.0)):
            x, y = (end[:2] / scale).tolist()
            at = x + side * 5.0
            found.append(upright(at, (0.0, y), from_x_mm=(at, x)))
            text = f"{feet_inches(end[1])} ({end[1]:.1f})"
            anchor_x = at - 1.2
            label = Label(text=text, x_mm=anchor_x, y_mm=0.25 * y, height_mm=CAPS_MM, turn_deg=90.0, layer=LETTERING)
            found.append(Drawing(name="off", labels=(label,)))
    return found


def _texts(stands: Sequence[Stand], longer_mm: float) -> SheetPanel:
    """Return the table of the marks and the notes under it, hanging from the top."""
    rows = []
    for stand in stands:
        placement, pair = stand.placement, len(stand.sides) > 1
        for name, end in (("rear", stand.rear_mm), ("front", stand.front_mm)):
            off = (feet_inches(end[1]), f"{end[1]:.1f}") if pair else ("stringer", "")
            toe = (f"{placement.toe_deg:.3g}°", f"{stand.toe_mm:.1f} mm") if pair else ("-", "")
            cant = (f"{placement.cant_deg:.3g}°", "") if pair else ("-", "")
            fin = shortened(f"{stand.number}  {placement.fin.name}", CAPS_MM, 29.0)
            sizes = f"{name}, base {feet_inches(placement.fin.base_mm)}"
            rows.append(
                [
                    (fin, sizes),
                    (feet_inches(end[0]), f"{end[0]:.1f}"),
                    off,
                    toe if name == "rear" else ("", ""),
                    cant if name == "rear" else ("", ""),
                ]
            )
    panel = table("marks", ("fin, end of base", "from tail", "off stringer", "toe", "cant"), rows, TABLE_COLUMNS)
    width = TABLE_COLUMNS[-1]
    notes = [text for note in _notes(stands, longer_mm) for text in [*wrapped(note, SMALL_CAPS_MM, width), ""]]
    first = 3.0 * len(notes) - 2.0
    height = panel.height_mm + 6.0 + first
    labels = tuple(
        Label(text=text, x_mm=0.0, y_mm=first - 3.0 * i, height_mm=SMALL_CAPS_MM, layer=QUIET)
        for i, text in enumerate(notes)
        if text
    )
    drawing = panel.drawing.moved(0.0, height - panel.height_mm).joined(Drawing(name="notes", labels=labels))
    return SheetPanel(width_mm=width, height_mm=height, drawing=drawing)


def _notes(stands: Sequence[Stand], longer_mm: float) -> list[str]:
    """Return what a maker must know to measure these marks."""
    notes = [
        "Measure from the tail end along the middle of the stringer and square off it, in plan: hold tape and square "
        f"level. Laid along the bottom's curve a tape reads up to {longer_mm:.1f} mm more.",
    ]
    if any(len(stand.sides) > 1 for stand in stands):
        notes += [
            "Off the stringer is from its middle, not from its side: to the middle of a double foil's base, to the "
            "inside of a flat or hollow one, to the chord of a foil from a file.",
            "Toe: the front end nearer to the stringer. Cant: the tip's lean outward from the upright plane through "
            "the base, square to the board's flat plane.",
        ]
    seen = set()
    for stand in stands:
        placement = stand.placement
        slot = placement.slot
        if slot is None or (placement.fin.slug, slot) in seen:
            continue
        seen.add((placement.fin.slug, slot))
        notes.append(
            f"Slot of {placement.fin.name}: {slot.length_mm:.1f} x {slot.width_mm:.1f} mm, {slot.depth_mm:.1f} mm "
            f"deep; bit {slot.bit_mm:g} mm, guide bush {slot.bush_mm:g} mm, so the template's hole is "
            f"{(slot.bush_mm - slot.bit_mm) / 2:g} mm larger all round: templates/fin-slots."
        )
    return notes


def _longer_mm(body: Body, to_mm: float) -> float:
    """Return by how much the bottom at the stringer is longer than its plan from its tail end to a station."""
    points = body.port.grid(np.linspace(0.0, 1.0, 801), [0.0])[:, 0, [0, 2]]
    points = points[points[:, 0] <= to_mm]
    return float(np.hypot(*np.diff(points, axis=0).T).sum() - np.ptp(points[:, 0]))
