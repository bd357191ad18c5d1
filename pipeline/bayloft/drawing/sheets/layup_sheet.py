"""The layup sheet: one A4 page with a fin's panel, its plies session by session, weights and cautions."""

from __future__ import annotations

from datetime import date

import numpy as np

from bayloft.drawing.curves.thickness_lines import thickness_levels, thickness_lines
from bayloft.drawing.dimensions import horizontal, upright
from bayloft.drawing.labels import bounds, dotted, free_place, shortened, text_width_mm, wrapped
from bayloft.drawing.sheet import DIMENSION, FRAME, LETTERING, QUIET, THICKNESS, VISIBLE, Drawing, Label
from bayloft.drawing.sheets.layup_tables import SMALL_MM, ladder, panel_table, text, weight_table
from bayloft.drawing.templates.fin_template import fin_outline
from bayloft.laminating.layup import FinLayup
from bayloft.plane.contour import Contour
from bayloft.solid.draft import FinDraft
from bayloft.spec.fins.fin import Fin
from bayloft.units import both

PAGE_MM = (210.0, 297.0)
MARGIN_MM = 12.0
WIDE_MM, HIGH_MM = PAGE_MM[0] - 2 * MARGIN_MM, PAGE_MM[1] - 2 * MARGIN_MM
GAP_MM = 8.0

NAME_CAPS_MM = 6.0
TABLE_MM = 62.0
"""Width of the column of tables at the right."""

VIEW_MM = (WIDE_MM - TABLE_MM - GAP_MM, 131.0)
"""Room for the panel with its dimensions."""

AROUND_MM = (12.0, 16.0)
"""Of it, what the upright dimension at the right and the level one below with the caption above take."""

SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0, 8.0, 10.0, 15.0)
"""Round scales; the least of which brings the longest panel a spec admits onto the page."""

CAUTIONS = (
    "Resin heats as it cures, the more the thicker it lies; pooled in a pot it can smoke and burn. Mix for one session "
    "only, spread it at once, and let the panel cool before the next.",
    "Vapour, skin, eyes: fresh air, a fitting respirator, gloves, eye protection. Peroxide catalyst blinds: keep it "
    "from eyes, from heat and from accelerator.",
    "Grinding glass: breathing and eye protection, covered skin, dust drawn off; clamp the work.",
    "The data sheets of resin, catalyst and cloth come before this sheet. Weights are of geometry and given densities, "
    "without voids; resin is what stays in the panel: brush and pot keep more. Strength and fitness are for a skilled "
    "maker to judge.",
)


def layup_sheet(
    draft: FinDraft, laid: FinLayup, *, count: int = 1, mirrored: int = 0, day: date | None = None
) -> Drawing:
    """Return the sheet of a fin's layup, A4 upright: the panel with the fin in place and lines of equal thickness to
    check it by, plies and materials, the sessions as a ladder from the first ply up, weights, cautions; and how many
    fins are made, `mirrored` of them turned over; the day, if given.
    """
    fin = draft.fin
    low = HIGH_MM - 17.0
    table = panel_table(fin, laid, TABLE_MM)
    weights = weight_table(fin, laid, TABLE_MM)
    view = panel_view(draft, laid)
    cautions, foot = _cautions()
    mid = low - GAP_MM / 2 - VIEW_MM[1]
    steps = ladder(laid, (VIEW_MM[0], mid - GAP_MM - foot))
    sheet = Drawing(name=f"{fin.slug}-layup", page_mm=PAGE_MM).joined(
        _head(fin, laid, count, mirrored, day).moved(0.0, low),
        view.moved(0.0, mid),
        table.drawing.moved(WIDE_MM - TABLE_MM, low - GAP_MM / 2 - table.height_mm),
        steps.moved(0.0, foot + GAP_MM),
        weights.drawing.moved(WIDE_MM - TABLE_MM, mid - weights.height_mm),
        cautions,
    )
    return sheet.moved(MARGIN_MM, MARGIN_MM)


def _head(fin: Fin, laid: FinLayup, count: int, mirrored: int, day: date | None) -> Drawing:
    """Return the sheet's head over y = 0: name, what it is, and a strong line."""
    plies = laid.panel.plies
    made = f"{plies // 2} plies on each face of a core" if fin.core else f"{plies} plies"
    several = f" (make {count}, {mirrored} turned over)" if mirrored else f" (make {count})" if count > 1 else ""
    thick = f"{fin.thickness_mm:.1f} mm at the base"
    kind = f"layup of one fin{several}: {made}, {thick}, {laid.finished_g:.0f} g"
    said = "" if day is None else day.isoformat()
    room = WIDE_MM - (text_width_mm(said, 2.5) + 4.0 if said else 0.0)
    name = shortened(fin.name, NAME_CAPS_MM, room, bold=True)
    labels = (
        text(name, 0.0, 8.5, NAME_CAPS_MM, bold=True),
        text(shortened(kind, 2.5, WIDE_MM), 0.0, 3.0, 2.5, QUIET),
        *([text(said, room + 4.0, 8.5, 2.5, QUIET)] if said else []),
    )
    line = FRAME, Contour.straight([[0.0, 0.0], [WIDE_MM, 0.0]], closed=False)
    return Drawing(name="head", contours=(line,), labels=labels)


def panel_view(draft: FinDraft, laid: FinLayup) -> Drawing:
    """Return the panel with the fin in place in a rectangle of VIEW_MM from (0, 0), at the largest round scale."""
    fin, panel = draft.fin, laid.panel
    room = [whole - around for whole, around in zip(VIEW_MM, AROUND_MM, strict=True)]
    fitting = [s for s in SCALES if all(size / s <= free for size, free in zip(panel.size_mm, room, strict=True))]
    scale = fitting[0] if fitting else SCALES[-1]
    wide, high = (size / scale for size in panel.size_mm)

    def placed(contour: Contour) -> Contour:
        return contour.moved(-panel.corner_mm[0], -panel.corner_mm[1]).scaled(1.0 / scale)

    edge = Contour.straight([[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]], closed=True)
    outline = placed(fin_outline(draft))
    curves = thickness_lines(draft.body, thickness_levels(fin))
    levels = [(f"{curve.level_mm:g}", [placed(line) for line in curve.contours]) for curve in curves]
    base = placed(Contour.straight([[0.0, 0.0], [fin.base_mm, 0.0]], closed=False))
    drawn = [(THICKNESS, line) for _, lines in levels for line in lines]
    part = Drawing(
        name="panel",
        contours=(*drawn, (DIMENSION, base), (VISIBLE, edge), (VISIBLE, outline)),
        labels=tuple(_level_labels(levels, [edge, outline, base])),
    )
    level = horizontal((0.0, wide), -7.0, both(panel.size_mm[0]), from_y_mm=(0.0, 0.0))
    rising = upright(wide + 7.0, (0.0, high), from_x_mm=(wide, wide))
    size = Label(
        text=both(panel.size_mm[1]), x_mm=wide + 6.0, y_mm=high / 2, height_mm=2.2, turn_deg=90.0, anchor="middle",
        layer=LETTERING,
    )  # fmt: skip
    part = part.joined(level, rising, Drawing(name="size", labels=(size,)))
    top = VIEW_MM[1] - 5.0
    words = f"the fin in its panel, 1:{scale:g}; lines of equal thickness, numbered in mm"
    caption = Drawing(name="caption", labels=(text(words, 0.0, top + 2.2, SMALL_MM, QUIET),))
    return part.moved(0.0, top - high).joined(caption)


def _level_labels(levels: list[tuple[str, list[Contour]]], others: list[Contour]) -> list[Label]:
    """Return a number for each thickness line, where no line crosses it."""
    spare, dots = 0.5, np.concatenate([dotted(line, 0.7) for line in [*others, *(c for _, cs in levels for c in cs)]])
    taken = [(x - spare, y - spare, x + spare, y + spare) for x, y in dots.tolist()]
    labels: list[Label] = []
    for number, lines in levels:
        if not lines:
            continue
        along = np.concatenate([dotted(line, 0.7) for line in lines])
        from_top = np.hypot(*(along - along[np.argmax(along[:, 1])]).T).argsort(kind="stable")
        size = text_width_mm(number, SMALL_MM), 1.35 * SMALL_MM
        beside = np.array([[0.0, 1.0], [0.0, -1.0], [-1.0, 0.0], [1.0, 0.0]]) * (0.7 * SMALL_MM + spare + 0.2)
        places = (along[from_top[::2], None] + beside).reshape(-1, 2) - np.array(size) / 2
        place = free_place(size, places, taken, lambda boxes: np.ones(len(boxes), dtype=np.bool_))
        if place is not None:
            labels.append(text(number, place[0], place[1] + 0.35 * SMALL_MM, SMALL_MM, QUIET))
            taken.append(bounds(labels[-1]))
    return labels


def _cautions() -> tuple[Drawing, float]:
    """Return the cautions in two columns over y = 0 under a line, and how high they are."""
    column, pitch = (WIDE_MM - GAP_MM) / 2, 2.95
    blocks = [wrapped(caution, SMALL_MM, column) for caution in CAUTIONS]
    columns = [[*blocks[0], "", *blocks[1]], [*blocks[2], "", *blocks[3]]]
    high = pitch * max(len(lines) for lines in columns)
    labels = [
        text(line, i * (column + GAP_MM), high - pitch * (j + 1) + 0.8, SMALL_MM)
        for i, lines in enumerate(columns)
        for j, line in enumerate(lines)
        if line
    ]
    line = Contour.straight([[0.0, high + 2.0], [WIDE_MM, high + 2.0]], closed=False)
    return Drawing(name="cautions", contours=((VISIBLE, line),), labels=tuple(labels)), high + 2.0
