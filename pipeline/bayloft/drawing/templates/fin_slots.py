"""Routing templates for the slots of fins' tabs: one plate for each, with the hole that a guide bush follows."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from bayloft.drawing.inscription import lettered
from bayloft.drawing.marks import AWL_MM, awl_hole, check_line, line, texts
from bayloft.drawing.scribing import Head
from bayloft.drawing.sheet import CENTRE, CUT, SCRIBE, Drawing, Label
from bayloft.drawing.title_block import dated
from bayloft.plane.contour import Contour
from bayloft.plane.shapes import rounded_rectangle
from bayloft.solid.standing import Stand
from bayloft.spec.boards.board import Board, Slot
from bayloft.spec.fins.fin import Tab
from bayloft.units import both

RIM_MM = 35.0
"""Least width of plate round the hole: the router's base rests on it."""

BETWEEN_MM = 12.0
CLEAR_OF_HOLE_MM = 4.0
TICK_MM = 14.0
"""Length of the ticks over the base's ends (no source)."""

SMALL_CAPS_MM = 3.0

LEAST_LEAN_DEG = 0.05
"""Below it a plate needs no shim: a thickness of paper under its edge."""


def slot_outline(slot: Slot) -> Contour:
    """Return the slot as the bit leaves it, about the origin: its corners have the bit's radius."""
    return rounded_rectangle(slot.length_mm, slot.width_mm, slot.bit_mm / 2)


def bush_hole(slot: Slot) -> Contour:
    """Return the template's hole, about the origin: the slot less the bit's radius, plus the bush's, on every side."""
    wider = slot.bush_mm - slot.bit_mm
    return rounded_rectangle(slot.length_mm + wider, slot.width_mm + wider, slot.bush_mm / 2)


def tab_middle(stand: Stand, tab: Tab) -> tuple[float, float]:
    """Return where the middle of a tab stands: x ahead of the rear end of the base, y towards the outer face. It is as
    thick as the base: half-way between its faces, or on the inside plane from which a flat or hollow foil is ground.
    """
    fin = stand.placement.fin
    if fin.section is None and fin.foil != "double":
        across = fin.thickness_mm / 2
    else:
        across = float(stand.outer_face[:, 1].max() + stand.inner_face[:, 1].min()) / 2
    return tab.from_rear_mm + tab.length_mm / 2, across


def fin_slots(board: Board, stands: Sequence[Stand], day: date | None = None) -> Drawing | None:
    """Return the routing templates of a board at full size, one under the other; None where no fin has a tab.

    Each lies with x along the base, forward to the right, and y towards the outer face: on the bottom that is
    starboard, turned over port. CUT: the plate, the hole for the guide bush, holes for an awl over the base's ends.
    SCRIBE: base line and its ends, and what it is; CENTRE: the slot itself. Like slots of one fin at one cant have one
    plate.
    """
    plates: dict[tuple[Slot, str, float, int], list[Stand]] = {}
    for stand in stands:
        placement = stand.placement
        if placement.slot is not None:
            alike = (placement.slot, placement.fin.slug, placement.cant_deg, len(stand.sides))
            plates.setdefault(alike, []).append(stand)
    if not plates:
        return None
    drawing, top = Drawing(name=f"{board.slug}-fin-slots"), 0.0
    for (slot, *_), group in plates.items():
        plate = _plate(board.name, slot, group, day)
        _, low, _, high = plate.bounds
        drawing = drawing.joined(plate.moved(0.0, top - high))
        top -= high - low + BETWEEN_MM
    return drawing.joined(check_line(0.0, top - 4.0))


def _plate(name: str, slot: Slot, stands: Sequence[Stand], day: date | None) -> Drawing:
    fin, pair = stands[0].placement.fin, len(stands[0].sides) > 1
    tab = fin.tab or Tab(length_mm=slot.length_mm, height_mm=slot.depth_mm, from_rear_mm=0.0)
    x, y = tab_middle(stands[0], tab)
    hole = bush_hole(slot).moved(x, y)
    left, low, right, high = hole.bounds
    lines = [dated(f"{name}: slot of {fin.name} ({_fins(stands)})", day), *_lines(slot, stands, pair)]
    left, right = min(left - RIM_MM, -10.0), max(right + RIM_MM, fin.base_mm + 10.0)
    labels = texts(lines, left + 4.0, low - RIM_MM, right - left - 8.0, SMALL_CAPS_MM)
    bottom, top = labels[-1].y_mm - 4.0, high + RIM_MM
    plate = Contour.straight([[left, bottom], [right, bottom], [right, top], [left, top]], closed=True)
    contours = [(CUT, plate), (CUT, hole), (CENTRE, slot_outline(slot).moved(x, y))]
    inner = hole.bounds
    for a, b in ((left, inner[0]), (inner[2], right)):
        contours.append(line(SCRIBE, (a, 0.0), (b, 0.0)))
    for end in (0.0, fin.base_mm):
        beside = not inner[0] - CLEAR_OF_HOLE_MM < end < inner[2] + CLEAR_OF_HOLE_MM
        contours += [awl_hole(end, 0.0)] if beside else []
        for a, b in ((-TICK_MM - AWL_MM, -AWL_MM), (top - TICK_MM, top)):
            contours.append(line(SCRIBE, (end, a), (end, b)))
    over = high + RIM_MM - 5.0
    labels.append(Label(text="rear end", x_mm=2.0, y_mm=over, height_mm=SMALL_CAPS_MM))
    labels.append(Label(text="front end", x_mm=fin.base_mm - 2.0, y_mm=over, height_mm=SMALL_CAPS_MM, anchor="end"))
    if pair:
        side = Label(text="towards the rail", x_mm=x, y_mm=high + 8.0, height_mm=SMALL_CAPS_MM, anchor="middle")
        labels.append(side)
    head = Head(kind=f"{fin.name} slot", station=_fins(stands), board=name, day=day, nose=True)
    return lettered(Drawing(name="slot", contours=tuple(contours), labels=tuple(labels)), head, (x, high + RIM_MM / 2))


def _fins(stands: Sequence[Stand]) -> str:
    """Return which of the board's fins a plate is for."""
    return f"fin {' and '.join(str(stand.number) for stand in stands)}"


def _lines(slot: Slot, stands: Sequence[Stand], pair: bool) -> list[str]:
    # The plate lies on the bottom, which leans itself: only from there is the shim measured.
    lean_deg = -stands[0].bevel_deg
    side = "stringer" if lean_deg > 0.0 else "rail"
    shim = f"shim its {side} side up: {abs(lean_deg):.1f}° to the bottom that it lies on"
    lean = [f"{shim}, {stands[0].placement.cant_deg:g}° to the flat"] if abs(lean_deg) >= LEAST_LEAN_DEG else []
    larger = (slot.bush_mm - slot.bit_mm) / 2
    return [
        "this side up: starboard; turn over for port" if pair else "this side up, on the stringer",
        "forward to the right, awl holes on the base's ends",
        # In inches the width would be rounded to that of a bit which is not meant.
        f"slot {both(slot.length_mm)} x {slot.width_mm:.1f} mm",
        f"{both(slot.depth_mm)} deep, {slot.clearance_mm:.1f} mm clear of the tab all round",
        f"bit {slot.bit_mm:g} mm, guide bush {slot.bush_mm:g} mm: the hole is {larger:g} mm larger all round",
        f"round the tab's corners to {slot.bit_mm / 2:g} mm, or square those of the slot",
        *lean,
        "clamp it, wear eye protection, try it on scrap first",
    ]
