"""A board's `[glass]` table to trusted values."""

from __future__ import annotations

from collections.abc import Sequence

from bayloft.spec.bench.glass import Glassing, Patch, Spread
from bayloft.spec.bench.glass_models import GlassTable, PatchTable
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.stations import placed

NO_SOURCE = "common practice, no source"

LAP_MM, TRIM_MM = {False: 50.8, True: 50.0}, {False: 25.4, True: 25.0}
BOLT_MM = 685.8
POT_G = 500.0

FIBRE_SHARE = Spread(low=0.40, usual=0.45, high=0.50)
"""By mass, of woven cloth laid by hand (from memory; see the units of a laminate in tests/truth/test_layup.py)."""

FILL_G_M2, GLOSS_G_M2 = Spread(low=200.0, usual=275.0, high=350.0), Spread(low=100.0, usual=150.0, high=200.0)
"""Resin of fill coat and gloss before sanding (common practice, no source)."""

TOLD_SHARE = 0.1
"""Of a number that the maker gives himself: what it may be off to either side (no source)."""


def trusted_glass(table: GlassTable | None, length_mm: float, reading: Reading, *, metric: bool) -> Glassing | None:
    """Return how a board is glassed, None where nothing is asked; a board without any cloth, and a patch off the board,
    are faults.
    """
    if table is None:
        return None
    path = ("glass",)
    if not table.deck and not table.bottom and not any(reading.explained((*path, face)) for face in ("deck", "bottom")):
        reading.fault(path, "no cloth on either face", hint='bottom = "4 oz" and deck = "4 oz + 4 oz"')
    for key, value in (("first", "bottom"), ("laps", "free")):
        if getattr(table, key) is None:
            reading.assume((*path, key), value, NO_SOURCE)

    def length(key: str, usual_mm: float) -> float:
        typed: float | None = getattr(table, key)
        return reading.assume_mm((*path, key), usual_mm, NO_SOURCE) if typed is None else typed

    def spread(key: str, usual: Spread, said: str) -> Spread:
        typed: float | None = getattr(table, key)
        if typed is None:
            reading.assume((*path, key), said, NO_SOURCE)
            return usual
        return Spread.about(typed, TOLD_SHARE)

    if table.pot is None:
        reading.assume((*path, "pot"), f"{POT_G:g} g", "ask the resin's data sheet")
    return Glassing(
        deck=table.deck or (),
        bottom=table.bottom or (),
        first=table.first or "bottom",
        lap_mm=length("lap", LAP_MM[metric]),
        laps=table.laps or "free",
        bolt_mm=length("bolt", BOLT_MM),
        trim_mm=length("trim", TRIM_MM[metric]),
        fibre_share=spread("fibre_share", FIBRE_SHARE, "40 to 50 %"),
        fill_g_m2=spread("fill_coat", FILL_G_M2, "200 to 350 g/m2"),
        gloss_g_m2=spread("gloss", GLOSS_G_M2, "100 to 200 g/m2"),
        pot_g=table.pot or POT_G,
        patches=_patches(table.patches, length_mm, reading),
    )


def _patches(tables: Sequence[PatchTable], length_mm: float, reading: Reading) -> tuple[Patch, ...]:
    return tuple(
        Patch(
            name=at.entry.name,
            face=at.entry.face,
            x_mm=at.x_mm,
            long_mm=at.entry.long,
            wide_mm=at.entry.wide,
            cloth_g_m2=at.entry.cloth,
            path=at.path,
        )
        for at in placed(tables, ("glass", "patches"), length_mm, reading)
    )
