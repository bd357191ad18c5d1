"""A fin's layup and core from their tables, assumed where not given."""

from __future__ import annotations

from bayloft.spec.fins.layup import CAUTIOUS, USUAL, Core, Layup
from bayloft.spec.fins.layup_models import CoreTable, LayupTable
from bayloft.spec.text.measures import plain
from bayloft.spec.text.reading import Reading
from bayloft.units import G_M2_PER_CLOTH_WEIGHT, both


def cloth_text(cloth_g_m2: float) -> str:
    """Return a cloth weight as makers and as mills name it: ``7.5 oz/yd2 (254.3 g/m2)``."""
    ounces = cloth_g_m2 / float(G_M2_PER_CLOTH_WEIGHT["oz/yd2"])
    return f"{plain(ounces, 2)} oz/yd2 ({plain(cloth_g_m2, 1)} g/m2)"


def trusted_layup(table: LayupTable, reading: Reading) -> Layup:
    """Return the layup, assumed where not given."""
    assumed = {
        "cloth": (cloth_text(USUAL.cloth_g_m2), "the usual cloth of a laid-up fin"),
        "fibre_share": (f"{plain(USUAL.fibre_share)} by mass", "hand lay-up, as much resin as glass by weight"),
        "glass_density": (f"{plain(USUAL.glass_density_kg_m3)} kg/m3", "E-glass"),
        "resin_density": (f"{plain(USUAL.resin_density_kg_m3)} kg/m3", "cured polyester"),
        "plies_per_session": (f"{USUAL.plies_per_session}", CAUTIOUS),
        "pot": (f"{plain(USUAL.pot_g)} g", CAUTIOUS),
        "margin": (both(USUAL.margin_mm), "room to saw the outline out"),
    }
    for key, (value, reason) in assumed.items():
        if getattr(table, key) is None:
            reading.assume(("layup", key), value, reason)

    def given(value: float | None, usual: float) -> float:
        return usual if value is None else value

    return Layup(
        cloth_g_m2=given(table.cloth, USUAL.cloth_g_m2),
        fibre_share=given(table.fibre_share, USUAL.fibre_share),
        glass_density_kg_m3=given(table.glass_density, USUAL.glass_density_kg_m3),
        resin_density_kg_m3=given(table.resin_density, USUAL.resin_density_kg_m3),
        plies_per_session=table.plies_per_session or USUAL.plies_per_session,
        pot_g=given(table.pot, USUAL.pot_g),
        margin_mm=given(table.margin, USUAL.margin_mm),
        warp=table.warp,
    )


def trusted_core(table: CoreTable, fin_thickness_mm: float | None, reading: Reading) -> Core:
    """Return the core; the fin's thickness is None where it could not be read."""
    if fin_thickness_mm is not None and table.thickness >= fin_thickness_mm:
        allowed = f"less than {both(fin_thickness_mm)}, with room for a skin on each face"
        reading.fault(("core", "thickness"), "the core is thicker than the fin", allowed=allowed, mm=table.thickness)
    if table.skin_plies is None:
        reading.assume(("core", "skin_plies"), "as many as fill the foil", "no skin_plies is given")
    return Core(
        material=table.material,
        density_kg_m3=table.density,
        thickness_mm=table.thickness,
        skin_plies=table.skin_plies,
    )
