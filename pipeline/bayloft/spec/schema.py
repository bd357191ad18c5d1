"""The spec format as JSON Schema, from which an editor completes keys and explains them."""

from __future__ import annotations

import json
from typing import Any

from pydantic.json_schema import GenerateJsonSchema, JsonSchemaValue
from pydantic_core import core_schema

from bayloft.spec.boards.models import BoardSpec
from bayloft.spec.boards.section_models import RailsSpec
from bayloft.spec.fins.fin_models import FinSpec
from bayloft.spec.readings.models import ReadingsSpec
from bayloft.spec.shops.shop_models import ShopSpec
from bayloft.spec.text.tables import Root


def board_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a board spec."""
    return _schema(BoardSpec)


def fin_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a fin spec."""
    return _schema(FinSpec)


def rails_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a file of shared rails."""
    return _schema(RailsSpec)


def shop_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a shop file."""
    return _schema(ShopSpec)


def readings_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a sheet of readings in TOML."""
    return _schema(ReadingsSpec)


def texts() -> dict[str, str]:
    """Return the schemas of all kinds of spec as JSON text, by file name."""
    made = {"board": board_schema(), "fin": fin_schema(), "rails": rails_schema(), "shop": shop_schema()}
    made["readings"] = readings_schema()
    return {
        f"{kind}.schema.json": json.dumps(content, indent=2, ensure_ascii=False) + "\n"
        for kind, content in made.items()
    }


class _TomlSchema(GenerateJsonSchema):
    """TOML has no null: a key that may be absent is left out, and has no default to show."""

    def nullable_schema(self, schema: core_schema.NullableSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])

    def default_schema(self, schema: core_schema.WithDefaultSchema) -> JsonSchemaValue:
        return self.generate_inner(schema["schema"])


def _schema(model: type[Root]) -> dict[str, Any]:
    return {"$schema": _TomlSchema.schema_dialect, **model.model_json_schema(schema_generator=_TomlSchema)}
