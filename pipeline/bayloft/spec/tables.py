"""What the tables of the spec format have in common: unknown keys are faults, and a station is told in one way."""

from __future__ import annotations

from typing import ClassVar, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from bayloft.spec.kinds import Station
from bayloft.spec.measures import Refused

STATION_KEYS = ("from_tail", "from_nose", "ahead_of_centre", "behind_centre")

UnitKey = Literal["mm", "cm", "m", "in", "ft"]


class Table(BaseModel):
    """A table of the spec; a key it does not know is a fault."""

    model_config = ConfigDict(extra="forbid", frozen=True, strict=True)


class MaybeAt(Table):
    """An entry that may name its station, in one of four ways."""

    from_tail: Station | None = Field(None, description="Station: distance from the tail end.", examples=["3 ft"])
    from_nose: Station | None = Field(None, description="Station: distance from the nose tip.", examples=["2 ft"])
    ahead_of_centre: Station | None = Field(
        None, description="Station: distance towards the nose from the middle of the length.", examples=["2 in"]
    )
    behind_centre: Station | None = Field(
        None, description="Station: distance towards the tail from the middle of the length.", examples=["1 in"]
    )

    @property
    def station_keys(self) -> tuple[str, ...]:
        """The keys of the station that were given."""
        return tuple(key for key in STATION_KEYS if getattr(self, key) is not None)

    @model_validator(mode="after")
    def _one_way(self) -> Self:
        if len(self.station_keys) > 1:
            raise Refused(f"{' and '.join(self.station_keys)}: one station told twice", hint="keep one of them")
        return self


class At(MaybeAt):
    """An entry at a station."""

    model_config = ConfigDict(json_schema_extra={"oneOf": [{"required": [key]} for key in STATION_KEYS]})

    @model_validator(mode="after")
    def _placed(self) -> Self:
        if not self.station_keys:
            raise Refused("no station", allowed=f"one of {', '.join(STATION_KEYS)}", hint='from_tail = "3 ft"')
        return self


class Root(Table):
    """A whole file."""

    required: ClassVar[tuple[str, ...]] = ()

    unit: UnitKey | None = Field(
        None, description="Unit of the lengths in this file that are bare numbers.", examples=["in", "mm"]
    )


