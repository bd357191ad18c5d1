"""The wall of a cut-off tail in plan: station against distance from the stringer, corner rounding included."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import root

from bayloft.lines.fairest import NoFairLineError
from bayloft.lines.outline import Outline
from bayloft.spec.boards.board import Tail
from bayloft.spec.boards.ends import PlanCurve

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wall:
    """The port half of the wall's plan curve: x = base(y) in mm from the stringer to `arc_from_mm`, then, where
    corners are rounded, an arc of `radius_mm` about `centre_mm` to the corner at (corner_x_mm, corner_y_mm), where it
    meets the outline.
    """

    base: PlanCurve
    corner_x_mm: float
    corner_y_mm: float
    arc_from_mm: float
    centre_mm: tuple[float, float]
    radius_mm: float

    @property
    def reach_mm(self) -> float:
        """Greatest station of the wall."""
        return max(self.corner_x_mm, float(self.base(0.0)))

    def station(self, y_mm: ArrayLike) -> Array:
        """Return the wall's station in mm at distances from the stringer (any shape, 0 to corner_y_mm, clipped)."""
        y = np.clip(np.asarray(y_mm, dtype=np.float64), 0.0, self.corner_y_mm)
        across = np.clip(y - self.centre_mm[1], -self.radius_mm, self.radius_mm)
        arc = self.centre_mm[0] - np.sqrt(self.radius_mm**2 - across**2)
        return np.where(y <= self.arc_from_mm, self.base(y), arc)


def wall(outline: Outline, tail: Tail) -> Wall | None:
    """Return the wall that ends `outline`, None at a tail that closes to a tip.

    Raises
    ------
    NoFairLineError
        If no arc of the corner radius fits between outline and wall.
    """
    base = tail.curve
    if base is None:
        return None
    half, radius_mm, corner_x = tail.block_mm / 2, tail.corner_radius_mm, tail.corner_x_mm
    if radius_mm == 0.0:
        return Wall(
            base=base,
            corner_x_mm=corner_x,
            corner_y_mm=half,
            arc_from_mm=half,
            centre_mm=(corner_x, half),
            radius_mm=0.0,
        )
    speed = outline.station.deriv()

    def centre_from_outline(u: float) -> Array:
        slope = float(outline.half_width(u, 1) / speed(u))
        inward: Array = np.array([slope, -1.0]) / np.hypot(slope, 1.0)
        return np.array([float(outline.station(u)), float(outline.half_width(u))]) + radius_mm * inward

    def centre_from_wall(y: float) -> Array:
        slope = float(base.slope(y))
        inward: Array = np.array([1.0, -slope]) / np.hypot(slope, 1.0)
        return np.array([float(base(y)), y]) + radius_mm * inward

    def gap(unknown: Array) -> Array:
        return centre_from_outline(float(np.clip(unknown[0], 0.0, 0.5))) - centre_from_wall(float(unknown[1]))

    near = float(outline.parameter(corner_x + radius_mm))
    found = root(gap, np.array([near, half - radius_mm]), tol=1e-13)
    x_touch, y_from = float(outline.station(float(np.clip(found.x[0], 0.0, 0.5)))), float(found.x[1])
    if float(np.abs(gap(found.x)).max()) > 1e-9 or not (
        corner_x < x_touch < outline.length_mm / 4 and 0 < y_from < half
    ):
        raise NoFairLineError
    centre = centre_from_wall(y_from)
    return Wall(
        base=base,
        corner_x_mm=x_touch,
        corner_y_mm=float(outline.at(x_touch)),
        arc_from_mm=y_from,
        centre_mm=(float(centre[0]), float(centre[1])),
        radius_mm=radius_mm,
    )
