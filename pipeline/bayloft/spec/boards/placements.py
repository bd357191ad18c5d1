"""Where fins may stand on a board."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from bayloft.errors import KeyPath, spelled
from bayloft.spec.boards.board import Placement, Tail
from bayloft.spec.boards.board_models import FinAt
from bayloft.spec.boards.rules import Widths
from bayloft.spec.boards.slots import trusted_slot
from bayloft.spec.fins.fin import Fin
from bayloft.spec.text.kinds import MOST_TOE_DEG
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.units import at_least, at_most, both


@dataclass(frozen=True, slots=True, kw_only=True)
class Deck:
    """What of a board bounds the places of its fins; None where a fault has left it open."""

    length_mm: float
    outline: Widths | None
    tail: Tail | None

    def half_width_mm(self, x_mm: float) -> float:
        """Return a half-width the board does not exceed near a station."""
        block = self.tail.block_mm if self.tail else 0.0
        return max(self.outline.most_at(x_mm), block) / 2 if self.outline else math.inf


def placements(
    entries: Sequence[FinAt], fins: Sequence[Fin | None], deck: Deck, reading: Reading
) -> tuple[Placement, ...]:
    """Return where the fins stand; entries whose fin could not be loaded (None) are left out."""
    found = []
    for place, (entry, fin) in enumerate(zip(entries, fins, strict=True)):
        path: KeyPath = ("fins", place)
        off = entry.off_stringer or 0.0
        toe_deg = entry.toe.at_deg(fin.base_mm) if entry.toe and fin else 0.0
        turned = entry.toe and (entry.toe.angle_deg or entry.toe.length_mm)
        if not off and (turned or entry.cant) and not reading.explained(path):
            problem = "a fin on the stringer has neither toe nor cant"
            reading.fault(path, problem, hint='off_stringer = "4 3/8 in" for a pair of fins')
        if fin is None:
            continue
        _stands_on_board(entry, fin, deck, path, reading)
        toe_within(toe_deg, fin.base_mm, "base", path, reading)
        for key in ("toe", "cant") if off else ():
            if getattr(entry, key) is None:
                reading.assume((*path, key), "0 degrees", f"no {key} is given")
        found.append(
            Placement(
                fin=fin,
                from_tail_mm=entry.from_tail,
                off_stringer_mm=off,
                toe_deg=toe_deg,
                cant_deg=entry.cant or 0.0,
                path=path,
                slot=trusted_slot(entry.slot, fin, (*path, "slot"), reading),
            )
        )
    for one, other in combinations(found, 2):
        if _overlap(one, other):
            problem = f"its base overlaps the one of {spelled(one.path)}"
            reading.fault((*other.path, "from_tail"), problem, mm=other.from_tail_mm)
    return tuple(found)


def toe_within(toe_deg: float, length_mm: float, what: str, path: KeyPath, reading: Reading) -> None:
    """Tell of a toe that is too large: on what it is told, and how long that is."""
    if abs(toe_deg) > MOST_TOE_DEG:
        most = length_mm * math.sin(math.radians(MOST_TOE_DEG))
        allowed = f"at most {at_most(most)} on this {what}, {plain(MOST_TOE_DEG)} degrees"
        reading.fault((*path, "toe"), "too large", allowed=allowed)


def _stands_on_board(entry: FinAt, fin: Fin, deck: Deck, path: KeyPath, reading: Reading) -> None:
    off = entry.off_stringer or 0.0
    most = deck.length_mm - fin.base_mm
    if entry.from_tail > most:
        allowed = f"at most {at_most(most)}, so that a base of {both(fin.base_mm)} is on the board"
        reading.fault((*path, "from_tail"), "off the board", allowed=allowed, mm=entry.from_tail)
        return
    if off >= (half := deck.half_width_mm(entry.from_tail)):
        allowed = f"less than {both(half)}, half the width there"
        reading.fault((*path, "off_stringer"), "off the board", allowed=allowed, mm=off)
    if deck.tail and entry.from_tail < (notch := deck.tail.notch_mm(off)):
        allowed = f"at least {at_least(notch)}, where the notch ends"
        reading.fault((*path, "from_tail"), "stands in the tail's notch", allowed=allowed, mm=entry.from_tail)
    if 0 < off <= fin.thickness_mm / 2:
        allowed = f"more than {both(fin.thickness_mm / 2)}, or 0 for one fin"
        reading.fault((*path, "off_stringer"), "the two fins of the pair overlap", allowed=allowed, mm=off)


def _overlap(one: Placement, other: Placement) -> bool:
    """Whether two fins on the same line along the board share some of it."""
    rear, front = sorted((one, other), key=lambda placement: placement.from_tail_mm)
    beside = abs(one.off_stringer_mm - other.off_stringer_mm) > (one.fin.thickness_mm + other.fin.thickness_mm) / 2
    return not beside and rear.from_tail_mm + rear.fin.base_mm > front.from_tail_mm
