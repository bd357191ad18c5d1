"""Triangle meshes: closed, consistently wound, outward; checked exactly by pairing edges."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mesh:
    """A triangle mesh: `vertices` (n, 3) float64 in mm, `triangles` (m, 3) int64, counter-clockwise from outside."""

    vertices: NDArray[np.float64]
    triangles: NDArray[np.int64]
