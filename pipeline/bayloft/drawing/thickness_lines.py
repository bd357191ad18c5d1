"""Thickness lines of a fin: level curves of its thickness seen from the side, exact on its surface."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from contourpy import LineType, contour_generator
from numpy.typing import NDArray

from bayloft.drawing.biarcs import biarcs
from bayloft.drawing.contour import Contour
from bayloft.lines.fin import TRAILING_CORNER
from bayloft.lines.roots import bracketed
from bayloft.solid.body import Body

Array = NDArray[np.float64]

GRID = (32, 64)
"""Steps in u and v of the grid on which lines are traced: between the places where a line crosses the grid, its arcs
leave the true line by less than 0.02 mm on a fin of 300 mm."""

_CLOSE_STEP = 0.2
"""Share of a grid step in u: where the surface's own knots lie closer, as over a base fillet, every second one is a row
of the grid too."""

_ABOVE_MM = 1e-6
"""Lines are traced this much above their level, so that a stretch that is exactly as thick, such as a trailing edge of
1 mm, is passed on its thicker side and does not come out as specks of rounding."""

_ON_GRID = 1e-9
"""Grid steps within which a crossing stands on a grid line."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ThicknessLine:
    """Where a fin is `thickness_mm` thick, as (x, z)."""

    thickness_mm: float
    contours: tuple[Contour, ...]


def total_thickness(body: Body, u: Array, v: Array, du: int = 0, dv: int = 0) -> Array:
    """Return the thickness in mm across both faces, or a derivative of it, at pairs of parameters (n,)."""
    outer = body.port.at(u, v, du, dv)[..., 1]
    inner = -outer if body.starboard is None else body.starboard.at(u, v, du, dv)[..., 1]
    return np.asarray(outer - inner, dtype=np.float64)


def thickness_lines(body: Body, thicknesses_mm: Sequence[float]) -> tuple[ThicknessLine, ...]:
    """Return the level curves of a fin's thickness between leading edge and trailing corner.

    Traced by marching squares on a grid of the surface's parameters; every crossing with the grid is then solved for
    on the surface along its grid line, and the crossings are joined by biarcs along the curve's exact tangents.
    """
    u, v = _rows(body), np.linspace(0.0, TRAILING_CORNER, GRID[1] + 1)
    outer = body.port.grid(u, v)[..., 1]
    inner = -outer if body.starboard is None else body.starboard.grid(u, v)[..., 1]
    traced = contour_generator(z=outer - inner, line_type=LineType.Separate)
    return tuple(
        ThicknessLine(
            thickness_mm=level,
            contours=tuple(
                _drawn(body, *_solved(body, u, np.asarray(crossings, dtype=np.float64), level + _ABOVE_MM))
                for crossings in traced.lines(level + _ABOVE_MM)
            ),
        )
        for level in thicknesses_mm
    )


def _rows(body: Body) -> Array:
    """Return the places in u of the grid's rows."""
    breaks = body.port.breaks[0]
    close = breaks[:-1][np.diff(breaks) < _CLOSE_STEP / GRID[0]]
    return np.unique(np.concatenate([np.linspace(0.0, 1.0, GRID[0] + 1), close[::2]]))


def _solved(body: Body, rows: Array, crossings: Array, level_mm: float) -> tuple[Array, Array]:
    """Return u (n,) and v (n,) on the surface of crossings (n, 2) with grid lines, in grid steps along v and u."""
    # A crossing stands on a grid line to rounding only.
    snapped = np.where(np.abs(crossings - np.round(crossings)) < _ON_GRID, np.round(crossings), crossings)
    low, high = (
        np.stack([TRAILING_CORNER / GRID[1] * edge[:, 0], rows[edge[:, 1].astype(np.int64)]], axis=1)
        for edge in (np.floor(snapped), np.ceil(snapped))
    )

    def excess(share: Array, low_v: Array, low_u: Array, high_v: Array, high_u: Array) -> Array:
        v, u = low_v + share * (high_v - low_v), low_u + share * (high_u - low_u)
        return total_thickness(body, u, v) - level_mm

    shares = bracketed(excess, np.zeros(len(low)), np.ones(len(low)), *low.T, *high.T)
    v, u = (low + shares[:, None] * (high - low)).T
    return u, v


def _drawn(body: Body, u: Array, v: Array) -> Contour:
    """Return biarcs through the surface's points at parameters of one level curve, closed where they return."""
    points = body.port.at(u, v)[:, [0, 2]]
    along_u, along_v = (body.port.at(u, v, *order)[:, [0, 2]] for order in ((1, 0), (0, 1)))
    # On a level curve thickness stays: it runs square to the thickness's own gradient in the parameters.
    rise_u, rise_v = (total_thickness(body, u, v, *order)[:, None] for order in ((1, 0), (0, 1)))
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
