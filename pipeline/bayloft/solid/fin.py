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

FILLET_HEIGHTS = 20
"""Steps in u over a base fillet, a fifth power there: its skin then leaves it by less than 1e-5 of its length."""


def _sites(lines: FinLines) -> Array:
    """Return the parameters of the sections: even ones, the place where the tip's rounding starts, and a fillet's."""
    kink = 1.0 - np.sqrt(min(TIP_ROUNDING * lines.tip_thickness_mm / lines.depth_mm, 0.999))
    even = np.linspace(0.0, 1.0, HEIGHTS + 1)
    even = even[
        (np.abs(even - kink) > 0.25 / HEIGHTS) & (even > lines.fillet_u + 0.25 / HEIGHTS * (lines.fillet_u > 0))
    ]
    own = [0.0, kink, 1.0]
    if lines.fillet_u:
        steps = np.linspace(0.0, lines.fillet_u, FILLET_HEIGHTS + 1)
        own += [step for step in steps.tolist() if abs(step - kink) > 0.25 * lines.fillet_u / FILLET_HEIGHTS]
    return np.unique(np.concatenate([even, own]))


def fin_body(lines: FinLines) -> Body:
    """Return the body of a fin, standing on the plane z = 0: u from base to tip, v from leading to trailing edge.

    The starboard side is the mirror image of the outer face for a double foil, and the foil's inner face for others.
    """
    sites = _sites(lines)
    joints = (0.0, TRAILING_CORNER, 1.0)
    port = interpolated(lines.face, sites, joints, SPANS)
    if lines.foil.mirrored:
        return Body(port=port, end="face")
    return Body(port=port, starboard=interpolated(lines.inside, sites, joints, SPANS), end="face")
