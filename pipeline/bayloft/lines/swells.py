"""Where a line bends most: its swells. A fair line has one."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy.signal import find_peaks

Array = NDArray[np.float64]

STANDS_OUT, BUMP_MM = 0.05, 0.02
"""A place of greatest curvature counts where it stands out from what is around by this share of itself, and bulges by
so many mm: less is gone with one stroke of the sanding block (common practice, no source)."""

TIP_MM = 25.0
"""mm from an end within which a line turns into the tip, and no swell of it counts."""


def swells(x_mm: Array, curvature_per_m: Array) -> NDArray[np.int64]:
    """Return the places, ascending, of greatest curvature (n,) that stand out from what is around, not at the tips."""
    tops, found = find_peaks(curvature_per_m, prominence=0.0, width=0.0)
    reach = np.interp(found["right_ips"], np.arange(len(x_mm)), x_mm)
    reach -= np.interp(found["left_ips"], np.arange(len(x_mm)), x_mm)
    bumps = found["prominences"] / 1000.0 * reach * reach / 8.0
    counts = (found["prominences"] >= STANDS_OUT * np.abs(curvature_per_m[tops])) & (bumps >= BUMP_MM)
    counts &= (x_mm[tops] > TIP_MM) & (x_mm[tops] < x_mm[-1] - TIP_MM)
    return np.asarray(tops[counts], dtype=np.int64)
