"""What every report.json begins with, and what the next command reads of it: whose files they are, of which shape and
day.
"""

from __future__ import annotations

import dataclasses
import datetime
import hashlib
import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from bayloft.record.libraries import libraries
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.loft import LoftedBoard
from bayloft.tolerances import COEFFICIENT_DECIMALS

FILE_NAME = "report.json"

NOT_SHOWN = frozenset({"source", "path", "assumed"})
"""What a board carries that no file is made from."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """What a report says of the files beside it: whose they are, of which shape (its digest) and day, the chord
    tolerance of a board's solid in mm (None in a cut list), and their names.
    """

    name: str
    shape_sha256: str
    date: datetime.date | None
    tolerance_mm: float | None
    files: tuple[str, ...]


def written_in(folder: Path) -> Written | None:
    """Return what the report in a folder says of its files, or None where there is none that can be read."""
    try:
        said = json.loads((folder / FILE_NAME).read_text(encoding="utf-8"))
        day = said.get("date")
        return Written(
            name=str(said["name"]),
            shape_sha256=str(said.get("shape_sha256")),
            date=datetime.date.fromisoformat(day) if day else None,
            tolerance_mm=float(said["mesh"]["chord_tolerance_mm"]) if "mesh" in said else None,
            files=tuple(str(entry["name"]) for entry in said["files"]),
        )
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None


def shape_digest(shape: Draft, version: str, block: Body | None = None) -> str:
    """Return the SHA-256 of what all files of a board are made from: its lofted surface and those of its fins, knots
    and control points as rounded; where the fins stand, what the templates show and the other numbers; files that it
    names as they read; the program's version; and of a fit the block, as it is glued. Files with the same digest belong
    together, however the spec is written.
    """

    def plain(value: object) -> object:
        if dataclasses.is_dataclass(value):
            fields = {field.name: getattr(value, field.name) for field in dataclasses.fields(value)}
            return {key: plain(item) for key, item in fields.items() if key not in NOT_SHOWN}
        if isinstance(value, Path):
            return hashlib.sha256(value.read_bytes()).hexdigest()
        if isinstance(value, dict):
            return {key: plain(item) for key, item in value.items()}
        if isinstance(value, (tuple, frozenset)):
            items = [plain(item) for item in value]
            return sorted(map(str, items)) if isinstance(value, frozenset) else items
        return value

    digest = hashlib.sha256(json.dumps([version, plain(shape.board)], sort_keys=True).encode())
    for body in (shape.body, *(fin.body for fin in shape.fins), *([block] if block else [])):
        for surface in filter(None, (body.port, body.starboard)):
            for values in (surface.knots_u, surface.knots_v, surface.net):
                rounded_values = np.round(values, COEFFICIENT_DECIMALS) + 0.0
                digest.update(f"{values.shape}".encode() + rounded_values.astype("<f8").tobytes())
    return digest.hexdigest()


def head(shape: LoftedBoard, version: str, date: datetime.date | None) -> dict[str, Any]:
    """Return what every report of a board begins with: who made it, and which board, shape and day its files are of."""
    return {
        "program": {"name": "bayloft", "version": version, "libraries": dict(libraries())},
        "name": shape.board.name,
        "shape_sha256": shape_digest(shape.draft, version),
        "date": date.isoformat() if date else None,
    }
