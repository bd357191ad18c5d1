"""The card of the rail bands: the flats on three sections, and where their pencil lines run at each station."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from bayloft import tape
from bayloft.drawing.labels import spread, wrapped
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BOARD_LINE,
    DASHED_LINE,
    EDGE_LINE,
    FINE_LINE,
    GREY,
    INK,
    LABEL_MM,
    LINE_PITCH,
    LOW_MM,
    WORDS_MM,
    CardHeading,
    Line,
    board_station,
    cards,
    figures_in,
    lines,
    straight,
    text,
    top_mm,
    width_mm,
)
from bayloft.drawing.sheets.card_table import CardColumn, CardRow, tables
from bayloft.foam.bands import SOLE_CUTS_MM, BoardBands, FaceBands, Sole, board_bands
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.solid.measure import section
from bayloft.spec.bench.bands import Bands
from bayloft.spec.boards.board import Board
from bayloft.tape import figure

Array = NDArray[np.float64]

CAUTION = "Plane and foam dust: breathing mask, eyes. No flat cuts into the board; a sole longer than told may."
COLUMNS_A_PAGE = 6
RAIL_MM, CELL_MM = (62.0, 58.0), 88.0
"""Most width and height of a rail on paper, and how far one begins from the next."""
SCALES = (1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 5.0, 6.0)
SHOWN = (0.0, 0.5, 1.0)
"""Which of the stations are drawn, as shares of their number."""
INSIDE_MM = 14.0
"""How much of a section is drawn inside the first line."""
LETTER_MM = 1.4
"""Least room between letters."""


def band_cards(draft: Draft, bands: Bands, digest: str, day: date | None = None) -> list[Drawing]:
    """Return the pages of a board's band card, lying: sections with the flats, and how long a plane's sole may be; the
    pencil lines by station, tail end first; the foam that is left at the corners.
    """
    board = draft.board
    found = board_bands(draft.body, bands)
    heading = CardHeading(
        board=board.name,
        card="rail bands",
        said="Level, from the MIDDLE of the stringer; up the squared side from its foot. Both sides alike.",
        caution=CAUTION,
        basis=f"Shaped sizes, before glass. {figures_in(metric=board.metric)}",
        day=day,
        digest=digest,
        lying=True,
    )
    rows = found.at(bands.stations_mm)
    marked = lettered(found)
    pages = [[_sections(draft, found, rows, heading), _told(found, heading, metric=board.metric)]]
    pages += _tables(heading, found, rows, _pencilled(marked), board)
    pages += _tables(heading, found, rows, _left(marked), board)
    return cards(heading, pages)


def lettered(found: BoardBands) -> list[tuple[FaceBands, int, str, str]]:
    """Return each flat with its face, its number from the middle outward, the letters of its inner and side line."""
    flats = [(face, i) for face in found.faces for i in range(face.count)]
    return [(face, i, chr(65 + 2 * n), chr(66 + 2 * n)) for n, (face, i) in enumerate(flats)]


def _pencilled(marked: Sequence[tuple[FaceBands, int, str, str]]) -> list[tuple[str, Array]]:
    """Return the pencil lines, in the order in which they are drawn: the inner one of a later flat lies on the flat
    planed before it.
    """
    columns, before = [], ""
    for face, i, inner, side in marked:
        columns.append((f"{inner}\n{f'on flat {before}' if i else face.face}", face.inner_mm[:, i]))
        before = inner
        columns.append((f"{side}\nside, up", face.side_mm[:, i]))
    return columns


def _left(marked: Sequence[tuple[FaceBands, int, str, str]]) -> list[tuple[str, Array]]:
    """Return the foam left at each corner once all flats of a face are planed."""
    columns = []
    for face, i, inner, side in marked:
        columns.append((f"left at\n{inner}", face.left_mm[:, i]))
        if i == face.count - 1:
            columns.append((f"left at\n{side}", face.left_mm[:, i + 1]))
    return columns


def _tables(
    heading: CardHeading, found: BoardBands, rows: Sequence[int], columns: list[tuple[str, Array]], board: Board
) -> list[list[Drawing]]:
    pages: list[list[Drawing]] = []
    for first in range(0, len(columns), COLUMNS_A_PAGE):
        own = columns[first : first + COLUMNS_A_PAGE]
        heads = [
            CardColumn(head="from tail", kind="station"),
            *(CardColumn(head=head) for head, _ in own),
            CardColumn(head="done", kind="tick"),
        ]
        body = [
            CardRow(
                cells=(
                    board_station(board, float(found.stations_mm[i])),
                    *(figure(None if math.isnan(v[i]) else float(v[i]), metric=board.metric) for _, v in own),
                    "",
                )
            )
            for i in rows
        ]
        top = top_mm(heading)
        pages += [[part.moved(0.0, top)] for part in tables(heads, body, heading, top - LOW_MM)]
    return pages


def _told(found: BoardBands, heading: CardHeading, *, metric: bool) -> Drawing:
    """Return what is to be known of the flats, in sentences above the foot."""
    planed = ""
    if any(face.count > 1 for face in found.faces):
        planed = (
            "Plane a flat, then pencil the next one's inner line on it; that takes the first one's side line away. "
        )
    said = "; ".join(_sole(sole, found, metric=metric) for sole in found.soles)
    sole = tape.along(found.sole_mm, metric=metric)
    words = f"{planed}A stiff sole of {sole} cuts into the board where that is hollow along the band: {said}."
    broken = wrapped(words, WORDS_MM, width_mm(heading))
    y = LOW_MM + (len(broken) - 1) * LINE_PITCH * WORDS_MM + 1.0
    return Drawing(name="told", labels=tuple(lines(words, 0.0, y, width_mm(heading), WORDS_MM)))


def _sole(sole: Sole, found: BoardBands, *, metric: bool) -> str:
    name = next(inner for face, i, inner, _ in lettered(found) if face.face == sole.face and i == sole.number - 1)
    if sole.x_mm is None or sole.cuts_mm <= SOLE_CUTS_MM:
        return f"flat {name}, nowhere"
    cuts, where = tape.at_most(sole.cuts_mm, metric=metric), tape.coarse(sole.x_mm, metric=metric)
    longest = "" if sole.longest_mm is None else f", a sole of {tape.coarse(sole.longest_mm, metric=metric)} not at all"
    return f"flat {name}, {cuts} at most, {where} from the tail{longest}"


def _sections(draft: Draft, found: BoardBands, rows: Sequence[int], heading: CardHeading) -> Drawing:
    """Return the rails of half sections side by side, tail first, with the squared foam and the flats on them."""
    shown = sorted({rows[round(share * (len(rows) - 1))] for share in SHOWN})
    inmost = np.concatenate([face.inner_mm[shown] for face in found.faces], axis=1)
    # A station without any band shows as much of its section as it may.
    first = np.where(np.isfinite(inmost), inmost, found.half_width_mm[shown, None]).min(axis=1) - INSIDE_MM
    wide = float((found.half_width_mm[shown] - first).max())
    tall = float((found.high_mm - found.low_mm)[shown].max())
    scale = next((s for s in SCALES if wide / s <= RAIL_MM[0] and tall / s <= RAIL_MM[1]), SCALES[-1])
    drawn = Drawing(name="sections")
    for n, (i, begins) in enumerate(zip(shown, first.tolist(), strict=True)):
        drawn = drawn.joined(_rail(draft, found, i, scale, begins).moved(n * CELL_MM, 0.0))
    return drawn.moved(2.0, top_mm(heading) - 12.0 - drawn.bounds[3])


def _rail(draft: Draft, found: BoardBands, i: int, scale: float, begins_mm: float) -> Drawing:
    """Return a section from so far off the stringer outward, the squared bottom on y = 0."""
    low, half = float(found.low_mm[i]), float(found.half_width_mm[i] - begins_mm) / scale
    high = float(found.high_mm[i] - found.low_mm[i]) / scale
    points = (section(draft.body, float(found.stations_mm[i]), per_span=2).points - [begins_mm, low]) / scale
    apex = int(np.argmax(points[:, 0]))
    contours: list[Line] = [
        (BOARD_LINE, Contour.straight(part[part[:, 0] >= 0.0], closed=False))
        for part in (points[: apex + 1], points[apex:])
    ]
    contours.append(straight(EDGE_LINE, (0.0, high), (half, high), (half, 0.0), (0.0, 0.0)))
    above: list[tuple[str, float, float]] = []
    below: list[tuple[str, float, float]] = []
    beside: list[tuple[str, float]] = []
    for face, n, inner, side in lettered(found):
        if math.isnan(face.inner_mm[i, n]):
            continue
        start = float(face.inner_mm[i, n] - begins_mm) / scale, float(face.inner_up_mm[i, n]) / scale
        end = half, float(face.side_mm[i, n]) / scale
        contours.append(straight(DASHED_LINE, start, end))
        (above if face.face == "deck" else below).append((inner, *start))
        beside.append((side, end[1]))
    labels: list[Label] = []
    for row, y, end_y in ((above, high + 6.0, high + 5.0), (below, -6.0 - WORDS_MM, -5.0)):
        middles = spread([x for _, x, _ in row], [WORDS_MM] * len(row), 0.0, half, LETTER_MM)
        for (letter, x, level), middle in zip(row, middles.tolist(), strict=True):
            contours.append(straight(FINE_LINE, (x, level), (middle, end_y)))
            labels.append(
                Label(text=letter, x_mm=middle, y_mm=y, height_mm=WORDS_MM, anchor="middle", layer=INK, bold=True)
            )
    beside.sort(key=lambda each: each[1])
    more = max((len(beside) * (WORDS_MM + LETTER_MM) - high) / 2.0, 2.0)
    middles = spread([y for _, y in beside], [WORDS_MM] * len(beside), -more, high + more, LETTER_MM)
    for (letter, y), middle in zip(beside, middles.tolist(), strict=True):
        contours.append(straight(FINE_LINE, (half, y), (half + 6.0, middle)))
        labels.append(text(letter, half + 7.0, middle - WORDS_MM / 2.0, WORDS_MM, bold=True))
    caption = f"{tape.station(float(found.stations_mm[i]), metric=draft.board.metric)} from tail, 1:{scale:g}"
    labels.append(text(caption, 0.0, -17.0, LABEL_MM, GREY))
    return Drawing(name="section", contours=tuple(contours), labels=tuple(labels))
