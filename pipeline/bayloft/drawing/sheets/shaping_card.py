"""The cards by which a board is shaped: what is planed off its block, outline and foil, rails and faces."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date

from bayloft.drawing.curves.bench_figures import FLAT_MM, BenchStation, bench_stations
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.card import LOW_MM, CardHeading, board_station, card, figures_in, top_mm
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, tables
from bayloft.drawing.sheets.rail_sheet import SOFT_EDGE_MM, Rail, rails_at
from bayloft.drawing.sheets.shaping_picture import PICTURE_MM, shaping_picture
from bayloft.foam.fitting import Fit
from bayloft.solid.draft import Draft
from bayloft.spec.bench.shaping import Shaping
from bayloft.spec.boards.board import Board
from bayloft.tape import NOTHING, down_mm, figure
from bayloft.units import HAIR, inches

INSIDE_MM = {False: 50.8, True: 50.0}
"""How far inside the widest point the fall of the faces is measured: 2 in, or 50 mm for a maker who measures in mm
(common practice, no source)."""

CAUTION = "Foam dust and blades: breathing mask, eyes, extraction; blade guard and two hands on the planer."

PLANED = (
    CardColumn(head="from tail", kind="station"),
    CardColumn(head="plane\ndeck"),
    CardColumn(head="\npasses"),
    CardColumn(head="and\nthen"),
    CardColumn(head="plane\nbottom"),
    CardColumn(head="\npasses"),
    CardColumn(head="and\nthen"),
)
SIZED = (
    CardColumn(head="from tail", kind="station"),
    CardColumn(head="half"),
    CardColumn(head="width"),
    CardColumn(head="thick"),
    CardColumn(head="rocker"),
    CardColumn(head="done", kind="tick"),
)
RAILED = (
    CardColumn(head="from tail", kind="station"),
    CardColumn(head="apex"),
    CardColumn(head="tuck"),
    CardColumn(head="drop"),
    CardColumn(head="rise"),
    CardColumn(head="hollow"),
    CardColumn(head="done", kind="tick"),
)


def planing_cards(fit: Fit, shaping: Shaping, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the card of what is planed off a block at each station, tail end first, in passes of the planer.

    Raises ValueError where the depth of a pass is not told.
    """
    board = fit.board
    if shaping.pass_mm is None:
        raise ValueError("the depth of a pass is not told")
    heading = _heading(board, "planing", digest, day)
    said = f"In {fit.blank.name}, at the stringer, upright; passes of {_tape(shaping.pass_mm, board)}."
    if board.stringer is not None:
        heading = replace(
            heading, basis=f"{figures_in(metric=board.metric)} Along the new stringer the last of it is wood."
        )
    heading = replace(heading, said=said)
    columns, rows = _filled(PLANED, planed(fit, shaping.stations_mm, shaping.pass_mm))
    pages = _pages(heading, columns, rows)
    return [card(each, drawn, n, len(pages)) for n, (each, drawn) in enumerate(pages, 1)]


def _heading(board: Board, name: str, digest: str, day: date | None) -> CardHeading:
    basis = f"Shaped sizes, before glass. {figures_in(metric=board.metric)}"
    return CardHeading(board=board.name, card=name, said="", caution=CAUTION, basis=basis, day=day, digest=digest)


def shaping_cards(draft: Draft, shaping: Shaping, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the shaping cards of a board, tail end first: outline and foil; rails, deck and bottom."""
    board, stations = draft.board, shaping.stations_mm
    inside = INSIDE_MM[board.metric]
    measured = bench_stations(draft, stations, inside)
    heading = _heading(board, "", digest, day)
    pages: list[tuple[CardHeading, list[Drawing]]] = []
    said = "Half widths from the MIDDLE of the stringer; rocker over the flat."
    rows = [_sized(board, each) for each in measured]
    pages += _pages(replace(heading, card="outline and foil", said=said), SIZED, rows)
    whole = [each.x_mm for each in measured if each.across is not None]
    if whole:
        rails = {rail.x_mm: rail for rail in rails_at(draft, whole, math.inf)}
        rows = [_railed(board, each, rails.get(each.x_mm)) for each in measured]
        columns, rows = _filled(RAILED, rows)
        columns, letters = _lettered(columns)
        shown = _shown(board, rails)
        at = measured[stations.index(shown.x_mm)]
        picture = shaping_picture(shown, at, inside, letters, metric=board.metric)
        said = "Rails, deck and bottom, both sides alike."
        pages += _pages(replace(heading, card="rails", said=said), columns, rows, picture)
    return [card(each, drawn, n, len(pages)) for n, (each, drawn) in enumerate(pages, 1)]


def _pages(
    heading: CardHeading, columns: Sequence[CardColumn], rows: Sequence[CardRow], picture: Drawing | None = None
) -> list[tuple[CardHeading, list[Drawing]]]:
    """Return the pages of a table, the picture above it on each."""
    top = top_mm(heading) - (PICTURE_MM if picture else 0.0)
    above = [picture.moved(0.0, top)] if picture else []
    return [(heading, [*above, part.moved(0.0, top)]) for part in tables(columns, rows, heading, top - LOW_MM)]


def _filled(columns: Sequence[CardColumn], rows: Sequence[CardRow]) -> tuple[list[CardColumn], list[CardRow]]:
    """Return columns and rows without the columns in which there is nothing at all."""
    kept = [i for i in range(len(columns)) if any(row.cells[i] != NOTHING for row in rows)]
    return [columns[i] for i in kept], [CardRow(cells=tuple(row.cells[i] for i in kept)) for row in rows]


def _lettered(columns: Sequence[CardColumn]) -> tuple[list[CardColumn], dict[str, str]]:
    """Return the columns with a letter from A on over what each measures; and by what is measured, its letter."""
    names = [column.head for column in columns if column.kind == "figure"]
    letters = {name: chr(ord("A") + n) for n, name in enumerate(names)}
    heads = [f"{letters[each.head]}\n{each.head}" if each.head in letters else each.head for each in columns]
    return [replace(column, head=head) for column, head in zip(columns, heads, strict=True)], letters


def _tape(mm: float, board: Board) -> str:
    return f"{mm:g} mm" if board.metric else f"{inches(mm, 64)[:-1]} in"


def planed(fit: Fit, stations_mm: Sequence[float], pass_mm: float) -> list[CardRow]:
    """Return for each station the foam over deck and bottom at the stringer, whole passes, and what is left then: all
    rounded down, for what is planed off too much does not come back.
    """
    board, rows = fit.board, []
    for x in stations_mm:
        bottom, deck = fit.upright_mm(x) or (None, None)
        rows.append(
            CardRow(cells=(board_station(board, x), *_passes(deck, pass_mm, board), *_passes(bottom, pass_mm, board)))
        )
    return rows


def _passes(cover_mm: float | None, pass_mm: float, board: Board) -> tuple[str, str, str]:
    if cover_mm is None:
        return NOTHING, NOTHING, NOTHING
    cover = down_mm(cover_mm, metric=board.metric)
    if cover < 0.0:
        return figure(cover, metric=board.metric), NOTHING, NOTHING
    count = math.floor(cover / pass_mm + HAIR)
    left = down_mm(max(cover - count * pass_mm, 0.0), metric=board.metric)
    return figure(cover, metric=board.metric), f"{count}", figure(left or None, metric=board.metric)


def _sized(board: Board, each: BenchStation) -> CardRow:
    half = None if each.width_mm is None else each.width_mm / 2.0
    sizes = (half, each.width_mm, each.thickness_mm, each.rocker_mm)
    return CardRow(cells=(board_station(board, each.x_mm), *(figure(size, metric=board.metric) for size in sizes), ""))


def _railed(board: Board, each: BenchStation, rail: Rail | None) -> CardRow:
    """Return the row of a station's rail: a soft edge has no tuck, and a bottom that does not rise or is not hollow has
    nothing to measure.
    """
    sizes: list[float | None] = [None] * 5
    if rail is not None and each.across is not None:
        across = each.across
        tuck = -rail.edge_mm[0] if rail.edge_radius_mm < SOFT_EDGE_MM else None
        rise = across.rise_mm if (across.rise_mm or 0.0) >= FLAT_MM else None
        sizes = [rail.height_mm, tuck, across.drop_mm, rise, across.hollow_mm or None]
    return CardRow(cells=(board_station(board, each.x_mm), *(figure(size, metric=board.metric) for size in sizes), ""))


def _shown(board: Board, rails: Mapping[float, Rail]) -> Rail:
    """Return the rail of the picture: of those with an edge to be seen, or else of all, the nearest to the middle."""
    edged = [rail for rail in rails.values() if rail.edge_radius_mm < SOFT_EDGE_MM]
    return min(edged or rails.values(), key=lambda rail: abs(rail.x_mm - board.length_mm / 2.0))
