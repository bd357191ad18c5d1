"""What pydantic finds wrong with a table, told as faults in a maker's words."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

from bayloft.errors import KeyPath
from bayloft.spec.text.first_edition import FORMER
from bayloft.spec.text.measures import NoUnit, Refused
from bayloft.spec.text.reading import Reading
from bayloft.spec.text.source import nearest
from bayloft.spec.text.tables import STATION_KEYS
from bayloft.spec.text.vocabulary import place_of
from bayloft.units import at_most, length_mm

MOST_EXPLAINED = 200
"""Unknown keys of a file that are told with what is allowed and what was probably meant: no spec written by hand has as
many, and to look that up for eighty thousand takes longer than all the rest."""

_UNKNOWN = "not a key of this table"
_SHAPES = {
    "string_type": "a text in quotes is needed",
    "bool_type": "true or false is needed, without quotes",
    "list_type": "a list is needed",
    "model_type": "a table is needed",
}

_OTHER_WAY: dict[str | int, str] = {"ahead_of_centre": "behind_centre", "behind_centre": "ahead_of_centre"}


def tell(errors: Iterable[Any], reading: Reading) -> None:
    """Add the faults for pydantic's `errors` (its list of dicts)."""
    placed = [(located(error, reading), error) for error in errors]
    # A key misspelt is told first: then the right one is not told as missing.
    unknown = [path for path, error in placed if error["type"] == "extra_forbidden"]
    for place, path in enumerate(sorted(unknown, key=lambda path: reading.source.line(path) or 0)):
        if place < MOST_EXPLAINED:
            _tell_unknown(path, reading)
        else:
            reading.fault(path, _UNKNOWN)
    for path, error in placed:
        if error["type"] != "extra_forbidden":
            _tell(path, error, reading)
    _tell_no_unit([path for path, error in placed if isinstance(_refused(error), NoUnit)], reading)


def located(error: Any, reading: Reading) -> KeyPath:
    """Return the key path of an error of pydantic: without the names it gives to the choices of a union."""
    *steps, last = error["loc"]
    path: KeyPath = ()
    for step in steps if error["type"] == "missing" else error["loc"]:
        inside = reading.source.typed(path)
        if step in inside if isinstance(inside, dict) else isinstance(inside, list) and isinstance(step, int):
            path = (*path, step)
    return (*path, last) if error["type"] == "missing" else path


def _refused(error: Any) -> object:
    return error.get("ctx", {}).get("error")


def _tell(path: KeyPath, error: Any, reading: Reading) -> None:
    kind, refused = error["type"], _refused(error)
    if isinstance(refused, NoUnit):
        return
    if isinstance(refused, Refused):
        hint = _OTHER_WAY.get(path[-1], "") if refused.problem == "negative" else refused.hint
        reading.fault(path, refused.problem, allowed=_reach(path, reading) or refused.allowed, hint=hint, mm=refused.mm)
    elif kind == "missing":
        reading.missing(path)
    elif kind == "literal_error":
        _tell_choice(path, re.findall("'([^']*)'", error["ctx"]["expected"]), reading)
    elif kind == "union_tag_not_found":
        _tell_no_kind(path, reading)
    elif kind in ("too_long", "too_short"):
        limit = f"at most {error['ctx']['max_length']} entries" if kind == "too_long" else "one entry or more"
        count = error["ctx"]["actual_length"]
        reading.fault(path, f"a list of {count} entries" if count else "an empty list", allowed=limit)
    else:
        key = reading.keys.get(place_of(path))
        reading.fault(path, _SHAPES.get(kind, error["msg"]), hint=key.example if key else "")


def _reach(path: KeyPath, reading: Reading) -> str:
    """Return what a station may be on the board of this file; empty for other keys, and where no length can be read."""
    typed, unit = (reading.source.typed((key,)) for key in ("length", "unit"))
    if path[-1] not in STATION_KEYS or not isinstance(typed, str | int | float):
        return ""
    try:
        length = length_mm(typed, unit if isinstance(unit, str) else None)
    except ValueError:
        return ""
    return f"0 to {at_most(length / 2 if str(path[-1]).endswith('centre') else length)}" if length > 0.0 else ""


def _tell_no_unit(paths: list[KeyPath], reading: Reading) -> None:
    """Tell once of all bare lengths in a file that names no unit; nothing where the unit itself is at fault."""
    for path in paths:
        reading.meant(path)
    if not paths or reading.explained(("unit",)):
        return
    first = min(paths, key=lambda path: reading.source.line(path) or 0)
    others = f"; {len(paths) - 1} more in this file" if len(paths) > 1 else ""
    hint = 'unit = "in" (or "mm", "cm", "m", "ft") at the top of the file, or a unit with the number: "16.75 in"'
    reading.fault(first, f"a length without a unit, and the file names none{others}", hint=hint)


def _tell_unknown(path: KeyPath, reading: Reading) -> None:
    """Tell of a key the format does not have, and of the one that was probably meant."""
    *around, key = path
    table, place = tuple(around), place_of(tuple(around))
    if former := FORMER.get((*place, str(key))):
        reading.fault(path, former.problem, hint=former.hint(reading.source.typed(path)))
        reading.meant((*table, former.now))
        return
    here = [known[-1] for known in reading.keys if known[:-1] == place]
    around_key = reading.keys.get(place)
    if around_key and around_key.kinds and key in here:
        kind, having = reading.source.typed((*table, "kind")), _or(around_key.having(str(key)))
        hint = f"leave it out; {key} is for kind {having}"
        reading.fault(path, f"a {kind} {table[-1]} has no {key}", hint=hint)
        return
    near = nearest(str(key), here)
    elsewhere = [".".join(known[:-1]) for known in reading.keys if known[-1] == key and len(known) > 1]
    if near:
        reading.meant((*table, near))
        hint = near
    elif elsewhere:
        hint = f"it belongs in {' or '.join(f'[{name}]' for name in dict.fromkeys(elsewhere))}"
    else:
        hint = ""
    reading.fault(path, _UNKNOWN, allowed=", ".join(here), hint=hint)


def _tell_no_kind(path: KeyPath, reading: Reading) -> None:
    table = reading.source.typed(path)
    if not isinstance(table, dict):
        reading.fault(path, _SHAPES["model_type"], hint=reading.keys[place_of(path)].example)
    elif "kind" not in table:
        reading.missing((*path, "kind"))
    else:
        _tell_choice((*path, "kind"), list(reading.keys[place_of(path)].kinds), reading)


def _tell_choice(path: KeyPath, choices: list[str], reading: Reading) -> None:
    typed = reading.source.typed(path)
    near = nearest(typed, choices) if isinstance(typed, str) else None
    reading.fault(path, "not one of its choices", allowed=_or(choices), hint=f'"{near}"' if near else "")


def _or(words: list[str]) -> str:
    quoted = [f'"{word}"' for word in words]
    return quoted[0] if len(quoted) == 1 else f"{', '.join(quoted[:-1])} or {quoted[-1]}"
