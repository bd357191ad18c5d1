"""Ply lines of a fin: where the planes in which its plies meet come out on its faces, exact on the surface.

They are what shows while a laid-up fin is ground, and when the foil is even they run like these.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.drawing.curves.level_lines import LevelLine, level_lines
from bayloft.solid.body import Body

Array = NDArray[np.float64]


def ply_lines(body: Body, planes_mm: ArrayLike, face: Literal["outer", "inside"] = "outer") -> tuple[LevelLine, ...]:
    """Return the ply lines of a face, from its edges to its fullest place, for planes y = const. in mm.

    A line's level is its height on that face: y on the outer one, -y on the inside. Planes that do not come out on the
    face (all of them, where it is flat) have none. A mirrored fin's inside has the lines of the outer face.
    """
    planes = np.asarray(planes_mm, dtype=np.float64)
    mirrored = face == "outer" or body.starboard is None
    surface = body.port if mirrored or body.starboard is None else body.starboard
    sense = 1.0 if mirrored else -1.0
    # A mirrored fin's planes lie alike on both sides; on one face only those of its own side come out.
    levels: Sequence[float] = np.sort(sense * planes).tolist()
    height: Callable[[Array, Array, int, int], Array] = lambda u, v, du, dv: sense * surface.at(u, v, du, dv)[..., 1]  # noqa: E731
    found = level_lines(surface, height, levels)
    return tuple(line for line in found if line.contours)
