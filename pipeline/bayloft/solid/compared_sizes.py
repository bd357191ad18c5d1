"""The sizes that two shapes are held against one another by, measured alike on a surface and on a mesh."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import product, solution
from bayloft.solid.body import Body
from bayloft.solid.compared import ComparedShape
from bayloft.solid.integrals import integrals
from bayloft.solid.measure import rocker, stringer_from_mm, thickness, width

Array = NDArray[np.float64]

FULLEST_MM, FULLEST_PLACES, FULLEST_POWERS = 2.0, 61, 4
"""mm below the greatest within which a line is taken for its fullest station, at how many places, and the powers of the
curve through them: the middle of facets says nothing, and a line is level there."""
FINEST = 4001
TIP_MM = 1e-3
"""mm within which a vertex lies at the very end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardSizes:
    """Sizes in mm, mm2 and mm3; None where the shape has nothing to measure.

    Nose and tail sizes are those 12 in or 300 mm from the ends, as asked; stations of the fullest are so far ahead of
    the centre. Rockers are heights of the bottom at the stringer over the flat under its lowest place; at the very ends
    those of the lowest place that is there.
    """

    length: float
    nose_width: float | None
    greatest_width: float | None
    wide_point: float | None
    tail_width: float | None
    nose_thickness: float | None
    centre_thickness: float | None
    greatest_thickness: float | None
    thickest_point: float | None
    tail_thickness: float | None
    nose_tip_rocker: float | None
    nose_rocker: float | None
    tail_rocker: float | None
    tail_end_rocker: float | None
    volume: float | None
    surface_area: float | None
    plan_area: float | None


Measured = Callable[[Array], Array]
"""Lengths in mm at stations (n,), not a number where there is nothing."""


def compared_sizes(shape: ComparedShape, off_mm: float) -> BoardSizes:
    """Return the sizes of a shape; off_mm: how far from the ends those of nose and tail are taken."""
    length, body = shape.length_mm, shape.body
    widths, bottoms, thicknesses = _of_mesh(shape) if body is None else _of_body(body)
    lines = shape.lines
    wide = _fullest(widths, lines.x_mm, lines.widths_mm)
    thick = _fullest(thicknesses, lines.x_mm, lines.deck_mm - lines.bottom_mm)
    volume = area = plan = None
    if body is not None:
        exact = integrals(body)
        volume, area, plan = exact.volume_mm3, exact.area_mm2, exact.plan_area_mm2
    elif shape.closed:
        volume, area, plan = shape.mesh.volume_mm3, shape.mesh.area_mm2, _plan_area_mm2(shape)
    tail, nose = _ends_mm(shape)

    def at(measured: Measured, x: float | None) -> float | None:
        if x is None or not 0.0 < x < length:
            return None
        value = float(measured(np.array([x]))[0])
        return value if np.isfinite(value) else None

    return BoardSizes(
        length=length,
        nose_width=at(widths, length - off_mm),
        greatest_width=at(widths, wide),
        wide_point=None if wide is None else wide - length / 2.0,
        tail_width=at(widths, off_mm),
        nose_thickness=at(thicknesses, length - off_mm),
        centre_thickness=at(thicknesses, length / 2.0),
        greatest_thickness=at(thicknesses, thick),
        thickest_point=None if thick is None else thick - length / 2.0,
        tail_thickness=at(thicknesses, off_mm),
        nose_tip_rocker=nose,
        nose_rocker=at(bottoms, length - off_mm),
        tail_rocker=at(bottoms, off_mm),
        tail_end_rocker=tail,
        volume=volume,
        surface_area=area,
        plan_area=plan,
    )


def _of_mesh(shape: ComparedShape) -> tuple[Measured, Measured, Measured]:
    def thicknesses(x: Array) -> Array:
        lines = shape.lines_at(x)
        return np.asarray(lines.deck_mm - lines.bottom_mm, dtype=np.float64)

    return lambda x: shape.lines_at(x).widths_mm, lambda x: shape.lines_at(x).bottom_mm, thicknesses


def _of_body(body: Body) -> tuple[Measured, Measured, Measured]:
    first = stringer_from_mm(body)

    def where_it_is(measured: Callable[[Body, Array], Array]) -> Measured:
        def measure(x: Array) -> Array:
            found = np.full_like(x, np.nan)
            there = x > first
            if there.any():
                found[there] = measured(body, x[there])
            return found

        return measure

    return lambda x: width(body, x), where_it_is(rocker), where_it_is(thickness)


def _fullest(measured: Measured, x: Array, values: Array) -> float | None:
    """Return the station where a line is fullest, from a cubic through the places about it, in least squares; None for
    a line with nothing to measure.
    """
    if not np.isfinite(values).any():
        return None
    top = int(np.nanargmax(values))
    near = np.nan_to_num(values, nan=-np.inf) >= values[top] - FULLEST_MM
    first = last = top
    while first > 0 and near[first - 1]:
        first -= 1
    while last < len(x) - 1 and near[last + 1]:
        last += 1
    if last - first < 2:
        return float(x[top])
    share = np.linspace(-1.0, 1.0, FULLEST_PLACES)
    middle, half = (x[first] + x[last]) / 2.0, (x[last] - x[first]) / 2.0
    found = measured(middle + half * share)
    if not np.isfinite(found).all():
        return float(x[top])
    powers = np.stack([share**n for n in range(FULLEST_POWERS)])
    curve = solution(product(powers, powers.T), product(powers, found - values[top]))
    fine = np.linspace(-1.0, 1.0, FINEST)
    height = product(np.stack([fine**n for n in range(FULLEST_POWERS)], axis=1), curve)
    return float(middle + half * fine[int(np.argmax(height))])


def _plan_area_mm2(shape: ComparedShape) -> float:
    """Return half of what all facets of a closed mesh cover in plan: the area of its shadow where nothing overhangs."""
    a, b, c = shape.mesh.corners
    (ux, uy, _), (vx, vy, _) = (b - a).T, (c - a).T
    return float(np.abs(ux * vy - uy * vx).sum() / 4.0)


def _ends_mm(shape: ComparedShape) -> tuple[float, float]:
    """Return the heights of the lowest places at the tail end and at the nose tip."""
    if shape.body is not None:
        tails, tip = shape.body.port.grid([0.0], np.linspace(0.0, 1.0, 401))[0], shape.body.port.at(1.0, 0.0)
        return float(tails[tails[:, 0] <= tails[:, 0].min() + TIP_MM, 2].min()), float(tip[2])
    x, _, z = shape.mesh.vertices.T
    return float(z[x <= x.min() + TIP_MM].min()), float(z[x >= x.max() - TIP_MM].min())
