"""The card of a board in its blank: whether it comes out, where it lies, what is planed off."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

from bayloft.drawing.labels import text_width_mm
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.blank_views import (
    HEIGHTS,
    SCALES,
    block_end_mm,
    ends_mm,
    extent_mm,
    lettered,
    plan,
    profile,
    sections,
)
from bayloft.drawing.sheets.card import (
    FIGURE_MM,
    GAP_MM,
    GREY,
    LABEL_MM,
    LINE_PITCH,
    LIVE_MM,
    LOW_MM,
    NAME_MM,
    WORDS_MM,
    CardHeading,
    board_station,
    card,
    figures_in,
    lines,
    set_figure,
    text,
    top_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, tables
from bayloft.foam.asking import FittedBoard
from bayloft.foam.fitting import CHEAP_MM, Fit, StationCover, TightPlace
from bayloft.tape import at_least, at_most, coarse, down_mm, figure, fine, station
from bayloft.units import litres

COLUMNS = (
    CardColumn(head="from tail", kind="station"),
    CardColumn(head="plane\ndeck"),
    CardColumn(head="plane\nbottom"),
    CardColumn(head="least\ndeck"),
    CardColumn(head="\nrail"),
    CardColumn(head="\nbottom"),
    CardColumn(head="done", kind="tick"),
)
LEAST = (("deck", 3), ("rail", 4), ("bottom", 5))
"""The faces, and the columns in which they are."""

BESIDE_MM = 3.0
"""Room beside plan and profile, for a ring at an end."""
NEARLY_MM = 0.1
"""How much more than the least a figure may be, and be as tight."""


def blank_cards(fitted: FittedBoard, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the card of a fit: the verdict for so much cover and how the board lies in the block, with the changes
    that would make it fit; then what is planed off at each station.
    """
    fit = fitted.fit
    board, foam = fit.board, fit.blank.foam
    density = "" if foam.density_kg_m3 is None else f" {foam.density_kg_m3:.3g} kg/m³"
    glued = ", re-glued" if fit.block.regluing else ""
    metric = board.metric
    heading = CardHeading(
        board=board.name,
        card="blank",
        said=f"In {fit.blank.name}, {coarse(fit.blank.shape.length_mm, metric=metric)} of {foam.kind}{density}{glued}.",
        caution="Measure the block again at the tight places before planing. Foam dust and blades: breathing mask, "
        "eyes, clamps.",
        basis=f"Shaped sizes, before glass. {figures_in(metric=metric)}",
        day=day,
        digest=digest,
    )
    rows = [_row(fit, each) for each in fit.stations]
    said = "Plane: at the stringer, upright. Least: square to the block's faces."
    told = replace(heading, said=said)
    pages = [[_first(fitted, top_mm(heading))]]
    top = top_mm(heading)
    pages += [[part.moved(0.0, top)] for part in tables(COLUMNS, rows, heading, top - LOW_MM)]
    return [card(told if n > 1 else heading, page, n, len(pages)) for n, page in enumerate(pages, 1)]


def _first(fitted: FittedBoard, top: float) -> Drawing:
    """Return the first page: verdict, lie, and pictures at the largest scale for which there is room."""
    fit = fitted.fit
    said, y = _verdict(fitted, top)
    laid, y = _laid(fit, y)
    for scale in SCALES:
        pictures, low, wide = _pictures(fit, scale, y)
        if low >= LOW_MM and wide <= LIVE_MM[0] - 2 * BESIDE_MM:
            break
    return said.joined(laid, pictures)


def _pictures(fit: Fit, scale: float, y: float) -> tuple[Drawing, float, float]:
    """Return plan, profile and sections, with the tight places in words, hanging from a height; how far down they
    reach, and how wide plan and profile are.
    """
    left, right = (end / scale for end in extent_mm(fit))
    found = []
    for view in (plan(fit, scale), profile(fit, scale)):
        low, high = _reach(view)
        found.append(view.moved(BESIDE_MM - left, y - high))
        y -= high - low + 5.0
    caption = f"plan and profile 1:{scale:g}, tail at the left; heights drawn {HEIGHTS:g} times as large as lengths"
    found.append(Drawing(name="caption", labels=(text(caption, 0.0, y + 0.6, LABEL_MM, GREY),)))
    y -= 4.0
    cut = sections(fit)
    y -= cut.bounds[3]
    found.append(cut.moved(0.0, y))
    labels: list[Label] = []
    for letter, place in lettered(fit):
        y -= LINE_PITCH * LABEL_MM + (3.0 if not labels else 0.0)
        labels += [text(letter, 0.0, y, LABEL_MM, bold=True)]
        labels.append(text(_tight(place, fit.board.metric), 6.0, y, LABEL_MM))
    return Drawing(name="pictures", labels=tuple(labels)).joined(*found), y, right - left


def _reach(view: Drawing) -> tuple[float, float]:
    """Return the lowest and highest place of a view, its words included."""
    lows = [label.y_mm - 0.2 * label.height_mm for label in view.labels]
    highs = [label.y_mm + label.height_mm for label in view.labels]
    return min([view.bounds[1], *lows]), max([view.bounds[3], *highs])


def _verdict(fitted: FittedBoard, top: float) -> tuple[Drawing, float]:
    """Return whether the board comes out, by how much, and what would do; and the height below which all is free."""
    fit, wanted_mm, short = fitted.fit, fitted.wanted_mm, fitted.short_mm
    metric, sure = fit.board.metric, fit.sure_mm
    verdict = "It comes out." if short == 0.0 else "It is short." if sure < 0.0 else "Too tight."
    y = top - 4.0 - NAME_MM
    labels = [text(verdict, 0.0, y, NAME_MM, bold=True)]
    x = text_width_mm(verdict, NAME_MM, bold=True) + 2 * GAP_MM
    amount = figure(down_mm(sure, metric=metric) if short == 0.0 else -down_mm(-short, metric=metric), metric=metric)
    said = (
        "least foam over the board, for sure"
        if short == 0.0
        else f"short of the {fine(wanted_mm, metric=metric)} wanted everywhere by"
    )
    said_lines = lines(said, x, y + 5.2, LIVE_MM[0] - x - 30.0, LABEL_MM, GREY)
    labels += said_lines
    x += max(text_width_mm(line.text, LABEL_MM) for line in said_lines) + GAP_MM
    labels.append(set_figure(amount, x, y + 0.6))
    y -= 4.4
    if fitted.on_rack_mm is not None:
        rack = fitted.on_rack_mm
        would = (
            f"be {at_most(-rack, metric=metric)} short"
            if rack < 0.0
            else f"have {at_least(rack, metric=metric)} over it"
        )
        told = f"As the block lies on the rack, the board would {would}"
        told += "; so there is no need to re-glue it." if fitted.better_left else "."
        if fitted.saw_cuts:
            told += f" Its foam bears the bend only with {fitted.saw_cuts} saw cuts: see the bending card."
        broken = lines(told, 0.0, y - WORDS_MM, LIVE_MM[0], WORDS_MM)
        labels += broken
        y = broken[-1].y_mm - 1.0
    if short > 0.0:
        told = "; ".join(
            f"{each.what} {coarse(each.to_mm, metric=metric)} in place of {coarse(each.from_mm, metric=metric)}"
            for each in fitted.remedies
        )
        told = (
            f"What would do, each alone: {told}."
            if fitted.remedies
            else "No change of thickness, length or nose rocker alone by less than 15 % would do."
        )
        broken = lines(told, 0.0, y - WORDS_MM, LIVE_MM[0], WORDS_MM)
        labels += broken
        y = broken[-1].y_mm
    return Drawing(name="verdict", labels=tuple(labels)), y - 3.0


def _laid(fit: Fit, top: float) -> tuple[Drawing, float]:
    """Return in words and figures how the board is laid on the block, hanging from a height; and the height below which
    all is free.
    """
    metric, (tail, nose) = fit.board.metric, ends_mm(fit)
    room = block_end_mm(fit) - nose
    tilt = math.tan(fit.nose_up_rad) * fit.board.length_mm
    lift = float(fit.block.standing(fit.placing.placed(fit.middle_mm[None], fit.middle_mm))[0, 2])
    cells = (
        _gap("tail of block to tail of board", "tail BEYOND the block", tail, metric),
        _gap("nose of board to nose of block", "nose BEYOND the block", room, metric),
        (("board's middle lifted", "off the block's flat"), figure(lift, metric=metric)),
        ((f"nose {'up' if tilt >= 0.0 else 'down'} over", "its whole length"), figure(abs(tilt), metric=metric)),
    )
    labels: list[Label] = []
    wide = LIVE_MM[0] / len(cells)
    for i, (words, amount) in enumerate(cells):
        labels += [
            text(word, i * wide, top - LABEL_MM * (1 + LINE_PITCH * n), LABEL_MM, GREY) for n, word in enumerate(words)
        ]
        labels.append(set_figure(amount, i * wide, top - 2 * LINE_PITCH * LABEL_MM - 1.6 - FIGURE_MM))
    aft, forward = (at_least(abs(shift), metric=metric) for shift in fit.shift_mm)
    better = max(fit.ceiling.cover_mm - fit.cover_mm, 0.0)
    told = (
        f"It may lie {aft} further aft or {forward} further forward for {at_most(CHEAP_MM, metric=metric)} less foam; "
        f"no other lie has {at_most(better, metric=metric)} more."
    )
    # What comes out of a block that is smaller is not what is planed off it.
    told += f" {litres(fit.foam_mm3):.1f} litres to plane off." if fit.floor_mm > 0.0 else ""
    broken = lines(told, 0.0, labels[-1].y_mm - 3.4 - LABEL_MM, LIVE_MM[0], LABEL_MM, GREY)
    return Drawing(name="laid", labels=(*labels, *broken)), broken[-1].y_mm - 5.0


def _gap(inside: str, beyond: str, mm: float, metric: bool) -> tuple[tuple[str, str], str]:
    """Return the two lines of words and the figure of how far an end lies inside the block or beyond it; what is less
    than the finest mark is told as such, never as nothing.
    """
    words, amount = (inside, figure(abs(mm), metric=metric)) if mm >= 0.0 else (beyond, figure(abs(mm), metric=metric))
    none = figure(0.0, metric=metric)
    if mm < 0.0 and amount == none:
        words, amount = f"{beyond} by less than", figure(0.1 if metric else 25.4 / 32.0, metric=metric)
    half = len(words) // 2
    cut = min((i for i, letter in enumerate(words) if letter == " "), key=lambda i: abs(i - half))
    return (words[:cut], words[cut + 1 :]), amount


def _row(fit: Fit, each: StationCover) -> CardRow:
    """Return the row of a station, with a ring round a figure that is the least of the whole board."""
    metric = fit.board.metric
    least = {"deck": each.deck_mm, "rail": each.rail_mm, "bottom": each.bottom_mm}
    everywhere = min(min(one.deck_mm, one.rail_mm, one.bottom_mm) for one in fit.stations)
    ringed = frozenset(column for face, column in LEAST if least[face] <= everywhere + NEARLY_MM)
    sizes = (each.upright_deck_mm, each.upright_bottom_mm, *(least[face] for face, _ in LEAST))
    down = (None if size is None else down_mm(size, metric=metric) for size in sizes)
    cells = (board_station(fit.board, each.x_mm), *(figure(size, metric=metric) for size in down), "")
    return CardRow(cells=cells, ringed=ringed)


def _tight(place: TightPlace, metric: bool) -> str:
    off = "at the stringer" if place.off_mm < 0.5 else f"{fine(place.off_mm, metric=metric)} off the stringer"
    face = f"over the {place.face}" if place.face == "deck" else f"at the {place.face}"
    return f"{at_least(place.cover_mm, metric=metric)} {face}, {station(place.x_mm, metric=metric)} from tail, {off}"
