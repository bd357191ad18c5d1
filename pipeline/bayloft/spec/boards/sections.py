"""The board's sections: rails, deck and bottom, from their entries to one line of numbers for each quantity."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from bayloft.errors import KeyPath, spelled
from bayloft.spec.boards.quantities import QUANTITIES, RAIL, RAIL_KINDS, Size, usual
from bayloft.spec.boards.section_models import BottomAt, DeckAt, RailAt
from bayloft.spec.boards.shapes import Lines, bottom_points, deck_points
from bayloft.spec.text.given import Form, Given
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import Stationed, placed
from bayloft.tolerances import SEPARATE_STATIONS_MM
from bayloft.units import both

RAIL_KEYS: Mapping[str, tuple[str, Form]] = {
    "apex": ("apex", "share"),
    "radius": ("radius", "length"),
    "shoulder": ("shoulder", "share"),
    "tuck": ("tuck", "length"),
    "edge": ("edge_radius", "radius"),
}
"""The quantities of the rail that have a key of their own: that key, and the form of its number. `dome` has drops."""

PLAYED = ("apex", "radius", "tuck")
"""The quantities of the rail that are read with a tape, callipers or a gauge: an edge is as sharp as it is said."""

_KEYS = ("kind", *(key for key, _ in RAIL_KEYS.values()), "drops")

BESIDE_CHINE: Mapping[str, float] = {"tuck": 0.12, "edge": 0.1}
"""Shares of a rail over a chine of the bottom, where nothing is said: the chine has what is usual of the tuck. Common
practice, no source."""

_OF_DECK = ("dome", "deck_flat", "deck_chine", "deck_chine_width")
"""The quantities that entries of the deck set."""
_OF_THICKNESS = ("apex", "radius", "dome", "tuck")
"""The quantities of the rail whose shares are of the thickness there; the others have no length."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rails:
    """The entries of the rails, the reading of the file they are in, and the mark in mm to which that file was read."""

    entries: Sequence[RailAt]
    reading: Reading
    read_to_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GivenSections:
    """The numbers of each quantity, and further drops of the deck, as in Board."""

    numbers: Mapping[str, tuple[Given, ...]]
    drops: tuple[Given, ...]


def board_sections(
    rails: Rails,
    deck: Sequence[DeckAt],
    bottom: Sequence[BottomAt],
    size: Size,
    reading: Reading,
    read_to_mm: float | None = None,
) -> GivenSections:
    """Return the numbers of the sections, read to the file's mark if to none of their own; a quantity that nothing
    tells has its usual numbers.

    The dome is taken from the deck's entries; where none says how domed it is, from the rails' kinds and drops.
    """
    length_mm = size.length_mm
    lines, drops = _rail_points(rails, length_mm)
    of_deck = deck_points(deck, length_mm, reading, read_to_mm)
    if "dome" in of_deck:
        _deck_told_once(rails)
    if not bottom:
        reading.assume(("bottom", 0, "shape"), "flat", "no bottom is given")
    lines |= of_deck | bottom_points(bottom, length_mm, reading, read_to_mm)
    chined = any(entry.shape == "chine" for entry in bottom)
    numbers = {
        name: tuple(lines[name]) if name in lines else _usual_points(name, rails, size, reading, chined=chined)
        for name in QUANTITIES
    }
    if rails.reading is not reading:
        source = rails.reading.source
        numbers |= {
            name: tuple(replace(point, source=source) if point.path[0] == "rails" else point for point in numbers[name])
            for name in RAIL
        }
        drops = [replace(drop, source=source) for drop in drops]
    return GivenSections(numbers=numbers, drops=tuple(drops))


def _rail_points(rails: Rails, length_mm: float) -> tuple[Lines, list[Given]]:
    """Return the numbers that the rails' entries set, sorted by station, and the drops that set none."""
    reading = rails.reading
    for place, entry in enumerate(rails.entries):
        if not _told(entry) and not reading.explained(("rails", place)):
            allowed = f"one or more of {', '.join(_KEYS)}"
            reading.fault(("rails", place), "says nothing about the rail", allowed=allowed, hint='kind = "60/40"')
    lines: Lines = {}
    drops: list[Given] = []
    for at in _in_order(rails, length_mm):
        told = _drops(at, reading, rails.read_to_mm)
        drops += told[1:]
        for name in RAIL:
            point = told[0] if name == "dome" and told else _rail_point(name, at, rails.read_to_mm)
            if point:
                lines.setdefault(name, []).append(point)
    return lines, drops


def _told(entry: RailAt) -> bool:
    return any(getattr(entry, key) not in (None, []) for key in _KEYS)


def _in_order(rails: Rails, length_mm: float) -> list[Stationed[RailAt]]:
    """Return the entries sorted by station; the later of two at one station is a fault and left out."""
    kept: list[Stationed[RailAt]] = []
    for at in placed(rails.entries, ("rails",), length_mm, rails.reading):
        other = next((other for other in kept if abs(other.x_mm - at.x_mm) <= SEPARATE_STATIONS_MM), None)
        if other is None:
            kept.append(at)
            continue
        problem = f"at the station of {spelled(other.path)}: both are {both(at.x_mm)} from the tail"
        rails.reading.fault(at.path, problem, hint="make one entry of the two, or move one of them")
    return sorted(kept, key=lambda at: at.x_mm)


def _rail_point(name: str, at: Stationed[RailAt], read_to_mm: float | None) -> Given | None:
    """Return an entry's number of a quantity of the rail: the one typed, or else the one of its kind."""
    if name in RAIL_KEYS:
        key, form = RAIL_KEYS[name]
        value = getattr(at.entry, key)
        if value is not None:
            given = at.entry.given(at.x_mm, value, (*at.path, key), read_to_mm)
            return replace(given, form=form, play_mm=given.play_mm if name in PLAYED else 0.0)
    if at.entry.kind is None:
        return None
    share = RAIL_KINDS[at.entry.kind][RAIL.index(name)]
    return Given(x_mm=at.x_mm, value=share, path=(*at.path, "kind"), form="share")


def _drops(at: Stationed[RailAt], reading: Reading, read_to_mm: float | None) -> list[Given]:
    """Return an entry's drops, the one measured furthest inside first."""
    path = (*at.path, "drops")
    drops = [
        replace(
            at.entry.given(at.x_mm, drop.down, (*path, place, "down"), read_to_mm), form="drop", inside_mm=drop.inside
        )
        for place, drop in enumerate(at.entry.drops)
    ]
    if len({drop.inside_mm for drop in drops}) < len(drops):
        problem = f"two drops {both(drops[0].inside_mm)} inside the widest point"
        reading.fault((*path, 1, "inside"), problem, hint="keep one of the two")
    return sorted(drops, key=lambda drop: -drop.inside_mm)


def _deck_told_once(rails: Rails) -> None:
    """Tell of drops where the deck's own entries say how domed it is."""
    for place, entry in enumerate(rails.entries):
        if entry.drops:
            problem = "[[deck]] says how domed the deck is, and so do these drops"
            rails.reading.fault(("rails", place, "drops"), problem, hint="keep the drops or the entries of [[deck]]")


def _usual_points(name: str, rails: Rails, size: Size, reading: Reading, *, chined: bool) -> tuple[Given, ...]:
    """Return the usual numbers of a quantity; of those that every rail and deck has it is noted that they are."""
    path: KeyPath = ("bottom",)
    if name in RAIL_KEYS:
        path, reading = ("rails", 0, RAIL_KEYS[name][0]), rails.reading
    elif name in _OF_DECK:
        path = ("deck",)
    shares = usual(name, size)
    if chined and name in BESIDE_CHINE:
        shares = ((size.length_mm / 2, BESIDE_CHINE[name]),)
    if name in RAIL:
        said = ", ".join(plain(share) for _, share in reversed(shares))
        of = " of the thickness" if name in _OF_THICKNESS else ""
        where = " near nose, middle and tail" if len(shares) > 1 else ""
        beside = (
            "usual beside a chine"
            if chined and name in BESIDE_CHINE
            else "usual for a board of this length and thickness"
        )
        reason = f"{QUANTITIES[name].meaning}: not given; {beside}"
        reading.assume(path, f"{said}{of}{where}", reason)
    return tuple(Given(x_mm=x, value=share, path=path, assumed=True, form="share") for x, share in shares)
