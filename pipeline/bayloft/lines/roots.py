"""Roots of monotonic functions, many at once."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import elementwise

Array = NDArray[np.float64]


ROOT_ABSOLUTE = 1e-14
"""Parameters run from 0 to 1: over a board of 3 m this is a hundred-thousandth of a nanometre."""


def bracketed(function: Callable[..., Array], low: Array, high: Array, *given: Array) -> Array:
    """Return the roots of `function(x, *given)` between `low` and `high`, element by element (shapes broadcast).

    Chandrupatla's bracketing method to ROOT_ABSOLUTE or, for roots above 10, the last bits of a double; where the
    function has one sign throughout, not a number.
    """
    tolerances = {"xatol": ROOT_ABSOLUTE, "xrtol": 1e-15, "fatol": 0.0, "frtol": 0.0}
    found = elementwise.find_root(function, (low, high), args=given, tolerances=tolerances)
    return np.asarray(found.x, dtype=np.float64)
