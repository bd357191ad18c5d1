"""The sections of a board: their quantities as shares along the board, and the section's numbers anywhere."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

from bayloft.lines.gradation import Gradation
from bayloft.lines.interpolation import held, slope_and_bend
from bayloft.lines.outline import Outline
from bayloft.lines.profile import Profile
from bayloft.lines.section import SectionNumbers, Traits
from bayloft.spec.boards.channel import Channel
from bayloft.spec.boards.quantities import QUANTITIES, Scale

Array = NDArray[np.float64]

NARROW_SHARE = 0.2
"""Share of the greatest half-width at which dome and bottom shape are down to 0.7 of their share."""

END_U = 1e-7
"""Nearest to a closed end, in u, that plan and inset are asked for: there both vanish, and only their limit counts."""

VANISHING_MM = 1e-9
"""mm, stands for half-width and inset at a tip, so that ratios of lengths that vanish together stay numbers."""

CARRIED_STEPS, STEP_MM = 240, 6.0
"""Steps in which a share is worked out between its readings, and mm between places where it is carried on."""
MOST_GROWN = 0.4
"""By how much of itself a carried share may change beyond its readings."""
LEVELS_OFF_MM = 120.0
"""mm over which a carried share becomes constant beyond its readings."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Carried:
    """A share that is worked out between two stations and carried on, level in the end, beyond them."""

    spline: BSpline[np.float64]
    first_mm: float
    last_mm: float

    @property
    def kinks_mm(self) -> tuple[float, ...]:
        """Stations in mm, ascending, where the third derivative jumps."""
        ends = (self.first_mm, self.last_mm)
        return (float(self.spline.t[0]), *ends, float(self.spline.t[-1]))

    def at(self, x_mm: ArrayLike) -> Array:
        """Return the share at stations of any shape."""
        x = np.clip(np.asarray(x_mm, dtype=np.float64), self.spline.t[0], self.spline.t[-1])
        return np.asarray(self.spline(x), dtype=np.float64)


def parameters_between(outline: Outline, first_mm: float, last_mm: float, through_mm: Sequence[float]) -> Array:
    """Return the outline's parameters, nearly even, at which a share is worked out that is carried on beyond two
    stations; those of the stations `through_mm` that lie between are among them.
    """
    inner = [x for x in through_mm if first_mm < x < last_mm]
    found = np.atleast_1d(outline.parameter([first_mm, last_mm, *inner]))
    even = np.linspace(found[0], found[1], CARRIED_STEPS + 1)
    for u in found[2:]:
        nearest = int(np.clip(np.argmin(np.abs(even - u)), 1, CARRIED_STEPS - 1))
        even[nearest] = u
    return np.unique(even)


def carried(x_mm: Array, shares: Array, length_mm: float) -> Carried:
    """Return a share through its values at stations, carried on beyond them: with the slope and the bend it has
    there it levels off over LEVELS_OFF_MM, or as far as there is board.
    """
    found_x, found_y, conditions = [x_mm], [shares], []
    for room, sign in ((x_mm[0], -1), (length_mm - x_mm[-1], 1)):
        inwards = slice(None) if sign < 0 else slice(None, None, -1)
        end, value = float(x_mm[inwards][0]), float(shares[inwards][0])
        slope, bend = slope_and_bend(x_mm[inwards], shares[inwards])
        slope *= sign
        reach = min(LEVELS_OFF_MM, float(room))
        if reach < STEP_MM:
            conditions.append((2, bend))
            continue
        conditions.append((1, 0.0))
        # A share that changes quickly is levelled off sooner, so that it stays one.
        while abs(slope / 2.0 + bend * reach / 12.0) * reach > MOST_GROWN * value and reach > 1.0:
            reach /= 2.0
        s = np.linspace(0.0, 1.0, round(reach / STEP_MM) + 2)[1:]
        squared = s * s
        # The slope is a cubic that begins with slope and bend as they are and ends with none of either.
        grown = slope * reach * (s - squared * s + squared * squared / 2)
        grown += bend * reach * reach * (squared / 2 - 2 * squared * s / 3 + squared * squared / 4)
        where = 0 if sign < 0 else len(found_x)
        found_x.insert(where, (end + sign * reach * s)[::sign])
        found_y.insert(where, (value + grown)[::sign])
    spline = held(np.concatenate(found_x), np.concatenate(found_y), (conditions[0], conditions[1]))
    return Carried(spline=spline, first_mm=float(x_mm[0]), last_mm=float(x_mm[-1]))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sections:
    """The sections of a board. `foil`: thickness at the stringer, carried on to the ends under their rounding; `filled`
    the share of a section's depth that the stringer's thickness is; `shares`: each of QUANTITIES, as a share of what it
    scales with; `channels` from the stringer outwards.
    """

    length_mm: float
    outline: Outline
    closed_tail: bool
    foil: Profile
    filled: Carried | None
    shares: Mapping[str, Gradation]
    channels: tuple[Channel, ...] = ()

    @property
    def traits(self) -> Traits:
        """What all sections have in common."""
        return Traits(
            creased=self.shares["edge"].greatest == 0.0,
            chined=self.shares["chine"].greatest > 0.0,
            deck_chined=self.shares["deck_chine"].greatest > 0.0,
            channels=self.channels,
        )

    def plan(self, u: ArrayLike) -> tuple[Array, Array]:
        """Return half-width and inset at the stringer, mm, at parameters u of any shape."""
        inside = np.clip(np.asarray(u, dtype=np.float64), END_U if self.closed_tail else 0.0, 1.0 - END_U)
        half_width = np.maximum(self.outline.half_width(inside), VANISHING_MM)
        slope = self.outline.half_width(inside, 1) / self.outline.station.deriv()(inside)
        return half_width, half_width / (2.0 * np.sqrt(1.0 + slope * slope))

    def depth(self, x_mm: ArrayLike) -> Array:
        """Return the depth in mm of sections at stations of any shape."""
        foil = self.foil.at(x_mm)
        return foil if self.filled is None else foil / self.filled.at(x_mm)

    def scale(self, scale: Scale, half_width: Array, inset: Array, depth: Array) -> Array:
        """Return what a quantity of this scale is a share of, mm (1 where it has no length)."""
        narrow = NARROW_SHARE * float(self.outline.half_width(self.outline.wide_u))
        wide = half_width * half_width / (half_width * half_width + narrow * narrow)
        match scale:
            case "none":
                return np.ones_like(depth)
            case "depth":
                return depth
            case "width":
                return np.ones_like(depth)
            case "dome":
                return 2.0 * depth * inset / np.sqrt(half_width * half_width + narrow * narrow)
            case "bottom":
                return depth * wide

    def numbers(self, u: ArrayLike) -> SectionNumbers:
        """Return the section's numbers at parameters u of any shape."""
        u = np.asarray(u, dtype=np.float64)
        x = self.outline.station(u)
        half_width, inset = self.plan(u)
        depth = self.depth(x)
        scales = {scale: self.scale(scale, half_width, inset, depth) for scale in ("none", "depth", "dome", "bottom")}
        scales["width"] = scales["none"]
        values = {name: self.shares[name].at(x) * scales[row.scale] for name, row in QUANTITIES.items()}
        return SectionNumbers(
            x_mm=np.asarray(x, dtype=np.float64),
            half_width=half_width,
            inset=inset,
            depth=depth,
            traits=self.traits,
            **values,
        )
