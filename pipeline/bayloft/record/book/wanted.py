"""What a maker asks of a book: ranges of sizes, kinds, words."""

from __future__ import annotations

import difflib
import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from bayloft.errors import Fault, SpecError, gathered
from bayloft.record.book.past_board import PastBoard
from bayloft.units import carried_unit, length_mm, volume_l

LENGTH, WIDTH, THICKNESS, VOLUME = "length", "width", "thickness", "volume"

PLAIN: Mapping[str, float] = MappingProxyType({LENGTH: 50.8, WIDTH: 12.7, THICKNESS: 3.175, VOLUME: 1.0})
"""A plain difference of each number, mm and litres: 2 in, 1/2 in, 1/8 in, 1 L (our own measure, no source). A single
number asks for boards within it; nearness counts in it."""

MARKS: Mapping[str, float] = MappingProxyType({LENGTH: 0.8, WIDTH: 0.8, THICKNESS: 0.4, VOLUME: 0.05})
"""Half of the mark to which a book tells each number, mm and litres: the ends of a range are met as they are told."""

SIZES: Mapping[str, Callable[[PastBoard], float | None]] = MappingProxyType(
    {
        LENGTH: lambda board: board.length_mm,
        WIDTH: lambda board: board.width_mm,
        THICKNESS: lambda board: board.thickness_mm,
        VOLUME: lambda board: None if board.volume_mm3 is None else board.volume_mm3 / 1e6,
    }
)
"""The numbers of a board that are asked for, in mm and litres."""

TAIL_KINDS = ("round", "pin", "thumb", "square", "squash", "diamond", "swallow", "moon")
"""As in spec/boards/ends.py, which takes longer to load than a book to be listed."""

BOTTOMS = ("flat", "roll", "vee", "concave", "double concave", "chine", "channels")


@dataclass(frozen=True, slots=True)
class Range:
    """From one number to another, both included, mm or litres."""

    low: float
    high: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardsWanted:
    """Which boards of a book are wanted: all that is said must hold. tails, bottoms: any of them; fins: how many, or a
    part of a fin's name; words: each in the name or the remarks, in any order.
    """

    ranges: Mapping[str, Range] = field(default_factory=dict)
    tails: tuple[str, ...] = ()
    bottoms: tuple[str, ...] = ()
    fins: str = ""
    words: tuple[str, ...] = ()

    def takes(self, board: PastBoard, *, volume: bool = True) -> bool:
        """Whether a board is wanted; volume: also by its volume, without which it is not."""
        for what, asked in self.ranges.items():
            if what == VOLUME and not volume:
                continue
            size, mark = SIZES[what](board), MARKS[what]
            if size is None or not asked.low - mark <= size <= asked.high + mark:
                return False
        said = f"{board.name} {board.words}".casefold()
        return (
            (not self.tails or board.tail in self.tails)
            and (not self.bottoms or any(shape in self.bottoms for shape in board.bottom))
            and self._finned(board)
            and all(word.casefold() in said for word in self.words)
        )

    def _finned(self, board: PastBoard) -> bool:
        if not self.fins:
            return True
        if self.fins.isdecimal():
            return len(board.fins) == int(self.fins)
        return any(self.fins.casefold() in name.casefold() for name in board.fins)


ALL = BoardsWanted()
"""All boards of a book."""


def asked_range(option: str, typed: str) -> Range:
    """Return a range of an option (its name is that of the number): ``5'6 to 6'2``, ``from 6'``, ``up to 30 L``, or a
    single number, for what is within a plain difference of it. What has no unit has that of the other end.

    Raises SpecError for anything else, and for a range that ends before it begins.
    """
    text = " ".join(typed.split())
    low, between, high = text.partition(" to ")
    if text.startswith("up to "):
        low, high = "", text.removeprefix("up to ")
    elif text.startswith("from "):
        low = low.removeprefix("from ")
    elif not between:
        middle = _number(option, typed, text, "")
        return Range(middle - PLAIN[option], middle + PLAIN[option])
    found = Range(
        _number(option, typed, low, high) if low else 0.0,
        _number(option, typed, high, low) if high else math.inf,
    )
    if found.low > found.high:
        raise _refused(option, typed, "ends before it begins", hint=f'--{option} "{high} to {low}"')
    return found


def _number(option: str, typed: str, text: str, other: str) -> float:
    """Return one end of a range, mm or litres."""
    try:
        if option != VOLUME:
            return length_mm(text, _unit(other) if other else None)
        bare = re.fullmatch(r"[0-9.]+", text)
        return volume_l(f"{text} L" if bare and re.search("[a-zA-Z]", other) else text)
    except ValueError as error:
        raise _refused(option, typed, str(error)) from None


def _unit(other: str) -> str | None:
    try:
        return carried_unit(other)
    except ValueError:
        return None


EXAMPLES = {LENGTH: "5'6 to 6'2", WIDTH: "19 to 20 in", THICKNESS: "2 3/8 in", VOLUME: "28 to 32 L"}


def _refused(option: str, typed: str, problem: str, hint: str = "") -> SpecError:
    hint = hint or f'--{option} "{EXAMPLES.get(option, "")}"'
    return SpecError((Fault(file=f"--{option}", line=None, path=(), value=typed, problem=problem, hint=hint),))


def one_of(option: str, typed: Iterable[str], allowed: Iterable[str]) -> tuple[str, ...]:
    """Return kinds as they are spelled. Raises SpecError for one that there is not."""
    names = tuple(allowed)
    found = []
    for each in typed:
        name = " ".join(each.lower().replace("-", " ").replace("_", " ").split())
        if name not in names:
            near = difflib.get_close_matches(name, names, n=1)
            fault = Fault(
                file=f"--{option}",
                line=None,
                path=(),
                value=each,
                problem="no such kind",
                allowed=", ".join(names),
                hint=f'--{option} "{near[0]}"' if near else "",
            )
            raise SpecError((fault,))
        found.append(name)
    return tuple(found)


def wanted_of(
    ranges: Mapping[str, str | None], *, tails: Iterable[str], bottoms: Iterable[str], fins: str, words: str
) -> BoardsWanted:
    """Return what is asked for as it was typed. Raises SpecError with every part that is not understood."""
    faults: list[Fault] = []
    asked: dict[str, Range] = {}
    kinds: dict[str, tuple[str, ...]] = {}
    for option, typed in ranges.items():
        if typed is not None:
            with gathered(faults):
                asked[option] = asked_range(option, typed)
    with gathered(faults):
        kinds["tails"] = one_of("tail", tails, TAIL_KINDS)
    with gathered(faults):
        kinds["bottoms"] = one_of("bottom", bottoms, BOTTOMS)
    if faults:
        raise SpecError(tuple(faults))
    return BoardsWanted(ranges=asked, fins=fins.strip(), words=tuple(words.split()), **kinds)
