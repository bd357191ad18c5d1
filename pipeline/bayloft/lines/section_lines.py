"""From the numbers given for sections to shares along the board, so that each is met where it was given."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import exponential, logarithm
from bayloft.lines.gradation import Gradation, graded
from bayloft.lines.outline import Outline
from bayloft.lines.profile import Profile
from bayloft.lines.roots import bracketed
from bayloft.lines.section import LEAST_SOFTNESS, SOFTEST, SectionNumbers, over, places, rail_line_heights, under
from bayloft.lines.sections import Carried, Sections, carried, stations_between
from bayloft.spec.board import Board
from bayloft.spec.given import Given
from bayloft.spec.quantities import QUANTITIES
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
    column = _columns(n)
    # Round the edge, as close to it as the softness is small.
    reach = np.clip(6.0 * column.edge_softness, 1e-7, 0.9)
    spread = np.linspace(-1.0, 1.0, EDGE_PLACES)
    share = column.edge_share * (1.0 + reach * spread * np.abs(spread))
    share = np.clip(share, 1e-6, 1.0 - 1e-6)
    y = column.half_width * np.sqrt(1.0 - share)
    z = -under(column, column.inset * share)
    y1, z1 = np.gradient(y, axis=1), np.gradient(z, axis=1)
    square = y1 * y1 + z1 * z1
    curvature = np.abs(y1 * np.gradient(z1, axis=1) - z1 * np.gradient(y1, axis=1)) / (square * np.sqrt(square))
    return np.asarray(1.0 / np.maximum(curvature[:, 3:-3].max(axis=1), 1e-9), dtype=np.float64)


def _columns(n: SectionNumbers) -> SectionNumbers:
    return replace(n, **{name: np.atleast_1d(getattr(n, name))[:, None] for name in SectionNumbers.__dataclass_fields__})


def softness_of_radius(n: SectionNumbers, radius_mm: Array) -> Array:
    """Return the softness with which edges of sections (k,) have the asked least radius, mm: 0 for none, at most
    SOFTEST.
    """

    def beyond(log_softness: Array, which: Array, radius: Array) -> Array:
        chosen = {
            name: np.broadcast_to(getattr(n, name), n.half_width.shape)[which.astype(np.int64)]
            for name in SectionNumbers.__dataclass_fields__
        }
        return edge_radius(SectionNumbers(**chosen | {"edge": exponential(log_softness)})) - radius

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
class _Fit:
    """One round: the sections so far, and where readings at the stringer begin and end."""

    board: Board
    sections: Sections
    range_mm: tuple[float, float]

    def at(self, x_mm: float) -> SectionNumbers:
        return self.sections.numbers(self.sections.outline.parameter(np.atleast_1d(x_mm)))

    def share(self, name: str, given: Given) -> float:
        """Return a given number as the share of what it scales with."""
        if given.form == "share":
            return given.value
        n = self.at(given.x_mm)
        if given.form == "radius":
            return float(softness_of_radius(n, np.array([given.value]))[0])
        scale = float(self.sections.scale(QUANTITIES[name].scale, n.half_width, n.inset, n.depth)[0])
        if QUANTITIES[name].scale == "width":
            scale = 2.0 * float(n.half_width[0] * np.sqrt(1.0 - (n.edge_share[0] if name != "deck_flat" else 0.0)))
        if given.form == "drop":
            return self._dome_of(given, n) / scale
        return given.value / scale

    def _dome_of(self, given: Given, n: SectionNumbers) -> float:
        """Return the dome in mm with which the deck has the given drop: the drop grows with it."""

        def beyond(dome: Array) -> Array:
            return drop_at(replace(n, dome=np.asarray(dome)), given.inside_mm) - given.value

        most = 0.95 * float(((1.0 - n.apex) * n.depth - n.deck_chine)[0])
        low, high = np.array([-0.5 * most]), np.array([most])
        if float(beyond(low)[0]) >= 0.0:
            return float(low[0])
        return float(high[0]) if float(beyond(high)[0]) <= 0.0 else float(bracketed(beyond, low, high)[0])

    def graded(self, name: str) -> Gradation:
        """Return a quantity's shares along the board."""
        given = self.board.sections[name]
        return graded([number.x_mm for number in given], [self.share(name, number) for number in given])

    def next(self) -> _Fit:
        """Return the next round: shares of the depth so far, then the depth that fills the foil with them."""
        shares: dict[str, Gradation] = dict(self.sections.shares)
        fit = self
        for name in _ORDER:
            shares[name] = fit.graded(name)
            fit = replace(fit, sections=replace(fit.sections, shares=dict(shares)))
        x = stations_between(*self.range_mm)
        u = fit.sections.outline.parameter(x)
        foil = fit.sections.foil.at(x)
        n = fit.sections.numbers(u)
        depth = n.depth
        for _ in range(MOST_ROUNDS):
            grown = depth * foil / stringer_thickness(n.with_depth(depth))
            moved = float(np.abs(grown - depth).max())
            depth = grown
            if moved < FOUND_MM / 10:
                break
        filled = carried(x, foil / depth, self.board.length_mm)
        return replace(fit, sections=replace(fit.sections, filled=filled))


_ORDER = tuple(name for name in QUANTITIES if name not in ("dome", "edge")) + ("dome", "edge")
"""Dome and edge last: a drop and an edge's radius are measured on a section that has all the rest."""


def fitted_sections(board: Board, outline: Outline, foil: Profile, *, closed_tail: bool) -> Fitted:
    """Return the sections that meet every number of a board's sections where it was given, and whose thickness at the
    stringer is the foil between the first and the last reading of it.

    A number in mm is a share of the section's depth, which follows from the foil and from how far the section fills it:
    both are found together, in rounds, to FOUND_MM.
    """
    thick = [number.x_mm for number in (*board.thicknesses, board.thickest)]
    first, last = (min(thick) if closed_tail else 0.0), max(thick)
    start = {name: graded([board.length_mm / 2], [0.0]) for name in QUANTITIES}
    sections = Sections(
        length_mm=board.length_mm, outline=outline, closed_tail=closed_tail, foil=foil, filled=None, shares=start
    )
    fit = _Fit(board=board, sections=sections, range_mm=(first, last))
    places_mm = np.unique([first, last, *(number.x_mm for line in board.sections.values() for number in line)])
    before = np.asarray(fit.sections.depth(places_mm))
    for _ in range(MOST_ROUNDS):
        fit = fit.next()
        after = fit.sections.depth(places_mm)
        if float(np.abs(after - before).max()) < FOUND_MM:
            break
        before = after
    heights = [number.x_mm for number in board.heights if 0.0 < number.x_mm < board.length_mm]
    lowest = 0.0 if not closed_tail else min([NOSE_AND_TAIL_MM, *heights])
    x = stations_between(lowest, max([board.length_mm - NOSE_AND_TAIL_MM, *heights]))
    n = fit.sections.numbers(outline.parameter(x))
    lift = carried(x, under(n, n.inset) / n.apex_mm, board.length_mm)
    return Fitted(sections=fit.sections, lift_share=lift)


def given_names(sections: Mapping[str, tuple[Given, ...]]) -> tuple[str, ...]:
    """Return the names of the quantities of which the maker gave a number."""
    return tuple(name for name, line in sections.items() if not all(number.assumed for number in line))
