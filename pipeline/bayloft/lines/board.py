"""A board's lines: every number of the spec as a curve along the board, and the half-section anywhere."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.lines.outline import Outline
from bayloft.lines.profile import Profile
from bayloft.lines.section import SectionNumbers, over, under
from bayloft.lines.section_places import places, rail_line_heights
from bayloft.lines.sections import Carried, Sections
from bayloft.lines.wall import Wall
from bayloft.spec.boards.board import Turn

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoardLines:
    """All lines of a board, mm. `wall` is None at a closed tail. `rocker` is the bottom at the stringer, `foil` the
    thickness there, both carried on to the very ends, under the rounding of the tips; `lift_share` is how far the rail
    line stands above that bottom, as a share of the apex height. `slack`: the tables ("outline", "rocker", "thickness")
    through whose numbers no fair line passes exactly, and one does within SLACK_MM; `lowest_assumed`: whether the maker
    did not say where the lowest point is; `turns`: the stretches in which outline and foil may bend the other way.
    """

    length_mm: float
    outline: Outline
    rocker: Profile
    lowest_x_mm: float
    foil: Profile
    wall: Wall | None
    sections: Sections
    lift_share: Carried
    slack: frozenset[str] = frozenset()
    lowest_assumed: bool = False
    turns: Mapping[str, tuple[Turn, ...]] = field(default_factory=dict)

    @property
    def kinks_mm(self) -> Array:
        """Stations, ascending, where the third derivative of a line jumps: a surface through the lines wants a knot
        there.
        """
        stations = [*self.lift_share.kinks_mm]
        stations += [] if self.sections.filled is None else self.sections.filled.kinks_mm
        for line in self.sections.shares.values():
            stations += line.kinks_mm
        for channel in self.sections.channels:
            stations += [channel.from_mm, channel.from_mm + channel.fade_mm]
            stations += [channel.to_mm - channel.fade_mm, channel.to_mm]
        return np.unique(np.round([x for x in stations if 0.0 < x < self.length_mm], 6))

    def section_numbers(self, x_mm: ArrayLike) -> SectionNumbers:
        """Return the section's numbers at stations of any shape."""
        return self.sections.numbers(self.outline.parameter(np.clip(x_mm, 0.0, self.length_mm)))

    def rail_line(self, x_mm: ArrayLike) -> Array:
        """Return the height in mm of the rail's widest point at stations of any shape."""
        x = np.asarray(x_mm, dtype=np.float64)
        apex = self.sections.shares["apex"].at(x) * self.sections.depth(x)
        return self.rocker.at(x) + self.lift_share.at(x) * apex

    def thickness(self, x_mm: ArrayLike) -> Array:
        """Return the thickness at the stringer in mm, tips rounded off, at stations of any shape."""
        n = self.section_numbers(x_mm)
        return over(n, n.inset) + under(n, n.inset)

    def bottom(self, x_mm: ArrayLike) -> Array:
        """Return the height in mm of the bottom at the stringer, tips rounded off, at stations of any shape."""
        n = self.section_numbers(x_mm)
        return self.rail_line(x_mm) - under(n, n.inset)

    def points(self, u: ArrayLike, v: ArrayLike) -> Array:
        """Return points of the port side: parameters u along the outline and v round the section broadcast together;
        result (..., 3) as (x, y, z) in mm.
        """
        u, v = np.asarray(u, dtype=np.float64), np.asarray(v, dtype=np.float64)
        n = self.sections.numbers(u)
        x = self.outline.station(u)
        across, height = rail_line_heights(n, v)
        at_tip = (u >= 1.0) | ((u <= 0.0) & self.sections.closed_tail)
        across, height = np.where(at_tip, 0.0, across), np.where(at_tip, 0.0, height) + self.rail_line(x)
        return np.stack(np.broadcast_arrays(x, across, height), axis=-1)

    def plan_points(self, u: ArrayLike, v: ArrayLike) -> tuple[Array, Array]:
        """Return station and distance off the stringer, mm, of parameters u and v broadcast together."""
        u = np.asarray(u, dtype=np.float64)
        return np.asarray(self.outline.station(u), dtype=np.float64), places(self.sections.numbers(u), v)[0]
