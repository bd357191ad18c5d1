"""The spec format as JSON Schema, from which an editor completes keys and explains them."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from bayloft.spec.blanks.blank_models import BlankSpec
from bayloft.spec.boards.board_models import BoardSpec
from bayloft.spec.boards.section_models import RailsSpec
from bayloft.spec.fins.fin_models import FinSpec
from bayloft.spec.planks.plank_models import PlankSpec
from bayloft.spec.readings.models import GaugedRailsSpec, ReadingsSpec, TracedFinSpec
from bayloft.spec.shops.shop_models import ShopSpec
from bayloft.spec.text.tables import Root

MODELS: Mapping[str, type[Root]] = {
    "board": BoardSpec,
    "fin": FinSpec,
    "rails": RailsSpec,
    "shop": ShopSpec,
    "blank": BlankSpec,
    "plank": PlankSpec,
    "readings": ReadingsSpec,
    "tracing": TracedFinSpec,
    "gauging": GaugedRailsSpec,
}
"""Every kind of spec; the last three are sheets of readings in TOML, of a board, of a fin and of rails."""


def schema_of(kind: str) -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a kind of spec."""
    made = MODELS[kind].model_json_schema(schema_generator=_TomlSchema)
    return {"$schema": _TomlSchema.schema_dialect, **made}


def file_name(kind: str) -> str:
    """Return the name of a schema's file."""
    return f"{kind}.schema.json"


def text_of(kind: str) -> str:
    """Return a schema as JSON text."""
    return json.dumps(schema_of(kind), indent=2, ensure_ascii=False) + "\n"


def texts() -> dict[str, str]:
    """Return the schemas of all kinds of spec as JSON text, by file name."""
    return {file_name(kind): text_of(kind) for kind in MODELS}


class _TomlSchema(GenerateJsonSchema):
    """TOML has no null: a key that may be absent is left out, and has no default to show."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])
