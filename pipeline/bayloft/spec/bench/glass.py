"""How a board is glassed, as trusted values: cloths, laps, coats, and what of them is a range."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.errors import KeyPath

GlassFace = Literal["deck", "bottom"]
Laps = Literal["free", "cut"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Spread:
    """A number that is not known for sure: what is reckoned with, and the least and the greatest that it may be."""

    low: float
    usual: float
    high: float

    @classmethod
    def about(cls, usual: float, share: float) -> Spread:
        """Return a number that may be off by a share of it to either side."""
        return cls(low=(1.0 - share) * usual, usual=usual, high=(1.0 + share) * usual)

    def times(self, factor: float) -> Spread:
        """Return so many times the number."""
        return Spread(low=self.low * factor, usual=self.usual * factor, high=self.high * factor)


@dataclass(frozen=True, slots=True, kw_only=True)
class Patch:
    """A piece of cloth on one face, about a station on the stringer, mm: how long it is along the board, and how wide,
    None from rail to rail; g/m2.
    """

    name: str
    face: GlassFace
    x_mm: float
    long_mm: float
    wide_mm: float | None
    cloth_g_m2: float
    path: KeyPath


@dataclass(frozen=True, slots=True, kw_only=True)
class Glassing:
    """The cloths of each face, g/m2, the first on the foam; which face is laid first; how far each cloth laps onto the
    other face, along the surface from the rail's apex, and whether it is cut there on a tape line; the bolt's width and
    what is spared at each end of a piece, mm; share of fibre by mass; fill coat and gloss, g/m2; resin in one pot, g.
    """

    deck: tuple[float, ...]
    bottom: tuple[float, ...]
    first: GlassFace
    lap_mm: float
    laps: Laps
    bolt_mm: float
    trim_mm: float
    fibre_share: Spread
    fill_g_m2: Spread
    gloss_g_m2: Spread
    pot_g: float
    patches: tuple[Patch, ...]

    def cloths(self, face: GlassFace) -> tuple[float, ...]:
        """Return the cloths of a face, g/m2."""
        return self.deck if face == "deck" else self.bottom
