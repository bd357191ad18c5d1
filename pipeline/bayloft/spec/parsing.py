"""The tables of a spec file, as far as they can be read: what cannot is told, and taken out."""

from __future__ import annotations

import copy
import os
from collections.abc import Iterable
from typing import Any, TypeVar

from pydantic import ValidationError

from bayloft.errors import KeyPath, SpecError
from bayloft.spec.blanks.blank_models import BlankSpec
from bayloft.spec.boards.board_models import BoardSpec
from bayloft.spec.boards.section_models import RailsSpec
from bayloft.spec.fins.fin_models import FinSpec
from bayloft.spec.planks.plank_models import PlankSpec
from bayloft.spec.shops.shop_models import ShopSpec
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.source import Source, read
from bayloft.spec.text.tables import Root
from bayloft.spec.text.vocabulary import keys_of
from bayloft.spec.text.wording import located, tell
from bayloft.units import MM_PER_UNIT

Spec = TypeVar("Spec", bound=Root)


class OtherKindError(SpecError):
    """A spec of one kind where another kind is needed."""


def tables_of(model: type[Spec], path: str | os.PathLike[str]) -> tuple[Reading, Spec]:
    """Return what can be read of a file's tables; the rest is told as faults, so that rules find theirs too.

    A value at fault is taken out, then what cannot be without it (an entry goes with its whole list, so that places in
    lists stay true), until the rest is whole.

    Raises
    ------
    SpecError : the file is no TOML, or a whole file of another kind.
    """
    return tables_from(model, read(path))


def tables_from(model: type[Spec], source: Source) -> tuple[Reading, Spec]:
    """Return what can be read of tables, as `tables_of` does of a file's. Raises SpecError as it does."""
    reading = Reading(source, keys_of(model))
    refuse_other_kind(model, source)
    unit = source.values.get("unit")
    context = {"unit": unit if isinstance(unit, str) and unit in MM_PER_UNIT else None}
    values, first = source.values, True
    while True:
        try:
            spec = model.model_validate(values, context=context)
            break
        except ValidationError as error:
            errors: list[Any] = list(error.errors(include_url=False))
        if first:
            tell(errors, reading)
        # Each error lies in a key of the root, which at the utmost goes as a whole, so this comes to an end.
        values, first = _without(values, [located(error, reading) for error in errors]), False
    for key in model.required:
        if getattr(spec, key) is None:
            reading.missing((key,))
    return reading, spec


def refuse_other_kind(model: type[Root], source: Source) -> None:
    """Raise OtherKindError where a file is whole, but of another kind, before each of its keys becomes a fault."""
    # These have keys of a board's too, and one that nothing else has.
    marked = any(other is not model and other.own_keys()[0] in source.values for other in (BlankSpec, PlankSpec))
    if any(key in source.values for key in model.own_keys()) and not marked:
        return
    for other in (BlankSpec, PlankSpec, BoardSpec, FinSpec, RailsSpec, ShopSpec):
        own = next((key for key in other.own_keys() if key in source.values), None)
        if own:
            problem = f"a {other.model_config['title']} file where a {model.model_config['title']} file is needed"
            raise OtherKindError((source.fault((own,), "", problem.lower()),))


def _without(values: dict[str, Any], paths: Iterable[KeyPath]) -> dict[str, Any]:
    """Return a copy of tables without the innermost key that each path reaches."""
    rest = copy.deepcopy(values)
    found: list[tuple[dict[str, Any], str]] = []
    for path in paths:
        inside: Any = rest
        last: tuple[dict[str, Any], str] | None = None
        for step in path:
            if isinstance(inside, dict) and step in inside:
                last = (inside, str(step))
            elif not isinstance(inside, list):
                break
            inside = inside[step]
        if last:
            found.append(last)
    for table, key in found:
        table.pop(key, None)
    return rest
