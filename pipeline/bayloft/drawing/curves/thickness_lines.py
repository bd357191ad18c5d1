"""Thickness lines of a fin: level curves of its thickness seen from the side, exact on its surface."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.curves.level_lines import LevelLine, level_lines
from bayloft.solid.body import Body
from bayloft.spec.fins.fin import Fin

Array = NDArray[np.float64]

MOST_LINES = 12
"""Thickness lines beyond which only those of even millimetres are drawn."""


def total_thickness(body: Body, u: Array, v: Array, du: int = 0, dv: int = 0) -> Array:
    """Return the thickness in mm across both faces, or a derivative of it, at parameters broadcast together."""
    outer = body.port.at(u, v, du, dv)[..., 1]
    inner = -outer if body.starboard is None else body.starboard.at(u, v, du, dv)[..., 1]
    return np.asarray(outer - inner, dtype=np.float64)


def thickness_lines(body: Body, thicknesses_mm: Sequence[float]) -> tuple[LevelLine, ...]:
    """Return the level curves of a fin's thickness between leading edge and trailing corner."""
    return level_lines(body.port, lambda u, v, du, dv: total_thickness(body, u, v, du, dv), thicknesses_mm)


def thickness_levels(fin: Fin) -> list[float]:
    """Return the whole millimetres of thickness of which lines are drawn, ascending, every second where there are many.

    Up to the trailing edge's own thickness there are none: they would run along the leading edge only.
    """
    # The summit of a hollow foil lies beside its hollow, so this much is left of it.
    levels = np.arange(np.floor(fin.trailing_edge_mm) + 1.0, fin.thickness_mm - fin.hollow_mm - 0.1)
    return [float(level) for level in (levels if len(levels) <= MOST_LINES else levels[levels % 2.0 == 0.0])]
