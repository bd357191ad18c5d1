"""What is written on every part: its number, board, kind, date, which way is up, a check line; inside where it fits."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from bayloft.drawing.contour import Contour
from bayloft.drawing.labels import PITCH, Block, Box, bounds, dotted, free_place, text_width_mm, widened
from bayloft.drawing.marks import CHECK_MM, check_line, line
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, MARK, PLY, PLY_INSIDE, THICKNESS, Drawing, Label
from bayloft.drawing.strokes import strokes

Array = NDArray[np.float64]

NUMBER_MM = 10.0
"""Height of the number: a scribing point a millimetre wide leaves its strokes apart."""

CAPS_MM = (4.0, 3.0, 2.2)
"""Cap heights tried for a text, the largest first, until it fits inside."""

CLEAR_MM = 2.5
"""Between a text and what is cut, marked or written."""

WRITTEN_OVER = (CUT, PLY, PLY_INSIDE, THICKNESS)
"""Layers over whose lines a text may stand: where it must not cross a cut is told otherwise, and level lines are faint
and cover the whole of a fin."""

ARROW_MM, BARB_MM = 14.0, 3.0
BESIDE_NUMBER_MM = 4.0

BELOW_MM, LEADER_MM = 4.0, 80.0
"""Between the edge and a text that a leader joins to it, and the longest leader drawn."""

_STEP_MM, _FINE_MM = 4.0, 1.0
"""Between the places tried for a text, and for one that has to stay near its own."""

_FLATTENED_MM = 0.2
_NEAR_MM = 80.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """What tells one part from all others on the wall: the board, the part's number in its set, the day given."""

    board: str
    number: int
    day: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Lines of text, and the place in mm that the middle of their box should be near.

    within_mm: how far from it they may stand, anywhere if None. What finds no room within it stands under the part, at
    the end of a leader straight down from `leader_mm`, a place on the lower edge; or is left out.
    """

    texts: tuple[str, ...]
    near_mm: tuple[float, float]
    within_mm: float | None = None
    leader_mm: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Piece:
    """Something to be placed: drawn with its lower left corner at (0, 0), with the size of its box in mm."""

    drawing: Drawing
    size_mm: tuple[float, float]


def inscribed(
    drawing: Drawing,
    tag: Tag,
    title: str,
    notes: Sequence[Note] = (),
    *,
    near_mm: tuple[float, float] | None = None,
    up: bool = False,
    check: bool = True,
    number: str = "",
) -> Drawing:
    """Return a part's drawing with its number in single strokes, board, title, day and notes written inside it.

    near_mm: where the number and the name should be near, the middle if None. up: with an arrow that shows which way is
    up. check: with a line of 100 mm. number: what is scribed if not the tag's number. Nothing is written over what the
    drawing already holds, and what finds no room inside stands under the part. Notes that have to stay near their
    places have the first choice.
    """
    outline, openings = rings(drawing)
    inside = Polygon(outline, openings).buffer(-CLEAR_MM, join_style="mitre")
    shapely.prepare(inside)
    drawn = [contour for layer, contour in drawing.contours if layer not in WRITTEN_OVER]
    taken = [box for contour in drawn for box in _boxes(contour)]
    taken += [widened(bounds(label), CLEAR_MM / 2) for label in drawing.labels]
    left, bottom, right, top = drawing.bounds
    near = near_mm or ((left + right) / 2, (bottom + top) / 2)
    for written in _bound([note for note in notes if note.within_mm is not None], outline, inside, taken):
        drawing = drawing.joined(written)
    figures, said = strokes(number or f"{tag.number}", NUMBER_MM), _said(tag, title)
    head, corner = _place(_heads(figures, said), near, inside, taken)
    wanted: list[tuple[Iterator[_Piece], tuple[float, float]]] = []
    if corner is None:
        wanted = [(iter([_Piece(drawing=figures, size_mm=figures.bounds[2:])]), near), (_texts(said), near)]
    else:
        taken.append(_filled(head, corner))
        drawing = drawing.joined(head.drawing.moved(*corner))
    wanted += [(iter([_check()]), near)] if check else []
    wanted += [(_texts(note.texts), note.near_mm) for note in notes if note.within_mm is None]
    wanted += [(iter([_arrow()]), near)] if up else []
    for pieces, place in wanted:
        piece, corner = _place(pieces, place, inside, taken)
        if corner is None:
            corner = left, min([bottom, *(box[1] for box in taken)]) - CLEAR_MM - piece.size_mm[1]
        taken.append(_filled(piece, corner))
        drawing = drawing.joined(piece.drawing.moved(*corner))
    return drawing


def rings(drawing: Drawing) -> tuple[Array, list[Array]]:
    """Return the points (n, 2) of a part's outer contour and of its openings, flattened for questions of room."""
    part = Part(drawing=drawing, title="", number=0)
    return part.outline.flattened(_FLATTENED_MM), [hole.flattened(_FLATTENED_MM) for hole in part.openings]


def _bound(notes: Sequence[Note], outline: Array, inside: Polygon, taken: list[Box]) -> Iterator[Drawing]:
    """Yield the notes that have to stay near their places, and add the boxes they fill to those taken.

    All are placed in the smallest letters before any has larger ones: none takes the room of its neighbour.
    """
    found: dict[int, tuple[_Piece, tuple[float, float]]] = {}
    marked = [widened((*note.near_mm, *note.near_mm), CLEAR_MM / 2) for note in notes]
    for caps in sorted(CAPS_MM):
        for i, note in enumerate(notes):
            others = [_filled(*placed) for j, placed in found.items() if j != i]
            others += [box for j, box in enumerate(marked) if j != i]
            piece, corner = _place(
                iter([_text(note.texts, caps)]), note.near_mm, inside, taken + others, note.within_mm
            )
            if corner is not None:
                found[i] = piece, corner
    taken += [_filled(*placed) for placed in found.values()]
    edge = Polygon(outline).buffer(CLEAR_MM)
    for i, note in enumerate(notes):
        if i in found:
            piece, corner = found[i]
            yield piece.drawing.moved(*corner)
        elif note.leader_mm is not None:
            yield from _under(note.texts, note.leader_mm, edge, taken)


def _under(texts: tuple[str, ...], from_mm: tuple[float, float], edge: Polygon, taken: list[Box]) -> Iterator[Drawing]:
    """Yield texts under the part with a leader to them from its edge, if there is room; add what they fill to taken."""
    x, y = from_mm
    piece = _text(texts, CAPS_MM[1])
    wide, high = piece.size_mm

    def free(boxes: Array) -> NDArray[np.bool_]:
        found = np.asarray(shapely.disjoint(edge, shapely.box(*boxes.T)), dtype=np.bool_)
        for i in np.flatnonzero(found):
            top = float(boxes[i, 3])
            crossed = (box[0] < x < box[2] and box[1] < y - CLEAR_MM and box[3] > top for box in taken)
            found[i] = not any(crossed)
        return found

    across = np.arange(CLEAR_MM, wide - CLEAR_MM, _FINE_MM)
    across = x - across[np.argsort(np.abs(across - wide / 2), kind="stable")]
    down = y - high - np.arange(BELOW_MM, LEADER_MM, _STEP_MM)
    grid = np.column_stack([np.tile(across, len(down)), np.repeat(down, len(across))])
    corner = free_place(piece.size_mm, grid, taken, free)
    if corner is not None:
        top = corner[1] + high
        taken += [_filled(piece, corner), widened((x, top, x, y - CLEAR_MM), CLEAR_MM / 2)]
        yield piece.drawing.moved(*corner).joined(Drawing(name="leader", contours=(line(MARK, (x, y), (x, top)),)))


def _place(
    pieces: Iterator[_Piece],
    near_mm: tuple[float, float],
    inside: Polygon,
    taken: list[Box],
    within_mm: float | None = None,
) -> tuple[_Piece, tuple[float, float] | None]:
    """Return the first piece for which there is room inside, and the free place nearest to the wanted one, no further
    from it than within_mm; the first of all and None where none has room.
    """

    def holds(boxes: Array) -> NDArray[np.bool_]:
        return np.asarray(shapely.contains(inside, shapely.box(*boxes.T)), dtype=np.bool_)

    first = next(pieces)
    if inside.is_empty:
        return first, None
    low, high = np.reshape(inside.bounds, (2, 2))
    filled = np.reshape(taken, (-1, 2, 2))
    for piece in itertools.chain([first], pieces):
        size = np.array(piece.size_mm)
        # Most find their place near the wanted one, and only the others are looked for all over the part.
        for reach in (_NEAR_MM, np.inf) if within_mm is None else (within_mm,):
            start = np.maximum(low, np.clip(near_mm, low, high) - reach - size / 2)
            stop = np.minimum(high - size, np.clip(near_mm, low, high) + reach - size / 2)
            step = _STEP_MM if within_mm is None else _FINE_MM
            x, y = (np.arange(a, b, step) for a, b in zip(start, stop, strict=True))
            grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
            away = np.hypot(*(grid + size / 2 - near_mm).T)
            grid = grid[np.argsort(away.round(6), kind="stable")]
            grid = grid if within_mm is None else grid[: int((away <= within_mm).sum())]
            about = (filled[:, 0] < stop + size).all(axis=1) & (filled[:, 1] > start).all(axis=1)
            place = free_place(piece.size_mm, grid, filled[about].reshape(-1, 4), holds)
            if place is not None:
                return piece, place
    return first, None


def _said(tag: Tag, title: str) -> tuple[str, ...]:
    return (tag.board, title, *([] if tag.day is None else [tag.day.isoformat()]))


def _heads(figures: Drawing, texts: Sequence[str]) -> Iterator[_Piece]:
    """Yield the number with the texts beside it, in smaller and smaller letters."""
    aside = figures.bounds[2] + BESIDE_NUMBER_MM
    for caps in CAPS_MM:
        high = max(NUMBER_MM, caps * (1.0 + PITCH * (len(texts) - 1)))
        wide = max(text_width_mm(text, caps, bold=i == 0) for i, text in enumerate(texts))
        labels = tuple(
            Label(text=text, x_mm=aside, y_mm=high - caps * (1.0 + PITCH * i), height_mm=caps, bold=i == 0)
            for i, text in enumerate(texts)
        )
        head = figures.moved(0.0, high - NUMBER_MM)
        yield _Piece(drawing=Drawing(name="head", contours=head.contours, labels=labels), size_mm=(aside + wide, high))


def _texts(texts: tuple[str, ...]) -> Iterator[_Piece]:
    return (_text(texts, caps) for caps in CAPS_MM)


def _text(texts: tuple[str, ...], caps_mm: float) -> _Piece:
    block = Block(texts=texts, caps_mm=caps_mm)
    return _Piece(drawing=Drawing(name="text", labels=tuple(block.labels(0.0, 0.0))), size_mm=block.size_mm)


def _check() -> _Piece:
    drawing = check_line(0.0, 0.0)
    low, high = drawing.bounds[1], bounds(drawing.labels[0])[3]
    return _Piece(drawing=drawing.moved(0.0, -low), size_mm=(CHECK_MM, high - low))


def _arrow() -> _Piece:
    head = Contour.straight(
        [[0.0, ARROW_MM - BARB_MM], [BARB_MM, ARROW_MM], [2 * BARB_MM, ARROW_MM - BARB_MM]], closed=False
    )
    label = Label(text="up", x_mm=2 * BARB_MM + 1.5, y_mm=ARROW_MM / 2, height_mm=CAPS_MM[0])
    arrow = Drawing(
        name="up", contours=(line(MARK, (BARB_MM, 0.0), (BARB_MM, ARROW_MM)), (MARK, head)), labels=(label,)
    )
    # With as much room on both sides as the number has beside it, lest the two be read as one word.
    wide = bounds(label)[2] + 2 * BESIDE_NUMBER_MM
    return _Piece(drawing=arrow.moved(BESIDE_NUMBER_MM, 0.0), size_mm=(wide, ARROW_MM))


def _boxes(contour: Contour) -> list[Box]:
    """Return the boxes in which nothing may be written for a contour: of a slanting line many small ones."""
    left, low, right, high = contour.bounds
    if min(right - left, high - low) < 2.0 * CLEAR_MM:
        return [widened((left, low, right, high), CLEAR_MM / 2)]
    return [widened((x, y, x, y), CLEAR_MM / 2) for x, y in dotted(contour, CLEAR_MM).tolist()]


def _filled(piece: _Piece, corner: tuple[float, float]) -> Box:
    return widened((*corner, corner[0] + piece.size_mm[0], corner[1] + piece.size_mm[1]), CLEAR_MM / 2)
