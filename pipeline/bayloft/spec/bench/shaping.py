"""What a board's shaping cards are to tell, as trusted values."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Shaping:
    """Stations at which a board is measured while it is shaped, mm from the tail end, ascending; the depth of one pass
    of the planer in mm, None where it is not told.
    """

    stations_mm: tuple[float, ...]
    pass_mm: float | None = None
