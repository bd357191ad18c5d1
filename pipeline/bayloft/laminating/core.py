"""The core inside a foil: what its skins leave of it."""

from __future__ import annotations

import itertools

import numpy as np
from numpy.polynomial.legendre import leggauss
from numpy.typing import NDArray

from bayloft.lines.fin import TRAILING_CORNER
from bayloft.solid.body import Body

Array = NDArray[np.float64]

PARTS, NODES = 4, 3
"""Parts of a knot span and Gauss nodes in each. The core ends with a kink inside some of them, which leaves an error of
some 1e-5 of the volume: a core is weighed to a gram."""


def core_volume_mm3(body: Body, skins_mm: float) -> float:
    """Return the volume of a fin's core under skins of `skins_mm` in all, both faces together.

    The integral, over the fin seen from the side, of its thickness less the skins wherever it is thicker than they are:
    Gauss-Legendre on the outer face, up to the trailing edge's corner.
    """
    (u, wu), (v, wv) = (_spread(breaks) for breaks in body.port.breaks)
    v, wv = v[v < TRAILING_CORNER], wv[v < TRAILING_CORNER]
    outer = body.port.grid(u, v)
    du, dv = body.port.grid(u, v, du=1), body.port.grid(u, v, dv=1)
    area = np.abs(du[..., 0] * dv[..., 2] - du[..., 2] * dv[..., 0]) * (wu[:, None] * wv)
    if body.starboard is None:
        thickness = 2.0 * outer[..., 1]
    else:
        inner = body.starboard.grid(u, np.append(v, TRAILING_CORNER))
        # The two faces need not have their parameters over one another: each row is looked up by x, which falls aft.
        across = [np.interp(-x, -row[:, 0], row[:, 1]) for x, row in zip(outer[..., 0], inner, strict=True)]
        thickness = outer[..., 1] - np.array(across)
    return float((np.maximum(thickness - skins_mm, 0.0) * area).sum())


def _spread(breaks: Array) -> tuple[Array, Array]:
    """Return Gauss nodes and weights over all parts of the spans between breaks."""
    ends = [np.linspace(a, b, PARTS + 1)[:-1] for a, b in itertools.pairwise(breaks)]
    edges = np.append(np.concatenate(ends), breaks[-1])
    at, weights = leggauss(NODES)
    half = np.diff(edges) / 2
    return ((edges[:-1] + half)[:, None] + half[:, None] * at).ravel(), (half[:, None] * weights).ravel()
