"""Measuring a lofted board as a maker would: widths, rocker, thickness, sections."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import simpson

from bayloft.lines.section import APEX, EDGE
from bayloft.solid.body import Body
from bayloft.solid.integrals import parameter_at, reached, section_areas

Array = NDArray[np.float64]


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


def section(body: Body, x_mm: float, per_segment: int = 24) -> Section:
    """Return the section at a station inside the board; `per_segment` steps between the joints of the section."""
    joints = body.port.joints
    pieces = []
    for start, stop in reached(body.port, x_mm):
        inner = joints[(joints > start) & (joints < stop)]
        ends = np.concatenate([[start], inner, [stop]])
        pieces += [np.linspace(a, b, per_segment + 1) for a, b in itertools.pairwise(ends)]
    v = np.unique(np.concatenate(pieces))
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
