"""The card of a re-gluing: how far each mark of a block moves when its halves are bent to the new stringer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np

from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BLUE_LINE,
    BOARD_LINE,
    FINE_LINE,
    GREY,
    LABEL_MM,
    LOW_MM,
    SECOND_LINE,
    WORDS_MM,
    CardHeading,
    Line,
    cards,
    lines,
    station,
    straight,
    text,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, most_rows, table, tables
from bayloft.drawing.stacked import figure
from bayloft.foam.fitting import Fit
from bayloft.foam.regluing import Moved, Regluing
from bayloft.foam.releasing import released, wedge_cuts
from bayloft.plane.contour import Contour
from bayloft.spec.bench.stringer import Stringer
from bayloft.units import feet_inches

STEEPER = 4.0
"""How much higher than long the bottom's curves are drawn, so that what moves is seen."""
PICTURE_MM, PLACES, LEAST_ARROW_MM = 32.0, 181, 0.8
COLUMNS = (
    CardColumn(head="mark, from\nblock's tail", kind="station"),
    CardColumn(head="height\nnow"),
    CardColumn(head="height\nglued"),
    CardColumn(head="moves"),
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
    told = [_set(fit, stringer), *_told(fit, stringer)]
    low = top_mm(heading) - 3.0 - PICTURE_MM
    notes, foot = _notes(told, heading, low)
    rows = [_row(mark, metric=metric) for mark in block.marks]
    room = most_rows(COLUMNS, heading, foot - LOW_MM)
    pages = [[_picture(bent, heading).moved(0.0, low), notes, table(COLUMNS, rows[:room], heading).moved(0.0, foot)]]
    top = top_mm(heading)
    pages += [[part.moved(0.0, top)] for part in tables(COLUMNS, rows[room:], heading, top - LOW_MM)]
    return cards(heading, pages)


def _row(mark: Moved, *, metric: bool) -> CardRow:
    moves = mark.becomes_mm - mark.was_mm
    return CardRow(
        cells=(
            station(mark.x_mm, metric=metric),
            figure(mark.was_mm, metric=metric),
            figure(mark.becomes_mm, metric=metric),
            figure(moves, metric=metric),
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
        f"{_fine(each.upright_bottom_mm - allowance, metric=board.metric)} "
        f"{_long(x, metric=board.metric)} from its {end}"
        for each, x, end in ends
        if each.upright_bottom_mm is not None
    ]
    said = f"Set the stringer's tail end {_fine(fit.tail_gap_mm - allowance, metric=board.metric)} ahead of the block's"
    return f"{said}, and its bottom edge inside the block's bottom: {', '.join(inside)}." if inside else f"{said}."


def _told(fit: Fit, stringer: Stringer) -> list[str]:
    """Return what else is to be known, a sentence each."""
    block, metric = fit.block, fit.board.metric
    bent = block.regluing
    assert bent is not None
    hard = bent.hardest
    told = [
        f"Hardest bend {_long(hard.x_mm, metric=metric)} from the tail: a straight half to a radius of "
        f"{hard.radius_mm / 1000.0:.1f} m, its faces strained {100.0 * hard.most_strain:.2f} %"
    ]
    limit = block.blank.foam.most_strain
    cuts = None if limit is None else wedge_cuts(bent, limit, stringer.kerf_mm)
    if limit is None:
        told[0] += ". Its maker's sheet alone says if foam bears that."
    elif cuts is None:
        told[0] += f", and its maker allows {100.0 * limit:.2f} %."
    else:
        told[0] += f"; its maker allows {100.0 * limit:.2f} %."
        told.append(
            f"So {cuts.count} saw cuts from the {cuts.face}, evenly between {station(cuts.from_mm, metric=metric)} and "
            f"{station(cuts.to_mm, metric=metric)} from the tail, down to a skin: they close as the half bends."
        )
    spring = released(fit, stringer)
    if spring is not None:
        told.append(
            f"Released, {100.0 * spring.least:.0f} to {100.0 * spring.most:.0f} % of the bend comes back: the nose by "
            f"{_long(spring.nose_mm, metric=metric)}, the tail by {_long(spring.tail_mm, metric=metric)}."
        )
    return told


def _notes(told: Sequence[str], heading: CardHeading, top: float) -> tuple[Drawing, float]:
    """Return the sentences below a height, and the height below them."""
    labels: list[Label] = []
    y = top - 4.0
    for sentence in told:
        own = lines(sentence, 0.0, y - WORDS_MM, width_mm(heading), WORDS_MM)
        labels += own
        y = own[-1].y_mm - 2.4
    return Drawing(name="told", labels=tuple(labels)), y - 1.0


def _picture(bent: Regluing, heading: CardHeading) -> Drawing:
    """Return the bottom's curve before and after, tail at the left, over the floor, with what moves."""
    wide, length = width_mm(heading), bent.lines.length_mm
    scale = wide / length
    marks = bent.marks(np.linspace(0.0, length, PLACES))
    most = max(max(mark.was_mm, mark.becomes_mm) for mark in marks)
    tall = min(STEEPER, (PICTURE_MM - 10.0) / (scale * most))
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
    labels = [text(said, 0.0, PICTURE_MM - 4.0, LABEL_MM, GREY)]
    return Drawing(name="bottom", contours=tuple(contours), labels=tuple(labels))


def _fine(mm: float, *, metric: bool) -> str:
    return f"{mm:.1f} mm" if metric else feet_inches(mm, 32)


def _long(mm: float, *, metric: bool) -> str:
    return f"{mm:.0f} mm" if metric else feet_inches(mm)
