"""What the tables of the spec format have in common: unknown keys are faults, and a station is told in four ways."""

from __future__ import annotations

from typing import ClassVar, Literal

from pydantic import BaseModel, ConfigDict, Field

from bayloft.spec.text.kinds import EditionNumber, Station

STATION_KEYS = ("from_tail", "from_nose", "ahead_of_centre", "behind_centre")

UnitKey = Literal["mm", "cm", "m", "in", "ft"]


class Table(BaseModel):
    """A table of the spec; a key it does not know is a fault."""

    model_config = ConfigDict(
        extra="forbid",
        frozen=True,
        strict=True,
        model_title_generator=lambda table: table.__name__.removesuffix("Table"),
        field_title_generator=lambda key, _: key.replace("_", " "),
    )


class MaybeAt(Table):
    """An entry that may name its station, in one of four ways."""

    from_tail: Station | None = Field(
        default=None, description="Station: distance from the tail end.", examples=["3 ft"]
    )
    from_nose: Station | None = Field(
        default=None, description="Station: distance from the nose tip.", examples=["2 ft"]
    )
    ahead_of_centre: Station | None = Field(
        default=None, description="Station: distance towards the nose from the middle of the length.", examples=["2 in"]
    )
    behind_centre: Station | None = Field(
        default=None, description="Station: distance towards the tail from the middle of the length.", examples=["1 in"]
    )

    @property
    def station_keys(self) -> tuple[str, ...]:
        """The keys of the station that were given."""
        return tuple(key for key in STATION_KEYS if getattr(self, key) is not None)


class At(MaybeAt):
    """An entry that must name its station, in one of four ways."""

    model_config = ConfigDict(json_schema_extra={"oneOf": [{"required": [key]} for key in STATION_KEYS]})


class Root(Table):
    """A whole file."""

    required: ClassVar[tuple[str, ...]] = ()

    unit: UnitKey | None = Field(
        default=None, description="Unit of the lengths in this file that are bare numbers.", examples=["in", "mm"]
    )

    @classmethod
    def own_keys(cls) -> tuple[str, ...]:
        """Return the keys by which a file of this kind is told from the others."""
        return tuple(key for key in cls.required if key not in ("edition", "name"))


class Edited(Root):
    """A whole file that says in which edition of the format it is written."""

    edition: EditionNumber | None = Field(
        default=None,
        description="Edition of the format: what the keys mean. This version of bayloft reads edition 2.",
        examples=[2],
    )
