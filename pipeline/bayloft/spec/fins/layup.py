"""What a fin is laid up of, as trusted values: cloth, resin, the limits of a session, a core."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from bayloft.units import cloth_g_m2

CAUTIOUS = "cautious, take yours from the resin maker's data sheet"
"""Said wherever a limit stands that the maker did not give: what heats up how far is for the data sheet to tell."""


Warp = Literal["base", "depth", "any"]
"""Which way the cloth's warp lies on a fin: along its base, up its depth, or any way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Layup:
    """The cloth's areal weight; the share of fibre in the laminate by mass; densities of glass and cured resin; the
    most plies laid at once; the most resin mixed at once; how far the panel goes beyond the fin's outline. warp: where
    it is to lie; None: along the base or up the depth, as comes out.
    """

    cloth_g_m2: float
    fibre_share: float
    glass_density_kg_m3: float
    resin_density_kg_m3: float
    plies_per_session: int
    pot_g: float
    margin_mm: float
    warp: Warp | None = None

    @property
    def resin_g_m2(self) -> float:
        """The resin that goes with a ply's cloth."""
        return self.cloth_g_m2 * (1.0 - self.fibre_share) / self.fibre_share

    @property
    def ply_mm(self) -> float:
        """The thickness of a cured ply without voids: t = w / rho_f + w (1 - m) / (m rho_r), the glass and the resin
        that goes with it, by volume; w the cloth's areal weight, m the share of glass by mass. The same as w / (rho_f
        V_f), and with densities of 2.56 and 1.2 the w / 3072 (2.56 / m - 1.36) of ISO 12215-5, annex C (both from
        memory, unverified).
        """
        # g/m2 over kg/m3 is a thousandth of a metre.
        return self.cloth_g_m2 / self.glass_density_kg_m3 + self.resin_g_m2 / self.resin_density_kg_m3


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
