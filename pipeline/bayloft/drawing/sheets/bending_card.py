"""The card of a re-gluing: how far each mark of a block moves when its halves are bent to the new stringer."""

from __future__ import annotations

from datetime import date

import numpy as np

from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.blank_views import block_end_mm
from bayloft.drawing.sheets.card import (
    BLUE_LINE,
    BOARD_LINE,
    FINE_LINE,
    GREY,
    LABEL_MM,
    LOW_MM,
    SECOND_LINE,
    CardHeading,
    Line,
    cards,
    sentences,
    straight,
    text,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, most_rows, table, tables
from bayloft.foam.fitting import Fit
from bayloft.foam.regluing import Moved, Regluing
from bayloft.foam.releasing import released
from bayloft.foam.sawing import SKIN_MM, WedgeCuts
from bayloft.plane.contour import Contour
from bayloft.solid.measure import stringer_from_mm
from bayloft.spec.bench.stringer import Stringer
from bayloft.tape import NOTHING, at_most, coarse, figure, fine, fine_mm, station

STEEPER = 4.0
"""How much higher than long the bottom's curves are drawn, so that what moves is seen."""
PICTURES_MM, PLACES, LEAST_ARROW_MM = (32.0, 22.0), 181, 0.8
"""Heights of the picture: the lower one where the table then ends on the page."""
NOTE_GAP_MM = 2.4
COLUMNS = (
    CardColumn(head="mark, from\nblock's tail", kind="station"),
    CardColumn(head="height\nnow"),
    CardColumn(head="height\nglued"),
    CardColumn(head="\nrises"),
    CardColumn(head="\nsinks"),
    CardColumn(head="read when\nclamped", kind="box"),
)
CAUTION = "Blade and dust: guard, mask. Glue from every gap: air in a joint blows through the glass later."


def bending_card(fit: Fit, stringer: Stringer, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the pages of the card: the bottom's curve as it is and as it becomes, the marks' heights over a flat
    floor, where the stringer is set, how much the halves are bent and strained, what springs back.

    Raises ValueError for a block that is not re-glued.
    """
    board, block = fit.board, fit.block
    bent, metric = block.regluing, board.metric
    if bent is None:
        raise ValueError(f"{block.blank.name} is as it lies on the rack")
    heading = CardHeading(
        board=board.name,
        card="bending",
        said=f"{block.blank.name}: heights of the bottom at the stringer over a flat floor.",
        caution=CAUTION,
        basis=f"The glue's own sheet comes first. Heights in {'mm' if metric else 'inches; + is 1/32 more'}.",
        day=day,
        digest=digest,
    )
    told = [_set(fit, stringer), _longer(fit), *_strained(fit), *_sprung(fit, stringer)]
    rows = [_row(mark, metric=metric) for mark in block.marks(metric=metric)]
    for high in PICTURES_MM:
        low = top_mm(heading) - 3.0 - high
        notes, foot = sentences([each for each in told if each], low - 4.0, width_mm(heading), NOTE_GAP_MM)
        foot -= 1.0
        room = most_rows(COLUMNS, heading, foot - LOW_MM)
        if room >= len(rows):
            break
    picture = _picture(bent, heading, high).moved(0.0, low)
    pages = [[picture, notes, table(COLUMNS, rows[:room], heading).moved(0.0, foot)]]
    top = top_mm(heading)
    pages += [[part.moved(0.0, top)] for part in tables(COLUMNS, rows[room:], heading, top - LOW_MM)]
    return cards(heading, pages)


def _row(mark: Moved, *, metric: bool) -> CardRow:
    """Return the row of a mark; what it moves is the difference of the two heights as they are written."""
    was, becomes = (fine_mm(mm, metric=metric) for mm in (mark.was_mm, mark.becomes_mm))
    moves = round(becomes - was, 6)
    return CardRow(
        cells=(
            station(mark.x_mm, metric=metric),
            figure(was, metric=metric),
            figure(becomes, metric=metric),
            figure(moves, metric=metric) if moves > 0.0 else NOTHING,
            figure(-moves, metric=metric) if moves < 0.0 else NOTHING,
            "",
        )
    )


def _set(fit: Fit, stringer: Stringer) -> str:
    """Return where the stringer, as it is sawn, is set in the block."""
    board, allowance = fit.board, stringer.allowance_mm
    ends = (
        (fit.stations[0], fit.stations[0].x_mm, "tail end"),
        (fit.stations[-1], board.length_mm - fit.stations[-1].x_mm, "nose"),
    )
    inside = [
        f"{fine(each.upright_bottom_mm - allowance, metric=board.metric)} "
        f"{coarse(x, metric=board.metric)} from its {end}"
        for each, x, end in ends
        if each.upright_bottom_mm is not None
    ]
    ahead = fit.tail_gap_mm + stringer_from_mm(fit.body) - allowance
    way = "ahead of" if ahead >= 0.0 else "BEHIND"
    said = f"Set the stringer's tail end {fine(abs(ahead), metric=board.metric)} {way} the block's"
    return f"{said}, and its bottom edge inside the block's bottom: {', '.join(inside)}." if inside else f"{said}."


def _longer(fit: Fit) -> str:
    """Return how long the block is once it is glued, where that is to be seen: a flatter curve has a longer chord."""
    metric, was, becomes = fit.board.metric, fit.blank.shape.length_mm, block_end_mm(fit)
    if fine(was, metric=metric) == fine(becomes, metric=metric):
        return ""
    return (
        f"Glued, the block is {fine(becomes, metric=metric)} long over the flat, {fine(was, metric=metric)} before: "
        "the halves keep their length along the curve."
    )


def _strained(fit: Fit) -> list[str]:
    """Return how far the foam is strained where it is most, and the saw cuts without which it would be more than it
    bears.
    """
    block, metric = fit.block, fit.board.metric
    bent, limit = block.regluing, block.blank.foam.most_strain
    assert bent is not None
    most = bent.hardest
    told = (
        f"Most strained {coarse(most.x_mm, metric=metric)} from the tail: faces by {100.0 * most.most_strain:.2f} %, "
        f"as a straight half bent to a radius of {most.radius_mm / 1000.0:.1f} m"
    )
    if limit is None:
        return [f"{told}. Its maker's sheet alone says if foam bears that."]
    return [f"{told}; its maker allows {100.0 * limit:.2f} %.", *(_sawn(cuts, metric=metric) for cuts in block.cuts)]


def _sawn(cuts: WedgeCuts, *, metric: bool) -> str:
    many, where = len(cuts.stations_mm), ", ".join(station(x, metric=metric) for x in cuts.stations_mm)
    return (
        f"Only with {many} saw cut{'' if many == 1 else 's'} across each half from the {cuts.face}, "
        f"{fine(SKIN_MM, metric=metric)} left whole under {'it' if many == 1 else 'each'}: {where} from the tail. "
        f"Glue goes in before they close, filler where one stays open; between them the half may stand "
        f"{at_most(cuts.off_mm, metric=metric)} off the curve."
    )


def _sprung(fit: Fit, stringer: Stringer) -> list[str]:
    """Return what comes back of the bend when the clamps come off, where that is known."""
    spring, metric = released(fit, stringer), fit.board.metric
    if spring is None:
        return []
    back = " and ".join(
        f"the {end} {fine(mm, metric=metric)} of the {coarse(bent, metric=metric)} that it was bent"
        for end, mm, bent in zip(("nose", "tail"), (spring.nose_mm, spring.tail_mm), spring.bent_mm, strict=True)
    )
    return [
        f"Released, {100.0 * spring.least:.0f} to {100.0 * spring.most:.0f} % of the bend comes back along the board: "
        f"{back}."
    ]


def _picture(bent: Regluing, heading: CardHeading, high_mm: float) -> Drawing:
    """Return the bottom's curve before and after, tail at the left, over the floor, with what moves."""
    wide, length = width_mm(heading), bent.lines.length_mm
    scale = wide / length
    marks = bent.marks(np.linspace(0.0, length, PLACES))
    most = max(max(mark.was_mm, mark.becomes_mm) for mark in marks)
    tall = min(STEEPER, (high_mm - 10.0) / (scale * most))
    x, was, becomes = (
        np.array([getattr(mark, name) for mark in marks]) * scale for name in ("x_mm", "was_mm", "becomes_mm")
    )
    contours: list[Line] = [
        (layer, Contour.straight(np.column_stack([x, z * tall]), closed=False))
        for layer, z in ((SECOND_LINE, was), (BOARD_LINE, becomes))
    ]
    contours.append(straight(FINE_LINE, (0.0, 0.0), (wide, 0.0)))
    for i in range(0, PLACES, (PLACES - 1) // 12):
        ends = was[i] * tall, becomes[i] * tall
        if abs(ends[0] - ends[1]) > LEAST_ARROW_MM:
            contours.append(straight(BLUE_LINE, (float(x[i]), ends[0]), (float(x[i]), ends[1])))
    said = f"bottom as it is, grey, and glued, thick; heights {tall:.1f} times as large as lengths"
    labels = [text(said, 0.0, high_mm - 4.0, LABEL_MM, GREY)]
    return Drawing(name="bottom", contours=tuple(contours), labels=tuple(labels))
