"""A fin as trusted values: millimetres and degrees; what the rest of bayloft reads."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.errors import KeyPath
from bayloft.spec.fins.layup import USUAL, Core, Layup
from bayloft.spec.text.given import Assumed
from bayloft.spec.text.source import Source

FoilKind = Literal["double", "flat", "hollow"]

Family = Literal["raked flex", "upright pivot", "low keel", "half-moon", "cutaway", "side"]

USUAL_GREATEST_AT = 0.3
"""Share of the chord at which a foil is thickest if nothing is said: the NACA four-digit form's, computed
from its coefficients."""


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgePoint:
    """A measured point of an edge: `height_mm` above the base, `x_mm` forward of the base's rear end, its key, and what
    x may be off, to either side, as it was read.
    """

    height_mm: float
    x_mm: float
    path: KeyPath
    play_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class FoilSection:
    """A foil from a coordinate file: the (x, y) of its outer and its inner face from the nose to the trailing edge, x
    from 0 to 1, y in chords from the plane the fin stands on, outer face towards +y.
    """

    name: str
    outer: tuple[tuple[float, float], ...]
    inner: tuple[tuple[float, float], ...]


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
    leading, trailing: measured points of the edges, rising, in place of these two; none where the numbers hold.
    tip_radius_mm: plan radius of the tip; None: the fairest with the measured points. tip_width_mm: length of the fin a
    tenth of the depth below the tip; None: as the other numbers leave it. base_fillet_mm: how far each edge
    flares out where a glassed-on fin meets the board; base_mm holds both flares. family: what the numbers that were not
    given are usual for.
    foil: "double" (both faces curved), "flat" (inside face flat) or "hollow" (inside face hollowed by hollow_mm at the
    base, fading to the tip). section: the foil's two faces from a file in place of foil, greatest_at and
    leading_radius. greatest_at: where the foil is thickest, as a share of the chord from the leading edge;
    leading_radius: its nose radius as a multiple of the standard form's.
    thickness_mm: greatest thickness at the base, before it is hollowed; tip_thickness_mm: the same carried out to the
    tip, before it is rounded off; trailing_edge_mm: thickness of the trailing edge at the base. layup: of what it is
    laid up; core: what is inside, None for glass all through.
    """

    name: str
    slug: str
    base_mm: float
    depth_mm: float
    rake_mm: float
    leading_fullness: float
    trailing_hollow: float
    tip_radius_mm: float | None
    tip_width_mm: float | None = None
    leading: tuple[EdgePoint, ...] = ()
    trailing: tuple[EdgePoint, ...] = ()
    base_fillet_mm: float = 0.0
    family: Family | None = None
    foil: FoilKind
    hollow_mm: float = 0.0
    greatest_at: float = USUAL_GREATEST_AT
    leading_radius: float = 1.0
    section: FoilSection | None = None
    thickness_mm: float
    tip_thickness_mm: float
    trailing_edge_mm: float
    tab: Tab | None
    layup: Layup = USUAL
    core: Core | None = None
    assumed: tuple[Assumed, ...]
    source: Source
