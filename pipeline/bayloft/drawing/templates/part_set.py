"""The set of templates for a board, every one a part whose number is its own for good."""

from __future__ import annotations

import datetime
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from types import MappingProxyType

from bayloft.drawing.inscription import Note, Tag, inscribed
from bayloft.drawing.part import Part
from bayloft.drawing.scribing import MIDDLE
from bayloft.drawing.sheet import SCRIBE, Drawing
from bayloft.drawing.templates.band_lines import band_lines
from bayloft.drawing.templates.fin_template import fin_template
from bayloft.drawing.templates.full_outline import full_outline
from bayloft.drawing.templates.half_outline import half_outline
from bayloft.drawing.templates.new_stringer import new_stringers
from bayloft.drawing.templates.panel_template import panel_templates
from bayloft.drawing.templates.rail_gauges import rail_gauges
from bayloft.drawing.templates.rocker_stick import rocker_stick
from bayloft.drawing.templates.spin_templates import spin_templates
from bayloft.drawing.templates.stringer_profile import stringer_profile
from bayloft.drawing.templates.tape_lines import tape_lines
from bayloft.drawing.templates.thickness_card import thickness_cards
from bayloft.solid.draft import Draft, FinDraft
from bayloft.solid.standing import FIRST_FIN, Cut
from bayloft.spec.boards.board import Board

FINS = "fins"
"""The kind of a fin's template, which has a file of its own."""

GAUGES = "gauges"
"""The kind of thickness cards and rail gauges, which are drawn together."""

FIRST_NUMBERS = MappingProxyType(
    {
        "half-outline": 1,
        "full-outline": 2,
        "stringer": 3,
        "rocker-stick": 4,
        "spin-templates": 5,
        "new-stringer": 7,
        "thickness-cards": 21,
        FINS: FIRST_FIN,
        "tape-lines": 63,
        "band-lines": 71,
        "fin-panels": 73,
        "rail-gauges": 101,
    }
)
"""The number of each kind's first part. None of them ever moves, whatever a board has and whatever kinds come: lists
and scribed wood of years ago still name the same parts. Free for templates to come: 8 to 20, 65 to 70 and 85 to 100."""

BETWEEN_MM = 12.0
"""Between the parts of one kind that are drawn together."""


def part_set(
    draft: Draft, fins: Sequence[tuple[FinDraft, Cut]], *, date: datetime.date | None = None
) -> tuple[Part, ...]:
    """Return all templates of a board at full size, by number: half outline, full outline, stringer, rocker stick, spin
    templates of nose and tail, a new stringer if there is one, thickness cards, fins by their number, panels of
    several fins, rail gauges from tail to nose.

    `fins` as `LoftedBoard.cut_fins` has them. `date` is written on each part; without one none is.

    Raises SpecError where a fin cannot be laid up, or the tips leave no room for a deck skin.
    """
    board, half = draft.board, half_outline(draft)
    makers: dict[str, Callable[[Tag], Iterable[Part]]] = {
        "half-outline": lambda tag: [_half(board, half, tag)],
        "full-outline": lambda tag: [full_outline(board, half, tag)],
        "stringer": lambda tag: [stringer_profile(draft, tag)],
        "rocker-stick": lambda tag: [rocker_stick(draft, tag)],
        "spin-templates": lambda tag: spin_templates(draft, half, tag),
        "new-stringer": lambda tag: new_stringers(draft, tag),
        "thickness-cards": lambda tag: thickness_cards(draft, tag),
        FINS: lambda tag: _fins(fins, tag),
        "tape-lines": lambda tag: tape_lines(draft, tag),
        "band-lines": lambda tag: band_lines(draft, half, tag),
        "fin-panels": lambda tag: panel_templates(draft, tag),
        "rail-gauges": lambda tag: rail_gauges(draft, tag),
    }
    together = {"thickness-cards": GAUGES, "rail-gauges": GAUGES}
    parts: list[Part] = []
    for kind, made in makers.items():
        tag = Tag(board=board.name, number=FIRST_NUMBERS[kind], day=date)
        parts += [replace(part, kind=together.get(kind, kind)) for part in made(tag)]
    return tuple(parts)


def _half(board: Board, half: Drawing, tag: Tag) -> Part:
    length, wide = board.length_mm, board.wide_point.value
    near = 0.65 * length, 0.1 * wide
    notes = [
        Note(texts=(MIDDLE,), near_mm=(0.27 * length, 0.0), within_mm=length / 8, scribed=True),
        Note(texts=("deck up: port; turn over for starboard",), near_mm=near),
    ]
    part = Part(drawing=half, title="half outline", number=tag.number, along_grain=True)
    return inscribed(part, tag.head("half outline", nose=True), notes, near_mm=near, check=False)


def _fins(fins: Sequence[tuple[FinDraft, Cut]], tag: Tag) -> Iterator[Part]:
    """Yield the fins' templates, each as often as it is cut differently, with how many of it the board takes."""
    for fin, cut in fins:
        own, title = replace(tag, number=cut.number), f"fin {fin.fin.name}"
        drawing = fin_template(fin, cut, own.head(title))
        sides = [len(stand.sides) for stand in cut.stands]
        yield Part(
            drawing=drawing,
            title=title,
            number=own.number,
            count=sum(sides),
            mirrored=sides.count(2),
            board=tag.board,
            day=tag.day,
            head=tuple(label for label in drawing.labels if label.layer == SCRIBE),
        )


def drawn_together(parts: Iterable[Part]) -> dict[str, Drawing]:
    """Return one drawing for each kind of part but fins, by the kind: several parts one under the other, flush at the
    left.
    """
    kinds: dict[str, list[Drawing]] = {}
    for part in parts:
        if part.kind != FINS:
            kinds.setdefault(part.kind, []).append(part.drawing)
    return {kind: own[0] if len(own) == 1 else _stacked(kind, own) for kind, own in kinds.items()}


def _stacked(name: str, drawings: Sequence[Drawing]) -> Drawing:
    whole, top = Drawing(name=name), 0.0
    for drawing in drawings:
        left, low, _, high = drawing.bounds
        whole = whole.joined(drawing.moved(-left, top - high))
        top -= high - low + BETWEEN_MM
    return whole
