"""The half-section: five cubic Bezier segments from bottom centre round the rail to deck centre.

Bottom inner, bottom outer to the tuck edge, edge to apex, apex to shoulder, shoulder to deck centre. Everything is
smooth in the section's numbers, so that a soft rail forward becomes a hard edge aft without a seam.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

SEGMENTS = 5
APEX = 3 / SEGMENTS
"""Parameter v of the apex: the end of the third segment."""
EDGE = 2 / SEGMENTS
"""Parameter v of the tuck edge: the end of the second segment."""

QUARTER = 4 * (np.sqrt(2.0) - 1.0) / 3
"""Handle length of a quarter ellipse, as a share of its leg."""

ROLL_IN_TUCKS = 8.0 / (4.0 - 3.0 * QUARTER)
"""How far the rail's lower curve reaches inside the apex, in tucks: a quarter ellipse from there to the apex passes the
tuck's distance inside the apex at its middle parameter, which is where the soft edge sits."""

HARD_APEX_HANDLE = 0.5
"""Handle of the apex above a hard edge, as a share of the height between them: the rail leaves the edge at about 45
degrees when tuck and apex height are alike (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SectionNumbers:
    """The numbers of sections, arrays of one shape. Lengths in mm: half_width, thickness, apex (height of the widest
    point above the bottom at the stringer), tuck, crown, and the bottom's roll, vee, concave, double_concave. edge from
    0 (soft) to 1 (crease), fullness from 0 (pinched) to 1 (boxy).
    """

    half_width: Array
    thickness: Array
    apex: Array
    tuck: Array
    edge: Array
    fullness: Array
    crown: Array
    roll: Array
    vee: Array
    concave: Array
    double_concave: Array

    @property
    def edge_height(self) -> Array:
        """Height in mm of the bottom's own curve at the tuck edge, above the bottom at the stringer."""
        return self.roll + self.vee - self.concave


def _stack(y: list[Array], z: list[Array]) -> Array:
    return np.stack([np.stack(np.broadcast_arrays(*y), axis=-1), np.stack(np.broadcast_arrays(*z), axis=-1)], axis=-1)


def _bottom(n: SectionNumbers) -> tuple[Array, Array, Array, Array, Array]:
    """Return the bottom's linear and square coefficients over its flat half-width, that width, and M's y and slope.

    Roll and concave are parabolas, vee is straight, a double concave is a parabola between stringer and edge: together
    one quadratic z = a s + b s^2 with s = y / flat, exact in any cubic.
    """
    flat = n.half_width - n.tuck
    linear = n.vee + 4.0 * n.double_concave
    square = n.roll - n.concave - 4.0 * n.double_concave
    inner = n.half_width - ROLL_IN_TUCKS * n.tuck
    slope = (linear + 2.0 * square * inner / flat) / flat
    return linear, square, flat, inner, slope


def control_points(n: SectionNumbers) -> Array:
    """Return the Bezier control points of half-sections: shape (..., 16, 2), (y, z) in mm, z above bottom centre.

    The edge is blended linearly between two shapes: soft, a quarter ellipse from the bottom to the apex split at its
    middle; hard, the bottom's own quadratic carried to the edge, and a rail curve that starts there with no handle.
    The handle leaving the edge keeps the direction of the one arriving, so that every edge short of hard is smooth,
    with a radius that shrinks to a crease. The apex is exactly at half_width, deck centre exactly at thickness.
    """
    linear, square, flat, inner, slope = _bottom(n)
    zero = np.zeros_like(n.half_width)

    def bottom(y: Array) -> Array:
        s = y / flat
        return linear * s + square * s * s

    m_z = bottom(inner)
    # Bottom inner: an exact quadratic, degree raised.
    third = inner / 3.0
    y0, z0 = [zero, third, inner - third, inner], [zero, linear / flat * third, m_z - slope * third, m_z]
    # Soft: the quarter ellipse M..A with its corner K, split at one half.
    k_z = m_z + slope * (n.half_width - inner)
    legs_y, legs_z = QUARTER * (n.half_width - inner), QUARTER * (k_z - m_z)
    q1y, q1z = inner + legs_y, m_z + legs_z
    q2z = n.apex - QUARTER * (n.apex - k_z)
    ay, az = (inner + q1y) / 2, (m_z + q1z) / 2
    by, bz = (q1y + n.half_width) / 2, (q1z + q2z) / 2
    cz = (q2z + n.apex) / 2
    soft_in_y, soft_in_z = (ay + by) / 2, (az + bz) / 2
    soft_out_z = (bz + cz) / 2
    soft_y, soft_z = (soft_in_y + (by + n.half_width) / 2) / 2, (soft_in_z + soft_out_z) / 2
    # Hard: the bottom's quadratic from M to the edge.
    reach = (flat - inner) / 3.0
    edge_slope = (linear + 2.0 * square) / flat
    hard_z = bottom(flat)
    h, soft = n.edge, 1.0 - n.edge
    edge_y, edge_z = soft * soft_y + h * flat, soft * soft_z + h * hard_z
    in_y = soft * (soft_y - soft_in_y) + h * reach
    in_z = soft * (soft_z - soft_in_z) + h * reach * edge_slope
    m1y, m1z = soft * ay + h * (inner + reach), soft * az + h * (m_z + slope * reach)
    apex_low = soft * cz + h * (n.apex - HARD_APEX_HANDLE * (n.apex - hard_z))
    y1, z1 = [m1y, edge_y - in_y, edge_y], [m1z, edge_z - in_z, edge_z]
    y2, z2 = [edge_y + soft * in_y, n.half_width, n.half_width], [edge_z + soft * in_z, apex_low, n.apex]
    deck_y, deck_z = _deck(n)
    return _stack(y0 + y1 + y2 + deck_y, z0 + z1 + z2 + deck_z)


def _deck(n: SectionNumbers) -> tuple[list[Array], list[Array]]:
    """Return y and z of the six control points beyond the apex: the shoulder's curve, then the deck's exact parabola.

    The rail rolls into the deck over a width that grows with the height above the apex and shrinks with fullness, and
    that never exceeds the half-width.
    """
    above = n.thickness - n.apex
    roll_width = (2.6 - 1.6 * n.fullness) * above
    rail = n.half_width * roll_width / (n.half_width + roll_width)
    shoulder = n.half_width - rail
    drop = n.crown * (shoulder / n.half_width) ** 2
    slope = -2.0 * n.crown * shoulder / n.half_width**2
    shoulder_z = n.thickness - drop
    corner_z = shoulder_z + slope * rail
    handle = 0.45 + 0.25 * n.fullness
    third = shoulder / 3.0
    zero = np.zeros_like(n.half_width)
    y = [n.half_width, shoulder + handle * rail, shoulder, shoulder - third, third, zero]
    z = [
        n.apex + handle * (corner_z - n.apex),
        shoulder_z + handle * (corner_z - shoulder_z),
        shoulder_z,
        shoulder_z - slope * third,
        n.thickness,
        n.thickness,
    ]
    return y, z


def points(control: Array, v: ArrayLike) -> Array:
    """Return points of half-sections: control (..., 16, 2) and v in [0, 1], broadcast against (...); result (..., 2).

    A cubic Bezier per segment (Bernstein form); v runs evenly over the five segments.
    """
    v = np.asarray(v, dtype=np.float64)
    segment = np.clip(np.floor(v * SEGMENTS).astype(np.int64), 0, SEGMENTS - 1)
    t = v * SEGMENTS - segment
    s = 1.0 - t
    weights = np.stack([s**3, 3 * s * s * t, 3 * s * t * t, t**3], axis=-1)
    which = 3 * segment[..., None] + np.arange(4)
    shape = np.broadcast_shapes(control.shape[:-2], v.shape)
    chosen = np.take_along_axis(
        np.broadcast_to(control, (*shape, *control.shape[-2:])), np.broadcast_to(which, (*shape, 4))[..., None], axis=-2
    )
    return np.asarray((np.broadcast_to(weights, (*shape, 4))[..., None] * chosen).sum(axis=-2), dtype=np.float64)
