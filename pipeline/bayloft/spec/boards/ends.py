"""How boards end: one row for each kind of nose and tail, read by models, rules, messages, the wall and fins' footing.

A new kind is one row. One that is cut off brings the plan curve of its wall; all else follows from that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Protocol

import numpy as np
from numpy.polynomial import Polynomial
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


class PlanCurve(Protocol):
    """The curve of a wall in plan: station in mm ahead of the tail end at distances in mm off the stringer, from 0 to
    half the block; smooth there.
    """

    def __call__(self, y_mm: ArrayLike) -> Array:
        """Return the station in mm at distances off the stringer of any shape."""

    def slope(self, y_mm: ArrayLike) -> Array:
        """Return the derivative of the station at distances off the stringer of any shape."""


@dataclass(frozen=True, slots=True)
class PolynomialCurve:
    """A plan curve that is a polynomial of the distance, lowest power first."""

    coefficients: tuple[float, ...]

    def __call__(self, y_mm: ArrayLike) -> Array:
        """Return the station in mm at distances off the stringer of any shape."""
        return np.asarray(Polynomial(self.coefficients)(np.asarray(y_mm)), dtype=np.float64)

    def slope(self, y_mm: ArrayLike) -> Array:
        """Return the derivative of the station at distances off the stringer of any shape."""
        return np.asarray(Polynomial(self.coefficients).deriv()(np.asarray(y_mm)), dtype=np.float64)


@dataclass(frozen=True, slots=True)
class Bay:
    """The arc of a circle through both tips, half the block off the stringer, that reaches forward by the depth."""

    half_mm: float
    depth_mm: float

    @property
    def radius_mm(self) -> float:
        """The arc's radius."""
        return (self.half_mm * self.half_mm + self.depth_mm * self.depth_mm) / (2.0 * self.depth_mm)

    def _rise(self, y: Array) -> Array:
        return np.asarray(np.sqrt(self.radius_mm * self.radius_mm - y * y), dtype=np.float64)

    def __call__(self, y_mm: ArrayLike) -> Array:
        """Return the station in mm at distances off the stringer of any shape."""
        return self.depth_mm - self.radius_mm + self._rise(np.asarray(y_mm, dtype=np.float64))

    def slope(self, y_mm: ArrayLike) -> Array:
        """Return the derivative of the station at distances off the stringer of any shape."""
        y = np.asarray(y_mm, dtype=np.float64)
        return -y / self._rise(y)


@dataclass(frozen=True, slots=True, kw_only=True)
class EndKind:
    """A kind of nose or tail. What a board does not say is `tip_radius_mm` (None: the fairest) of one that closes, and
    of one that is cut off the depth and the radius of the corners as shares of the block (None: it has none).

    meaning, depth_means, block_means: what the kind and its keys are, in words. curve: the wall's plan from half the
    block and the depth, mm; None where the end closes to a tip. most_depth_share: of the block; None: no limit.
    """

    kind: str
    meaning: str
    tip_radius_mm: float | None = None
    curve: Callable[[float, float], PlanCurve] | None = None
    block_means: str = "Width of the cut-off end, measured as if its corners were sharp."
    depth_means: str = ""
    depth_share: float | None = None
    most_depth_share: float | None = None
    corner_share: float | None = None


def _by_kind(*rows: EndKind) -> Mapping[str, EndKind]:
    return MappingProxyType({row.kind: row for row in rows})


_CORNERS_AHEAD = "How far the corners lie ahead of the tail end"
_NOTCH = "How far the notch reaches forward"
_TIPS = "Full width between the two tips."

NOSES = _by_kind(
    EndKind(kind="round", meaning="A round nose"),
    EndKind(kind="pointed", meaning="A pointed nose, rounded enough to take cloth", tip_radius_mm=5.0),
)
"""Radii in mm: common practice, no source."""

TAILS = _by_kind(
    EndKind(kind="round", meaning="A round tail"),
    EndKind(kind="pin", meaning="A tail that runs to a point", tip_radius_mm=6.0),
    EndKind(kind="thumb", meaning="A narrow round tail", tip_radius_mm=35.0),
    EndKind(kind="square", meaning="A tail cut off square", curve=lambda *_: PolynomialCurve((0.0,)), corner_share=0),
    EndKind(
        kind="squash",
        meaning="A tail cut off in a bow",
        curve=lambda half, depth: PolynomialCurve((0.0, 0.0, depth / half**2)),
        depth_means=_CORNERS_AHEAD,
        depth_share=1 / 8,
        corner_share=0.08,
    ),
    EndKind(
        kind="diamond",
        meaning="A tail cut off in two straight cuts that meet at the stringer",
        curve=lambda half, depth: PolynomialCurve((0.0, depth / half)),
        depth_means=_CORNERS_AHEAD,
        depth_share=0.45,
        corner_share=0,
    ),
    EndKind(
        kind="swallow",
        meaning="A tail with a notch between two tips",
        curve=lambda half, depth: PolynomialCurve((depth, -depth / half)),
        block_means=_TIPS,
        depth_means=_NOTCH,
        depth_share=1 / 2,
    ),
    EndKind(
        kind="moon",
        meaning="A tail cut out in an arc between two tips",
        curve=Bay,
        block_means=_TIPS,
        depth_means=_NOTCH,
        depth_share=1 / 6,
        most_depth_share=0.45,
    ),
)
"""Radii in mm and shares of the block: common practice, no source. A deeper moon would be half a circle."""
