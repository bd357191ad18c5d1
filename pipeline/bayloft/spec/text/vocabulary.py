"""The keys of the spec format in words: where each stands, what it means, how it is written."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import date, time
from functools import cache
from typing import get_args, get_origin

from bayloft.errors import KeyPath
from bayloft.spec.text.tables import Table

Place = tuple[str, ...]
"""A key path without its places in lists."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """What a key means, and how it is written; the keys of each kind of a table that is of one of several kinds."""

    meaning: str
    example: str
    kinds: Mapping[str, tuple[str, ...]] = field(default_factory=dict)

    def having(self, key: str) -> list[str]:
        """Return the kinds that have a key."""
        return [kind for kind, keys in self.kinds.items() if key in keys]


@cache
def keys_of(model: type[Table]) -> Mapping[Place, Key]:
    """Return every key of a root table and of the tables in it."""
    found: dict[Place, Key] = {}
    for place, key in _keys(model, ()):
        found.setdefault(place, key)
    return found


def place_of(path: KeyPath) -> Place:
    """Return a key path without its places in lists."""
    return tuple(step for step in path if isinstance(step, str))


def toml(value: object) -> str:
    """Return a value as it would be typed on one line; tables and lists that were read may be cut short by a reader."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {toml(inner)}" for key, inner in value.items()) + " }" if value else "{}"
    if isinstance(value, list):
        return "[" + ", ".join(map(toml, value)) + "]"
    return value.isoformat() if isinstance(value, date | time) else repr(value)


def _keys(model: type[Table], around: Place) -> Iterator[tuple[Place, Key]]:
    for field_name, entry in model.model_fields.items():
        name = entry.alias or field_name
        inner = list(_tables(entry.annotation))
        example = f"{name} = {toml(entry.examples[0])}" if entry.examples else ""
        if inner and not example:
            listed = any(get_origin(each) is list for each in (entry.annotation, *get_args(entry.annotation)))
            header = f"[[{name}]]" if listed else f"[{name}]"
            example = f"{header} on a line of its own, and its keys below"
        meaning = entry.description or (inner[0].__doc__ if inner else "") or ""
        kinds = {kind: tuple(table.model_fields) for table in inner if len(inner) > 1 for kind in _kinds(table)}
        yield (*around, name), Key(meaning=meaning.strip(), example=example, kinds=kinds)
        for table in inner:
            yield from _keys(table, (*around, name))


def _kinds(table: type[Table]) -> tuple[str, ...]:
    """Return the kinds that a table is for, by its key `kind`."""
    return get_args(table.model_fields["kind"].annotation) if "kind" in table.model_fields else ()


def _tables(annotation: object) -> Iterator[type[Table]]:
    if isinstance(annotation, type) and issubclass(annotation, Table):
        yield annotation
    for part in get_args(annotation):
        yield from _tables(part)
