"""Where a straight edge bears on the inner side of a standing fin: on the land beside a hollow, never in it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import ConvexHull

from bayloft.arithmetic import lengths, product
from bayloft.lines.fin import FinLines
from bayloft.solid.body import Body
from bayloft.solid.faces import met
from bayloft.solid.standing import Stand
from bayloft.tolerances import LAND_MM

Array = NDArray[np.float64]

DEPTH_SHARE = 0.6
"""Share of a fin's depth up to which an edge bears on it: above, the fin is too narrow (common practice, no source)."""

CROSSED_SHARE = 0.2
"""Least share of the base's chord over which a plate meets a fin all the way up: room to find a land (no source)."""

RELIEF_MM = 5.0
"""Cut off a plate's corner at the fin, clear of resin: its edge begins there (common practice, no source)."""

CHORD_SHARES = np.linspace(0.0, 1.0, 401)
HEIGHTS = 33
"""Places along the chord and along an edge at which a face is looked up: it strays by less than 1e-3 mm between."""

MEETING_STEPS = 8
"""Steps in which a place that depends on itself is found; each leaves a tenth of the error or less."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bearing:
    """A straight edge that bears on a fin's inner side, in the board's axes: where it would meet the bottom (3,), mm,
    and its direction away from the board (3,), of unit length.
    """

    foot_mm: Array
    away: Array


def reach_mm(lines: FinLines, most_mm: float) -> float:
    """Return how high (mm) a straight edge can bear on a fin, most_mm at most: up to DEPTH_SHARE, and on a fin that is
    swept far back no higher than a plate across the chord still meets it from the base on.
    """
    z = np.linspace(0.0, min(most_mm, DEPTH_SHARE * lines.depth_mm), HEIGHTS)
    u = lines.parameter(z)
    crossed = np.minimum.accumulate(lines.leading(u)) - np.maximum.accumulate(lines.trailing(u))
    return float(z[crossed >= CROSSED_SHARE * crossed[0]][-1])


def land_mm(lines: FinLines, share: float, heights_mm: Array) -> float:
    """Return where a plate across the chord bears on the inner face at all the heights: mm ahead of the rear end of the
    base. That is where a straight edge laid along the face touches it within LAND_MM, as near as may be to a share of
    the chord, from the trailing edge, at the last height; or, where none does, the place at which least is between.
    """
    top = lines.parameter(heights_mm[-1])
    rear, front = float(lines.trailing(top)), float(lines.leading(top))
    x, wish = rear + CHORD_SHARES * (front - rear), rear + share * (front - rear)
    gaps = np.max([_inside(lines, x, z) - _bridged(lines, x, z) for z in heights_mm], axis=0)
    gaps = np.where(np.isnan(gaps), np.inf, gaps)
    if gaps.min() == np.inf:
        return wish
    places = x[gaps <= max(LAND_MM, gaps.min())]
    return float(places[np.argmin(np.abs(places - wish))])


def bearing(
    stand: Stand, lines: FinLines, board: Body, square_to: Array, at_mm: tuple[float, float], top_mm: float
) -> Bearing:
    """Return the straight edge, on the inner side of a port or single fin, of a plate square to the unit vector
    `square_to` (3,), in the board's axes, that passes the fin's middle plane at a place `at_mm` (x and z in the fin's
    own axes). The edge has the lean of the face up to there, a hollow taken as bridged, and touches the face where it
    stands out most between RELIEF_MM and top_mm above the base.
    """
    axes, (ahead, up) = stand.axes, at_mm
    square = product(axes, square_to)

    def x_of(y: Array, z: Array) -> Array:
        """Return where the plate's plane is, in the fin's own axes."""
        return np.asarray(ahead - (square[1] * y + square[2] * (z - up)) / square[0])

    z = np.linspace(RELIEF_MM, top_mm, HEIGHTS)
    y = np.zeros(HEIGHTS)
    for _ in range(MEETING_STEPS):
        y = np.nan_to_num(_inside(lines, x_of(y, z), z))
    face = _inside(lines, x_of(y, z), z)
    # A fin swept far back is over the plate's place only from some height on.
    ends = np.array([z[np.isfinite(face)][0], up])
    x = x_of(np.interp(ends, z, y), ends)
    low, high = (float(_bridged(lines, each, float(at))) for each, at in zip(x, ends, strict=True))
    slope = (high - low) / (up - ends[0])
    beside = float(np.nanmin(face - slope * z))
    foot = np.zeros(1)
    for _ in range(MEETING_STEPS):
        y = beside + slope * foot
        foot = met(board, stand.rear_mm, axes, x_of(y, foot), y).height_mm
    own = np.array([x_of(y, foot)[0], y[0], foot[0]])
    away = product([-(square[1] * slope + square[2]) / square[0], slope, 1.0], axes)
    return Bearing(foot_mm=stand.rear_mm + product(own, axes), away=away / lengths(away))


def _chord_share(lines: FinLines, x_mm: ArrayLike, u: Array) -> Array:
    """Return shares of the chord, from the leading edge; not a number beside the fin."""
    front, back = lines.leading(u), lines.trailing(u)
    share = np.asarray((front - np.asarray(x_mm)) / (front - back))
    return np.where((share < 0.0) | (share > 1.0), np.nan, share)


def _inside(lines: FinLines, x_mm: ArrayLike, z_mm: ArrayLike) -> Array:
    """Return y (mm) of the inner face at places in the fin's own axes, broadcast; not a number beside the fin."""
    u = lines.parameter(z_mm)
    return lines.faces(u, _chord_share(lines, x_mm, u))[1]


def _bridged(lines: FinLines, x_mm: ArrayLike, z_mm: float) -> Array:
    """Return y (mm) at places on a straight edge, or edges, laid along the chord on the inner face at one height: the
    face itself where it is plane or round, and a straight line across a hollow.
    """
    u = lines.parameter(z_mm)
    face = np.column_stack([CHORD_SHARES, lines.faces(u, CHORD_SHARES)[1]])
    behind = [[0.5, float(face[:, 1].max()) + lines.thickness_mm]]
    corners = ConvexHull(np.concatenate([face, behind])).vertices
    corners = np.sort(corners[corners < len(face)])
    return np.interp(_chord_share(lines, x_mm, u), *face[corners].T)
