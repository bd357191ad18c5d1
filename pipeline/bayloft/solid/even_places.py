"""Places on a surface, evenly by area, the same each time."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.solid.mesh import Mesh

Array = NDArray[np.float64]

GOLDEN = (np.sqrt(5.0) - 1.0) / 2.0
PLASTIC = 0.7548776662466927
"""Steps modulo 1 that fill a line evenly however many are taken; the second for what is filled beside the first."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class EvenPlaces:
    """Places (n, 3) in mm, each for as much area as any other, and whether each is on a facet that faces up."""

    points: Array
    upward: NDArray[np.bool_]


def even_places(mesh: Mesh, count: int) -> EvenPlaces:
    """Return so many places on a mesh: its facets laid end to end by area and stepped through, so that a stretch of
    surface has places by its area to within one; inside each facet they follow sequences without chance.
    """
    areas = mesh.triangle_areas_mm2
    ends = np.cumsum(areas)
    steps = (np.arange(count) + 0.5) * (float(ends[-1]) / count)
    facet = np.minimum(np.searchsorted(ends, steps, side="right"), len(areas) - 1)
    n = np.arange(1, count + 1)
    first, second = np.sqrt((n * GOLDEN) % 1.0), (n * PLASTIC) % 1.0
    a, b, c = (mesh.vertices[mesh.triangles[facet, i]] for i in range(3))
    # Even in a triangle: the root of one share towards the side across, the other along it.
    points = a + first[:, None] * ((b - a) + second[:, None] * (c - b))
    (ux, uy, _), (vx, vy, _) = (b - a).T, (c - a).T
    return EvenPlaces(points=points, upward=np.asarray(ux * vy - uy * vx > 0.0))
