"""The chordwise section of a fin: the NACA four-digit thickness form with a trailing edge as thick as asked."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

COEFFICIENTS = (0.2969, -0.1260, -0.3516, 0.2843, -0.1036)
"""Of sqrt(x), x, x^2, x^3, x^4 in the half-thickness 5 t (...), closed at the trailing edge: NACA Report 824, with the
last coefficient changed from -0.1015 so that the five sum to nothing."""

NATURAL_TRAILING_EDGE = 0.021
"""Trailing edge thickness over greatest thickness at which `half_thickness` is exactly NACA's open form."""


def half_thickness(chord: ArrayLike, thickness_mm: ArrayLike, trailing_edge_mm: ArrayLike) -> Array:
    """Return the half-thickness in mm at shares `chord` of the chord, 0 at the leading edge, 1 at the trailing edge.

    The closed NACA four-digit form of `thickness_mm`, and half `trailing_edge_mm` growing with the fourth power of the
    chord on top of it. Shapes broadcast.
    """
    x = np.asarray(chord, dtype=np.float64)
    a0, a1, a2, a3, a4 = COEFFICIENTS
    closed = 5.0 * (a0 * np.sqrt(x) + x * (a1 + x * (a2 + x * (a3 + x * a4))))
    return np.asarray(closed * np.asarray(thickness_mm) + np.asarray(trailing_edge_mm) / 2.0 * x**4, dtype=np.float64)
