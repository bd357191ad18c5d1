"""What the tables of the spec format have in common: unknown keys are faults, and a station is told in four ways."""

from __future__ import annotations

from typing import Annotated, Any, ClassVar, Literal, Union

from pydantic import BaseModel, ConfigDict, Discriminator, Field, Tag, create_model

from bayloft.errors import KeyPath
from bayloft.spec.text.given import Given
from bayloft.spec.text.kinds import EditionNumber, Mark, Station

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


def in_part(schema: dict[str, Any]) -> None:
    """Make a table's JSON Schema ask for no key but its kind: what is left out may be on the board that this one is
    derived from, which an editor does not see.
    """
    required = [key for key in schema.pop("required", []) if key == "kind"]
    if required:
        schema["required"] = required
    if STATION_KEYS[0] in schema["properties"]:
        stations = [{"required": [key]} for key in STATION_KEYS]
        schema["oneOf"] = [*stations, {"not": {"anyOf": stations}}]


class AsRead(Table):
    """A number, or an entry of several, that may say how finely it was read."""

    read_to: Mark | None = Field(
        default=None,
        description="Finest mark of the tape with which this was read; the line passes within half of it.",
        examples=["1/8 in", "2 mm"],
    )
    exact: bool | None = Field(
        default=None, description="true: met exactly, and never moved to make the line fair.", examples=[True]
    )

    def play_mm(self, read_to_mm: float | None) -> float:
        """Return what it may be off to either side; `read_to_mm` is the mark for what says nothing of its own."""
        return 0.0 if self.exact else (self.read_to or read_to_mm or 0.0) / 2

    def given(self, x_mm: float, value: float, path: KeyPath, read_to_mm: float | None) -> Given:
        """Return a number of this entry at a station."""
        return Given(x_mm=x_mm, value=value, path=path, play_mm=self.play_mm(read_to_mm), exact=bool(self.exact))


class ReadNumber(AsRead):
    """A number as a table of its own, that says how finely it was read: made by `readable`."""

    number_key: ClassVar[str]

    @property
    def mm(self) -> float:
        """The number in mm."""
        return float(getattr(self, self.number_key))


AS_TYPED = AsRead()
"""A number typed alone: it says nothing of how it was read."""


def readable(key: str, kind: Any, example: str) -> Any:
    """Return the type of a number that is typed alone, or in a table { key = number, read_to or exact }."""
    fields: dict[str, Any] = {key: (kind, Field(description=f"The {key} itself.", examples=[example]))}
    table = create_model(
        f"Read{key.title()}Table", __base__=ReadNumber, __doc__=f"A {key}, and how it was read.", **fields
    )
    table.number_key = key
    typed = Annotated[kind, Tag("number")], Annotated[table, Tag("table")]
    return Annotated[Union[typed], Discriminator(lambda value: "table" if isinstance(value, dict) else "number")]  # noqa: UP007


def given_number(number: float | ReadNumber, x_mm: float, path: KeyPath, read_to_mm: float | None) -> Given:
    """Return a number at a station, typed alone or in a table of its own."""
    if isinstance(number, ReadNumber):
        return number.given(x_mm, number.mm, (*path, number.number_key), read_to_mm)
    return AS_TYPED.given(x_mm, number, path, read_to_mm)


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
