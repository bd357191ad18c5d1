"""The section's quantities in one table: what each is, in which unit it is given, how it scales towards the tips.

Sections, lines and loft derive from this table: a new quantity is one row here and its geometry in lines/section.py.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

Scale = Literal["none", "depth", "width", "dome", "bottom"]
"""What a quantity is a share of, so that it keeps its proportion where the maker gave no number and to the very tip.
none: it has no length. depth: the depth of the section. width: the full width. dome: the depth of the section, less
where the board is narrow, so that the deck drops by as much. bottom: the depth of the section, fading with the width.
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Quantity:
    """A row of the table: what it is a share of, what it is in words, and its value where nothing is said, as a share:
    at the nose, in the middle and at the tail, of a short board and of a long one (None: 0 all along).
    """

    scale: Scale
    meaning: str
    short: tuple[float, float, float] | None = None
    long: tuple[float, float, float] | None = None


QUANTITIES: Mapping[str, Quantity] = MappingProxyType(
    {
        "apex": Quantity(
            scale="none", meaning="height of the rail's widest point", short=(0.45, 0.42, 0.32), long=(0.5, 0.5, 0.45)
        ),
        "radius": Quantity(
            scale="depth",
            meaning="radius of the rail at its widest point",
            short=(0.18, 0.22, 0.22),
            long=(0.09, 0.09, 0.12),
        ),
        "shoulder": Quantity(
            scale="none",
            meaning="how long the rail rolls into the deck",
            short=(0.7, 0.6, 0.5),
            long=(1.0, 1.0, 0.8),
        ),
        "dome": Quantity(
            scale="dome",
            meaning="drop of the deck from the stringer to the rail, without the rail's own",
            short=(0.22, 0.18, 0.10),
            long=(0.33, 0.33, 0.28),
        ),
        "deck_flat": Quantity(scale="width", meaning="width of the deck that stays flat"),
        "deck_chine": Quantity(scale="depth", meaning="height of a chine cut off the deck"),
        "deck_chine_width": Quantity(scale="depth", meaning="width of a chine cut off the deck"),
        "tuck": Quantity(
            scale="depth",
            meaning="how far inside the widest point the underside of the rail meets the bottom",
            short=(0.62, 0.40, 0.21),
            long=(2.2, 2.2, 1.2),
        ),
        "edge": Quantity(
            scale="none", meaning="softness of the bottom edge", short=(0.5, 0.4, 0.02), long=(0.7, 0.7, 0.5)
        ),
        "roll": Quantity(scale="bottom", meaning="how far the bottom falls away round"),
        "roll_flat": Quantity(scale="width", meaning="width of a rolled bottom that stays flat"),
        "vee": Quantity(scale="bottom", meaning="how far the bottom falls away straight"),
        "concave": Quantity(scale="bottom", meaning="depth of one hollow"),
        "concave_width": Quantity(
            scale="width", meaning="width of one hollow", short=(1.0, 1.0, 1.0), long=(1.0, 1.0, 1.0)
        ),
        "double_concave": Quantity(scale="bottom", meaning="depth of two hollows"),
        "chine": Quantity(scale="depth", meaning="height of a chine cut off the bottom"),
        "chine_width": Quantity(scale="depth", meaning="width of a chine cut off the bottom"),
    }
)

LEVEL = ("edge", "chine", "deck_chine")
"""Quantities that stay as they are between two equal values, and where there is none of them."""

RAIL = ("apex", "radius", "shoulder", "dome", "tuck", "edge")
"""The quantities that a kind of rail sets, in the order of `RAIL_KINDS`."""

RailKind = Literal["50/50", "60/40", "pinched", "boxy", "egg", "tucked edge", "down", "beaked"]

RAIL_KINDS: Mapping[RailKind, tuple[float, float, float, float, float, float]] = MappingProxyType(
    {
        "50/50": (0.50, 0.17, 0.6, 0.18, 0.92, 0.6),
        "60/40": (0.40, 0.20, 0.6, 0.18, 0.44, 0.45),
        "pinched": (0.50, 0.09, 0.9, 0.33, 2.2, 0.7),
        "boxy": (0.42, 0.27, 0.4, 0.06, 0.30, 0.3),
        "egg": (0.45, 0.235, 0.5, 0.12, 0.52, 0.6),
        "tucked edge": (0.33, 0.22, 0.5, 0.14, 0.37, 0.05),
        "down": (0.15, 0.22, 0.6, 0.18, 0.10, 0.0),
        "beaked": (0.20, 0.12, 0.8, 0.40, 0.20, 0.4),
    }
)
"""Kinds of rail as presets of `RAIL`, each a share of what its quantity scales with. Common practice, no source; areas
and drops of each kind were measured on drawn sections, not on boards."""

SHORT_MM, LONG_MM = 1880.0, 2845.0
"""mm, lengths up to which and from which a board has the rails of a short and of a long one, where nothing is said; in
between they are blended (6'2 and 9'4; common practice, no source)."""

FULL, FLAT = 4.5, 6.0
"""Greatest widths over greatest thicknesses: up to the first a board has the rails of a short one, however long it is,
and from the second its length alone counts, where nothing is said. Thin rails are for flat boards; those of a paddle
board are full (common practice, no source)."""

USUAL_AT = (0.86, 0.5, 0.14)
"""Shares of the length from the tail at which a default has its values for nose, middle and tail."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """What of a board the usual numbers depend on, in mm: its length, and its greatest width and thickness, each None
    where it could not be read. like: the size of a board whose usual numbers it keeps.
    """

    length_mm: float
    width_mm: float | None
    thickness_mm: float | None
    like: Size | None = None

    @property
    def flatness(self) -> float:
        """The width over the thickness; of a board for which it is not known, that of a flat one."""
        return FLAT if self.width_mm is None or self.thickness_mm is None else self.width_mm / self.thickness_mm


def usual(name: str, size: Size) -> tuple[tuple[float, float], ...]:
    """Return the default of a quantity as pairs of station in mm from the tail end, ascending, and share."""
    row = QUANTITIES[name]
    if row.short is None or row.long is None:
        return ((size.length_mm / 2, 0.0),)
    of = size.like or size
    blend = _blend(of.length_mm, SHORT_MM, LONG_MM) * _blend(of.flatness, FULL, FLAT)
    values = [round(a + (b - a) * blend, 4) for a, b in zip(row.short, row.long, strict=True)]
    if len(set(values)) == 1:
        return ((size.length_mm / 2, values[0]),)
    return tuple(sorted((at * size.length_mm, value) for at, value in zip(USUAL_AT, values, strict=True)))


def _blend(value: float, low: float, high: float) -> float:
    """Return 0 up to a low value and 1 from a high one, between them the cubic that is level at both."""
    t = min(max((value - low) / (high - low), 0.0), 1.0)
    return t * t * (3.0 - 2.0 * t)
