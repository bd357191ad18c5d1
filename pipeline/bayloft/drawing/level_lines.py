"""Level curves of a fin: where a height over its side view has a given value, exact on the surface."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from contourpy import ContourGenerator, LineType, contour_generator
from numpy.typing import NDArray

from bayloft.drawing.biarcs import biarcs
from bayloft.drawing.contour import Contour
from bayloft.lines.fin import TRAILING_CORNER
from bayloft.lines.roots import bracketed
from bayloft.solid.surface import Surface
from bayloft.tolerances import ARC_FIT_MM

Array = NDArray[np.float64]

GRID = (32, 64)
"""Steps in u and v of the grid on which a line is traced at first."""

_FINER = 3
_MOST_TIMES = 3
"""By how much the grid is made finer where the arcs leave the line, as along a trailing edge that thins out to just
less than the level, and how often at most. A biarc's error crests at a third and two thirds, so it shows at the
crossings with the finer grid, and falls with the cube of the step."""

_FOLLOWED = 0.8
"""Share of ARC_FIT_MM by which arcs may leave those crossings: they lie near the crests, not on them."""

_ABOVE_MM = 1e-6
"""Lines are traced this much above their level, so that a stretch that is exactly as high, such as a trailing edge of
1 mm, is passed on its higher side and does not come out as specks of rounding."""

_ON_GRID = 1e-9
"""Grid steps within which a crossing stands on a grid line."""

Height = Callable[[Array, Array, int, int], Array]
"""The height in mm, or its derivative of order (du, dv), at parameters (u, v) broadcast together."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LevelLine:
    """Where the height is `level_mm`, as (x, z)."""

    level_mm: float
    contours: tuple[Contour, ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Grid:
    """Heights on a grid, ready to trace, and its steps in v and u."""

    step: Array
    traced: ContourGenerator


def level_lines(surface: Surface, height: Height, levels_mm: Sequence[float]) -> tuple[LevelLine, ...]:
    """Return the level curves of a height over a face of a fin, between leading edge and trailing corner.

    Traced by marching squares on a grid of the surface's parameters; every crossing with the grid is then solved for
    on the surface along its grid line, and the crossings are joined by biarcs along the curve's exact tangents. The
    grid is made finer until the biarcs are within ARC_FIT_MM of the curve.

    Raises ValueError for a curve that no grid follows, because the surface folds.
    """
    grids = {times: _grid(height, _FINER**times) for times in (0, 1)}
    lines = []
    for level in levels_mm:
        crossed = _crossed(height, grids[0], level)
        for times in range(1, _MOST_TIMES + 1):
            contours = tuple(_drawn(surface, height, *at) for at in crossed)
            if times not in grids:
                grids[times] = _grid(height, _FINER**times)
            crossed = _crossed(height, grids[times], level)
            if _off_mm(contours, [surface.at(*at)[:, [0, 2]] for at in crossed]) <= _FOLLOWED * ARC_FIT_MM:
                break
        else:
            raise ValueError(f"no arcs follow the level of {level:.6g} mm: the surface folds")
        lines.append(LevelLine(level_mm=level, contours=contours))
    return tuple(lines)


def _grid(height: Height, finer: int) -> _Grid:
    steps = GRID[0] * finer, GRID[1] * finer
    u, v = np.linspace(0.0, 1.0, steps[0] + 1), np.linspace(0.0, TRAILING_CORNER, steps[1] + 1)
    traced = contour_generator(z=height(u[:, None], v[None, :], 0, 0), line_type=LineType.Separate)
    return _Grid(step=np.array([TRAILING_CORNER / steps[1], 1.0 / steps[0]]), traced=traced)


def _crossed(height: Height, grid: _Grid, level_mm: float) -> list[tuple[Array, Array]]:
    """Return u (n,) and v (n,) where each curve of a level crosses the lines of a grid, on the surface."""
    above = level_mm + _ABOVE_MM
    curves = grid.traced.lines(above)
    return [_solved(height, np.asarray(crossings, dtype=np.float64), grid.step, above) for crossings in curves]


def _off_mm(contours: Sequence[Contour], curves: Sequence[Array]) -> float:
    """Return the greatest distance of points (n, 2) on the true curves from the contours; infinite without contours."""
    from shapely import LinearRing, LineString, MultiLineString, distance, points  # noqa: PLC0415

    if not curves:
        return 0.0
    if not contours:
        return float("inf")
    drawn = MultiLineString(
        [(LinearRing if one.closed else LineString)(one.flattened(ARC_FIT_MM / 100)) for one in contours]
    )
    return float(distance(points(np.concatenate(curves)), drawn).max())


def _solved(height: Height, crossings: Array, step: Array, level_mm: float) -> tuple[Array, Array]:
    """Return u (n,) and v (n,) on the surface of crossings (n, 2) with grid lines, in grid steps along v and u."""
    # A crossing stands on a grid line to rounding only.
    snapped = np.where(np.abs(crossings - np.round(crossings)) < _ON_GRID, np.round(crossings), crossings)
    low, high = np.floor(snapped) * step, np.ceil(snapped) * step

    def excess(share: Array, low_v: Array, low_u: Array, high_v: Array, high_u: Array) -> Array:
        v, u = low_v + share * (high_v - low_v), low_u + share * (high_u - low_u)
        return height(u, v, 0, 0) - level_mm

    shares = bracketed(excess, np.zeros(len(low)), np.ones(len(low)), *low.T, *high.T)
    v, u = (low + shares[:, None] * (high - low)).T
    return u, v


def _drawn(surface: Surface, height: Height, u: Array, v: Array) -> Contour:
    """Return biarcs through the surface's points at parameters of one level curve, closed where they return."""
    points = surface.at(u, v)[:, [0, 2]]
    along_u, along_v = (surface.at(u, v, *order)[:, [0, 2]] for order in ((1, 0), (0, 1)))
    # On a level curve the height stays: it runs square to the height's own gradient in the parameters.
    rise_u, rise_v = (height(u, v, *order)[:, None] for order in ((1, 0), (0, 1)))
    tangents = rise_u * along_v - rise_v * along_u
    tangents /= np.hypot(*tangents.T)[:, None]
    chords = np.diff(points, axis=0)
    if (chords * tangents[:-1]).sum() < 0.0:
        tangents = -tangents
    closed = bool(np.allclose(points[0], points[-1], rtol=0.0, atol=1e-9))
    joints, bulges = biarcs(points[:-1], tangents[:-1], points[1:], tangents[1:])
    chain = np.stack([points[:-1], joints], axis=1).reshape(-1, 2)
    arcs = bulges.ravel()
    if closed:
        return Contour(points=chain, bulges=arcs, closed=True)
    return Contour(points=np.vstack([chain, points[-1]]), bulges=np.append(arcs, 0.0), closed=False)
