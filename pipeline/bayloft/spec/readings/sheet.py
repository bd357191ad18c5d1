"""A sheet of readings as a table with commas, as any program for tables writes it: the same keys as in TOML."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any

from bayloft.errors import Fault, KeyPath, SpecError
from bayloft.spec.text.source import Source, read, text_of

BEGIN = ("from", "height")
"""Names of a first column: of a board's or of rails' readings, of a fin's."""

FROM = {"tail": "from_tail", "nose": "from_nose", "ahead": "ahead_of_centre", "behind": "behind_centre"}
"""What stands in the column `from`, and the key it means; the column `at` has the distance."""


def sheet_source(path: Path) -> Source:
    """Return the values of a sheet, TOML or a table, and where they stand.

    A table begins with rows of a key and its value (`tail.block, 7`), then has a row of the columns' names, and a row
    for each reading: of a board the columns begin with `from` and `at`, and so do those of rails, which have `inside`
    and `height` too; of a fin with `height`. Commas, semicolons or tabs; empty cells were not read; a row that begins
    with # is a remark.

    Raises
    ------
    SpecError : the file cannot be read, or a row is of neither kind.
    """
    if path.suffix.lower() != ".csv":
        return read(path)
    text = text_of(path)
    file, values, lines = str(path), dict[str, Any](), dict[KeyPath, int]()
    faults: list[Fault] = []
    columns: list[str] = []
    separator = max(",;\t", key=text.count)
    # A row of cells may run over several lines: the reader counts them.
    rows = csv.reader(text.splitlines(), delimiter=separator)
    for row in rows:
        cells = [cell.strip() for cell in row]
        if not any(cells) or cells[0].startswith("#"):
            continue
        problem = ""
        if columns:
            problem = _station(cells, columns, values, lines, rows.line_num)
        elif cells[0].lower() in BEGIN:
            columns = [cell.lower() for cell in cells]
            if columns[0] == "from" and columns[1:2] != ["at"]:
                problem = "the column after `from` is `at`: the distance from there"
        else:
            problem = _key(cells, values, lines, rows.line_num)
        if problem:
            shown = separator.join(row)
            faults.append(Source(file=file, values={}, lines={("row",): rows.line_num}).fault(("row",), shown, problem))
    if not columns and not faults:
        problem = "no readings: they follow a row of column names"
        faults.append(
            Source(file=file, values={}, lines={}).fault(("from",), "", problem, hint="from, at, width, rocker")
        )
    if faults:
        raise SpecError(tuple(faults))
    return Source(file=file, values=values, lines=lines)


def _key(cells: list[str], values: dict[str, Any], lines: dict[KeyPath, int], line: int) -> str:
    """Add a row of a key and its value; return what is wrong with it."""
    if len(cells) < 2 or not cells[1] or any(cells[2:]):
        return "neither a key and its value nor the row of column names, which begins with `from`, or with `height`"
    *tables, key = cells[0].lower().replace(" ", "_").split(".")
    table = values
    for n, name in enumerate(tables, 1):
        table = table.setdefault(name, {})
        if not isinstance(table, dict):
            return f"{name} has a value already"
        lines.setdefault(tuple(tables[:n]), line)
    if key in table:
        return "a key that was given before"
    table[key] = cells[1]
    lines[*tables, key] = line
    return ""


def _station(cells: list[str], columns: list[str], values: dict[str, Any], lines: dict[KeyPath, int], line: int) -> str:
    """Add a row of readings; return what is wrong with it."""
    if any(cells[len(columns) :]):
        return "more cells than columns"
    entry = {key: cell for key, cell in zip(columns, cells, strict=False) if cell}
    kind = "traced"
    if columns[0] == "from":
        station = FROM.get(cells[0].lower())
        if station is None:
            return f"the column `from` says {', '.join(FROM)}"
        entry = {station: entry.pop("at", ""), **{key: cell for key, cell in entry.items() if key != "from"}}
        kind = "gauged" if "inside" in columns else "readings"
    entries = values.setdefault(kind, [])
    lines[kind, len(entries)] = line
    entries.append(entry)
    return ""
