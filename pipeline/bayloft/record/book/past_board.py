"""A past board as a book lists it, and what stands in the place of one that cannot be read."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

MOST_TEXTS = 100
"""Texts that a list in the book's index may have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PastBoard:
    """A board of a book: file, its spec or archive, seen from the book's folder; name; metric, whether its maker
    measures in mm; greatest width and thickness in mm, as built; volume in mm3 without fins, None where nobody lofted
    it yet; kind of the tail, empty where an archive's spec is not read any more; shapes of the bottom; the fin that
    stands at each place, a pair twice; words: the remarks in its spec.
    """

    file: str
    name: str
    metric: bool
    length_mm: float
    width_mm: float
    thickness_mm: float
    volume_mm3: float | None
    tail: str
    bottom: tuple[str, ...]
    fins: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Unread:
    """A file or a folder that could not be read, and why, on one line."""

    file: str
    why: str


def values_of(board: PastBoard) -> dict[str, Any]:
    """Return a board as plain values."""
    return asdict(board)


def past_board_of(values: object) -> PastBoard | None:
    """Return the board of plain values, or None where they are not those of one."""
    if not isinstance(values, Mapping) or set(values) != set(PastBoard.__dataclass_fields__):
        return None
    texts = [values[key] for key in ("file", "name", "tail", "words")]
    lists = [values[key] for key in ("bottom", "fins")]
    sizes = [values[key] for key in ("length_mm", "width_mm", "thickness_mm")]
    volume = values["volume_mm3"]
    sizes += [] if volume is None else [volume]
    good = (
        all(isinstance(text, str) for text in texts)
        and all(isinstance(each, list | tuple) and len(each) <= MOST_TEXTS for each in lists)
        and all(isinstance(text, str) for each in lists for text in each)
        and all(type(size) in (int, float) and math.isfinite(size) and size > 0 for size in sizes)
        and isinstance(values["metric"], bool)
    )
    if not good:
        return None
    return PastBoard(**{**values, "bottom": tuple(values["bottom"]), "fins": tuple(values["fins"])})
