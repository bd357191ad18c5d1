"""The sheet that goes with a board's solids to a machine-shaping service: what they are, where their axes lie, what is
left on, and room to write who is to be called.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from bayloft.drawing.curves.board_curves import plan_outline, side_view
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.axes import axes
from bayloft.drawing.sheets.card import (
    BLUE_BOX,
    BOARD_LINE,
    FINE_LINE,
    GREY,
    LABEL_MM,
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
from bayloft.drawing.templates.plug_marks import plug_outline
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.solid.holding import Held
from bayloft.tape import along
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import litres

CAUTION = "Check units, axes and sizes on your own screen before foam is cut: nothing here knows your machine."
FACTS_MM, FACT_CAPS_MM, ROW_MM, BOX_MM = 48.0, 2.9, 5.0, 7.0
WRITTEN = ("board wanted by, day", "maker, telephone", "call before cutting", "remarks")


@dataclass(frozen=True, slots=True, kw_only=True)
class MachinedFigures:
    """What the sheet tells of the solids: volumes in mm3, finished and of the solid to cut, with the allowance
    in words; the meshes' chord tolerance and the STEP file's uncertainty, mm; how it is held; further lines: a name and
    a text each.
    """

    volume_mm3: float
    allowance: str
    cut_mm3: float | None
    tolerance_mm: float
    gap_mm: float
    held: Held | None = None
    more: Sequence[tuple[str, str]] = ()


def machine_sheet(draft: Draft, told: MachinedFigures, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the sheet, one page, or two where there is much to tell."""
    board = draft.board
    heading = CardHeading(
        board=board.name,
        card="for the machine",
        said="Closed solids in millimetres, of the shaped board before glass.",
        caution=CAUTION,
        basis="All files are in mm.",
        day=day,
        digest=digest,
    )
    wide, top = width_mm(heading), top_mm(heading)
    views, y = _views(draft, told.held, wide, top - 8.0)
    first = y - 6.0
    least = LOW_MM + len(WRITTEN) * (BOX_MM + 2.0) + 2.0
    rows, y = [], first
    for fact in _facts(draft, told):
        labels, y = _row(fact, wide, y)
        rows.append(labels)
    pages: list[list[Drawing]] = [[views]]
    if y < least:
        # What does not fit goes over to a page of its own, with the lines to fill in.
        kept = [labels for labels in rows if labels[-1].y_mm >= LOW_MM + 2.0 and labels is not rows[-1]]
        pages[0].append(_told(kept))
        pages.append([])
        by = top - 8.0 - max(label.y_mm for label in rows[len(kept)]) - FACT_CAPS_MM
        rows = [[replace(label, y_mm=label.y_mm + by) for label in labels] for labels in rows[len(kept) :]]
    pages[-1] += [_told(rows), _boxes(wide)]
    return cards(heading, pages)


def _row(fact: tuple[str, str], wide: float, y: float) -> tuple[list[Label], float]:
    """Return a name and a text beside it, hanging from a height, and the height of the next."""
    name, value = fact
    named = lines(name, 0.0, y - FACT_CAPS_MM, FACTS_MM - 4.0, LABEL_MM, GREY)
    own = lines(value, FACTS_MM, y - FACT_CAPS_MM, wide - FACTS_MM, FACT_CAPS_MM)
    longest = [*named, *own] if len(own) >= len(named) else [*own, *named]
    return longest, longest[-1].y_mm - (ROW_MM - FACT_CAPS_MM)


def _told(rows: Sequence[Sequence[Label]]) -> Drawing:
    return Drawing(name="facts", labels=tuple(label for labels in rows for label in labels))


def _boxes(wide: float) -> Drawing:
    """Return what is filled in by hand, at the foot of the page."""
    labels: list[Label] = []
    contours: list[Line] = []
    for n, name in enumerate(reversed(WRITTEN)):
        low = LOW_MM + n * (BOX_MM + 2.0)
        labels.append(text(name, 0.0, low + (BOX_MM - LABEL_MM) / 2.0, LABEL_MM, GREY))
        contours.append(box(BLUE_BOX, FACTS_MM, low, wide, low + BOX_MM))
    return Drawing(name="boxes", contours=tuple(contours), labels=tuple(labels))


def _facts(draft: Draft, told: MachinedFigures) -> list[tuple[str, str]]:
    board = draft.board

    def both_units(mm: float) -> str:
        return f"{mm:.1f} mm" if board.metric else f"{mm:.1f} mm ({along(mm, metric=False)})"

    sizes = (board.length_mm, board.wide_point.value, board.thickest.value)
    facts = [
        ("size", " × ".join(map(both_units, sizes))),
        ("volume, finished", f"{litres(told.volume_mm3):.3f} litres"),
        ("left on", told.allowance),
    ]
    if told.cut_mm3 is not None:
        facts.append(("volume to cut", f"{litres(told.cut_mm3):.3f} litres, with all that is on it and off it"))
    turned = ("bottom-up files", "turned about x (y, z change signs), then lifted onto z = 0")
    return [
        *facts,
        ("axes", "x from the tail end to the nose, y from the stringer to port (left), z up"),
        ("origin", "tail end, stringer's middle, on the plane that touches the bottom at its lowest"),
        *([turned] if told.cut_mm3 is not None else []),
        (
            "how true",
            f"facets within {told.tolerance_mm:g} mm; STEP the surface itself, edges within {_small(told.gap_mm)} mm",
        ),
        *told.more,
    ]


def _small(mm: float) -> str:
    """Return a small length in mm, rounded up to a power of ten."""
    return next(f"{size:.6f}".rstrip("0") for size in (1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.1, 1.0) if mm <= size)


def _views(draft: Draft, how: Held | None, wide: float, top: float) -> tuple[Drawing, float]:
    """Return plan and profile with their axes, hanging from a height, and the height below which all is free."""
    board, body = draft.board, draft.body
    beyond = 0.0 if how is None else how.holding.waste_mm
    scale = (board.length_mm + 2.0 * beyond) / (wide - 8.0)
    half = plan_outline(draft.lines, body, ARC_FIT_MM).scaled(1.0 / scale)
    ends = -beyond / scale, (board.length_mm + beyond) / scale
    plan: list[Line] = [
        (BOARD_LINE, half),
        (BOARD_LINE, half.mirrored()),
        straight(MIDDLE_LINE, (ends[0], 0.0), (ends[1], 0.0)),
    ]
    for plug in board.plugs:
        port = plug_outline(plug).scaled(1.0 / scale)
        plan += [(FINE_LINE, port if side == "port" else port.mirrored()) for side in plug.sides]
        plan += [(FINE_LINE, port)] if plug.sides == ("centre",) else []
    side = side_view(draft.lines, body).scaled(1.0 / scale)
    profile: list[Line] = [(BOARD_LINE, side), straight(FINE_LINE, (ends[0], 0.0), (ends[1], 0.0))]
    if how is not None:
        over, aside = _tabs(how, scale)
        plan += over
        profile += aside
    drawn = Drawing(name="views")
    y = top
    for contours, names in ((plan, ("x", "y")), (profile, ("x", "z"))):
        view = Drawing(name="view", contours=tuple(contours)).joined(axes(*names))
        _, low, _, high = view.bounds
        drawn = drawn.joined(view.moved(4.0 - ends[0], y - high))
        y -= high - low + 7.0
    caption = f"deck from above, and from starboard; 1:{scale:.1f}; the arrows stand at the origin of all files"
    drawn = drawn.joined(Drawing(name="caption", labels=(text(caption, 0.0, y, LABEL_MM, GREY),)))
    return drawn, y - LABEL_MM


def _tabs(how: Held, scale: float) -> tuple[list[Line], list[Line]]:
    """Return the tabs from above, with their dowel holes, and from the side."""
    over: list[Line] = []
    aside: list[Line] = []
    for tab, x in zip(how.tabs, how.dowels_mm, strict=True):
        half = tab.half_width_mm
        for lines_of, low, high in ((over, -half, half), (aside, tab.low_mm, tab.high_mm)):
            lines_of.append(box(FINE_LINE, tab.from_mm, low, tab.to_mm, high, scale))
        over.append((FINE_LINE, Contour.circle((x / scale, 0.0), how.holding.dowel_mm / 2.0 / scale)))
    return over, aside
