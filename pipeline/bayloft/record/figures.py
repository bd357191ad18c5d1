"""How numbers are written in a report."""

from __future__ import annotations

import json
import math
from typing import Any

from bayloft.arithmetic import NOISE_DECIMALS

DECIMALS = 6
FIGURES, SUM_FIGURES = 4, 10
"""Decimals of lengths, significant figures of errors, and of what is summed over a surface or a mesh: more would print
the rounding of one machine."""


def figures(value: float) -> float | None:
    """Return an error or a ratio to FIGURES significant figures; None where there is no number."""
    return float(f"{value:.{FIGURES}g}") if math.isfinite(value) else None


def rounded(value: float) -> float:
    """Return a length to DECIMALS, never a negative zero."""
    return round(round(value, NOISE_DECIMALS), DECIMALS) + 0.0


def summed(value: float) -> float:
    """Return an area, a volume, a moment or a mass to SUM_FIGURES significant figures."""
    return float(f"{value:.{SUM_FIGURES}g}")


def report_bytes(said: dict[str, Any]) -> bytes:
    """Return a report of plain values as the bytes of its file."""
    return (json.dumps(said, indent=1, ensure_ascii=False, allow_nan=False) + "\n").encode()
