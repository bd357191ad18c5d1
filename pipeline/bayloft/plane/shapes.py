"""Plain shapes as contours."""

from __future__ import annotations

import numpy as np

from bayloft.plane.contour import Contour
from bayloft.tolerances import SHORTEST_CUT_MM


def rounded_rectangle(width_mm: float, height_mm: float, radius_mm: float) -> Contour:
    """Return a rectangle about the origin with round corners, counter-clockwise; a side without length is left out."""
    w, h = width_mm / 2, height_mm / 2
    r, quarter = min(radius_mm, w, h), float(np.tan(np.pi / 8))
    rows = [(w, r - h, 0.0), (w, h - r, quarter), (w - r, h, 0.0), (r - w, h, quarter)]
    rows += [(-x, -y, bulge) for x, y, bulge in rows]
    kept = []
    for row, after in zip(rows, [*rows[1:], rows[0]], strict=True):
        if row[2] or np.hypot(after[0] - row[0], after[1] - row[1]) >= SHORTEST_CUT_MM:
            kept.append(row)
    return Contour(points=np.array(kept)[:, :2], bulges=np.array(kept)[:, 2], closed=True)
