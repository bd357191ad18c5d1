"""How a hot wire cuts a board's foam, as trusted values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class HotWire:
    """The width that a hot wire melts away, what is left on the board beside it, and how far the wire's path is led out
    behind the tail, mm.
    """

    kerf_mm: float
    left_on_mm: float
    lead_mm: float

    @property
    def off_mm(self) -> float:
        """How far the middle of the wire runs outside the board."""
        return self.left_on_mm + self.kerf_mm / 2.0
