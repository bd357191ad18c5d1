"""Measuring a lofted board as a maker would: widths, rocker, thickness, sections."""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import simpson
from scipy.spatial import ConvexHull

from bayloft.lines.roots import bracketed
from bayloft.lines.section_places import APEX, EDGE
from bayloft.solid.body import Body
from bayloft.solid.integrals import parameter_at, reached, section_areas

Array = NDArray[np.float64]

EDGE_SPANS, EDGE_PLACES = 8, 200
"""Spans in v to both sides of the bottom edge over which its radius is looked for, and places in each side."""

HOLLOW_STEPS = 4
"""Places in each span of a section at which a straightedge is held against the bottom."""

FIRST_AND_SECOND = ((1, 0), (0, 1), (2, 0), (1, 1), (0, 2))
"""Orders in (u, v) of a surface's first and second derivatives."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Section:
    """The port half of a board's section at a station, in mm: points (n, 2) as (y, z) from bottom to deck, with the
    parameter v of each. Where a swallow's notch cuts the stringer the half begins and ends at the notch.
    """

    x_mm: float
    v: Array
    points: Array


def width(body: Body, x_mm: ArrayLike) -> Array:
    """Return the full width in mm at stations (n,): twice the distance of the rail's apex from the stringer.

    Only forward of a cut-off tail's corner, where the rail begins.
    """
    x = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
    v = np.full_like(x, APEX)
    return 2.0 * body.port.at(parameter_at(body.port, x, v), v)[:, 1]


def rocker(body: Body, x_mm: ArrayLike) -> Array:
    """Return the height in mm of the bottom at the stringer at stations (n,) where the stringer is."""
    x = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
    v = np.zeros_like(x)
    return np.asarray(body.port.at(parameter_at(body.port, x, v), v)[:, 2], dtype=np.float64)


def thickness(body: Body, x_mm: ArrayLike) -> Array:
    """Return deck minus bottom at the stringer in mm at stations (n,) where the stringer is."""
    x = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
    v = np.ones_like(x)
    return np.asarray(body.port.at(parameter_at(body.port, x, v), v)[:, 2] - rocker(body, x), dtype=np.float64)


def stringer_from_mm(body: Body) -> float:
    """Return the station in mm where the stringer begins: 0, or the bottom of a swallow's notch."""
    return float(body.port.at(0.0, 0.0)[0])


def section(body: Body, x_mm: float, per_span: int = 1) -> Section:
    """Return the section at a station inside the board; `per_span` steps in each span of the surface in v."""
    breaks = body.port.breaks[1]
    stretches = []
    for start, stop in reached(body.port, x_mm):
        inner = breaks[(breaks > start) & (breaks < stop)]
        ends = np.concatenate([[start], inner, [stop]])
        stretches += [np.linspace(a, b, per_span + 1) for a, b in itertools.pairwise(ends)]
    v = np.unique(np.concatenate(stretches))
    points = body.port.at(parameter_at(body.port, np.full_like(v, x_mm), v), v)
    return Section(x_mm=x_mm, v=v, points=points[:, 1:])


def places(body: Body, x_mm: ArrayLike, v: Sequence[float]) -> Array:
    """Return the points (len(v), n, 3) in mm of sections at stations (n,) where they have the parameters v."""
    x, v_all = np.broadcast_arrays(np.atleast_1d(np.asarray(x_mm, dtype=np.float64)), np.array(v)[:, None])
    return body.port.at(parameter_at(body.port, x, v_all), v_all)


def tuck(body: Body, x_mm: ArrayLike) -> Array:
    """Return how far in mm the bottom edge lies inside the apex at stations (n,)."""
    edge, apex = places(body, x_mm, (EDGE, APEX))
    return np.asarray(apex[:, 1] - edge[:, 1], dtype=np.float64)


def apex_share(body: Body, x_mm: ArrayLike) -> Array:
    """Return the height of the apex above the bottom at the stringer, as a share of the thickness there: (n,)."""
    low, apex, high = places(body, x_mm, (0.0, APEX, 1.0))[..., 2]
    return np.asarray((apex - low) / (high - low), dtype=np.float64)


def face_heights(body: Body, x_mm: ArrayLike, share: ArrayLike, *, deck: bool) -> Array:
    """Return the heights in mm of deck or underside at stations (n,), at a share (n,) of the half-width there."""
    x, share = np.broadcast_arrays(np.atleast_1d(np.asarray(x_mm, dtype=np.float64)), share)
    off = places(body, x, (APEX,))[0, :, 1] * share

    def beyond(v: Array, at: Array, target: Array) -> Array:
        return np.asarray(body.port.at(parameter_at(body.port, at, v), v)[..., 1] - target, dtype=np.float64)

    ends = (APEX, 1.0) if deck else (0.0, APEX)
    v = bracketed(beyond, np.full_like(x, ends[0]), np.full_like(x, ends[1]), x, off)
    return np.asarray(body.port.at(parameter_at(body.port, x, v), v)[:, 2], dtype=np.float64)


def deck_drop(body: Body, x_mm: ArrayLike, inside_mm: ArrayLike) -> Array:
    """Return how far the deck lies below the deck at the stringer, `inside_mm` inside the apex, at stations (n,)."""
    x = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
    half = places(body, x, (APEX, 1.0))
    share = 1.0 - np.asarray(inside_mm, dtype=np.float64) / half[0, :, 1]
    return np.asarray(half[1, :, 2] - face_heights(body, x, share, deck=True), dtype=np.float64)


def bottom_rise(body: Body, x_mm: ArrayLike, inside_mm: ArrayLike) -> Array:
    """Return how far the bottom is above that at the stringer, `inside_mm` inside the apex, at stations (n,)."""
    x = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
    half = places(body, x, (0.0, APEX))
    share = 1.0 - np.asarray(inside_mm, dtype=np.float64) / half[1, :, 1]
    return np.asarray(face_heights(body, x, share, deck=False) - half[0, :, 2], dtype=np.float64)


def bottom_hollow(body: Body, x_mm: float) -> float:
    """Return how far in mm, at most, the bottom lies over a straightedge laid across it at a station; 0 where it is
    hollow nowhere.
    """
    cut = section(body, x_mm, HOLLOW_STEPS)
    y, z = cut.points[cut.v <= APEX].T
    across, up = np.concatenate([-y[::-1], y]), np.concatenate([z[::-1], z])
    # A point over them all, so that a flat bottom has a hull too.
    corners = ConvexHull(np.column_stack([np.append(across, 0.0), np.append(up, up.max() + y.max())])).vertices
    corners = np.sort(corners[corners < len(across)])
    return float((up - np.interp(across, across[corners], up[corners])).max())


def rail_radius(body: Body, x_mm: ArrayLike) -> Array:
    """Return the radius in mm of the rail at the apex, square to the outline as a gauge is held, at stations (n,)."""
    x = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
    v = np.full_like(x, APEX)
    u = parameter_at(body.port, x, v)
    along = body.port.at(u, v, du=1)
    across, bend = section_slopes(body, u, v)
    radius = (across**2).sum(axis=-1) ** 1.5 / np.abs(across[:, 0] * bend[:, 1] - across[:, 1] * bend[:, 0])
    slope = along[:, 1] / along[:, 0]
    return np.asarray(radius * np.sqrt(1.0 + slope * slope), dtype=np.float64)


def section_slopes(body: Body, u: Array, v: Array) -> Array:
    """Return first and second derivative in v of (y, z) along the section at places (n,): shape (2, n, 2)."""
    return station_held({order: body.port.at(u, v, *order) for order in FIRST_AND_SECOND})


def station_held(p: Mapping[tuple[int, int], Array]) -> Array:
    """Return first and second derivative in v of (y, z) with the station held, (2, ..., 2), from the surface's
    derivatives of orders FIRST_AND_SECOND, each (..., 3).
    """
    # The station stays: x_u u' + x_v = 0, and once more.
    first = -p[0, 1][..., :1] / p[1, 0][..., :1]
    second = -(p[2, 0] * first * first + 2.0 * p[1, 1] * first + p[0, 2])[..., :1] / p[1, 0][..., :1]
    slope = p[0, 1] + p[1, 0] * first
    bend = p[0, 2] + 2.0 * p[1, 1] * first + p[2, 0] * first * first + p[1, 0] * second
    return np.stack([slope[..., 1:], bend[..., 1:]])


def edge_radius(body: Body, x_mm: ArrayLike) -> Array:
    """Return the least radius in mm of the section's curve beside its bottom edge at stations (n,)."""
    x = np.atleast_1d(np.asarray(x_mm, dtype=np.float64))
    breaks = body.port.breaks[1]
    near = int(np.searchsorted(breaks, EDGE))
    ends = breaks[near - EDGE_SPANS], breaks[near + EDGE_SPANS]
    v = np.concatenate([np.linspace(a, b, EDGE_PLACES)[1:-1] for a, b in ((ends[0], EDGE), (EDGE, ends[1]))])
    at, places_v = np.broadcast_arrays(x[:, None], v)
    slope, bend = section_slopes(body, parameter_at(body.port, at, places_v), places_v)
    turned = np.abs(slope[..., 0] * bend[..., 1] - slope[..., 1] * bend[..., 0])
    return np.asarray(((slope**2).sum(axis=-1) ** 1.5 / np.maximum(turned, 1e-12)).min(axis=1), dtype=np.float64)


def area_curve(body: Body, length_mm: float, steps: int) -> tuple[Array, Array]:
    """Return stations (steps + 1,) and section areas in mm2 there; nothing at the very ends."""
    x = np.linspace(0.0, length_mm, steps + 1)
    areas = np.zeros_like(x)
    areas[1:-1] = section_areas(body, x[1:-1])
    if body.end == "wall":
        areas[0] = section_areas(body, 1e-9 * length_mm)[0]
    return x, areas


def simpsons(x_mm: ArrayLike, ordinates: ArrayLike) -> float:
    """Return the integral of ordinates at even stations (an odd number of them) by Simpson's first rule."""
    return float(simpson(np.asarray(ordinates, dtype=np.float64), x=np.asarray(x_mm, dtype=np.float64)))
