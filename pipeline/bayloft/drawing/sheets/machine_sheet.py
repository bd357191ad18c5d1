"""The sheet that goes with a board's solids to a machine-shaping service: what they are, where their axes lie, what is
left on, and room to write who is to be called.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from bayloft.drawing.curves.board_curves import plan_outline, side_view
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BLUE_BOX,
    BLUE_LINE,
    BOARD_LINE,
    FINE_LINE,
    GREY,
    LABEL_MM,
    LINE_PITCH,
    LOW_MM,
    MIDDLE_LINE,
    CardHeading,
    Line,
    cards,
    lines,
    straight,
    text,
    top_mm,
    width_mm,
)
from bayloft.solid.draft import Draft
from bayloft.tape import along
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import litres

CAUTION = "Check units, axes and sizes on your own screen before foam is cut: nothing here knows your machine."
FACTS_MM, FACT_CAPS_MM, ROW_MM, ARROW_MM, BOX_MM = 50.0, 3.2, 6.2, 16.0, 8.0
WRITTEN = ("board wanted by, day", "maker, telephone", "to be called before cutting", "remarks")


@dataclass(frozen=True, slots=True, kw_only=True)
class MachinedFigures:
    """What the sheet tells of the solids: volumes in mm3, finished and with the allowance, which is in words; the
    meshes' chord tolerance and the STEP file's uncertainty, mm; further lines: a name and a text each.
    """

    volume_mm3: float
    allowance: str
    allowance_mm3: float | None
    tolerance_mm: float
    gap_mm: float
    more: Sequence[tuple[str, str]] = ()


def machine_sheet(draft: Draft, told: MachinedFigures, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the sheet, one page."""
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
    views, y = _views(draft, wide, top - 8.0)
    labels: list[Label] = []
    y -= 6.0
    for name, value in _facts(draft, told):
        own = lines(value, FACTS_MM, y - FACT_CAPS_MM, wide - FACTS_MM, FACT_CAPS_MM)
        labels.append(text(name, 0.0, y - FACT_CAPS_MM, LABEL_MM, GREY))
        labels += own
        y = own[-1].y_mm - (ROW_MM - FACT_CAPS_MM)
    contours: list[Line] = []
    for n, name in enumerate(reversed(WRITTEN)):
        low = LOW_MM + n * (BOX_MM + 2.0)
        labels.append(text(name, 0.0, low + (BOX_MM - LABEL_MM) / 2.0, LABEL_MM, GREY))
        corners = ((FACTS_MM, low), (wide, low), (wide, low + BOX_MM), (FACTS_MM, low + BOX_MM))
        contours.append(straight(BLUE_BOX, *corners, closed=True))
    return cards(heading, [[views, Drawing(name="facts", contours=tuple(contours), labels=tuple(labels))]])


def _facts(draft: Draft, told: MachinedFigures) -> list[tuple[str, str]]:
    board = draft.board

    def both_units(mm: float) -> str:
        return f"{mm:.1f} mm" if board.metric else f"{mm:.1f} mm ({along(mm, metric=False)})"

    sizes = (board.length_mm, board.wide_point.value, board.thickest.value)
    facts = [
        ("length × width × thickness", " × ".join(map(both_units, sizes))),
        ("volume, finished", f"{litres(told.volume_mm3):.3f} litres"),
        ("left on, to be sanded off", told.allowance),
    ]
    if told.allowance_mm3 is not None:
        facts.append(("volume with that", f"{litres(told.allowance_mm3):.3f} litres"))
    return [
        *facts,
        ("axes", "x from the tail end to the nose, y from the stringer to port (left), z up"),
        ("origin", "tail end, stringer's middle, on the flat plane that the board stands on at its lowest point"),
        ("bottom-up files", "turned about x: y and z change their signs; then lifted onto z = 0"),
        ("facets", f"within {told.tolerance_mm:g} mm of the surface"),
        ("STEP", f"the surface itself, nothing fitted; edges meet faces within {_small(told.gap_mm)} mm"),
        *told.more,
    ]


def _small(mm: float) -> str:
    """Return a small length in mm, rounded up to a power of ten."""
    return next(f"{size:.6f}".rstrip("0") for size in (1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.1, 1.0) if mm <= size)


def _views(draft: Draft, wide: float, top: float) -> tuple[Drawing, float]:
    """Return plan and profile with their axes, hanging from a height, and the height below which all is free."""
    board, body = draft.board, draft.body
    scale = board.length_mm / (wide - 8.0)
    half = plan_outline(draft.lines, body, ARC_FIT_MM).scaled(1.0 / scale)
    plan: list[Line] = [
        (BOARD_LINE, half),
        (BOARD_LINE, half.mirrored()),
        straight(MIDDLE_LINE, (0.0, 0.0), (wide - 8.0, 0.0)),
    ]
    side = side_view(draft.lines, body).scaled(1.0 / scale)
    profile: list[Line] = [(BOARD_LINE, side), straight(FINE_LINE, (0.0, 0.0), (wide - 8.0, 0.0))]
    drawn = Drawing(name="views")
    y = top
    for contours, names in ((plan, ("x", "y")), (profile, ("x", "z"))):
        view = Drawing(name="view", contours=(*contours, *_arrows()), labels=_named(names))
        _, low, _, high = view.bounds
        drawn = drawn.joined(view.moved(4.0, y - high))
        y -= high - low + 7.0
    caption = f"deck from above, and from starboard; 1:{scale:.1f}; the arrows stand at the origin of all files"
    drawn = drawn.joined(Drawing(name="caption", labels=(text(caption, 0.0, y, LABEL_MM, GREY),)))
    return drawn, y - LABEL_MM


def _arrows() -> list[Line]:
    """Return the two axes of a view at its origin."""
    found: list[Line] = []
    for x, y in ((ARROW_MM, 0.0), (0.0, ARROW_MM)):
        along_x = x > 0.0
        found.append(straight(BLUE_LINE, (0.0, 0.0), (x, y)))
        for aside in (-1.2, 1.2):
            back = (x - 3.0, y + aside) if along_x else (x + aside, y - 3.0)
            found.append(straight(BLUE_LINE, back, (x, y)))
    return found


def _named(names: tuple[str, str]) -> tuple[Label, ...]:
    first, second = names
    return (
        text(first, ARROW_MM + 1.0, -LINE_PITCH * LABEL_MM, LABEL_MM, bold=True),
        text(second, -3.4, ARROW_MM - LABEL_MM, LABEL_MM, bold=True),
    )
