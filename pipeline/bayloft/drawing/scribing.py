"""What a router writes into a part: what it is, in single strokes, in as many settings as may find room on it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from itertools import accumulate, combinations, pairwise

from bayloft.drawing.sheet import SCRIBE, Drawing, Label
from bayloft.drawing.strokes import ARROW, scribable, stroke_size

SCRIBED_MM = (12.0, 10.0, 8.5, 7.0)
"""Cap heights of scribed letters, the largest first. A groove of 1/8 in leaves letters of 10 mm open and those of 7 mm
just told apart; a point of 1 mm reads well in all (tried on drawings; from memory of routed signs, no source)."""

SMALL_MM = (5.5, 4.5)
"""What is left for parts on which 7 mm has no room: for a point of 1 mm."""

CODES_MM = (10.0, 8.5, 7.0, *SMALL_MM)
"""Of a station beside its tick."""

SCRIBED_PITCH, UNDER_SHARE = 1.8, 0.4
"""From one scribed line to the next, in cap heights, and the share of what stands under a line that is added to it: the
stroke under a 6 is not to be read as one over the letters below."""

GROOVE_SHARE, WIDEST_GROOVE_MM = 0.2, 1.6
"""Half of a groove, which reaches beyond the strokes on every side: a share of the letters, half of 1/8 in at most."""

TEXT_CLEAR_MM, APART_SHARE = 1.25, 0.6
"""Kept clear round what is written, and round what is scribed in cap heights: two of these are not read as one."""

NOSE = f"NOSE {ARROW}"
MIDDLE = "MIDDLE OF STRINGER"
"""Said of the straight side of what is half a board: the line about which the other half is drawn."""

_KEPT_LETTERS = 8
"""Of a board's name that has no room."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """Something to be placed: drawn with its lower left corner at (0, 0), with the size of its box in mm, round which
    so much is kept clear.
    """

    drawing: Drawing
    size_mm: tuple[float, float]
    clear_mm: float = TEXT_CLEAR_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """What a part is: its kind, in short as well (`brief`), its number, the station where it is held, the board's name
    and the day given; and whether an arrow to the nose stands below, for parts whose x axis points there.
    """

    kind: str
    board: str
    brief: str = ""
    number: str = ""
    station: str = ""
    day: date | None = None
    nose: bool = False

    @property
    def scribed(self) -> tuple[str, ...]:
        """All that it says, as it is scribed: number and kind, station, board, day, arrow."""
        day = "" if self.day is None else self.day.isoformat()
        said = f"{self.number} {self.kind}", self.station, self.board, day, NOSE if self.nose else ""
        return tuple(part for part in map(scribable, said) if part)


def scribed(lines: Sequence[str], caps_mm: float) -> Stamp:
    """Return lines of single strokes one under the other, as labels on SCRIBE, in a box that holds their grooves.

    The box is as far above the letters as below them: it holds them as well when the part is turned over.
    """
    sizes = [stroke_size(line) for line in lines]
    groove = min(GROOVE_SHARE * caps_mm, WIDEST_GROOVE_MM)
    beyond = groove + caps_mm * max(sizes[0][1], sizes[-1][1])
    drops = [0.0, *accumulate(SCRIBED_PITCH + UNDER_SHARE * under for _, under in sizes[:-1])]
    high = caps_mm * (1.0 + drops[-1]) + 2.0 * beyond
    labels = tuple(
        Label(
            text=line,
            x_mm=groove,
            y_mm=high - beyond - caps_mm * (1.0 + drop),
            height_mm=caps_mm,
            layer=SCRIBE,
        )
        for line, drop in zip(lines, drops, strict=True)
    )
    size = 2.0 * groove + caps_mm * max(wide for wide, _ in sizes), high
    clear = max(TEXT_CLEAR_MM, APART_SHARE * caps_mm)
    return Stamp(drawing=Drawing(name="scribed", labels=labels), size_mm=size, clear_mm=clear)


def heads(head: Head) -> Iterator[Stamp]:
    """Yield a head in every setting, the best first.

    Letters of 12 to 7 mm, in as many lines as find room. Then, in this order, of 7 mm: the kind in short, and the
    board's name once if the kind has it already; without the day. Then all of it in smaller letters; in short; without
    the day; the board's name cut short. Number, station and arrow are never left out, and stand alone at last.
    """
    kind = head.brief or head.kind
    brief = replace(head, kind=kind, board="" if f" {head.board} ".upper() in f" {kind} ".upper() else head.board)
    undated = replace(brief, day=None)
    name = scribable(brief.board) if brief.board else ""
    cut = replace(undated, board=name if len(name) <= _KEPT_LETTERS else f"{name[:_KEPT_LETTERS].rstrip()}.")
    alone = replace(cut, board="", kind=cut.kind if not (cut.number or cut.station) else "")
    ways = [(head, SCRIBED_MM), (brief, SCRIBED_MM[-1:]), (undated, SCRIBED_MM[-1:])]
    ways += [(each, SMALL_MM) for each in (head, brief, undated, cut)] + [(alone, (*SCRIBED_MM, *SMALL_MM))]
    seen = set()
    for each, heights in ways:
        for caps in heights:
            for lines in _settings(each.scribed):
                if (lines, caps) not in seen:
                    seen.add((lines, caps))
                    yield scribed(lines, caps)


@lru_cache(maxsize=1024)
def _settings(items: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Return items in lines: one line each first, then several in a line, then broken between words into more, always
    so that the lines are least wide; a station and the arrow stay whole.
    """
    words: list[str] = []
    starts: list[bool] = []
    for item in items:
        glued: list[str] = []
        before = ""
        for part in item.split(" "):
            # A number stands with the word after it, and figures with the letter that says from where.
            if before and (before[0].isdigit() or part[0].isdigit() or part in ("T", "N", ARROW)):
                glued[-1] = f"{glued[-1]} {part}"
            else:
                glued.append(part)
            before = part
        starts += [True] + [False] * (len(glued) - 1)
        words += glued
    inside = [i for i, start in enumerate(starts) if not start]
    between = [i for i, start in enumerate(starts) if start and i]
    found = [_least_wide(words, starts, combinations(between, count - 1)) for count in range(len(items), 0, -1)]
    more = range(1, len(inside) + 1)
    found += [_least_wide(words, starts, (between + list(b) for b in combinations(inside, count))) for count in more]
    return tuple(found)


def _least_wide(words: Sequence[str], starts: Sequence[bool], ways: Iterable[Sequence[int]]) -> tuple[str, ...]:
    """Return the words in the lines whose widest is the shortest, of all ways to break them before some; two blanks
    stand between those of different items.
    """

    def lines(breaks: Sequence[int]) -> tuple[str, ...]:
        found = []
        for low, high in pairwise((0, *sorted(breaks), len(words))):
            more = (f"{'  ' if starts[i] else ' '}{words[i]}" for i in range(low + 1, high))
            found.append(words[low] + "".join(more))
        return tuple(found)

    return min((lines(breaks) for breaks in ways), key=lambda each: round(max(stroke_size(t)[0] for t in each), 6))
