"""A plug or a box that is let into deck or bottom: for a leash, a vent, a fin."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.errors import KeyPath

PlugFace = Literal["deck", "bottom"]
PlugSide = Literal["port", "starboard", "both"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plug:
    """A plug, or a pair of like ones, as measured with callipers, mm: the station of its middle and how far that is off
    the stringer; length along the board, width, radius of its corners (half of both where it is round), depth of its
    pocket from the face at its middle; toe and cant in degrees, as of a fin (cant None: square to its face). sides: on
    which it is, port first, or ("centre",) on the stringer.
    """

    name: str
    face: PlugFace
    x_mm: float
    off_mm: float
    sides: tuple[str, ...]
    length_mm: float
    width_mm: float
    corner_mm: float
    depth_mm: float
    toe_deg: float
    cant_deg: float | None
    path: KeyPath

    @property
    def is_round(self) -> bool:
        """Whether its pocket is drilled, not routed."""
        return self.length_mm == self.width_mm == 2.0 * self.corner_mm
