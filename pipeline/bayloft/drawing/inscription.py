"""What is written on every part: what it is, in single strokes; notes, which way is up, a check line; inside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from bayloft.drawing.labels import Block, bounds, widened
from bayloft.drawing.marks import CHECK_MM, check_line, line
from bayloft.drawing.part import Part
from bayloft.drawing.room import FINE_MM, Place, Room, filled
from bayloft.drawing.scribing import CODES_MM, SCRIBED_MM, SMALL_MM, TEXT_CLEAR_MM, Head, Stamp, heads, scribed
from bayloft.drawing.sheet import MARK, Drawing, Label
from bayloft.drawing.strokes import scribable
from bayloft.drawing.title_block import dated
from bayloft.plane.contour import Contour

CAPS_MM = (4.0, 3.0, 2.2)
"""Cap heights tried for a text, the largest first, until it fits inside."""

HEAD_STEP_MM = 2.0
"""Between the places tried for a head: an arm of a gauge leaves it a few mm."""

ARROW_MM, BARB_MM = 14.0, 3.0
BESIDE_ARROW_MM = 4.0
"""Room on both sides of the arrow that points up, lest it be read with what stands there."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """What tells one part from all others on the wall: the board, the part's number in its set, the day given."""

    board: str
    number: int
    day: date | None = None

    def head(self, kind: str, *, brief: str = "", station: str = "", nose: bool = False) -> Head:
        """Return the head of a part of a kind; see Head."""
        number = f"{self.number}"
        return Head(kind=kind, brief=brief, number=number, station=station, board=self.board, day=self.day, nose=nose)

    def onward(self, count: int) -> Tag:
        """Return the tag of the part so many numbers on."""
        return replace(self, number=self.number + count)


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """Lines of text, and the place in mm that the middle of their box should be near.

    within_mm: how far from it they may stand, anywhere if None. What finds no room within it stands under the part, at
    the end of a leader straight down from `leader_mm`, a place on the lower edge; or is left out, as what is scribed
    always is. scribed: in single strokes that a router follows, which near their place are at most `caps_mm` high, to
    leave room for what is written there.
    """

    texts: tuple[str, ...]
    near_mm: Place
    within_mm: float | None = None
    leader_mm: Place | None = None
    scribed: bool = False
    caps_mm: float = CODES_MM[0]

    def settings(self) -> tuple[Stamp, ...]:
        """Return the texts in all the heights that they may have, the largest first."""
        if not self.scribed:
            return tuple(_text(self.texts, caps) for caps in CAPS_MM)
        heights: Sequence[float] = (*SCRIBED_MM, *SMALL_MM)
        if self.within_mm is not None:
            heights = [caps for caps in CODES_MM if caps <= max(self.caps_mm, CODES_MM[-1])]
        return tuple(scribed([scribable(text) for text in self.texts], caps) for caps in heights)


def inscribed(
    part: Part,
    head: Head,
    notes: Sequence[Note] = (),
    *,
    near_mm: Place | None = None,
    up: bool = False,
    check: bool = True,
) -> Part:
    """Return a part with its head scribed into it in single strokes, and with notes written inside it.

    near_mm: where the head should be near, the middle if None. up: with an arrow that shows which way is up. check:
    with a line of 100 mm. Nothing is written over what the drawing already holds; notes that have to stay near their
    places have the first choice, scribed ones before others. What finds no room inside stands under the part, but
    nothing that is scribed does. Its name is written as well, in all letters and as text that is found in a file.
    """
    drawing, room = part.drawing, Room.of(part.drawing)
    left, bottom, right, top = drawing.bounds
    near = near_mm or ((left + right) / 2, (bottom + top) / 2)
    for strokes in (True, False):
        chosen = [note for note in notes if note.within_mm is not None and note.scribed == strokes]
        drawing = drawing.joined(*_bound(chosen, room))
    scribed_head = headed(room, head, near)
    drawing = drawing.joined(scribed_head)
    free = [note for note in notes if note.within_mm is None]
    for note in (note for note in free if note.scribed):
        found = room.placed(note.settings(), note.near_mm)
        drawing = drawing if found is None else drawing.joined(found)
    name = named(head.board, part.title, head.day)
    wanted: list[tuple[Sequence[Stamp], Place]] = [([_text([name], caps) for caps in CAPS_MM], near)]
    wanted += [([_check()], near)] if check else []
    wanted += [(note.settings(), note.near_mm) for note in free if not note.scribed]
    wanted += [([_arrow()], near)] if up else []
    for stamps, place in wanted:
        drawing = drawing.joined(room.placed(stamps, place) or room.below(stamps[0], left, bottom))
    return replace(part, drawing=drawing, board=head.board, day=head.day, head=scribed_head.labels)


def headed(room: Room, head: Head, near_mm: Place) -> Drawing:
    """Return a head in the best setting for which there is room; empty where even the least has none."""
    return room.placed(heads(head), near_mm, HEAD_STEP_MM) or Drawing(name="head")


def named(board: str, title: str, day: date | None) -> str:
    """Return what a part is called, in the letters of its maker: what strokes spell or leave out is written so."""
    return dated(f"{board}: {title}", day)


def lettered(drawing: Drawing, head: Head, near_mm: Place | None = None) -> Drawing:
    """Return the drawing of a plate that is no part of the set, with what it is scribed into it where it has room."""
    left, bottom, right, top = drawing.bounds
    return drawing.joined(headed(Room.of(drawing), head, near_mm or ((left + right) / 2, (bottom + top) / 2)))


def _bound(notes: Sequence[Note], room: Room) -> Iterator[Drawing]:
    """Yield the notes that have to stay near their places.

    All are placed in the smallest letters before any has larger ones: none takes the room of its neighbour.
    """
    found: dict[int, tuple[Stamp, Place]] = {}
    marked = [widened((*note.near_mm, *note.near_mm), TEXT_CLEAR_MM) for note in notes]
    settings = [note.settings()[::-1] for note in notes]
    for step in range(max(map(len, settings), default=0)):
        for i, note in enumerate(notes):
            others = [filled(*placed, placed[0].clear_mm) for j, placed in found.items() if j != i]
            others += [box for j, box in enumerate(marked) if j != i]
            if step >= len(settings[i]):
                continue
            stamp = settings[i][step]
            corner = room.corner(stamp, note.near_mm, note.within_mm, others, FINE_MM)
            if corner is not None:
                found[i] = stamp, corner
    for stamp, corner in found.values():
        room.take(stamp, corner)
    for i, note in enumerate(notes):
        if i in found:
            stamp, corner = found[i]
            yield stamp.drawing.moved(*corner)
        elif note.leader_mm is not None:
            below = room.under(_text(note.texts, CAPS_MM[1]), note.leader_mm)
            if below is not None:
                written, end = below
                x, y = note.leader_mm
                yield written.joined(Drawing(name="leader", contours=(line(MARK, (x, y), (x, end)),)))


def _text(texts: Iterable[str], caps_mm: float) -> Stamp:
    block = Block(texts=tuple(texts), caps_mm=caps_mm)
    return Stamp(drawing=Drawing(name="text", labels=tuple(block.labels(0.0, 0.0))), size_mm=block.size_mm)


def _check() -> Stamp:
    drawing = check_line(0.0, 0.0)
    low, high = drawing.bounds[1], bounds(drawing.labels[0])[3]
    return Stamp(drawing=drawing.moved(0.0, -low), size_mm=(CHECK_MM, high - low))


def _arrow() -> Stamp:
    head = Contour.straight(
        [[0.0, ARROW_MM - BARB_MM], [BARB_MM, ARROW_MM], [2 * BARB_MM, ARROW_MM - BARB_MM]], closed=False
    )
    label = Label(text="up", x_mm=2 * BARB_MM + 1.5, y_mm=ARROW_MM / 2, height_mm=CAPS_MM[0])
    arrow = Drawing(
        name="up", contours=(line(MARK, (BARB_MM, 0.0), (BARB_MM, ARROW_MM)), (MARK, head)), labels=(label,)
    )
    wide = bounds(label)[2] + 2 * BESIDE_ARROW_MM
    return Stamp(drawing=arrow.moved(BESIDE_ARROW_MM, 0.0), size_mm=(wide, ARROW_MM))
