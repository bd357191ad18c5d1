"""The weight card: what the finished board weighs, part by part, with a range, and what a choice would change."""

from __future__ import annotations

from datetime import date

from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.card import (
    GREY,
    LABEL_MM,
    LOW_MM,
    ONE_MM,
    WORDS_MM,
    CardHeading,
    cards,
    lines,
    sentences,
    text,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, heads_mm, row_mm, tables
from bayloft.drawing.sheets.glass_card import grams
from bayloft.laminating.weighing import BoardWeight
from bayloft.solid.draft import Draft
from bayloft.tape import along

PARTS = (
    CardColumn(head="part", kind="words"),
    CardColumn(head="g"),
    CardColumn(head="least to most", kind="label"),
    CardColumn(head="weighed", kind="box"),
)
KG_PER_LB = 0.45359237
"""International pound (exact by definition)."""


def weight_cards(draft: Draft, weight: BoardWeight, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the card: the one number, its range, the place of balance; the parts; what choices change."""
    board, total = draft.board, weight.total_g
    heading = CardHeading(
        board=board.name,
        card="weight",
        said="Finished: sanded, with fins.",
        caution="",
        basis="Reckoned from the shape and from what is given or assumed; weigh the blank and the cloth.",
        day=day,
        digest=digest,
    )
    top, wide = top_mm(heading), width_mm(heading)
    y = top - 6.0 - ONE_MM
    labels = [text(_mass(total.usual, metric=board.metric), 0.0, y, ONE_MM, bold=True)]
    y -= 6.0 + WORDS_MM
    between = f"between {_mass(total.low, metric=board.metric)} and {_mass(total.high, metric=board.metric)}"
    at = along(weight.balance_mm, metric=board.metric)
    labels += lines(f"{between}. It balances {at} from the tail.", 0.0, y, wide, WORDS_MM)
    for said in weight.assumed:
        labels += lines(f"Assumed: {said}.", 0.0, labels[-1].y_mm - 2.0 * LABEL_MM, wide, LABEL_MM, GREY)
    y = labels[-1].y_mm - 6.0
    rows = [
        CardRow(
            cells=(part.name, grams(part.mass_g.usual), f"{grams(part.mass_g.low)} to {grams(part.mass_g.high)}", "")
        )
        for part in weight.parts
    ]
    pages: list[list[Drawing]] = [[Drawing(name="total", labels=tuple(labels))]]
    for n, part in enumerate(tables(PARTS, rows, heading, y - LOW_MM)):
        if n:
            pages.append([])
        pages[-1].append(part.moved(0.0, y if not n else top))
    y -= heads_mm(PARTS) + row_mm(heading) * len(rows) + 6.0
    changes = [f"{words[0].upper()}{words[1:]}: {grams(mass)} g more." for words, mass in weight.changes]
    if len(pages) > 1 or y - len(changes) * 2.0 * WORDS_MM < LOW_MM:
        pages.append([])
        y = top - 4.0
    pages[-1].append(sentences(changes, y, wide, 2.5)[0])
    return cards(heading, pages)


def _mass(mass_g: float, *, metric: bool) -> str:
    return f"{mass_g / 1e3:.1f} kg" if metric else f"{mass_g / 1e3 / KG_PER_LB:.1f} lb"
