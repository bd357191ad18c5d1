"""Section numbers that contradict one another: told where they were given, with what would do."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import Fault
from bayloft.lines.board import BoardLines
from bayloft.lines.section import CHINE_SHARES, EDGE_SHARES, SOFTEST, SectionNumbers, bottom_rise, rail_height
from bayloft.lines.section_lines import drop_at, edge_radius, filled_drop, most_dome
from bayloft.lines.section_places import channel_room
from bayloft.spec.boards.board import Board
from bayloft.spec.text.given import Given
from bayloft.spec.text.vocabulary import toml
from bayloft.tolerances import EDGE_RADIUS_SHARE, GIVEN_NUMBER_MM
from bayloft.units import at_least, at_most, both

Array = NDArray[np.float64]

PLACES = 241
"""Stations at which the sections are looked at."""
INSETS = np.linspace(0.0, 1.0, 21)
"""Shares of the inset at the stringer at which the bottom's rise is looked at."""

LEAST_RAIL = 0.06
"""Height of the rail over its widest point that dome and chine must leave, as a share of what is above that point."""
MOST_RISE = 0.85
"""Rise of the bottom, as a share of the height of the rail's widest point."""
MOST_HOLLOW = 0.5
"""Depth of a hollow as a share of the thickness."""
MOST_RADIUS = 1.5
"""Radius of the rail as a share of the lesser of its heights over and under the widest point; up to 0.55 its curvature
falls all the way to the stringer, up to 1 there is one corner, beyond it the rail would be a slab."""
LEAST_FILLED = 0.5
"""Share of a section's depth that its thickness at the stringer must be: with less the board is nothing but rail."""
MOST_FLAT = 0.9
"""Flat width as a share of the full width."""
HALVINGS = 20
WINDOW_SHARE = 0.15
"""Share of the window of drops that is left out at both ends when it is told."""
DROP_STEPS = 40
"""Steps in which the depth of a section is found that the least and the greatest dome leave."""
ROUNDED_DOWN = 0.98
"""Share of a limit that is suggested: it holds beside the numbers next to it as well."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """The board whose faults are told."""

    board: Board

    def fault(self, given: Given, problem: str, allowed: str = "", hint: str = "") -> Fault:
        typed = (given.source or self.board.source).typed(given.path)
        said = toml(typed) if typed is not None else "assumed"
        if typed is not None and given.form in ("length", "radius", "drop") and given.path[-1] != "kind":
            said = f"{said} = {both(abs(given.value))}"
        return self.board.fault(given, said, problem, allowed, hint)


def crossings(board: Board, lines: BoardLines) -> list[Fault]:
    """Return a fault for each number with which a section would cross itself, or that it cannot meet."""
    told = _Told(board=board)
    thick = _too_thick(told, lines)
    # Sections that are nothing but rail contradict all else too.
    faults = _at_stations(told, lines)
    named = {fault.path for fault in faults}
    return thick or [*faults, *(fault for fault in _along(told, lines) if fault.path not in named)]


def _too_thick(told: _Told, lines: BoardLines) -> list[Fault]:
    given = (*told.board.thicknesses, told.board.thickest)
    filled = np.ones(len(given))
    if lines.sections.filled is not None:
        filled = lines.sections.filled.at([number.x_mm for number in given])
    return [
        told.fault(
            number,
            f"thicker than a section {both(2.0 * float(lines.outline.at(number.x_mm)))} wide can be with these rails",
            allowed=f"about {at_most(number.value * share / LEAST_FILLED * ROUNDED_DOWN)}",
            hint="less thickness there, more width, or a boxier rail",
        )
        for number, share in zip(given, filled.tolist(), strict=True)
        if share < LEAST_FILLED
    ]


def _typed(line: Iterable[Given]) -> list[Given]:
    """Return the numbers that the maker gave as lengths of their own, not by a kind."""
    return [number for number in line if not number.assumed and number.form != "share"]


def _at_stations(told: _Told, lines: BoardLines) -> list[Fault]:
    """Return the faults of numbers that their own station has no room for."""
    faults: list[Fault] = []
    given = told.board.sections
    for number in _typed(given["tuck"]):
        n = lines.section_numbers(np.array([number.x_mm]))
        if float((n.tuck / n.inset)[0]) > EDGE_SHARES[0] + 1e-6:
            most = float(n.half_width[0]) * (1.0 - np.sqrt(1.0 - EDGE_SHARES[0]))
            hint = 'a rail that is round all the way under has no edge to measure: kind = "50/50" or "pinched", no tuck'
            faults.append(
                told.fault(number, "too wide for the board at this station", f"at most {at_most(most)}", hint)
            )
    for number in _typed(given["radius"]):
        n = lines.section_numbers(np.array([number.x_mm]))
        most = MOST_RADIUS * float(np.minimum(rail_height(n), n.apex_mm)[0])
        if number.value - number.play_mm > most > 0.0:
            hint = "a smaller radius, or an apex nearer to the middle of the thickness"
            faults.append(told.fault(number, "rounder than the rail is high", f"at most {at_most(most)}", hint))
    for number in _typed(given["edge"]):
        faults += _edge(told, lines, number)
    for number in _typed(given["dome"]):
        faults += _drop(told, lines, number) if number.form == "drop" else []
    return [*faults, *_widths(told, lines), *_channels(told, lines)]


def _widths(told: _Told, lines: BoardLines) -> list[Fault]:
    """Return the faults of chines, flats and hollows that are wider than their station has room for."""
    faults: list[Fault] = []
    given = told.board.sections
    for name, taken, problem in (
        ("chine_width", "tuck", "tuck and chine together are too wide for the board at this station"),
        ("deck_chine_width", "", "the chine is too wide for the board at this station"),
    ):
        for number in _typed(given[name]):
            n = lines.section_numbers(np.array([number.x_mm]))
            before = float(getattr(n, taken)[0]) if taken else 0.0
            most = CHINE_SHARES[0] * float(n.inset[0]) - before
            if number.value > most:
                allowed = f"at most {at_most(most)}" if most > 0.0 else "no chine beside this tuck"
                faults.append(told.fault(number, problem, allowed, "a narrower chine, or a smaller tuck"))
    for name, most_share in (("deck_flat", MOST_FLAT), ("roll_flat", MOST_FLAT), ("concave_width", 1.0)):
        for number in _typed(given[name]):
            share = float(lines.sections.shares[name].at(number.x_mm))
            if share > most_share + 1e-6:
                problem = "wider than there is room between the rails"
                faults.append(told.fault(number, problem, f"at most {at_most(number.value / share * most_share)}"))
    return faults


def _edge(told: _Told, lines: BoardLines, number: Given) -> list[Fault]:
    """Return the fault of an edge's radius that the rail there cannot have."""
    if number.value == 0.0:
        return []
    n = lines.section_numbers(np.array([number.x_mm]))
    found = float(edge_radius(n)[0])
    if abs(found - number.value) <= EDGE_RADIUS_SHARE * number.value:
        return []
    if found < number.value:
        most = float(edge_radius(replace(n, edge=np.array([SOFTEST])))[0])
        hint = 'a rail that is round all the way under has no edge: kind = "50/50" or "pinched", no edge_radius'
        return [told.fault(number, "rounder than this rail's underside is high", f"at most {at_most(most)}", hint)]
    least = float(edge_radius(replace(n, edge=np.array([0.0])))[0])
    hint = "a smaller tuck, or leave the radius out here: near a tip every edge rounds off"
    problem = "sharper than the edge can be here, so near a tip for its tuck"
    return [told.fault(number, problem, f"at least {at_least(least)}", hint)]


def _drop(told: _Told, lines: BoardLines, number: Given) -> list[Fault]:
    """Return the fault of a drop of the deck that no dome there gives."""
    n = lines.section_numbers(np.array([number.x_mm]))
    if number.inside_mm >= float(n.half_width[0]):
        problem = f"measured {both(number.inside_mm)} inside the rail, beyond the stringer"
        return [told.fault(number, problem, f"inside at most {at_most(float(n.half_width[0]) * ROUNDED_DOWN)}")]
    if abs(float(drop_at(n, number.inside_mm)[0]) - number.value) <= max(GIVEN_NUMBER_MM, number.play_mm):
        return []
    thick = lines.foil.at(np.array([number.x_mm]))
    domes = np.zeros(1), ROUNDED_DOWN * ROUNDED_DOWN * most_dome(n)
    low, high = (float(filled_drop(n, thick, dome, number.inside_mm, DROP_STEPS)[0]) for dome in domes)
    # What is about these two numbers changes with them a little.
    low, high = low + WINDOW_SHARE * (high - low), high - WINDOW_SHARE * (high - low)
    allowed = f"{at_least(max(low, 0.0))} to {at_most(high)} with this radius and apex"
    size = "much" if number.value > high else "little"
    return [told.fault(number, f"no deck of this thickness drops by as {size} there", allowed, "measure it again")]


def _channels(told: _Told, lines: BoardLines) -> list[Fault]:
    """Return the faults of channels that run over the rail, at their worst station."""
    faults: list[Fault] = []
    board = told.board
    for channel in board.channels:
        ends = max(channel.from_mm, 0.0 if lines.wall is None else lines.wall.corner_x_mm), channel.to_mm
        first, last = (min(max(end, 1e-3), board.length_mm - 1e-3) for end in ends)
        x = np.linspace(first, last, PLACES)
        n = lines.section_numbers(x)
        deepest = MOST_HOLLOW * float(n.depth.min())
        if channel.depth_mm > deepest:
            problem = "the channel is deeper than half the thickness"
            path = (*channel.path, "depth")
            faults.append(board.source.fault(path, both(channel.depth_mm), problem, f"at most {at_most(deepest)}"))
        room = channel_room(n)
        worst = int(np.argmin(room))
        over = channel.off_mm + channel.width_mm - float(room[worst])
        if over > 0.0:
            problem = f"the channel runs over the rail {both(float(x[worst]))} from the tail"
            most = ROUNDED_DOWN * (channel.off_mm - over)
            allowed = f"at most {at_most(most)} with this width" if most > 0.0 else ""
            hint = "a narrower channel, nearer to the stringer, or one that ends before"
            path = (*channel.path, "off_stringer")
            faults.append(board.source.fault(path, both(channel.off_mm), problem, allowed, hint))
    return faults


@dataclass(frozen=True, slots=True, kw_only=True)
class _Room:
    """What shapes together take of a section, and how much of it there is, both in mm (k,) of sections (k,)."""

    names: tuple[str, ...]
    taken: Callable[[SectionNumbers], Array]
    there: Callable[[SectionNumbers], Array]
    problem: str
    hint: str


def _rise(n: SectionNumbers) -> Array:
    return bottom_rise(n.at((slice(None), None)), n.inset[:, None] * INSETS)


def _inside_edge(n: SectionNumbers) -> Array:
    return n.inset[:, None] * (n.edge_share[:, None] + (1.0 - n.edge_share[:, None]) * INSETS)


_ROOMS = (
    _Room(
        names=("dome", "deck_chine"),
        taken=lambda n: (1.0 - n.apex) * n.depth - rail_height(n),
        there=lambda n: (1.0 - LEAST_RAIL) * (1.0 - n.apex) * n.depth,
        problem="the deck drops below the rail's widest point",
        hint="less depth or drop of the deck, or a lower apex",
    ),
    _Room(
        names=("roll", "vee", "double_concave", "chine"),
        taken=lambda n: _rise(n).max(axis=1),
        there=lambda n: MOST_RISE * n.apex_mm,
        problem="the bottom rises above the rail's widest point",
        hint="less depth, or a higher apex",
    ),
    _Room(
        names=("concave", "double_concave"),
        taken=lambda n: -bottom_rise(n.at((slice(None), None)), _inside_edge(n)).min(axis=1),
        there=lambda n: MOST_HOLLOW * n.depth,
        problem="the hollow is deeper than half the thickness",
        hint="a shallower concave",
    ),
)


def _along(told: _Told, lines: BoardLines) -> list[Fault]:
    """Return the faults of shapes that take more than there is somewhere along the board, each at its worst station: at
    the number, of those that take it, that takes most.
    """
    u = np.linspace(1e-3 if lines.wall is None else 0.0, 1.0 - 1e-3, PLACES)
    n = lines.sections.numbers(u)
    # A channel lies inside the rail and has limits of its own.
    n = replace(n, traits=replace(n.traits, channels=()))
    faults = []
    for room in _ROOMS:
        share = room.taken(n) / room.there(n)
        worst = int(np.argmax(share))
        if share[worst] <= 1.0:
            continue
        section = n.at(slice(worst, worst + 1))
        x_mm = float(lines.outline.station(u[worst]))
        name = max(room.names, key=lambda each, at=section: float(getattr(at, each)[0]))  # type: ignore[misc]
        line = told.board.sections[name]
        number = min(line, key=lambda given, at=x_mm: (given.value == 0.0, abs(given.x_mm - at)))  # type: ignore[misc]
        left = ROUNDED_DOWN * _left(room, section, name)
        own = number.form == "length" and not number.assumed and left > 0.0
        allowed = f"at most {at_most(abs(number.value) * left)} with the other numbers" if own else ""
        faults.append(told.fault(number, f"{room.problem} {both(x_mm)} from the tail", allowed, room.hint))
    return faults


def _left(room: _Room, n: SectionNumbers, name: str) -> float:
    """Return the share of a quantity that there is room for in a section (1,), 0 where there is none."""
    own = getattr(n, name)

    def fits(share: float) -> bool:
        less = replace(n, **{name: own * share})
        return bool(room.taken(less)[0] <= room.there(less)[0])

    low, high = 0.0, 1.0
    if not fits(low):
        return 0.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if fits(middle) else (low, middle)
    return low
