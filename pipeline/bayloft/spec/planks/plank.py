"""A plank as trusted values: its size, its crook, its wood, and the places to keep clear of; mm from its own corner."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.spec.text.given import Assumed

USUAL_CLEARANCE_MM = 3.0
"""Sound wood kept round a knot or a split (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Knot:
    """A place to keep clear of, with round ends: `along_mm` long and `across_mm` wide, its middle `from_end_mm` from
    the plank's end and `from_edge_mm` from its near edge there. A round knot is as long as it is wide.
    """

    from_end_mm: float
    from_edge_mm: float
    across_mm: float
    along_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Plank:
    """A plank, seen on one face: its length lies along x, its near edge below, the end that is measured from at x = 0.

    width_mm there and width_other_mm at the other end, square to the near edge. crook_mm: how far the near edge lies
    hollow, at mid-length, of the straight line between its ends; the other edge bows with it. clearance_mm: sound wood
    kept round each of `knots`. density_kg_m3, density_source: None: not given.
    """

    name: str
    length_mm: float
    width_mm: float
    width_other_mm: float
    thickness_mm: float
    crook_mm: float
    wood: str
    density_kg_m3: float | None
    density_source: str | None
    knots: tuple[Knot, ...]
    clearance_mm: float
    price: str | None
    note: str | None
    assumed: tuple[Assumed, ...]

    def near_mm(self, x_mm: float) -> float:
        """Return the height of the near edge at a place along the plank: a parabola of the crook's rise."""
        share = x_mm / self.length_mm
        return 4.0 * self.crook_mm * share * (1.0 - share)

    def wide_mm(self, x_mm: float) -> float:
        """Return the width at a place along the plank."""
        return self.width_mm + (self.width_other_mm - self.width_mm) * x_mm / self.length_mm

    @property
    def area_mm2(self) -> float:
        """Area of its face."""
        return self.length_mm * (self.width_mm + self.width_other_mm) / 2.0
