"""A fin as a body: its sections skinned from base to tip."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bayloft.lines.fin import TIP_ROUNDING, TRAILING_CORNER, FinLines
from bayloft.solid.body import Body
from bayloft.solid.surface import interpolated

Array = NDArray[np.float64]

HEIGHTS = 80
SPANS = 40
"""Steps in u at which sections are skinned, and spans in v round each; the surface then leaves the lines by less than
1e-3 mm."""


def fin_body(lines: FinLines) -> Body:
    """Return the body of a fin, standing on the plane z = 0: u from base to tip, v from leading to trailing edge.

    The starboard side is the mirror image of the outer face for a double foil, the plane y = 0 for a flat inside.
    """
    kink = 1.0 - np.sqrt(min(TIP_ROUNDING * lines.tip_thickness_mm / lines.depth_mm, 0.999))
    even = np.linspace(0.0, 1.0, HEIGHTS + 1)
    sites = np.unique(np.concatenate([even[np.abs(even - kink) > 0.25 / HEIGHTS], [0.0, kink, 1.0]]))
    joints = (0.0, TRAILING_CORNER, 1.0)
    port = interpolated(lines.face, sites, joints, SPANS)
    if not lines.flat_inside:
        return Body(port=port, end="face")

    def inside(u: Array, v: Array) -> Array:
        # Even steps along the chord: a plane needs no crowding at the leading edge, where facets would vanish.
        even = np.where(v < TRAILING_CORNER, TRAILING_CORNER * np.sqrt(v / TRAILING_CORNER), v)
        return np.asarray(lines.face(u, even) * np.array([1.0, 0.0, 1.0]), dtype=np.float64)

    return Body(port=port, starboard=interpolated(inside, sites, joints, SPANS), end="face")
