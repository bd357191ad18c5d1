"""The blank that a board is to come out of, as trusted values."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

MOST_COVER_MM = 60.0
"""mm, cover beyond which no block is (common practice, no source)."""

USUAL_COVER_MM = 3.0
"""mm that a shaper planes and sands off (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BlankChoice:
    """The file of the blank, and the foam wanted over the board everywhere, mm."""

    file: Path
    least_cover_mm: float
