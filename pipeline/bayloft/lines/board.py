"""A board's lines: every number of the spec as a curve along the board, and the half-section anywhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.lines.closing import closing, fading
from bayloft.lines.gradation import Gradation, graded
from bayloft.lines.outline import Outline
from bayloft.lines.profile import Profile
from bayloft.lines.section import SectionNumbers, control_points, points
from bayloft.lines.wall import Wall
from bayloft.spec.given import Given

Array = NDArray[np.float64]

VANISHING_MM = 1e-100
"""mm, stands for the half-width at a tip, so that ratios of lengths that vanish together stay numbers."""

TIP_ROUNDING = 1.2
"""Length over which a tip is rounded off in profile, as a share of the thickness there: a little longer than a quarter
circle (common practice, no source)."""


def gradation_of(given: tuple[Given, ...]) -> Gradation:
    """Return the gradation through given numbers."""
    return graded([number.x_mm for number in given], [number.value for number in given])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoardLines:
    """All lines of a board, mm. `wall` is None at a closed tail; `tip_reach_mm` is how far tail and nose tips are
    rounded off in profile (0 at a cut-off tail); where the board is narrower than `full_half_width_mm`, tuck, crown and
    bottom shape fade with the width, so that the section closes on the tips.
    """

    length_mm: float
    outline: Outline
    rocker: Profile
    lowest_x_mm: float
    foil: Profile
    wall: Wall | None
    tip_reach_mm: tuple[float, float]
    full_half_width_mm: float
    apex: Gradation
    tuck: Gradation
    edge: Gradation
    fullness: Gradation
    crown: Gradation
    roll: Gradation
    vee: Gradation
    concave: Gradation
    double_concave: Gradation

    def thickness(self, x_mm: ArrayLike) -> Array:
        """Return the thickness at the stringer in mm, tips rounded off, at stations of any shape."""
        x = np.asarray(x_mm, dtype=np.float64)
        share = closing(self.length_mm - x, self.tip_reach_mm[1])
        if self.tip_reach_mm[0] > 0.0:
            share = share * closing(x, self.tip_reach_mm[0])
        return self.foil.at(x) * share

    @property
    def kinks_mm(self) -> Array:
        """Stations, ascending, where the third derivative of a line jumps: a surface through the lines wants a knot
        there. Where tips begin to be rounded off, where sections begin to fade, where a section number is given, and at
        the knots between.
        """
        stations = [
            self.tip_reach_mm[0],
            self.length_mm - self.tip_reach_mm[1],
            *self.outline.stations_of(self.full_half_width_mm),
        ]
        for line in (self.apex, self.tuck, self.edge, self.fullness, self.crown):
            stations += line.kinks_mm
        for line in (self.roll, self.vee, self.concave, self.double_concave):
            stations += line.kinks_mm
        return np.unique(np.round([x for x in stations if 0.0 < x < self.length_mm], 6))

    def section_numbers(self, x_mm: ArrayLike) -> SectionNumbers:
        """Return the section's numbers at stations of any shape."""
        x = np.asarray(x_mm, dtype=np.float64)
        thickness = self.thickness(x)
        half_width = np.maximum(self.outline.at(x), VANISHING_MM)
        fade = fading(half_width / self.full_half_width_mm)
        # Depths fade with the square: near a tip they must vanish faster than the thickness does.
        deep = fade * fade
        return SectionNumbers(
            half_width=half_width,
            thickness=thickness,
            apex=self.apex.at(x) * thickness,
            tuck=self.tuck.at(x) * fade,
            edge=self.edge.at(x),
            fullness=self.fullness.at(x),
            crown=self.crown.at(x) * deep,
            roll=self.roll.at(x) * deep,
            vee=self.vee.at(x) * deep,
            concave=self.concave.at(x) * deep,
            double_concave=self.double_concave.at(x) * deep,
        )

    def section_points(self, x_mm: ArrayLike, v: ArrayLike) -> Array:
        """Return points of the port half-section: x and v broadcast together; result (..., 3) as (x, y, z) in mm."""
        x, v = np.broadcast_arrays(np.asarray(x_mm, dtype=np.float64), np.asarray(v, dtype=np.float64))
        flat_x, inverse = np.unique(x, return_inverse=True)
        control = control_points(self.section_numbers(np.clip(flat_x, 0.0, self.length_mm)))
        across = points(control[inverse.reshape(x.shape)], v)
        height = across[..., 1] + self.rocker.at(x)
        return np.stack([x, across[..., 0], height], axis=-1)
