"""From the numbers given for sections to shares along the board, so that each is met where it was given."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import exponential, logarithm
from bayloft.lines.gradation import graded
from bayloft.lines.outline import Outline
from bayloft.lines.profile import Profile
from bayloft.lines.roots import bracketed
from bayloft.lines.section import LEAST_SOFTNESS, SOFTEST, SectionNumbers, inset_of, over, under
from bayloft.lines.sections import Carried, Sections, carried, stations_between
from bayloft.spec.board import Board
from bayloft.spec.given import Given
from bayloft.spec.quantities import QUANTITIES, usual
from bayloft.spec.stations import NOSE_AND_TAIL_MM

Array = NDArray[np.float64]

FOUND_MM = 1e-6
"""mm by which the depth of a section may still move from one round of the search to the next, and be found."""
MOST_ROUNDS = 30

EDGE_PLACES = 801
"""Places round an edge at which its least radius is looked for."""


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
    reach = np.clip(6.0 * column.edge_softness, 1e-7, 0.9)
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
    SOFTEST.
    """

    def beyond(log_softness: Array, which: Array, radius: Array) -> Array:
        return edge_radius(replace(n.at(which.astype(np.int64)), edge=exponential(log_softness))) - radius

    asked = np.asarray(radius_mm, dtype=np.float64)
    low, high = np.full_like(asked, logarithm(1e-5)), np.full_like(asked, logarithm(SOFTEST))
    which = np.arange(len(asked), dtype=np.float64)
    ends = [beyond(end, which, asked) for end in (low, high)]
    found = bracketed(beyond, low, high, which, asked)
    softness = np.where(ends[1] <= 0.0, SOFTEST, np.where(ends[0] >= 0.0, LEAST_SOFTNESS, exponential(found)))
    return np.round(np.where(asked == 0.0, 0.0, softness), 9)


def drop_at(n: SectionNumbers, inside_mm: float) -> Array:
    """Return how far, mm, the deck lies below the deck at the stringer, `inside_mm` inside the widest point."""
    across = np.clip(1.0 - inside_mm / n.half_width, 0.0, 1.0)
    return over(n, n.inset) - over(n, n.inset * (1.0 - across * across))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Line:
    """The given numbers of one quantity: stations (n,) in mm, the outline's parameters there, values, forms."""

    name: str
    x_mm: Array
    u: Array
    values: Array
    given: tuple[Given, ...]

    @property
    def moves(self) -> bool:
        """Whether its shares follow from the depth of the sections."""
        return self.name == "apex" or any(number.form != "share" for number in self.given)

    def shares(self, sections: Sections) -> Array:
        """Return the numbers as shares of what they scale with, on sections found so far."""
        n = sections.numbers(self.u)
        if self.name == "apex":
            # The maker measures it against the thickness at the stringer; here it is a share of the depth.
            found = under(n, n.inset) / stringer_thickness(n)
            return np.where(n.apex > 0.0, n.apex * self.values / np.where(n.apex > 0.0, found, 1.0), self.values)
        row = QUANTITIES[self.name]
        scale = sections.scale(row.scale, n.half_width, n.inset, n.depth)
        if row.scale == "width":
            flat = np.sqrt(1.0 - n.edge_share) if self.name != "deck_flat" else 1.0
            scale = 2.0 * n.half_width * flat
        lengths = inset_of(n, self.values) if self.name == "tuck" else self.values
        shares = np.where([number.form == "share" for number in self.given], self.values, lengths / scale)
        edges = np.array([number.form == "radius" for number in self.given])
        if edges.any():
            shares[edges] = softness_of_radius(n.at(edges), self.values[edges])
        for i in [i for i, number in enumerate(self.given) if number.form == "drop"]:
            shares[i] = _dome_of(self.given[i], n.at(slice(i, i + 1))) / scale[i]
        return shares


def _dome_of(given: Given, n: SectionNumbers) -> float:
    """Return the dome in mm with which the deck of a section (1,) has the given drop: the drop grows with it."""

    def beyond(dome: Array) -> Array:
        return drop_at(replace(n, dome=np.asarray(dome)), given.inside_mm) - given.value

    most = 0.95 * ((1.0 - n.apex) * n.depth - n.deck_chine)
    low = -0.5 * most
    if float(beyond(low)[0]) >= 0.0:
        return float(low[0])
    return float(most[0]) if float(beyond(most)[0]) <= 0.0 else float(bracketed(beyond, low, most)[0])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Fit:
    """One round: the sections so far, the given numbers, and where the stringer's thickness is asked to be the foil."""

    sections: Sections
    lines: tuple[_Line, ...]
    x_mm: Array
    u: Array

    def next(self, *, edges: bool) -> _Fit:
        """Return the next round: shares of the depth so far, and where asked of the edges' radii, then the depth that
        fills the foil with them.
        """
        sections = self.sections
        for line in self.lines:
            if line.moves and (edges or line.name != "edge"):
                shares = {**sections.shares, line.name: graded(line.x_mm, line.shares(sections))}
                sections = replace(sections, shares=shares)
        foil = sections.foil.at(self.x_mm)
        n = sections.numbers(self.u)
        depth = n.depth
        for _ in range(MOST_ROUNDS):
            grown = depth * foil / stringer_thickness(n.with_depth(depth))
            moved = float(np.abs(grown - depth).max())
            depth = grown
            if moved < FOUND_MM / 10:
                break
        filled = carried(self.x_mm, foil / depth, sections.length_mm)
        return replace(self, sections=replace(sections, filled=filled))


_ORDER = tuple(name for name in QUANTITIES if name not in ("dome", "edge")) + ("dome", "edge")
"""Dome and edge last: a drop and an edge's radius are measured on a section that has all the rest."""


def fitted_sections(board: Board, outline: Outline, foil: Profile, *, closed_tail: bool) -> Fitted:
    """Return the sections that meet every number of a board's sections where it was given, and whose thickness at the
    stringer is the foil between the first and the last reading of it.

    A number in mm is a share of the section's depth, which follows from the foil and from how far the section fills it:
    both are found together, in rounds, to FOUND_MM.
    """
    thick = [number.x_mm for number in (*board.thicknesses, board.thickest)]
    stations = stations_between(min(thick) if closed_tail else 0.0, max(thick))
    given_mm = np.unique([number.x_mm for line in board.sections.values() for number in line])
    u_of = dict(zip(given_mm.tolist(), np.atleast_1d(outline.parameter(given_mm)).tolist(), strict=True))
    lines = tuple(
        _Line(
            name=name,
            x_mm=np.array([number.x_mm for number in board.sections[name]]),
            u=np.array([u_of[number.x_mm] for number in board.sections[name]]),
            values=np.array([number.value for number in board.sections[name]]),
            given=board.sections[name],
        )
        for name in _ORDER
    )
    # Begun with what is usual: lengths are no shares yet.
    start = {name: graded(*map(np.array, zip(*usual(name, board.length_mm), strict=True))) for name in QUANTITIES}
    start |= {line.name: graded(line.x_mm, line.values) for line in lines if line.name == "apex" or not line.moves}
    sections = Sections(
        length_mm=board.length_mm, outline=outline, closed_tail=closed_tail, foil=foil, filled=None, shares=start
    )
    fit = _Fit(sections=sections, lines=lines, x_mm=stations, u=np.asarray(outline.parameter(stations)))
    before = sections.depth(given_mm)
    for n in range(MOST_ROUNDS):
        # An edge hardly moves the depth: its softness is found at once, and once more where all else is.
        fit = fit.next(edges=n == 0)
        after = fit.sections.depth(given_mm)
        if float(np.abs(after - before).max()) < FOUND_MM:
            break
        before = after
    fit = fit.next(edges=True)
    heights = [number.x_mm for number in board.heights if 0.0 < number.x_mm < board.length_mm]
    lowest = 0.0 if not closed_tail else min([NOSE_AND_TAIL_MM, *heights])
    x = stations_between(lowest, max([board.length_mm - NOSE_AND_TAIL_MM, *heights]))
    at_heights = fit.sections.numbers(outline.parameter(x))
    lift = carried(x, under(at_heights, at_heights.inset) / at_heights.apex_mm, board.length_mm)
    return Fitted(sections=fit.sections, lift_share=lift)

