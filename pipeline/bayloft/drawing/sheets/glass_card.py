"""The glass card: what is cut from the bolt, where laps end, resin by face and coat, in the order of work."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

from bayloft.drawing.curves.board_curves import plan_outline
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.card import (
    BOARD_LINE,
    DASHED_LINE,
    GREY,
    LABEL_MM,
    LOW_MM,
    MIDDLE_LINE,
    WORDS_MM,
    CardHeading,
    Line,
    board_station,
    card,
    figures_in,
    lines,
    sentences,
    straight,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, heads_mm, row_mm, tables
from bayloft.laminating.glassing import BoardGlass, GlassedFace, tape_line
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.spec.bench.glass import Spread
from bayloft.spec.fins.layup_rules import cloth_text
from bayloft.tape import figure, fine, stock
from bayloft.tolerances import ARC_FIT_MM

CAUTION = (
    "Resin: vapour mask, gloves, eyes, air. Hardener as its data sheet says: a thick pot heats up. Glass dust: mask."
)

PIECES = (
    CardColumn(head="in this order", kind="words"),
    CardColumn(head="long"),
    CardColumn(head="wide"),
    CardColumn(head="cut", kind="tick"),
)
RESIN = (
    CardColumn(head="", kind="words"),
    CardColumn(head="cloth\ng"),
    CardColumn(head="resin\ng"),
    CardColumn(head="least to most", kind="label"),
    CardColumn(head="hardener", kind="box"),
)
TAPED = (
    CardColumn(head="from tail", kind="station"),
    CardColumn(head="from\nmiddle"),
    CardColumn(head="in from\nrail"),
    CardColumn(head="done", kind="tick"),
)
ROUNDED_G = 5.0


def glass_cards(draft: Draft, made: BoardGlass, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the card: cloth and resin; then a page for each face that a lap is cut on."""
    board, metric = draft.board, draft.board.metric
    heading = CardHeading(
        board=board.name,
        card="glass",
        said="Cloth along the stringer, with laps and trim.",
        caution=CAUTION,
        basis=f"Before sanding. {figures_in(metric=metric)}",
        day=day,
        digest=digest,
    )
    top = top_mm(heading)
    told, y = sentences(
        _rules(made, corners=draft.lines.wall is not None, metric=metric), top - 4.0, width_mm(heading), 3.5
    )
    rows = [row for face in made.faces for row in _pieces(face, made, metric=metric)]
    rows += [_patch_row(made, n, metric=metric) for n in range(len(made.patches))]
    pages: list[list[Drawing]] = [[told]]
    parts = list(tables(PIECES, rows, heading, y - LOW_MM))
    pages[0].append(parts[0].moved(0.0, y))
    y -= heads_mm(PIECES) + row_mm(heading) * len(rows) + 6.0
    pages += [[part.moved(0.0, top)] for part in parts[1:]]
    resin = _resin_rows(made)
    if len(parts) > 1 or y - heads_mm(RESIN) - row_mm(heading) * len(resin) < LOW_MM:
        pages.append([])
        y = top
    pages[-1].append(tables(RESIN, resin, heading, y - LOW_MM)[0].moved(0.0, y))
    drawn = [(heading, page) for page in pages]
    for face in made.faces if made.glass.laps == "cut" else ():
        drawn += [(_taped_heading(heading, face, metric=metric), page) for page in _taped(draft, face, heading)]
    return [card(own, page, n, len(drawn)) for n, (own, page) in enumerate(drawn, 1)]


def _rules(made: BoardGlass, *, corners: bool, metric: bool) -> list[str]:
    glass = made.glass
    first, *rest = [face.face for face in made.faces]
    order = f"The {first} first" + (f", then the {rest[0]}." if rest else ".")
    how = "cut on the tape line while the resin is green" if glass.laps == "cut" else "left free, and sanded in"
    said = [
        f"{order} Laps of {fine(glass.lap_mm, metric=metric)}, {how}. "
        f"Off the bolt: {stock(made.bolt_mm, metric=metric)}, {fine(glass.bolt_mm, metric=metric)} wide."
    ]
    said += [f"Look: {_left(face, metric=metric)}." for face in made.faces if face.leaves_mm < glass.lap_mm]
    nose, tail = made.faces[0].relief_cuts
    both = f"{nose} about the nose, {tail} about the tail{', and one at each corner' if corners else ''}"
    said.append(f"Relief cuts in each lap, both sides together: {both}.")
    return said


def _pieces(face: GlassedFace, made: BoardGlass, *, metric: bool) -> list[CardRow]:
    long = figure(_up(face.long_mm + 2.0 * made.glass.trim_mm, metric=metric), metric=metric)
    wide = figure(min(_up(face.wide_mm, metric=metric), made.glass.bolt_mm), metric=metric)
    return [
        CardRow(cells=(f"{face.face}, {cloth_text(weight).split(' (')[0]}", long, wide, ""))
        for weight in face.cloths_g_m2
    ]


def _up(mm: float, *, metric: bool) -> float:
    """Return a size of cloth rounded up to 5 mm or 1/2 in."""
    step = 5.0 if metric else 12.7
    return math.ceil(mm / step - 1e-6) * step


def _patch_row(made: BoardGlass, n: int, *, metric: bool) -> CardRow:
    own = made.patches[n]
    wide = figure(_up(own.wide_mm, metric=metric), metric=metric)
    name = f"{own.patch.name}, {own.patch.face}, {cloth_text(own.patch.cloth_g_m2).split(' (')[0]}"
    return CardRow(cells=(name, figure(_up(own.long_mm, metric=metric), metric=metric), wide, ""))


def grams(mass_g: float) -> str:
    """Return a mass as it is weighed out: to 5 g, thousands parted."""
    return f"{round(mass_g / ROUNDED_G) * ROUNDED_G:,.0f}".replace(",", " ")


def _resin_rows(made: BoardGlass) -> list[CardRow]:
    def row(name: str, cloth_g: float | None, resin: Spread) -> CardRow:
        cloth = "–" if cloth_g is None else grams(cloth_g)
        return CardRow(cells=(name, cloth, grams(resin.usual), f"{grams(resin.low)} to {grams(resin.high)}", ""))

    rows = []
    for face in made.faces:
        pots = f", {face.pots} pots" if face.pots > 1 else ""
        rows.append(row(f"{face.face}{pots}", face.cloth_g, face.resin_g))
    rows += [row(own.patch.name, own.cloth_g, own.resin_g) for own in made.patches]
    rows.append(row("fill coat, both faces", None, made.fill_g))
    rows.append(row("gloss, both faces", None, made.gloss_g))
    return rows


def _left(face: GlassedFace, *, metric: bool) -> str:
    """Return what of a lap the bolt leaves, where that is less than is asked."""
    if face.leaves_mm < 0.0:
        return f"the bolt leaves {fine(-2.0 * face.leaves_mm, metric=metric)} of the {face.face} bare at its widest"
    return f"for the {face.face} the bolt leaves only {fine(face.leaves_mm, metric=metric)} of lap at its widest"


def _taped_heading(heading: CardHeading, face: GlassedFace, *, metric: bool) -> CardHeading:
    said = f"Where the cloth of the {face.face} ends, both sides alike."
    if face.leaves_mm < face.lap.width_mm:
        said = f"Look: {_left(face, metric=metric)}."
    return replace(heading, card=f"tape line, {face.other}", said=said)


def _taped(draft: Draft, face: GlassedFace, heading: CardHeading) -> list[list[Drawing]]:
    """Return the pages of a tape line: the face in plan with it, and its distances at the usual stations."""
    board, metric = draft.board, draft.board.metric
    picture, y = _picture(draft, face, width_mm(heading), top_mm(heading) - 6.0)
    rows = []
    for each in tape_line(draft, face.lap):
        sizes = [None if math.isnan(mm) else mm for mm in (each.from_middle_mm, each.from_rail_mm)]
        figures = (figure(size, metric=metric) for size in sizes)
        rows.append(CardRow(cells=(board_station(board, each.x_mm), *figures, "")))
    return [[picture, part.moved(0.0, y)] for part in tables(TAPED, rows, heading, y - LOW_MM)]


def _picture(draft: Draft, face: GlassedFace, wide: float, top: float) -> tuple[Drawing, float]:
    board = draft.board
    scale = board.length_mm / wide
    half = plan_outline(draft.lines, draft.body, ARC_FIT_MM).scaled(1.0 / scale)
    drawn: list[Line] = [
        (BOARD_LINE, half),
        (BOARD_LINE, half.mirrored()),
        straight(MIDDLE_LINE, (0.0, 0.0), (wide, 0.0)),
    ]
    if len(face.lap.line):
        line = Contour.straight(face.lap.line, closed=False).scaled(1.0 / scale)
        drawn += [(DASHED_LINE, line), (DASHED_LINE, line.mirrored())]
    highest = board.wide_point.value / 2.0 / scale
    plan = Drawing(name="plan", contours=tuple(drawn)).moved(0.0, top - highest)
    y = top - 2.0 * highest - 5.0
    said = (
        f"{face.other} in plan, 1:{scale:.0f}; dashed: the tape. From the middle of the stringer along the surface, "
        "and in from the rail's widest point, round it."
    )
    labels = lines(said, 0.0, y - LABEL_MM, wide, LABEL_MM, GREY)
    return plan.joined(Drawing(name="said", labels=tuple(labels))), labels[-1].y_mm - WORDS_MM
