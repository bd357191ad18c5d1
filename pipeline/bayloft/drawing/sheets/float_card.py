"""The card of a board afloat: how it lies under its load, and under a little less and more."""

from __future__ import annotations

from datetime import date

from bayloft import tape
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.card import (
    GREY,
    LABEL_MM,
    LOW_MM,
    NAME_MM,
    CardHeading,
    cards,
    figures_in,
    sentences,
    text,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, tables
from bayloft.drawing.sheets.float_views import BEYOND_MM, SCALES, float_plan, float_profile
from bayloft.floating.float_words import deck, kilograms, most, trim, verdict
from bayloft.floating.floats import SHARES, BoardFloats, FloatLie, LoadedFloat
from bayloft.solid.draft import Draft
from bayloft.tape import NOTHING, figure
from bayloft.units import litres

COLUMNS = (
    CardColumn(head="load", kind="station"),
    CardColumn(head="nose up\ndeg"),
    CardColumn(head="draws\ntail"),
    CardColumn(head="\ncentre"),
    CardColumn(head="\nnose"),
    CardColumn(head="deck clear\ntail"),
    CardColumn(head="\ncentre"),
    CardColumn(head="\nnose"),
)
CAUTION = "Still water, the board held upright, fins left out. Nothing is said of riding, safety or swimming."
MOVED_MM = {False: 25.4, True: 10.0}
"""How far the load is moved along to tell what that does: 1 in, or 10 mm."""


def float_cards(draft: Draft, floats: BoardFloats, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the pages of a board's float card, lying: how it lies, in two views and in words; then a table of loads
    about the one asked, and what else is worked out.
    """
    board = draft.board
    heading = CardHeading(
        board=board.name,
        card="float",
        said=_asked(floats, metric=board.metric),
        caution=CAUTION,
        basis=f"Shaped sizes, before glass. {figures_in(metric=board.metric)}",
        day=day,
        digest=digest,
        lying=True,
    )
    lie, top = floats.own.lie, top_mm(heading)
    head = {"floats": "It floats", "sinks": "It sinks"}.get(floats.own.rest.fate, "It stands on end")
    said = f"{head}, {trim(lie.trim_deg)}." if lie else f"{head}."
    y = top - 4.0 - NAME_MM
    first = [Drawing(name="verdict", labels=(text(said, 0.0, y, NAME_MM, bold=True),))]
    if lie is not None:
        first.append(_views(draft, floats, lie, heading, y - 4.0))
        y = top
    rows = [_row(share, each, metric=board.metric) for share, each in zip(SHARES, floats.loads, strict=True)]
    facts, low = sentences(_facts(floats, metric=board.metric), y - 4.0, width_mm(heading), 3.0)
    parts = tables(COLUMNS, rows, heading, low - LOW_MM) if any(each.lie for each in floats.loads) else []
    second = [facts, *(part.moved(0.0, low) for part in parts[:1])]
    pages = [[*first, *second]] if lie is None else [first, second]
    return cards(heading, [*pages, *([part.moved(0.0, top)] for part in parts[1:])])


def _asked(floats: BoardFloats, *, metric: bool) -> str:
    asked = floats.asked
    own = "" if asked.board_kg == 0.0 else f", the board's own {kilograms(asked.board_kg)}"
    return (
        f"{kilograms(asked.load_kg)}, its middle {tape.along(asked.x_mm, metric=metric)} from the tail and "
        f"{tape.coarse(asked.above_deck_mm, metric=metric)} above the deck{own}; "
        f"{asked.water} water of {asked.temperature_c:.3g} °C."
    )


def _views(draft: Draft, floats: BoardFloats, lie: FloatLie, heading: CardHeading, top: float) -> Drawing:
    """Return profile and plan at the largest scale for which there is room, the one over the other."""
    room = width_mm(heading) - 2.0 * BEYOND_MM
    for scale in SCALES:
        profile, plan = float_profile(draft, floats, lie, scale), float_plan(draft, lie, scale)
        low = min(label.y_mm for label in profile.labels)
        high = max(profile.bounds[3], *(label.y_mm + label.height_mm for label in profile.labels))
        tall = high - low + plan.bounds[3] - plan.bounds[1] + 13.0
        if draft.board.length_mm / scale <= room and tall <= top - LOW_MM:
            break
    left = (width_mm(heading) - draft.board.length_mm / scale) / 2.0
    spare = max(top - LOW_MM - tall, 0.0) / 3.0
    y = top - spare - high
    middle = y + low - spare - 4.0 - plan.bounds[3]
    caption = f"1:{scale:g}, tail at the left; the water level, the board as it lies; below, what the water cuts"
    note = text(caption, 0.0, middle + plan.bounds[1] - 6.0, LABEL_MM, GREY)
    return Drawing(name="views", labels=(note,)).joined(profile.moved(left, y), plan.moved(left, middle))


def _row(share: float, each: LoadedFloat, *, metric: bool) -> CardRow:
    changed = "as asked" if share == 1.0 else f"{100.0 * (share - 1.0):+.0f} %"
    name = f"{kilograms(each.load_kg)}\n{changed}"
    lie = each.lie
    if lie is None:
        fate = {"sinks": "sinks", "tips tail down": "tail down", "tips nose down": "nose down"}[each.rest.fate]
        return CardRow(cells=(f"{kilograms(each.load_kg)}\n{changed}: {fate}", *[NOTHING] * (len(COLUMNS) - 1)))
    sizes = (*lie.drafts_mm, *lie.freeboards_mm)
    cells = (name, f"{round(lie.trim_deg, 1) + 0.0:.1f}", *(figure(size, metric=metric) for size in sizes))
    return CardRow(cells=cells, tinted=share == 1.0)


def _facts(floats: BoardFloats, *, metric: bool) -> list[str]:
    """Return what is to be known besides, in sentences."""
    lie = floats.own.lie
    told = [] if lie else [f"{_capital(verdict(floats, metric=metric))}."]
    told.append(
        f"The whole board, all of it under water, carries {most(floats)}; the water weighs "
        f"{floats.density_kg_m3:.1f} kg/m³. What of a rider lies in the water is carried by it, not by the board."
    )
    if lie is None:
        return told
    told.append(
        f"Under {kilograms(floats.asked.load_kg)} there are {litres(lie.below.volume_mm3):.2f} litres under water, "
        f"{lie.below.skin_mm2 / 1e6:.3f} m² of skin wet, and the water cuts {lie.waterplane_mm2 / 1e6:.3f} m², "
        f"{tape.coarse(lie.length_mm, metric=metric)} long and "
        f"{tape.coarse(2.0 * lie.line.half_beam_mm, metric=metric)} wide at most. "
        f"{_capital(deck(lie, metric=metric))}; {100.0 * lie.deck_share:.0f} % of the deck, from the rails' widest "
        f"point inward, is under."
    )
    moved = MOVED_MM[metric]
    told.append(
        f"1 kg more sinks it {tape.fine(lie.sinks_mm_kg, metric=metric)}. The load "
        f"{tape.coarse(moved, metric=metric)} further forward takes the nose "
        f"{tape.fine(lie.trims_mm_mm * moved, metric=metric)} down against the tail. Minus: nose down, bottom clear "
        f"of the water, deck under it."
    )
    return told


def _capital(words: str) -> str:
    return f"{words[0].upper()}{words[1:]}"
