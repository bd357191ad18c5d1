"""What a lift gives: the files that it writes, and what it says of them."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path

from bayloft.drawing.sheet import Drawing
from bayloft.export import svg
from bayloft.record.whole import whole_files
from bayloft.spec import schema
from bayloft.spec.text.naming import slug_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Lifted:
    """What was lifted from a sheet: its name, the readings used, the files, and what is to be said, line by line."""

    name: str
    readings: int
    files: tuple[Path, ...]
    said: tuple[str, ...]


def written(folder: str | os.PathLike[str], name: str, kind: str, spec: str, drawing: Drawing) -> tuple[Path, ...]:
    """Write a lifted spec of a kind, the drawing of its readings and the schema into a folder, and return the first two
    files. Raises OutputError if one of them is there, or cannot be written.
    """
    slug = slug_of(name)
    contents: dict[str, str | bytes] = {
        f"{slug}.toml": spec,
        f"{slug}-readings.svg": svg.content(drawing, style="sheet"),
        schema.file_name(kind): schema.text_of(kind),
    }
    return whole_files(folder, contents, replace=False)[:2]
