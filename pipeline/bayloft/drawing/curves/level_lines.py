"""Level curves of a fin: where a height over its side view has a given value, exact on the surface."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from contourpy import LineType, contour_generator
from numpy.typing import NDArray

from bayloft.lines.fin import TRAILING_CORNER
from bayloft.lines.roots import bracketed
from bayloft.plane.biarcs import chained
from bayloft.plane.contour import Contour
from bayloft.solid.surface import Surface
from bayloft.tolerances import ARC_FIT_MM

Array = NDArray[np.float64]

_PARTS = (3, 9, 27)
"""Parts into which the surface's own spans are cut for the grid on which a line is traced: the first that will do. Its
crossings may lie too far apart to hold arcs to the line along a trailing edge that thins out to just less than the
level.
"""

_FOLLOWED = 0.5
"""Share of ARC_FIT_MM by which arcs may leave the crossings between their ends: a crest may lie between two, and the
first ply line runs as near as that to the leading edge."""

_ABOVE_MM = 1e-6
"""Lines are traced this much above their level, so that a stretch that is exactly as high, such as a trailing edge of
1 mm, is passed on its higher side and does not come out as specks of rounding."""

_ON_GRID = 1e-9
"""Difference of parameters within which a crossing stands on a grid line."""

Height = Callable[[Array, Array, int, int], Array]
"""The height in mm, or its derivative of order (du, dv), at parameters (u, v) broadcast together."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelLine:
    """Where the height is `level_mm`, as (x, z)."""

    level_mm: float
    contours: tuple[Contour, ...]


def level_lines(surface: Surface, height: Height, levels_mm: Sequence[float]) -> tuple[LevelLine, ...]:
    """Return the level curves of a height over a face of a fin, between leading edge and trailing corner.

    Traced by marching squares on a grid of the surface's parameters; every crossing with the grid is then solved for
    on the surface along its grid line, and biarcs along the curve's exact tangents go through some of the crossings
    and within ARC_FIT_MM of the rest. Where these lie too far apart to tell, the grid is made finer.

    Raises ValueError for a curve that no grid follows, because the surface folds.
    """
    found: dict[float, tuple[Contour, ...]] = {}
    left = list(levels_mm)
    for parts in _PARTS:
        if left:
            found |= _followed(surface, height, left, parts)
            left = [level for level in left if level not in found]
    if left:
        raise ValueError(f"no arcs follow the level of {left[0]:.6g} mm: the surface folds")
    return tuple(LevelLine(level_mm=level, contours=found[level]) for level in levels_mm)


def _followed(
    surface: Surface, height: Height, levels_mm: Sequence[float], parts: int
) -> dict[float, tuple[Contour, ...]]:
    """Return the contours of those levels whose curves a grid is fine enough for."""
    u, v = (_cut(breaks, parts) for breaks in surface.breaks)
    v = v[v <= TRAILING_CORNER]
    traced = contour_generator(x=v, y=u, z=height(u[:, None], v[None, :], 0, 0), line_type=LineType.Separate)
    curves = [(level, np.asarray(line)) for level in levels_mm for line in traced.lines(level + _ABOVE_MM)]
    found: dict[float, tuple[Contour, ...]] = dict.fromkeys(levels_mm, ())
    if not curves:
        return found
    counts = [len(line) for _, line in curves]
    above = np.repeat([level + _ABOVE_MM for level, _ in curves], counts)
    at = _solved(height, np.concatenate([line for _, line in curves]), v, u, above)
    points, tangents = _points(surface, height, *at)
    starts = np.cumsum(counts)[:-1]
    runs = zip(np.split(points, starts), np.split(tangents, starts), strict=True)
    for (level, _), (places, directions) in zip(curves, runs, strict=True):
        contour = _drawn(places, directions)
        if contour is None:
            found.pop(level, None)
        elif level in found:
            found[level] += (contour,)
    return found


def _cut(breaks: Array, parts: int) -> Array:
    """Return breaks with every span between two of them cut into equal parts."""
    return np.interp(np.arange((len(breaks) - 1) * parts + 1) / parts, np.arange(len(breaks)), breaks)


def _solved(height: Height, crossings: Array, grid_v: Array, grid_u: Array, levels_mm: Array) -> tuple[Array, Array]:
    """Return u (n,) and v (n,) on the surface of crossings (n, 2), as v and u, with the lines of a grid."""
    (low_v, high_v), (low_u, high_u) = _around(crossings[:, 0], grid_v), _around(crossings[:, 1], grid_u)

    def excess(share: Array, level: Array, low_v: Array, low_u: Array, high_v: Array, high_u: Array) -> Array:
        v, u = low_v + share * (high_v - low_v), low_u + share * (high_u - low_u)
        return height(u, v, 0, 0) - level

    given = levels_mm, low_v, low_u, high_v, high_u
    shares = bracketed(excess, np.zeros(len(low_v)), np.ones(len(low_v)), *given)
    return low_u + shares * (high_u - low_u), low_v + shares * (high_v - low_v)


def _around(values: Array, grid: Array) -> tuple[Array, Array]:
    """Return the grid's values on either side, or twice the one on which a value stands to rounding."""
    after = np.clip(np.searchsorted(grid, values), 1, len(grid) - 1)
    low, high = grid[after - 1], grid[after]
    on_low, on_high = np.abs(values - low) < _ON_GRID, np.abs(values - high) < _ON_GRID
    return np.where(on_high, high, low), np.where(on_low, low, high)


def _points(surface: Surface, height: Height, u: Array, v: Array) -> tuple[Array, Array]:
    """Return the points (n, 2) as x and z of level curves at parameters, and their unit tangents, either way round."""
    points, along_u, along_v = (surface.at(u, v, *order)[:, [0, 2]] for order in ((0, 0), (1, 0), (0, 1)))
    # On a level curve the height stays: it runs square to the height's own gradient in the parameters.
    rise_u, rise_v = (height(u, v, *order)[:, None] for order in ((1, 0), (0, 1)))
    tangents = rise_u * along_v - rise_v * along_u
    return points, tangents / np.hypot(*tangents.T)[:, None]


def _drawn(points: Array, tangents: Array) -> Contour | None:
    """Return biarcs along one level curve, closed where it returns; None where its points lie too far apart."""
    if (np.diff(points, axis=0) * tangents[:-1]).sum() < 0.0:
        tangents = -tangents
    chain = chained(points, tangents, _FOLLOWED * ARC_FIT_MM)
    if chain is None or not np.allclose(points[0], points[-1], rtol=0.0, atol=1e-9):
        return chain
    return Contour(points=chain.points[:-1], bulges=chain.bulges[:-1], closed=True)
