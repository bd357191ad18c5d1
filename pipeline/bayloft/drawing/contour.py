"""A contour: a chain of straight lines and circular arcs in the plane."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contour:
    """A chain of lines and arcs. `points` (n, 2) in mm; `bulges` (n,) with bulges[i] = tan(sweep / 4) of the arc from
    point i to point i + 1, counter-clockwise positive, 0 for a straight line; the last bulge closes a closed contour
    and is 0 on an open one. No repeated last point."""

    points: Array
    bulges: Array
    closed: bool
