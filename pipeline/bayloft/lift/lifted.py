"""What a lift gives: the files written, and what it says of them."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, kw_only=True)
class Lifted:
    """What was lifted from a sheet: its name, the readings used, the files, and what is to be said, line by line."""

    name: str
    readings: int
    files: tuple[Path, ...]
    said: tuple[str, ...]
