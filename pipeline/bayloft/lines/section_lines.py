"""From the numbers given for sections to shares along the board, so that each is met where it was given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bayloft.lines.gradation import Gradation, graded, graded_level
from bayloft.lines.outline import Outline
from bayloft.lines.profile import Profile
from bayloft.lines.section import LEAST_SOFTNESS, SOFTEST, SectionNumbers, inset_of, over, under
from bayloft.lines.sections import Carried, Sections, carried, parameters_between
from bayloft.spec.boards.board import Board
from bayloft.spec.boards.quantities import LEVEL, QUANTITIES, usual
from bayloft.spec.text.given import Given
from bayloft.spec.text.stations import NOSE_AND_TAIL_MM
from bayloft.tolerances import GIVEN_NUMBER_MM

Array = NDArray[np.float64]

FOUND_MM = 1e-3
"""mm by which the depth of a section may still move from one round of the search to the next, and be found: one more
round follows, and each takes four fifths of what is left, or more (measured)."""
SAME_SHARE = 1e-6
"""Difference of a share below which it has not moved."""
MOST_ROUNDS = 40
WIDEST_EDGE = 0.34
"""Inset, as a share of the one at the stringer, at which an edge of its own radius lies at most."""
FILLINGS = 2
LEAST_FILLED = 0.2
"""Steps in which the depth of one section is brought to its thickness, and the least share of a depth that a thickness
is taken for: the faults tell of more."""
NEWTON_STEP = 1e-4
"""Share of a depth by which it is changed to see how the thickness follows, and a dome to see how a drop does."""
MOST_DOME = 0.95
"""Dome that a drop may ask for, as a share of what is above the widest point: beyond it no rail is left. Below none the
deck would be hollow, which its shape has to say."""

EDGE_PLACES = 401
"""Places round an edge at which its least radius is looked for."""
SOFTNESS_FIRST_TRIED, SOFTNESS_STEPS = 0.05, 12
BEYOND_ASKED, STEP_BACK = 1e-3, 0.8
"""Share by which a radius is more than asked where a step back is taken, and to which share of the softness."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fitted:
    """Sections fitted to a board's numbers, and the share of the rail line's height by which it stands above the bottom
    at the stringer.
    """

    sections: Sections
    lift_share: Carried


def stringer_thickness(n: SectionNumbers) -> Array:
    """Return the thickness at the stringer in mm."""
    return over(n, n.inset) + under(n, n.inset)


def edge_radius(n: SectionNumbers) -> Array:
    """Return the least radius in mm of the section's curve at its bottom edge, found on the curve itself; n of shape
    (k,).
    """
    column = n.at((slice(None), None))
    # Round the edge, as close to it as the softness is small.
    reach = np.clip(6.0 * column.edge_softness, 1e-7, np.minimum(0.9, 0.95 / column.edge_share - 0.95))
    spread = np.linspace(-1.0, 1.0, EDGE_PLACES)
    share = column.edge_share * (1.0 + reach * spread * (0.05 + 0.95 * spread * spread))
    share = np.clip(share, 1e-6, 1.0 - 1e-6)
    y = column.half_width * np.sqrt(1.0 - share)
    z = -under(column, column.inset * share)
    y1, z1 = np.gradient(y, axis=1), np.gradient(z, axis=1)
    square = y1 * y1 + z1 * z1
    curvature = np.abs(y1 * np.gradient(z1, axis=1) - z1 * np.gradient(y1, axis=1)) / (square * np.sqrt(square))
    return np.asarray(1.0 / np.maximum(curvature[:, 3:-3].max(axis=1), 1e-9), dtype=np.float64)


def softness_of_radius(n: SectionNumbers, radius_mm: Array) -> Array:
    """Return the softness with which edges of sections (k,) have the asked least radius, mm: 0 for none, at most
    SOFTEST. The radius grows nearly as a straight line with the softness, so a few steps along chords find it.
    """
    asked = np.asarray(radius_mm, dtype=np.float64)
    before, found_before = np.zeros_like(asked), np.zeros_like(asked)
    softness = np.full_like(asked, SOFTNESS_FIRST_TRIED)
    for _ in range(SOFTNESS_STEPS):
        found = edge_radius(replace(n, edge=softness))
        rise = (found - found_before) / np.where(softness == before, 1.0, softness - before)
        chord = softness + (asked - found) / np.where(rise > 0.0, rise, np.inf)
        # Where the radius has levelled off beyond what is asked, no chord leads back.
        beyond = (rise <= 0.0) & (found > asked * (1.0 + BEYOND_ASKED))
        chord = np.where(beyond, softness * STEP_BACK, chord)
        # A chord that leads below none is one of a curve that bends: half way there.
        chord = np.where(chord > 0.0, chord, softness / 2.0)
        before, found_before, softness = softness, found, np.clip(chord, LEAST_SOFTNESS, SOFTEST)
    return np.asarray(np.round(np.where(asked == 0.0, 0.0, softness), 9), dtype=np.float64)


def drop_at(n: SectionNumbers, inside_mm: float) -> Array:
    """Return how far, mm, the deck lies below the deck at the stringer, `inside_mm` inside the widest point."""
    across = np.clip(1.0 - inside_mm / n.half_width, 0.0, 1.0)
    return over(n, n.inset) - over(n, n.inset * (1.0 - across * across))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Line:
    """The given numbers of one quantity: stations (n,) in mm, their places among all given stations, values; of a tuck,
    where a kind's own gives way to an edge's radius that is asked beside it.
    """

    name: str
    x_mm: Array
    places: NDArray[np.int64]
    values: Array
    given: tuple[Given, ...]
    edged: NDArray[np.bool_]

    @property
    def moves(self) -> bool:
        """Whether its shares follow from the depth of the sections."""
        lengths = any(number.form != "share" and number.value != 0.0 for number in self.given)
        return self.name == "apex" or bool(self.edged.any()) or lengths

    def shares(self, sections: Sections, at_given: SectionNumbers) -> Array:
        """Return the numbers as shares of what they scale with, on the sections found so far at all given stations."""
        n = at_given.at(self.places)
        if self.name == "apex":
            # The maker measures it against the thickness at the stringer; here it is a share of the depth.
            found = under(n, n.inset) / stringer_thickness(n)
            return np.where(n.apex > 0.0, n.apex * self.values / np.where(n.apex > 0.0, found, 1.0), self.values)
        scale = quantity_scale(self.name, sections, n)
        lengths = inset_of(n, self.values) if self.name == "tuck" else self.values
        shares = np.where([number.form == "share" for number in self.given], self.values, lengths / scale)
        if self.edged.any():
            shares = np.where(self.edged, np.minimum(shares, WIDEST_EDGE * n.inset / scale), shares)
        edges = np.array([number.form == "radius" for number in self.given])
        if edges.any():
            shares[edges] = softness_of_radius(n.at(edges), self.values[edges])
        for i in [i for i, number in enumerate(self.given) if number.form == "drop"]:
            here = slice(i, i + 1)
            shares[i] = _dome_of(self.given[i], n.at(here), sections.foil.at(self.x_mm[here])) / scale[i]
        return shares

    def plays(self, sections: Sections, at_given: SectionNumbers) -> Array:
        """Return by how much each share may be off, as its number was read."""
        n = at_given.at(self.places)
        plays = np.array([max(number.play_mm - GIVEN_NUMBER_MM, 0.0) for number in self.given])
        if not plays.any():
            return plays
        if self.name == "tuck":
            plays = inset_of(n, self.values + plays) - inset_of(n, self.values)
        return plays / (n.depth if self.name == "apex" else quantity_scale(self.name, sections, n))


def quantity_scale(name: str, sections: Sections, n: SectionNumbers) -> Array:
    """Return what a quantity of sections is a share of as it is told, mm: a width of the bottom that of the bottom."""
    row = QUANTITIES[name]
    if row.scale == "width":
        return 2.0 * n.half_width * (np.sqrt(1.0 - n.bottom_share) if name != "deck_flat" else 1.0)
    return sections.scale(row.scale, n.half_width, n.inset, n.depth)


def filled_drop(n: SectionNumbers, thickness_mm: Array, dome: Array, inside_mm: float, steps: int) -> Array:
    """Return the drop of the deck, mm, `inside_mm` inside the widest point, with a dome in mm and a depth that fills a
    thickness at the stringer, found in so many steps.
    """
    filled = replace(n, dome=dome)
    for _ in range(steps):
        depth = np.minimum(filled.depth * thickness_mm / stringer_thickness(filled), thickness_mm / LEAST_FILLED)
        filled = replace(filled.with_depth(depth), dome=dome)
    return drop_at(filled, inside_mm)


def _dome_of(given: Given, n: SectionNumbers, thickness_mm: Array) -> float:
    """Return a dome in mm with which the deck of a section (1,) of a thickness at the stringer is nearer to the given
    drop: one step of Newton's method, the depth following the dome.
    """
    step = NEWTON_STEP * n.depth
    now, more = (filled_drop(n, thickness_mm, dome, given.inside_mm, FILLINGS) for dome in (n.dome, n.dome + step))
    dome = n.dome + (given.value - now) * step / np.maximum(more - now, 0.1 * step)
    return float(np.clip(dome, 0.0, most_dome(n))[0])


def most_dome(n: SectionNumbers) -> Array:
    """Return the dome in mm beyond which no rail is left."""
    return MOST_DOME * ((1.0 - n.apex) * n.depth - n.deck_chine)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fit:
    """One round: the sections so far, the given numbers and the outline's parameters at their stations, the stations
    where the stringer's thickness is asked to be the foil, the sections' depth there, and the shares found so far.
    """

    sections: Sections
    lines: tuple[_Line, ...]
    u_given: Array
    x_mm: Array
    u: Array
    depth: Array
    found: Mapping[str, Array]

    def next(self, *, edges: bool) -> _Fit:
        """Return the next round: shares of the depth so far, and where asked of the edges' radii, then a depth that is
        nearer to filling the foil with them, by one step of Newton's method.
        """
        sections, at_given = self.sections, self.sections.numbers(self.u_given)
        found = {
            line.name: line.shares(sections, at_given)
            for line in self.lines
            if line.moves and (edges or line.name != "edge")
        }
        # What hardly moves any more keeps the line it has.
        moved = {
            name: values
            for name, values in found.items()
            if name not in self.found or float(np.abs(values - self.found[name]).max()) > SAME_SHARE
        }
        length = sections.length_mm
        shares = {
            line.name: _graded(line.name, line.x_mm, moved[line.name], line.plays(sections, at_given), length_mm=length)
            for line in self.lines
            if line.name in moved
        }
        sections = replace(sections, shares={**sections.shares, **shares})
        n = sections.numbers(self.u).with_depth(self.depth)
        short = sections.foil.at(self.x_mm) / stringer_thickness(n)
        more = stringer_thickness(n.with_depth(self.depth * (1.0 + NEWTON_STEP))) / stringer_thickness(n) - 1.0
        depth = self.depth * (1.0 + (short - 1.0) * np.clip(NEWTON_STEP / more, 0.5, 3.0))
        depth = np.clip(depth, LEAST_FILLED * self.depth, sections.foil.at(self.x_mm) / LEAST_FILLED)
        filled = carried(self.x_mm, sections.foil.at(self.x_mm) / depth, sections.length_mm)
        sections = replace(sections, filled=filled)
        return replace(self, sections=sections, depth=depth, found={**self.found, **moved})


def _graded(name: str, x_mm: Array, values: Array, plays: Array | float = 0.0, *, length_mm: float) -> Gradation:
    """Return the line of a quantity. An edge is as sharp between two stations as it is at them, and a chine ends."""
    return graded_level(x_mm, values) if name in LEVEL else graded(x_mm, values, length_mm, plays)


def fitted_sections(board: Board, outline: Outline, foil: Profile, *, closed_tail: bool) -> Fitted:
    """Return the sections that meet every number of a board's sections where it was given, and whose thickness at the
    stringer is the foil between the first and the last reading of it.

    A number in mm is a share of the section's depth, which follows from the foil and from how far the section fills it:
    both are found together, in rounds, to FOUND_MM.
    """
    thick = [number.x_mm for number in (*board.thicknesses, board.thickest)]
    u = parameters_between(outline, min(thick) if closed_tail else 0.0, max(thick), through_mm=thick)
    stations = np.asarray(outline.station(u), dtype=np.float64)
    given_mm = np.unique([number.x_mm for line in board.sections.values() for number in line])
    edges = {number.x_mm for number in board.sections["edge"] if number.form == "radius"}
    lines = tuple(
        _Line(
            name=name,
            x_mm=np.array([number.x_mm for number in board.sections[name]]),
            places=np.searchsorted(given_mm, [number.x_mm for number in board.sections[name]]),
            values=np.array([number.value for number in board.sections[name]]),
            given=board.sections[name],
            edged=np.array(
                [name == "tuck" and number.form == "share" and number.x_mm in edges for number in board.sections[name]]
            ),
        )
        for name in QUANTITIES
    )
    # Begun with what is usual: lengths are no shares yet.
    length = board.length_mm
    start = {
        name: _graded(name, *map(np.array, zip(*usual(name, board.size), strict=True)), length_mm=length)
        for name in QUANTITIES
    }
    start |= {
        line.name: _graded(line.name, line.x_mm, line.values, length_mm=length)
        for line in lines
        if line.name == "apex" or not line.moves
    }
    sections = Sections(
        length_mm=board.length_mm,
        outline=outline,
        closed_tail=closed_tail,
        foil=foil,
        filled=None,
        shares=start,
        channels=board.channels,
    )
    fit = _Fit(
        sections=sections,
        lines=lines,
        u_given=np.asarray(outline.parameter(given_mm)),
        x_mm=stations,
        u=u,
        depth=foil.at(stations),
        found={},
    )
    for n in range(MOST_ROUNDS):
        before = np.concatenate([fit.depth, fit.sections.depth(given_mm)])
        # An edge hardly moves the depth: its softness is found once all else nearly is, and again at the end.
        fit = fit.next(edges=n == 2)
        after = np.concatenate([fit.depth, fit.sections.depth(given_mm)])
        if n > 2 and float(np.abs(after - before).max()) < FOUND_MM:
            break
    fit = fit.next(edges=True)
    heights = [number.x_mm for number in board.heights if 0.0 < number.x_mm < board.length_mm]
    lowest = 0.0 if not closed_tail else min([NOSE_AND_TAIL_MM, *heights])
    highest = max([board.length_mm - NOSE_AND_TAIL_MM, *heights])
    u = parameters_between(outline, lowest, highest, through_mm=heights)
    at_heights = fit.sections.numbers(u)
    lift = carried(
        np.asarray(outline.station(u)), under(at_heights, at_heights.inset) / at_heights.apex_mm, board.length_mm
    )
    return Fitted(sections=fit.sections, lift_share=lift)
