"""What lies under a laminate: the solid whose surface is everywhere as far inside that of a board as the laminate is
thick, where the surface bears it.
"""

from __future__ import annotations

from dataclasses import dataclass

import manifold3d
import numpy as np
import shapely
from numpy.typing import NDArray

from bayloft.arithmetic import lengths, unit_vectors
from bayloft.solid.assembly import cut_solid
from bayloft.solid.body import Body
from bayloft.solid.closest import Nearest
from bayloft.solid.mesh import Mesh, single_precision, solid_of
from bayloft.solid.meshing import grid_for
from bayloft.solid.offsetting import Allowance, OffsetError, OffsetRows, sound
from bayloft.solid.surface import Surface

Array = NDArray[np.float64]

CREASE_DEG = 4.0
"""Degrees that a skin may turn over a joint and still be smooth: a little more than what its net leaves."""

CLEAR_OF_TIP = 1e-3
"""Of the surface's parameter that its curvature is not looked at beside a tip, where its axes fall together; a tip is
no sharper there than just beside it."""

PLACES = 6
"""In each span of the surface, along and across, at which its curvature is looked at."""

SAMPLED = 6_000
FAR_MM = 1e4
ROUND_STEPS = 64
"""Steps of a quarter turn about the corners of a cut-off tail."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sharpest:
    """Where a board bends most outward: the radius there, 0 at a crease, and the place (x, y, z), mm."""

    radius_mm: float
    place_mm: tuple[float, float, float]


def sharpest(body: Body) -> Sharpest:
    """Return where the skin of a board bends most outward: its greatest principal curvature at PLACES in each span, or
    a crease. The edges of a cut-off tail are not looked at: there foam is cut off square, and a laminate goes round.
    """
    port = body.port
    ends = CLEAR_OF_TIP, 1.0 - CLEAR_OF_TIP
    u = _between(port.breaks[0], *(ends if body.end == "closed" else (0.0, ends[1])))
    v = _between(port.breaks[1], 0.0, 1.0)
    su, sv, suu, suv, svv = (port.grid(u, v, *order) for order in ((1, 0), (0, 1), (2, 0), (1, 1), (0, 2)))
    normal = unit_vectors(np.cross(sv, su))
    e, f, g = ((a * b).sum(axis=-1) for a, b in ((su, su), (su, sv), (sv, sv)))
    # Outward bends count above 0.
    low, mid, high = (-(a * normal).sum(axis=-1) for a in (suu, suv, svv))
    area = np.maximum(e * g - f * f, 1e-12 * e * g)
    mean = (e * high - 2.0 * f * mid + g * low) / (2.0 * area)
    gauss = (low * high - mid * mid) / area
    greatest = mean + np.sqrt(np.maximum(mean * mean - gauss, 0.0))
    row, column = np.unravel_index(int(np.argmax(greatest)), greatest.shape)
    found = 1.0 / max(float(greatest[row, column]), 1e-9), port.at(u[row], v[column])
    for joint in port.joints[1:-1].tolist():
        left, right = (_normal(port, u, at) for at in (float(np.nextafter(joint, 0.0)), joint))
        ridge = ((right - left) * port.grid(u, [joint], 0, 1)[:, 0]).sum(axis=1) > 0.0
        turn = np.where(ridge, 2.0 * np.arcsin(np.minimum(lengths(right - left) / 2.0, 1.0)), 0.0)
        worst = int(np.argmax(turn))
        if np.degrees(turn[worst]) > CREASE_DEG:
            found = 0.0, port.at(u[worst], joint)
            break
    x, y, z = (float(value) for value in found[1])
    return Sharpest(radius_mm=found[0], place_mm=(x, y, z))


def _normal(port: Surface, u: Array, v: float) -> Array:
    """Return outward unit normals (n, 3) along a v."""
    normal = np.cross(port.grid(u, [v], 0, 1)[:, 0], port.grid(u, [v], 1, 0)[:, 0])
    return unit_vectors(normal)


def _between(breaks: Array, low: float, high: float) -> Array:
    steps = (np.arange(PLACES) + 0.5) / PLACES
    inner = (breaks[:-1, None] + np.diff(breaks)[:, None] * steps).ravel()
    return np.clip(inner, low, high)


def under_laminate(body: Body, thickness_mm: float, tolerance_mm: float) -> Mesh:
    """Return the solid that lies `thickness_mm` within a board's surface everywhere, its chords within a tolerance.

    Raises
    ------
    MeshingError
        Where no mesh follows the body itself.
    OffsetError
        Where the surface bends outward by a lesser radius, or what came out is no such solid.
    """
    tight = sharpest(body)
    if thickness_mm > tight.radius_mm:
        x, y, _ = tight.place_mm
        edge = "there is a crease" if tight.radius_mm == 0.0 else f"the least radius is {tight.radius_mm:.2f} mm"
        text = f"{thickness_mm:g} mm of laminate: {edge}, {x:.0f} mm from the tail and {y:.0f} mm off the middle, so "
        raise OffsetError(text + "the foam under it would have no shape of its own there")
    rows = OffsetRows(body, grid_for(body, tolerance_mm), Allowance.even(-thickness_mm), tolerance_mm)
    mesh, folded = rows.closed()
    mesh = _cut_at_wall(mesh, body, thickness_mm) if body.end == "wall" else single_precision(mesh)
    a, b, c = mesh.corners
    middles = (a + b + c)[:: max(len(mesh.triangles) // SAMPLED, 1)] / 3.0
    depth = Nearest(body).feet(middles).depth_mm
    off = max(thickness_mm - float(depth.min()), 0.0)
    if not sound(mesh) or folded or off > 2.0 * tolerance_mm:
        raise OffsetError(f"{thickness_mm:g} mm of laminate leaves no sound solid under it ({off:.3f} mm too near)")
    return mesh


def _cut_at_wall(mesh: Mesh, body: Body, thickness_mm: float) -> Mesh:
    """Return a solid without all that is nearer to the wall than that."""
    port = body.port.grid([0.0], np.linspace(0.0, body.wall_corner, 801))[0, :, :2]
    # From the corner on starboard over the stringer to that on port, and round behind the board.
    plan = np.concatenate([(port * [1.0, -1.0])[::-1], port])
    region = shapely.Polygon([*plan, (-FAR_MM, float(plan[-1, 1])), (-FAR_MM, float(plan[0, 1]))])
    near = region.buffer(thickness_mm, quad_segs=ROUND_STEPS)
    section = manifold3d.CrossSection([np.asarray(near.exterior.coords)[:-1].tolist()], manifold3d.FillRule.NonZero)
    prism = manifold3d.Manifold.extrude(section, 2.0 * FAR_MM).translate((0.0, 0.0, -FAR_MM))
    return cut_solid(solid_of(mesh) - prism)
