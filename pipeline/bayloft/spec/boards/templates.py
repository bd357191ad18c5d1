"""What a board's templates are to show beyond the shape itself, as trusted values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Templates:
    """The stringer template's allowances in mm, square to its edges: the deck edge lies `deck_skin_mm` inside the
    finished deck, and `sanding_mm` is left on all round. Stations of the rail gauges in mm from the tail end,
    ascending; none: those of the sections on the board's sheet.
    """

    deck_skin_mm: float = 0.0
    sanding_mm: float = 0.0
    rail_gauges_mm: tuple[float, ...] = ()


AS_LOFTED = Templates()
"""No allowances, and gauges where the sheet shows sections."""
