"""What a fin is laid up of, as trusted values: cloth, resin, the limits of a session, a core."""

from __future__ import annotations

from dataclasses import dataclass

from bayloft.units import cloth_g_m2

CAUTIOUS = "cautious, take yours from the resin maker's data sheet"
"""Said wherever a limit stands that the maker did not give: what heats up how far is for the data sheet to tell."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layup:
    """The cloth's areal weight; the share of fibre in the laminate by mass; densities of glass and cured resin; the
    most plies laid at once; the most resin mixed at once; how far the panel goes beyond the fin's outline.
    """

    cloth_g_m2: float
    fibre_share: float
    glass_density_kg_m3: float
    resin_density_kg_m3: float
    plies_per_session: int
    pot_g: float
    margin_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Core:
    """A core under skins: its material, density, and thickness before it is foiled; plies of each skin, None for as
    many as fill the foil.
    """

    material: str
    density_kg_m3: float
    thickness_mm: float
    skin_plies: int | None


USUAL = Layup(
    cloth_g_m2=cloth_g_m2("7.5 oz/yd2"),
    fibre_share=0.5,
    glass_density_kg_m3=2560.0,
    resin_density_kg_m3=1200.0,
    plies_per_session=6,
    pot_g=200.0,
    margin_mm=20.0,
)
"""What is assumed. Cloth of 7.5 oz/yd2 with as much resin as glass: common practice for a laid-up fin, no source.
E-glass of 2.56 g/cm3: as scantling rules take it, from memory, unverified (a maker's sheet has 2.6); cast polyester of
1.2: a maker's data sheet. Plies and resin of one session: no handbook limit was found; these are kept low on purpose,
and are no advice."""
