"""The format of a board's `[glass]` table, as a pydantic model."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from bayloft.spec.bench.glass import GlassFace, Laps
from bayloft.spec.text.kinds import Cloths, ClothWeight, FibreShare, Name, Pot, Typed
from bayloft.spec.text.measures import Length, Weighed
from bayloft.spec.text.tables import At, Table
from bayloft.units import spread_g_m2

MOST_PATCHES = 20
"""Patches on one board (common practice, no source)."""

LapWidth = Annotated[float, Typed(Length(low_mm=10, high_mm=200))]
BoltWidth = Annotated[float, Typed(Length(low_mm=300, high_mm=2500))]
TrimLength = Annotated[float, Typed(Length(low_mm=0, high_mm=300))]
PatchSize = Annotated[float, Typed(Length(low_mm=20, high_mm=3000))]
Coat = Annotated[float, Typed(Weighed(reader=spread_g_m2, low=20, high=1000, unit="g/m2"))]


class PatchTable(At):
    """A further piece of cloth on one face; its station is that of its middle."""

    name: Name = Field(description="What it is.", examples=["tail patch"])
    face: GlassFace = Field(description="The face that it is on.", examples=["deck"])
    cloth: ClothWeight = Field(description="Weight of its cloth.", examples=["4 oz"])
    long: PatchSize = Field(description="Its length along the board.", examples=["18 in"])
    wide: PatchSize | None = Field(
        default=None, description="Its width across the board; from rail to rail if left out.", examples=["12 in"]
    )


class GlassTable(Table):
    """Asks for the glass and the weight card: cloths, laps and coats; nothing here changes the shape."""

    deck: Cloths | None = Field(
        default=None, description="Cloths of the deck, the first on the foam.", examples=["4 oz + 4 oz"]
    )
    bottom: Cloths | None = Field(
        default=None, description="Cloths of the bottom, the first on the foam.", examples=["4 oz"]
    )
    first: GlassFace | None = Field(
        default=None, description="The face that is laid first; the bottom if left out.", examples=["bottom"]
    )
    lap: LapWidth | None = Field(
        default=None,
        description="How far each cloth laps onto the other face, along the surface from the widest point of the rail; "
        "2 in, or 50 mm, if left out.",
        examples=["2 in"],
    )
    laps: Laps | None = Field(
        default=None,
        description="cut: trimmed on a tape line while the resin is green; free: left as they fall, and sanded; free "
        "if left out.",
        examples=["cut"],
    )
    bolt: BoltWidth | None = Field(default=None, description="Width of the cloth's bolt.", examples=["27 in"])
    trim: TrimLength | None = Field(
        default=None, description="What is spared at each end of a piece of cloth.", examples=["1 in"]
    )
    fibre_share: FibreShare | None = Field(
        default=None, description="Share of glass in the laminate, by mass.", examples=["45 %"]
    )
    fill_coat: Coat | None = Field(
        default=None, description="Resin of the fill coat, or hot coat.", examples=["275 g/m2"]
    )
    gloss: Coat | None = Field(default=None, description="Resin of the gloss coat.", examples=["150 g/m2"])
    pot: Pot | None = Field(
        default=None, description="Most resin that is mixed in one pot, by its data sheet.", examples=["500 g"]
    )
    patches: list[PatchTable] = Field(
        default=[], max_length=MOST_PATCHES, description="Patches of cloth, each on one face."
    )
