"""The set of templates for a board, every one a numbered part, in an order that never changes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from bayloft.drawing.fin_template import fin_template
from bayloft.drawing.full_outline import full_outline
from bayloft.drawing.half_outline import half_outline
from bayloft.drawing.inscription import Tag, inscribed
from bayloft.drawing.part import Part
from bayloft.drawing.rail_gauges import rail_gauges
from bayloft.drawing.rocker_stick import rocker_stick
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.spin_templates import spin_templates
from bayloft.drawing.stringer_profile import stringer_profile
from bayloft.drawing.thickness_card import thickness_cards
from bayloft.lines.board import BoardLines
from bayloft.solid.body import Body
from bayloft.solid.loft import LoftedFin
from bayloft.spec.board import Board

BETWEEN_MM = 12.0
"""Between the parts of one kind that are drawn together."""


def part_set(
    board: Board, lines: BoardLines, body: Body, fins: Sequence[LoftedFin], *, date: date | None = None
) -> tuple[Part, ...]:
    """Return all templates of a board at full size, numbered from 1, always in the same order: half outline, full
    outline, stringer, rocker stick, thickness cards, rail gauges from tail to nose, spin templates of nose and tail,
    fins.

    `date` is written on each; without one none is.

    Raises SpecError where a fin cannot be laid up, or the tips leave no room for a deck skin.
    """
    parts: list[Part] = []

    def tag() -> Tag:
        return Tag(board=board.name, number=len(parts) + 1, day=date)

    half = half_outline(board, lines, body)
    near = 0.65 * board.length_mm, 0.1 * board.wide_point.value
    drawing = inscribed(half, tag(), "half outline, deck up: port; turn over for starboard", near_mm=near, check=False)
    parts.append(Part(drawing=drawing, title="half outline", number=1, along_grain=True))
    parts.append(full_outline(board, half, tag()))
    parts.append(stringer_profile(board, lines, body, tag()))
    parts.append(rocker_stick(board, lines, body, tag()))
    parts += thickness_cards(board, body, tag())
    parts += rail_gauges(board, body, tag())
    parts += spin_templates(board, half, tag())
    for fin in fins:
        title = f"fin {fin.fin.name}"
        pairs = [placed.off_stringer_mm > 0.0 for placed in board.fins if placed.fin.slug == fin.fin.slug]
        drawing = inscribed(fin_template(fin.fin, fin.lines, fin.body), tag(), title, check=False)
        count, mirrored = sum(2 if pair else 1 for pair in pairs), sum(pairs)
        parts.append(Part(drawing=drawing, title=title, number=len(parts) + 1, count=count, mirrored=mirrored))
    return tuple(replace(part, board=board.name, day=date) for part in parts)


def together(name: str, parts: Iterable[Part]) -> Drawing:
    """Return the drawings of parts in one, one under the other, flush at the left."""
    drawing, top = Drawing(name=name), 0.0
    for part in parts:
        left, low, _, high = part.drawing.bounds
        drawing = drawing.joined(part.drawing.moved(-left, top - high))
        top -= high - low + BETWEEN_MM
    return drawing
