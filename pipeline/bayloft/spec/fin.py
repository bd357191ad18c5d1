"""A fin as trusted values: millimetres and degrees; what the rest of bayloft reads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.spec.given import Assumed
from bayloft.spec.layup import USUAL, Core, Layup
from bayloft.spec.source import Source

FoilKind = Literal["double", "flat"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Tab:
    """A tab below the base, for a box or a slot: `length_mm` along the base, `height_mm` below it, and
    `from_rear_mm`, the distance of its rear end from the rear end of the base.
    """

    length_mm: float
    height_mm: float
    from_rear_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Fin:
    """A fin's numbers.

    base_mm along the board; depth_mm square off it; rake_mm: how far the tip lies aft of the middle of the base.
    leading_fullness and trailing_hollow: how far, as a share of the depth, the leading edge bows forward and the
    trailing edge bows in (forward) from the straight line base end to tip, at half depth; either may be negative.
    tip_radius_mm: plan radius of the tip. foil: "double" (both faces curved) or "flat" (inside face flat).
    thickness_mm: greatest thickness at the base; tip_thickness_mm: the same carried out to the tip, before it is
    rounded off; trailing_edge_mm: thickness of the trailing edge at the base. layup: of what it is laid up; core: what
    is inside, None for glass all through.
    """

    name: str
    slug: str
    base_mm: float
    depth_mm: float
    rake_mm: float
    leading_fullness: float
    trailing_hollow: float
    tip_radius_mm: float
    foil: FoilKind
    thickness_mm: float
    tip_thickness_mm: float
    trailing_edge_mm: float
    tab: Tab | None
    layup: Layup = USUAL
    core: Core | None = None
    assumed: tuple[Assumed, ...]
    source: Source
