"""The format of a board's `[float]` table, as a pydantic model."""

from __future__ import annotations

from typing import Annotated

from pydantic import ConfigDict, Field

from bayloft.spec.bench.floating import Water
from bayloft.spec.text.kinds import Typed
from bayloft.spec.text.measures import Length, Weighed
from bayloft.spec.text.tables import At, Table
from bayloft.units import mass_kg, salinity_g_kg, temperature_c

Load = Annotated[float, Typed(Weighed(reader=mass_kg, low=1, high=500, unit="kg"))]
BoardWeight = Annotated[float, Typed(Weighed(reader=mass_kg, low=0.5, high=60, unit="kg"))]
AboveDeck = Annotated[float, Typed(Length(low_mm=0, high_mm=1500))]
WaterTemperature = Annotated[float, Typed(Weighed(reader=temperature_c, low=-2, high=40, unit="C"))]
Salinity = Annotated[float, Typed(Weighed(reader=salinity_g_kg, low=0, high=42, unit="g/kg"))]


class FloatTable(Table):
    """Asks how the board lies in still water under a load; nothing here changes the board."""

    model_config = ConfigDict(json_schema_extra={"required": ["load", "at"]})

    load: Load | None = Field(default=None, description="What the board carries.", examples=["75 kg", "165 lb"])
    at: At | None = Field(
        default=None,
        description="Station of the load's middle, over the stringer: trim depends on nothing else as much.",
        examples=[{"behind_centre": "4 in"}],
    )
    height: AboveDeck | None = Field(
        default=None,
        description="How far the load's middle is above the deck there; on the deck if left out.",
        examples=["4 in"],
    )
    board_weight: BoardWeight | None = Field(
        default=None,
        description="What the board itself weighs, finished; left out of account if left out here.",
        examples=["6.5 kg", "14 lb"],
    )
    balance: At | None = Field(
        default=None,
        description="Station at which the board itself balances; at the middle of its volume if left out.",
        examples=[{"from_tail": "46 in"}],
    )
    water: Water | None = Field(default=None, description="Sea or fresh; sea if left out.", examples=["sea"])
    temperature: WaterTemperature | None = Field(
        default=None, description="Of the water; 15 C if left out.", examples=["12 C", "54 F"]
    )
    salinity: Salinity | None = Field(
        default=None,
        description="Of sea water: g of salt in a kg of water, or psu; that of standard sea water if left out.",
        examples=["32 g/kg"],
    )
