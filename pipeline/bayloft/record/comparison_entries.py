"""What the report of a comparison says, as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from bayloft.record.figures import figures, rounded, summed
from bayloft.record.libraries import libraries
from bayloft.record.report import byte_entries
from bayloft.solid.apart import ApartPlace
from bayloft.solid.compared import LongLines
from bayloft.solid.compared_rows import SizeRow
from bayloft.solid.comparison import Comparison

FORMAT = 1
"""Raised when a key of the report changes its meaning."""

_UNITS = {"length": "mm", "place": "mm", "volume": "mm3", "area": "mm2"}


def title_of(names: tuple[str, str]) -> str:
    """Return what a comparison is called."""
    return f"{names[1]} against {names[0]}"


def comparison_report(
    held: Comparison,
    sides: tuple[Mapping[str, Any], Mapping[str, Any]],
    looks: tuple[str, ...],
    files: Mapping[str, bytes],
    version: str,
) -> dict[str, Any]:
    """Return the report; sides: what A and B were read from; looks: what a maker should look at; files: what lies
    beside it.
    """
    lies = held.apart
    return {
        "format": FORMAT,
        "program": {"name": "bayloft", "version": version, "libraries": dict(libraries())},
        "name": title_of(held.names),
        "date": None,
        "unit": "mm" if held.metric else "in",
        "a": {"name": held.names[0], **sides[0]},
        "b": {"name": held.names[1], **sides[1]},
        "aligned": {"by": held.align, "b_moved_towards_the_nose_mm": rounded(held.shift_mm)},
        "sizes": [_size(row) for row in held.rows],
        "b_over_a": {
            "places": lies.places,
            "positive": "where B stands out over A",
            "least_mm": rounded(lies.least.out_mm),
            "greatest_mm": rounded(lies.greatest.out_mm),
            "mean_mm": rounded(lies.mean_mm),
            "mean_magnitude_mm": rounded(lies.mean_magnitude_mm),
            "magnitude_of_95_percent_mm": rounded(lies.most_of_mm),
            "magnitude_of_95_percent_alongside_a_mm": rounded(lies.most_alongside_mm),
            "least_at": _place(lies.least),
            "greatest_at": _place(lies.greatest),
            "parts": [
                {
                    "side": part.side,
                    "third": part.third,
                    "mean_mm": rounded(part.mean_mm),
                    "least_mm": rounded(part.least_mm),
                    "greatest_mm": rounded(part.greatest_mm),
                }
                for part in lies.parts
            ],
        },
        "a_over_b": {"least_mm": rounded(lies.back_least_mm), "greatest_mm": rounded(lies.back_greatest_mm)},
        "stations": [_station(held, n) for n in range(len(held.stations_mm))],
        "look": list(looks),
        "files": byte_entries(files),
    }


def _size(row: SizeRow) -> dict[str, Any]:
    told = summed if row.kind in ("volume", "area") else rounded
    values = {
        name: None if value is None else told(value)
        for name, value in (("a", row.a), ("b", row.b), ("difference", row.difference))
    }
    return {"key": row.key, "what": row.what, "unit": _UNITS[row.kind], **values}


def _place(at: ApartPlace) -> dict[str, Any]:
    return {"x_mm": rounded(at.x_mm), "y_mm": rounded(at.y_mm), "z_mm": rounded(at.z_mm), "side": at.side}


def _station(held: Comparison, n: int) -> dict[str, Any]:
    """Return the lines of both at a station of A, with B's less A's."""
    found: dict[str, Any] = {"from_tail_of_a_mm": rounded(float(held.stations_mm[n]))}
    both = [_lines(lines, n) for lines in held.lines]
    for key in both[0]:
        a, b = (None if not np.isfinite(side[key]) else rounded(side[key]) for side in both)
        found[key] = {"a": a, "b": b, "difference": None if a is None or b is None else figures(b - a)}
    return found


def _lines(lines: LongLines, n: int) -> dict[str, float]:
    return {
        "width_mm": float(lines.widths_mm[n]),
        "rocker_mm": float(lines.bottom_mm[n]),
        "thickness_mm": float(lines.deck_mm[n] - lines.bottom_mm[n]),
    }
