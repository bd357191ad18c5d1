"""The frame that every card for the bay shares: paper, head, foot, and tables of figures to work by.

How to make a card::

    heading = CardHeading(board="Whimbrel", card="rail bands", said="Plane each flat straight from line to line.",
                          caution="Foam dust: breathing mask.", day=day, digest=digest)
    columns = [CardColumn(head="from tail", kind="station"), CardColumn(head="A"), CardColumn(head="done", kind="tick")]
    cells = [(board_station(board, x), figure(a, metric=board.metric), "") for x, a in measured]
    rows = [CardRow(cells=each) for each in cells]
    pages = cards(heading, [[table(columns, rows, heading).moved(0.0, top_mm(heading)), picture], ...])

What is drawn on a card lies in its live area, whose lower left corner is (0, 0): between `LOW_MM` and `top_mm` all is
free, from 0 to `width_mm`. Tables are in card_table.py and hang from (0, 0) downward; one of more rows than `most_rows`
goes on on a second page. Figures come from `stacked.figure`. `delivery.deliveries.of_cards` makes files of the pages.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from bayloft.drawing.labels import shortened, text_width_mm, wrapped
from bayloft.drawing.sheet import Drawing, Label, Layer
from bayloft.drawing.stacked import is_stack, reach_mm
from bayloft.plane.contour import Contour
from bayloft.spec.boards.board import Board
from bayloft.spec.text.stations import nearer_end
from bayloft.tape import station
from bayloft.tolerances import SEPARATE_STATIONS_MM

LIVE_MM = (180.0, 255.0)
"""The live area of an upright card; a lying one has it turned."""

PAPER_MM = (210.0, 279.4)
"""As wide as A4 and as high as Letter: a page that lies whole on either, so one file prints at full size on both, its
outer margin a little wider on the one or the other."""

BINDING_MM = 20.0
"""Margin at the left of an upright card and at the top of a lying one: all hang the same way."""

PUNCH_MM = (40.0, 7.0, 10.5)
"""Half the distance of two holes, and from where to where off the paper's edge their ticks are drawn (ISO 838, two
holes 80 mm apart; from memory)."""

HEAD_MM, FOOT_MM = 18.5, 10.0
LOW_MM = FOOT_MM + 3.0
"""Height over which a card is free."""

ONE_MM, NAME_MM, FIGURE_MM, STATION_MM, WORDS_MM, LABEL_MM, FOOT_CAPS_MM = 14.0, 9.0, 6.5, 4.6, 4.2, 3.0, 2.2
"""Heights of capitals: the one number of a card, board's name and verdict, figures to work by, stations, words read at
arm's length, labels, and the foot."""
LEAST_NAME_MM = 4.6
NAME_UP_MM = 8.6
"""From the head's rule up to the name."""

GAP_MM = 3.0
"""Least room between what stands side by side in the head and the foot."""
LINE_PITCH = 1.45

BOARD_LINE = Layer(name="BOARD", weight_mm=0.7, colour="#000000")
EDGE_LINE = Layer(name="EDGE", weight_mm=0.35, colour="#000000")
FINE_LINE = Layer(name="FINE", weight_mm=0.25, colour="#000000")
DASHED_LINE = Layer(name="DASHED", weight_mm=0.35, dashes_mm=(2.0, 1.2), colour="#000000")
MIDDLE_LINE = Layer(name="MIDDLE", weight_mm=0.25, dashes_mm=(4.0, 1.0, 0.6, 1.0), colour="#000000")
SECOND_LINE = Layer(name="SECOND", weight_mm=0.25, colour="#555555")
ROW_LINE = Layer(name="ROWS", weight_mm=0.25, colour="#c2c2c2")
BLUE_LINE = Layer(name="MEASURE", weight_mm=0.25, colour="#1f4e6e")
BLUE_HEAD = Layer(name="MEASURE_HEAD", weight_mm=0.05, colour="#1f4e6e", fill="#1f4e6e")
BLUE_BOX = Layer(name="WRITING", weight_mm=0.35, colour="#1f4e6e")
ROW_TINT = Layer(name="ROW_TINT", weight_mm=0.0, colour="#f1f1f1", fill="#f1f1f1")
INK = Layer(name="INK", colour="#000000")
GREY = Layer(name="GREY", colour="#555555")
BLUE = Layer(name="BLUE", colour="#1f4e6e")

Line = tuple[Layer, Contour]


@dataclass(frozen=True, slots=True, kw_only=True)
class CardHeading:
    """What a card says of itself: board, what the card is, one line below; first line of the foot (the caution), and
    what its sizes are; the day, if given, and the digest of the shape, of which six digits are shown; whether it lies.
    """

    board: str
    card: str
    said: str
    caution: str
    basis: str = "Shaped sizes, before glass."
    day: date | None = None
    digest: str = ""
    lying: bool = False


def figures_in(*, metric: bool) -> str:
    """Return what the figures of a card are in, for its foot."""
    return "mm." if metric else "Inches; + is 1/32 more."


def board_station(board: Board, x_mm: float) -> str:
    """Return a station of a board for a table: from its tail, and behind a line break what else a maker calls it."""
    said, length = station(x_mm, metric=board.metric), board.length_mm
    if abs(x_mm - length / 2.0) <= SEPARATE_STATIONS_MM:
        return f"{said}\ncentre"
    end, off = nearer_end(x_mm, length)
    return f"{said}\n{station(off, metric=board.metric)} from nose" if end == "nose" else said


def width_mm(heading: CardHeading) -> float:
    """Return the width of a card's live area."""
    return LIVE_MM[1] if heading.lying else LIVE_MM[0]


def top_mm(heading: CardHeading) -> float:
    """Return the height under which a card is free."""
    return (LIVE_MM[0] if heading.lying else LIVE_MM[1]) - HEAD_MM


def text(words: str, x: float, y: float, caps: float, layer: Layer = INK, *, bold: bool = False) -> Label:
    """Return a line of text that begins at (x, y)."""
    return Label(text=words, x_mm=x, y_mm=y, height_mm=caps, layer=layer, bold=bold)


def ending(words: str, x: float, y: float, caps: float, layer: Layer = INK, *, bold: bool = False) -> Label:
    """Return a line of text that ends at (x, y)."""
    return Label(text=words, x_mm=x, y_mm=y, height_mm=caps, layer=layer, bold=bold, anchor="end")


def set_figure(words: str, x: float, y: float, caps: float = FIGURE_MM, layer: Layer = INK) -> Label:
    """Return a figure of `stacked.figure` whose box begins at x, its whole figures on the line y."""
    if is_stack(words):
        axis = x + reach_mm(words, caps)[0]
        return Label(text=words, x_mm=axis, y_mm=y, height_mm=caps, layer=layer, bold=True, anchor="axis")
    return text(words, x, y, caps, layer, bold=True)


def lines(words: str, x: float, y: float, room: float, caps: float, layer: Layer = INK) -> list[Label]:
    """Return a text in lines no wider than the room, the first on y, the others below."""
    broken = wrapped(words, caps, room)
    return [text(line, x, y - i * LINE_PITCH * caps, caps, layer) for i, line in enumerate(broken)]


def sentences(told: Sequence[str], y: float, room: float, gap: float) -> tuple[Drawing, float]:
    """Return sentences to be read at arm's length, the first below a height, a gap under each; and the height below."""
    labels: list[Label] = []
    for sentence in told:
        own = lines(sentence, 0.0, y - WORDS_MM, room, WORDS_MM)
        labels += own
        y = own[-1].y_mm - gap
    return Drawing(name="told", labels=tuple(labels)), y


def straight(layer: Layer, *points: tuple[float, float], closed: bool = False) -> Line:
    """Return straight lines through points."""
    return layer, Contour.straight(points, closed=closed)


def box(layer: Layer, x0: float, y0: float, x1: float, y1: float, scale: float = 1.0) -> Line:
    """Return a rectangle between two corners, at 1 : scale."""
    return straight(layer, *((x / scale, y / scale) for x, y in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))), closed=True)


def cards(heading: CardHeading, pages: Sequence[Sequence[Drawing]]) -> list[Drawing]:
    """Return a card's pages, each with its paper, head and foot, from what is drawn in the live area of each.

    Raises ValueError where the foot has no room for what it is to say; names in the head are shortened.
    """
    return [card(heading, page, n, len(pages)) for n, page in enumerate(pages, 1)]


def card(heading: CardHeading, drawn: Sequence[Drawing], n: int = 1, of: int = 1) -> Drawing:
    """Return one page, `n` of so many, as `cards` does."""
    paper = PAPER_MM[::-1] if heading.lying else PAPER_MM
    live = LIVE_MM[::-1] if heading.lying else LIVE_MM
    left, low = BINDING_MM, (paper[1] - live[1]) / 2.0
    if heading.lying:
        left, low = (paper[0] - live[0]) / 2.0, paper[1] - live[1] - BINDING_MM
    page = Drawing(name=heading.card, page_mm=paper).joined(_head(heading, n, of), _foot(heading), *drawn)
    # A tint lies under everything.
    contours = sorted(page.contours, key=lambda one: one[0] != ROW_TINT)
    page = replace(page, contours=tuple(contours)).moved(left, low)
    return page.joined(_punched(heading.lying, left + live[0] / 2.0, low + live[1] / 2.0, paper[1]))


def _punched(lying: bool, x: float, y: float, high: float) -> Drawing:
    """Return the ticks that show where holes go, about the middle of the live area."""
    half, near, far = PUNCH_MM
    ticks = []
    for off in (-half, half):
        ends = ((x + off, high - near), (x + off, high - far)) if lying else ((near, y + off), (far, y + off))
        ticks.append(straight(ROW_LINE, *ends))
    return Drawing(name="punch", contours=tuple(ticks))


def _head(heading: CardHeading, n: int, of: int) -> Drawing:
    width, rule = width_mm(heading), top_mm(heading)
    corner = [
        ending(f"{n} of {of}", width, rule + 13.8, WORDS_MM, bold=True),
        *([ending(heading.day.isoformat(), width, rule + 8.6, LABEL_MM)] if heading.day else []),
        *([ending(f"file {heading.digest[:6]}", width, rule + 3.4, LABEL_MM, GREY)] if heading.digest else []),
    ]
    room = width - max(text_width_mm(label.text, label.height_mm, bold=label.bold) for label in corner) - GAP_MM
    own = text_width_mm(heading.card, FIGURE_MM) + GAP_MM
    caps = min(NAME_MM, NAME_MM * (room - own) / text_width_mm(heading.board, NAME_MM, bold=True))
    caps = max(caps, LEAST_NAME_MM)
    name = shortened(heading.board, caps, room - own + 1e-6, bold=True)
    labels = [
        text(name, 0.0, rule + NAME_UP_MM, caps, bold=True),
        text(heading.card, text_width_mm(name, caps, bold=True) + GAP_MM, rule + NAME_UP_MM, FIGURE_MM),
        text(shortened(heading.said, LABEL_MM, room), 0.0, rule + 2.2, LABEL_MM, GREY),
        *corner,
    ]
    return Drawing(name="head", contours=(straight(BOARD_LINE, (0.0, rule), (width, rule)),), labels=tuple(labels))


def _foot(heading: CardHeading) -> Drawing:
    width = width_mm(heading)
    contours = [straight(EDGE_LINE, (0.0, FOOT_MM), (width, FOOT_MM))]
    labels: list[Label] = []
    for y, size, length in ((6.6, 50.8, "2 in"), (2.6, 50.0, "50 mm")):
        ends = (width - size, width)
        contours.append(straight(EDGE_LINE, (ends[0], y), (ends[1], y)))
        contours += [straight(EDGE_LINE, (x, y - 1.0), (x, y + 1.0)) for x in ends]
        labels.append(ending(length, ends[0] - 2.0, y - FOOT_CAPS_MM / 2.0, FOOT_CAPS_MM))
    room = width - 50.8 - 2.0 - text_width_mm("50 mm", FOOT_CAPS_MM) - GAP_MM
    said = [(line, INK) for line in wrapped(heading.caution, FOOT_CAPS_MM, room)]
    said += [(line, GREY) for line in wrapped(heading.basis, FOOT_CAPS_MM, room)]
    if len(said) > 3:
        raise ValueError(f"the foot has no room for {heading.caution} {heading.basis}")
    labels += [text(line, 0.0, 6.8 - 3.2 * i, FOOT_CAPS_MM, layer) for i, (line, layer) in enumerate(said)]
    return Drawing(name="foot", contours=tuple(contours), labels=tuple(labels))
