"""The curves of a board that drawings show, taken from its surface: outline, profile, sections, at full size in mm."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from bayloft.lines.board import BoardLines
from bayloft.lines.section_places import APEX
from bayloft.lines.wall import Wall
from bayloft.plane.biarcs import Stretch, fitted
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.measure import section

Array = NDArray[np.float64]

PLACES = 241
"""Points of a line along the board that is drawn through points: on paper they stand 3 mm apart at most, where such a
line leaves its chords by less than 2 micrometres."""

EDGE_PLACES = 121
SECTION_PLACES = 16


def plan_outline(lines: BoardLines, body: Body, tolerance_mm: float, to_u: float = 1.0) -> Contour:
    """Return the outline of the port half: an open contour from the stringer at the tail end round to the nose tip, or
    to where the surface's parameter is `to_u`.

    Arcs and lines within `tolerance_mm` of the apex line of the surface; a cut-off tail starts with the wall, its
    corner kept.
    """
    port = body.port

    def apex(u: Array) -> tuple[Array, Array]:
        points, tangents = (port.grid(u, [APEX], du=order)[:, 0, :2] for order in (0, 1))
        # At a closed end the station stands still while the width goes on: the tangent's limit is square to the x axis.
        tangents[u == 1.0] = (0.0, -1.0)
        if lines.wall is None:
            tangents[u == 0.0] = (0.0, 1.0)
        return points, tangents

    edge = fitted([(apex, 0.0, to_u)], tolerance_mm)
    return edge if lines.wall is None else Contour.joined(*_wall(lines.wall, tolerance_mm), edge, closed=False)


def _wall(wall: Wall, tolerance_mm: float) -> list[Contour]:
    """Return the wall in plan from the stringer to the corner."""

    def along(y: Array) -> tuple[Array, Array]:
        return np.column_stack([wall.base(y), y]), np.column_stack([wall.base.slope(y), np.ones_like(y)])

    base: Stretch = (along, 0.0, wall.arc_from_mm)
    parts = [fitted([base], tolerance_mm)]
    if wall.radius_mm > 0.0:
        start = np.array([float(wall.base(wall.arc_from_mm)), wall.arc_from_mm])
        end = np.array([wall.corner_x_mm, wall.corner_y_mm])
        first, last = (np.arctan2(*(point - wall.centre_mm)[::-1]) for point in (start, end))
        # From the wall to the outline the corner turns clockwise.
        sweep = -float(np.mod(first - last, 2 * np.pi))
        parts.append(Contour(points=np.array([start, end]), bulges=np.array([np.tan(sweep / 4), 0.0]), closed=False))
    return parts


def side_view(lines: BoardLines, body: Body) -> Contour:
    """Return the board from the side at the stringer, closed, as (x, z); of a notched tail the tip as well."""
    u = np.linspace(0.0, 1.0, PLACES)
    stringers = body.port.grid(u, [0.0, 1.0])[..., [0, 2]]
    bottom, deck = stringers[:, 0], stringers[::-1, 1]
    parts = [bottom, deck[1:]]
    if lines.wall is not None and lines.wall.corner_x_mm < float(lines.wall.base(0.0)):
        parts.append(body.port.grid([0.0], np.linspace(1.0, 0.0, EDGE_PLACES))[0][1:-1, [0, 2]])
    elif lines.wall is None:
        parts[1] = parts[1][:-1]
    return Contour.straight(np.concatenate(parts), closed=True)


def rail_line(body: Body) -> Contour:
    """Return the line of the rail's apex from the side, open, as (x, z)."""
    points = body.port.grid(np.linspace(0.0, 1.0, PLACES), [APEX])[:, 0, [0, 2]]
    return Contour.straight(points, closed=False)


def whole_section(body: Body, x_mm: float) -> tuple[Contour, ...]:
    """Return the section at a station, both halves, as (-y, z): one closed contour, or two where a notch parts it.

    Looking forward, port lies to the left.
    """
    points = section(body, x_mm, SECTION_PLACES).points
    half = points * np.array([-1.0, 1.0])
    other = points[::-1]
    if max(abs(half[0, 0]), abs(half[-1, 0])) > 1e-6:
        return Contour.straight(half, closed=True), Contour.straight(other, closed=True)
    return (Contour.straight(np.concatenate([half[:-1], other[:-1]]), closed=True),)
