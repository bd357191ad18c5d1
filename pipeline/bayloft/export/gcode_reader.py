"""A strict reader of G-code: the text of a file to the motions of a machine, by nothing but the words in it.

Modal groups and arcs as in T. R. Kramer, F. M. Proctor, E. Messina, "The NIST RS274NGC Interpreter - Version 3",
NISTIR 6556 (2000): 3.4 for the groups, 3.5.3 for arcs.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import hypot

from bayloft.cutting.routing.moves import Motion
from bayloft.tolerances import ARC_RULE_MM

_LINE = re.compile(r"(?:[NGMXYZIJFSP]-?[0-9]+(?:\.[0-9]+)?(?: |$))+")
_WORD = re.compile(r"([A-Z])(-?[0-9]+(?:\.[0-9]+)?)")
_COMMENT = re.compile(r"\((?! *[^ ,]* *,)[ \"-$&'*-:<->@-}]*\)")
"""Without marks that a controller may act on, and no command of a controller's own: a word and a comma (RS274/NGC 3.3.4
has "MSG,"; controllers have others; all from memory)."""

_MOTIONS = ("0", "1", "2", "3")
_STATED = ("17", "21", "40", "54", "80", "90", "91.1", "94")
"""What a program must say before it moves: plane, millimetres, no compensation, first work place, no cycle, absolute
places, relative arc centres, feed per minute."""

_STOPS = {"3", "5", "30"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Program:
    """What a file makes a machine do: its motions in order, the seconds it waits, and what is wrong with its text."""

    motions: tuple[Motion, ...]
    dwell_s: float
    problems: tuple[str, ...]


def read(text: str) -> Program:
    """Return the program of a text; every line that is not understood to the letter is a problem."""
    state = _State()
    lines = text.split("\n")
    if lines[-1] != "":
        state.problem(len(lines), "the last line has no end")
    lines = lines[:-1]
    framed = len(lines) > 1 and lines[0] == lines[-1] == "%"
    body = lines[1:-1] if framed else lines
    for number, line in enumerate(body, 2 if framed else 1):
        if _COMMENT.fullmatch(line):
            continue
        if line.startswith("("):
            state.problem(number, f"a comment that a controller may act on: {line[:60]!r}")
            continue
        if not _LINE.fullmatch(line) or line.endswith(" "):
            state.problem(number, f"not understood: {line[:60]!r}")
            continue
        state.take(number, _WORD.findall(line))
    if not state.ended:
        state.problem(len(lines), "the program does not end with M30")
    return Program(motions=tuple(state.motions), dwell_s=state.dwell_s, problems=tuple(state.problems))


@dataclass(slots=True, kw_only=True)
class _State:
    """A machine as it reads: what it was told, and where it is; a coordinate not yet said is None."""

    stated: set[str] = field(default_factory=set)
    mode: str = ""
    place: dict[str, float] = field(default_factory=dict)
    feed: float = 0.0
    speed: float = 0.0
    turning: bool = False
    ended: bool = False
    dwell_s: float = 0.0
    motions: list[Motion] = field(default_factory=list)
    problems: list[str] = field(default_factory=list)

    def problem(self, line: int, text: str) -> None:
        """Note what is wrong at a line of the file, counted from 1."""
        self.problems.append(f"line {line}: {text}")

    def take(self, line: int, words: list[tuple[str, str]]) -> None:
        """Do what a line says: settings first, then the spindle, then the move (as RS274/NGC orders them)."""
        if self.ended:
            self.problem(line, "something after the end")
        letters = [letter for letter, _ in words]
        doubled = {letter for letter in letters if letter != "G" and letters.count(letter) > 1}
        if doubled or "N" in letters[1:]:
            self.problem(line, f"{', '.join(sorted(doubled)) or 'N'} where it may not stand")
            return
        values = {letter: float(number) for letter, number in words if letter not in "GM"}
        codes = [number for letter, number in words if letter == "G"]
        motions = [code for code in codes if code in _MOTIONS]
        strange = [code for code in codes if code not in (*_MOTIONS, *_STATED, "4")]
        if strange or len(motions) > 1 or ("4" in codes and len(codes) > 1):
            self.problem(line, f"G words that do not belong here: {', '.join(codes)}")
            return
        self.stated |= set(codes) & set(_STATED)
        self.mode = motions[0] if motions else self.mode
        self.feed = values.get("F", self.feed)
        self.speed = values.get("S", self.speed)
        if "4" in codes:
            self.dwell_s += values.pop("P", 0.0)
        if "P" in values:
            self.problem(line, "P without G4")
        for number in (number for letter, number in words if letter == "M"):
            self._stop(line, number)
        if {"X", "Y", "Z", "I", "J"} & values.keys():
            for problem in self._move(line, values):
                self.problem(line, problem)
        elif motions:
            self.problem(line, "a motion without a place")

    def _stop(self, line: int, number: str) -> None:
        if number not in _STOPS:
            self.problem(line, f"M{number} is not understood")
        elif number == "3":
            self.turning = True
            if self.speed <= 0.0:
                self.problem(line, "the spindle is started without a speed")
        elif number == "5":
            self.turning = False
        else:
            self.ended = True
            if self.turning:
                self.problem(line, "the program ends with the spindle turning")

    def _move(self, line: int, values: dict[str, float]) -> Iterator[str]:
        missing = [code for code in _STATED if code not in self.stated]
        if missing or not self.mode:
            yield f"a move before G{', G'.join(missing) or '0 to G3'} is said"
            return
        known = dict(self.place)
        self.place = {**known, **{axis: values[axis] for axis in "XYZ" if axis in values}}
        if len(known) < 3 and self.mode != "0":
            yield "a feed move from a place not known"
            return
        if len(self.place) < 3:
            return
        start = tuple(known.get(axis, self.place[axis]) for axis in "XYZ")
        end = tuple(self.place[axis] for axis in "XYZ")
        centre = None
        if self.mode in "23":
            if not {"X", "Y", "I", "J"} <= values.keys():
                yield "an arc without X, Y, I and J"
                return
            centre = start[0] + values["I"], start[1] + values["J"]
            radii = hypot(values["I"], values["J"]), hypot(end[0] - centre[0], end[1] - centre[1])
            if abs(radii[0] - radii[1]) > ARC_RULE_MM or min(radii) <= 0.0 or start[:2] == end[:2]:
                yield f"an arc whose ends lie {radii[0]:.4f} and {radii[1]:.4f} mm from its centre"
                return
        elif {"I", "J"} & values.keys():
            yield "a centre without an arc"
        if self.mode != "0" and self.feed <= 0.0:
            yield "a feed move without a feed"
        self.motions.append(
            Motion(
                line=line,
                rapid=self.mode == "0",
                start=(start[0], start[1], start[2]),
                end=(end[0], end[1], end[2]),
                centre=centre,
                counter_clockwise=self.mode == "3",
                feed_mm_min=self.feed,
                spindle_rpm=self.speed if self.turning else 0.0,
            )
        )
