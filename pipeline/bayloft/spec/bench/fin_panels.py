"""How the fins of a board are cut from panels, and the panels' plies from a roll, as trusted values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class FinPanels:
    """The width that the saw takes between two fins' margins; what is kept between two outlines in place of both
    margins and the saw's cut, None for these; the width of the bolt that the cloth comes on; mm.
    """

    saw_mm: float
    bolt_mm: float
    between_mm: float | None = None


USUAL_PANELS = FinPanels(saw_mm=2.0, bolt_mm=27 * 25.4)
"""What is assumed: a jigsaw's blade, and the narrower of the usual bolts of cloth (both common practice, no source)."""
