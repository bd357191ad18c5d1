"""Tables of figures to work by, on a card."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from bayloft.drawing.labels import bounds, text_width_mm
from bayloft.drawing.sheet import Drawing, Label
from bayloft.drawing.sheets.card import (
    BLUE,
    BLUE_BOX,
    EDGE_LINE,
    FIGURE_MM,
    FINE_LINE,
    GREY,
    INK,
    LABEL_MM,
    LINE_PITCH,
    ROW_LINE,
    ROW_TINT,
    STATION_MM,
    WORDS_MM,
    CardHeading,
    Line,
    box,
    ending,
    straight,
    text,
    width_mm,
)
from bayloft.drawing.stacked import is_stack, reach_mm
from bayloft.plane.contour import Contour
from bayloft.tape import NOTHING

ROW_UPRIGHT_MM, ROW_LYING_MM = 11.6, 11.35
BOX_MM = (24.0, 8.8)
"""Width and height of a box that a carpenter's pencil writes in."""
TICK_MM = 5.0
LEAST_GAP_MM = 1.0
"""Least room between two columns, each as wide as what is in it is in the widest face."""
UNDER_MM = 1.6
"""Between a station and the label under it."""

Kind = Literal["station", "figure", "words", "label", "box", "tick"]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardColumn:
    """A column: its head (lines parted by a line break), what is in it. "station": 4.6 mm, bold, and behind a
    line break a label under it; "figure": 6.5 mm,
    from `stacked.figure`; "words" and "label": 4.2 mm, and 3 mm in grey; "box": the maker writes; "tick": to be ticked.
    """

    head: str
    kind: Kind = "figure"


@dataclass(frozen=True, slots=True, kw_only=True)
class CardRow:
    """A row of a table: a text for each column; tinted; columns whose figure has a ring round it."""

    cells: tuple[str, ...]
    tinted: bool = False
    ringed: frozenset[int] = frozenset()


def row_mm(heading: CardHeading) -> float:
    """Return the height of a row."""
    return ROW_LYING_MM if heading.lying else ROW_UPRIGHT_MM


def heads_mm(columns: Sequence[CardColumn]) -> float:
    """Return the height of a table's heads."""
    return max(column.head.count("\n") for column in columns) * LINE_PITCH * WORDS_MM + WORDS_MM + 4.0


def most_rows(columns: Sequence[CardColumn], heading: CardHeading, high_mm: float) -> int:
    """Return how many rows of a table go into a height."""
    return int((high_mm - heads_mm(columns)) / row_mm(heading))


def tables(
    columns: Sequence[CardColumn], rows: Sequence[CardRow], heading: CardHeading, high_mm: float
) -> list[Drawing]:
    """Return a table in as many parts as it takes, each as wide as a card and no higher than high_mm, hanging from
    (0, 0): what has no room goes on in the next, never in smaller figures. The first column is in each.
    """
    widths = _widths(columns, _reaches(columns, rows))
    groups: list[list[int]] = [[0]]
    for i in range(1, len(columns)):
        own = [*groups[-1], i]
        taken = sum(widths[n] for n in own) + LEAST_GAP_MM * (len(own) - 1)
        if taken <= width_mm(heading) + 1e-6 or len(own) == 2:
            groups[-1] = own
        else:
            groups.append([0, i])
    most = most_rows(columns, heading, high_mm)
    return [
        table([columns[i] for i in own], [_only(row, own) for row in rows[first : first + most]], heading)
        for own in groups
        for first in range(0, len(rows), most)
    ]


def _only(row: CardRow, columns: Sequence[int]) -> CardRow:
    """Return a row with some of its columns."""
    ringed = frozenset(n for n, i in enumerate(columns) if i in row.ringed)
    return replace(row, cells=tuple(row.cells[i] for i in columns), ringed=ringed)


def _reaches(columns: Sequence[CardColumn], rows: Sequence[CardRow]) -> list[tuple[float, float]]:
    return [_reach(column, [row.cells[i] for row in rows]) for i, column in enumerate(columns)]


def _widths(columns: Sequence[CardColumn], reaches: Sequence[tuple[float, float]]) -> list[float]:
    return [max(sum(reach), _head_width(column)) for column, reach in zip(columns, reaches, strict=True)]


def table(columns: Sequence[CardColumn], rows: Sequence[CardRow], heading: CardHeading) -> Drawing:
    """Return a table as wide as a card, hanging from (0, 0): columns as wide as what is in them, evenly apart.

    Raises ValueError where the columns are wider than the card.
    """
    width, high = width_mm(heading), row_mm(heading)
    reaches = _reaches(columns, rows)
    widths = _widths(columns, reaches)
    gap = (width - sum(widths)) / max(len(columns) - 1, 1)
    if gap < LEAST_GAP_MM - 1e-6:
        raise ValueError(
            f"the columns are {LEAST_GAP_MM - gap:.1f} mm too wide each: {[column.head for column in columns]}"
        )
    lefts = [sum(widths[:i]) + gap * i for i in range(len(columns))]
    contours: list[Line] = []
    labels: list[Label] = []
    top = -heads_mm(columns)
    # Figures without fractions end at their column's right, and the head with them.
    axes = [
        left + (before if after else across)
        for left, across, (before, after) in zip(lefts, widths, reaches, strict=True)
    ]
    for column, left, across, axis in zip(columns, lefts, widths, axes, strict=True):
        ends = column.kind in ("label", "tick") or (column.kind == "figure" and axis == left + across)
        labels += _head_of(column, left + across if ends else left, top + 2.2, "end" if ends else "start")
    contours.append(straight(EDGE_LINE, (0.0, top), (width, top)))
    for n, row in enumerate(rows):
        low = top - high * (n + 1)
        if row.tinted:
            contours.append(box(ROW_TINT, 0.0, low, width, low + high))
        contours.append(straight(ROW_LINE, (0.0, low), (width, low)))
        for i, column in enumerate(columns):
            cell = _cell(column, row.cells[i], (lefts[i], axes[i], lefts[i] + widths[i]), low + high / 2.0)
            labels += cell.labels
            contours += cell.contours
            if i in row.ringed:
                contours.append(_ring(cell))
    return Drawing(name="table", contours=tuple(contours), labels=tuple(labels))


def _head_caps(column: CardColumn) -> tuple[float, bool]:
    """Return the height of a column's head, and whether it is bold."""
    return (WORDS_MM, True) if column.kind in ("figure", "words") else (LABEL_MM, False)


def _head_width(column: CardColumn) -> float:
    caps, bold = _head_caps(column)
    return max(text_width_mm(line, caps, bold=bold) for line in column.head.split("\n"))


def _head_of(column: CardColumn, x: float, foot: float, anchor: Literal["start", "end"]) -> list[Label]:
    caps, bold = _head_caps(column)
    layer = BLUE if column.kind == "box" else INK if bold else GREY
    at = Label(text="", x_mm=x, y_mm=foot, height_mm=caps, layer=layer, bold=bold, anchor=anchor)
    heads = enumerate(reversed(column.head.split("\n")))
    return [replace(at, text=words, y_mm=foot + i * LINE_PITCH * WORDS_MM) for i, words in heads if words]


def _reach(column: CardColumn, cells: Sequence[str]) -> tuple[float, float]:
    """Return how far a column's cells reach before and after their axis."""
    if column.kind == "figure":
        reaches = [_figure_reach(cell) for cell in cells]
        return max((one for one, _ in reaches), default=0.0), max((other for _, other in reaches), default=0.0)
    if column.kind in ("box", "tick"):
        return 0.0, BOX_MM[0] if column.kind == "box" else TICK_MM
    if column.kind == "station":
        parts = [cell.partition("\n") for cell in cells]
        firsts = [text_width_mm(first, STATION_MM, bold=True) for first, _, _ in parts]
        return 0.0, max([*firsts, *(text_width_mm(second, LABEL_MM) for _, _, second in parts)], default=0.0)
    caps = WORDS_MM if column.kind == "words" else LABEL_MM
    return 0.0, max((text_width_mm(cell, caps) for cell in cells), default=0.0)


def _figure_reach(words: str) -> tuple[float, float]:
    return reach_mm(words, FIGURE_MM) if is_stack(words) else (text_width_mm(words, FIGURE_MM, bold=True), 0.0)


def _cell(column: CardColumn, words: str, places: tuple[float, float, float], middle: float) -> Drawing:
    """Return a cell about a height, between the left and the right of `places`, with its axis between them."""
    left, axis, right = places
    contours: list[Line] = []
    labels: list[Label] = []
    if column.kind == "figure":
        y = middle - FIGURE_MM / 2.0
        if words == NOTHING:
            labels.append(ending(words, axis, y, FIGURE_MM, GREY))
        else:
            anchor: Literal["axis", "end"] = "axis" if is_stack(words) else "end"
            labels.append(
                Label(text=words, x_mm=axis, y_mm=y, height_mm=FIGURE_MM, layer=INK, bold=True, anchor=anchor)
            )
    elif column.kind == "station":
        first, _, second = words.partition("\n")
        high = STATION_MM + (UNDER_MM + LABEL_MM if second else 0.0)
        labels.append(text(first, left, middle + high / 2.0 - STATION_MM, STATION_MM, bold=True))
        labels.append(text(second, left, middle - high / 2.0, LABEL_MM, GREY))
    elif column.kind == "words":
        labels.append(text(words, left, middle - WORDS_MM / 2.0, WORDS_MM))
    elif column.kind == "label":
        labels.append(ending(words, right, middle - LABEL_MM / 2.0, LABEL_MM, GREY))
    else:
        size, layer = (BOX_MM, BLUE_BOX) if column.kind == "box" else ((TICK_MM, TICK_MM), EDGE_LINE)
        ends = (left, left + size[0]) if column.kind == "box" else (right - size[0], right)
        low, top = middle - size[1] / 2.0, middle + size[1] / 2.0
        contours.append(box(layer, ends[0], low, ends[1], top))
    return Drawing(name="cell", contours=tuple(contours), labels=tuple(label for label in labels if label.text))


def _ring(cell: Drawing) -> Line:
    """Return the ring round a cell's figure."""
    left, low, right, top = bounds(cell.labels[0])
    x, y, wide, high = (left + right) / 2.0, (low + top) / 2.0, right - left + 3.0, ROW_LYING_MM - 0.6
    corner = min(high, wide) / 2.0
    half = max(wide / 2.0 - corner, 0.0)
    points = [[x - half, y - corner], [x + half, y - corner], [x + half, y + corner], [x - half, y + corner]]
    return FINE_LINE, Contour(points=np.array(points), bulges=np.array([0.0, 1.0, 0.0, 1.0]), closed=True)
