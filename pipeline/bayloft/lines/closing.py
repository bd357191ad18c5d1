"""How a quantity vanishes at a closed end."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]


def closing(distance_mm: ArrayLike, reach_mm: float) -> Array:
    """Return the share of a quantity left at `distance_mm` inside a closed end: 0 at the end like a square root, 1 from
    `reach_mm` inward, with two continuous derivatives there: sqrt(1 - (1 - s)^3), s = distance / reach.
    """
    s = np.clip(np.asarray(distance_mm, dtype=np.float64) / reach_mm, 0.0, 1.0)
    return np.asarray(np.sqrt(s * (3.0 - s * (3.0 - s))), dtype=np.float64)


def fading(share: ArrayLike) -> Array:
    """Return how much of a tuck is left where the half-width is `share` of the narrowest one with a given number: 1
    from there up, with two continuous derivatives, never more than 1.7 times the share below:
    1 - (1 - s)^3 (1 + 1.5 s).
    """
    s = np.clip(np.asarray(share, dtype=np.float64), 0.0, 1.0)
    return np.asarray(1.0 - (1.0 - s) ** 3 * (1.0 + 1.5 * s), dtype=np.float64)
