"""A channel: a strip sunk into the bottom to both sides of the stringer."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.errors import KeyPath

SIDE_DEPTHS, SIDE_SHARE = 2.0, 0.35
"""Width of a channel's side in depths, and as a share of the channel's width at most (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Channel:
    """A channel, mm: from `off_mm` off the stringer to `width_mm` further out, parallel to it, `depth_mm` deep, from
    station `from_mm` to `to_mm`, running in and out over `fade_mm` at each end. Its sides slope over `side_mm`.
    """

    off_mm: float
    width_mm: float
    depth_mm: float
    from_mm: float
    to_mm: float
    fade_mm: float
    path: KeyPath

    @property
    def side_mm(self) -> float:
        """Width over which each side falls from the bottom to the channel's floor."""
        return min(SIDE_DEPTHS * self.depth_mm, SIDE_SHARE * self.width_mm)
