"""The card of a panel from which several fins are sawn: how they lie on it, its cloth off the roll, its sessions."""

from __future__ import annotations

from datetime import date
from itertools import groupby

import numpy as np

from bayloft.drawing.dimensions import horizontal, upright
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BOARD_LINE,
    DASHED_LINE,
    EDGE_LINE,
    GREY,
    INK,
    LABEL_MM,
    LOW_MM,
    WORDS_MM,
    CardHeading,
    Line,
    cards,
    figures_in,
    sentences,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, heads_mm, row_mm, tables
from bayloft.drawing.templates.fin_template import fin_outline
from bayloft.drawing.templates.panel_template import base_ends_mm, face_up, middle_mm, shared_panels
from bayloft.laminating.set_panels import LaidFin, SetPanel
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.tape import coarse, figure, fine, stock

COLUMNS = (
    CardColumn(head="fin", kind="station"),
    CardColumn(head="rear\nalong"),
    CardColumn(head="\nup"),
    CardColumn(head="front\nalong"),
    CardColumn(head="\nup"),
    CardColumn(head="sawn", kind="tick"),
)
CAUTION = "Resin heats as it cures: data sheets first, one pot at a time. Vapour, glass dust: mask, gloves, eyes."
LEAST_PICTURE_MM, DIMENSION_MM, NOTE_GAP_MM = 55.0, 10.0, 2.4
"""Least height of the picture, room for the dimensions beside it, and between sentences."""


def panel_cards(draft: Draft, digest: str, day: date | None = None) -> list[Drawing]:
    """Return a card for each panel that several fins of a board are sawn from, a page each or more."""
    return [page for panel in shared_panels(draft) for page in _cards(draft, panel, digest, day)]


def _cards(draft: Draft, panel: SetPanel, digest: str, day: date | None) -> list[Drawing]:
    board, metric = draft.board, draft.board.metric
    heading = CardHeading(
        board=board.name,
        card="fin panel",
        said=f"{len(panel.fins)} fins, from the lower left corner of their panel.",
        caution=CAUTION,
        basis=figures_in(metric=metric),
        day=day,
        digest=digest,
    )
    rows = [_row(n, laid, metric=metric) for n, laid in enumerate(panel.fins, 1)]
    top, wide = top_mm(heading), width_mm(heading)
    told = _told(panel, metric=metric)
    _, end = sentences(told, 0.0, wide, NOTE_GAP_MM)
    table_high = heads_mm(COLUMNS) + row_mm(heading) * len(rows)
    room = top - LOW_MM + end - 8.0
    # Where there is no room for all on one page, the places go on the next.
    alone = room - table_high < LEAST_PICTURE_MM
    full = (wide - DIMENSION_MM) * panel.size_mm[1] / panel.size_mm[0] + DIMENSION_MM
    high = min(room - (0.0 if alone else table_high), full)
    picture = _picture(panel, (wide, high), metric=metric)
    low = top - 4.0 - high
    notes, foot = sentences(told, low - 2.0, wide, NOTE_GAP_MM)
    pages = [[picture.moved(0.0, low), notes]]
    if alone:
        pages += [[part.moved(0.0, top)] for part in tables(COLUMNS, rows, heading, top - LOW_MM)]
    else:
        pages[0] += [part.moved(0.0, foot) for part in tables(COLUMNS, rows, heading, table_high + 1.0)]
    return cards(heading, pages)


def _row(n: int, laid: LaidFin, *, metric: bool) -> CardRow:
    rear, front = base_ends_mm(laid)
    places = (figure(mm, metric=metric) for mm in (*rear, *front))
    return CardRow(cells=(f"{n}\n{face_up(laid)}", *places, ""))


def _told(panel: SetPanel, *, metric: bool) -> list[str]:
    """Return the sentences of a card: plies and cloth, sessions, what is saved, how the warp lies."""
    own, size = panel.panel, " x ".join(stock(mm, metric=metric) for mm in panel.size_mm)
    across = panel.side_by_side
    lying = f"{across} side by side" if across > 1 else "one after the other"
    if not across:
        lying = f"each of {panel.strips} strips, for it is wider than the bolt"
    core_mm = own.thickness_mm - own.plies * own.laminate.ply_mm
    core = f", on a core {fine(core_mm, metric=metric)} thick, foiled first" if own.skin_plies else ""
    cloth = (
        f"{own.plies} plies of {own.laminate.glass_g_m2:.0f} g/m² cloth, {size}{core}: "
        f"{stock(panel.roll_mm, metric=metric)} off a roll {coarse(panel.bolt_mm, metric=metric)} wide, {lying}."
    )
    runs = []
    for (face, plies), group in groupby(panel.sessions, key=lambda session: (session.face, session.plies)):
        alike = list(group)
        where = "" if face == "panel" else f" on the {face}"
        each = " each" if len(alike) > 1 else ""
        runs.append(f"{len(alike)} of {plies} plies{where} with {alike[0].resin_g:.0f} g of resin{each}")
    core_g = f", core {panel.core_g:.0f} g" if panel.core_g else ""
    masses = f"Cloth {panel.cloth_g:.0f} g, resin {panel.resin_g:.0f} g{core_g}: {panel.mass_g:.0f} g."
    saved = (
        f"{panel.fins_m2 / panel.area_m2:.0%} of it is fin; on panels of their own it would be "
        f"{panel.fins_m2 / panel.single_m2:.0%}, with {panel.saved_share * panel.cloth_g:.0f} g of cloth and "
        f"{panel.saved_share * panel.resin_g:.0f} g of resin more."
    )
    warp = panel.fins[0].piece.fin.fin.layup.warp
    way = {
        "base": "The roll runs from left to right, and its warp lies along every base.",
        "depth": "The roll runs from left to right, and its warp lies up every fin.",
        "any": "The roll and its warp run from left to right, at one angle to every base.",
        None: "The roll runs from left to right; its warp lies alike on all fins, along the base or square to it.",
    }[warp]
    numbers: dict[str, list[str]] = {}
    for n, laid in enumerate(panel.fins, 1):
        numbers.setdefault(laid.piece.fin.fin.name, []).append(f"{n}")
    names = "; ".join(f"{', '.join(own)} {name}" for name, own in numbers.items())
    return [f"{names}.", cloth, f"Sessions: {'; '.join(runs)}.", f"{masses} {saved}", way]


def _picture(panel: SetPanel, room: tuple[float, float], *, metric: bool) -> Drawing:
    """Return the panel in a rectangle of a size from (0, 0): outlines with numbers, margins, both sizes."""
    free = room[0] - DIMENSION_MM, room[1] - DIMENSION_MM
    scale = min(space / size for space, size in zip(free, panel.size_mm, strict=True))
    wide, high = (size * scale for size in panel.size_mm)
    corners = [[0.0, 0.0], [wide, 0.0], [wide, high], [0.0, high]]
    contours: list[Line] = [(BOARD_LINE, Contour.straight(corners, closed=True))]
    labels = []
    for n, laid in enumerate(panel.fins, 1):
        outline = laid.spot.laid(fin_outline(laid.piece.fin)).scaled(scale)
        rear, front = base_ends_mm(laid)
        base = Contour.straight(np.array([rear, front]) * scale, closed=False)
        contours += [(DASHED_LINE, base), (EDGE_LINE, outline)]
        x, y = (mm * scale for mm in middle_mm(laid))
        labels.append(_number(f"{n}", x, y))
    level = horizontal(
        (0.0, wide), -6.0, figure(panel.size_mm[0], metric=metric), from_y_mm=(0.0, 0.0), height_mm=LABEL_MM
    )
    rising = upright(wide + 6.0, (0.0, high), from_x_mm=(wide, wide))
    size = Label(
        text=figure(panel.size_mm[1], metric=metric),
        x_mm=wide + 5.0,
        y_mm=high / 2,
        height_mm=LABEL_MM,
        turn_deg=90.0,
        anchor="middle",
        layer=GREY,
    )
    drawn = Drawing(name="panel", contours=tuple(contours), labels=(*labels, size)).joined(level, rising)
    return drawn.moved((room[0] - DIMENSION_MM - wide) / 2, room[1] - high)


def _number(words: str, x: float, y: float) -> Label:
    return Label(text=words, x_mm=x, y_mm=y - WORDS_MM / 2, height_mm=WORDS_MM, layer=INK, bold=True, anchor="middle")
