"""Where a plane cuts a body's surface: its line on the port half, how long and how wide that is, what of the stringer
is under it.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import Literal

import numpy as np
from contourpy import LineType, contour_generator
from numpy.typing import NDArray

from bayloft.arithmetic import product
from bayloft.solid.body import Body
from bayloft.solid.cubics import crossings, from_splines
from bayloft.solid.plane_cut import Plane

Array = NDArray[np.float64]

PER_SPAN = 2
"""Places in each knot span, either way, of the grid on which the line is traced."""
MOST_STEPS, CLOSE_MM, NEAR_MM = 20, 1e-9, 40.0
"""Steps of Newton's method, mm of the last of them, and how far from a traced point the furthest place may lie."""

FIRST_AND_SECOND = ((0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Waterline:
    """The line in which a plane cuts the port half of a body: its pieces, points (n, 3) in mm; from and to which
    station it reaches, and its greatest distance off the stringer. The pieces are within 0.05 mm, the other numbers
    exact.
    """

    pieces: tuple[Array, ...]
    from_mm: float
    to_mm: float
    half_beam_mm: float


def over_plane(points: Array, plane: Plane) -> Array:
    """Return how far points (..., 3) lie over a plane, square to it, mm."""
    return np.asarray(
        (points[..., 2] - plane.height_mm - plane.slope * points[..., 0]) / plane.steepness, dtype=np.float64
    )


def waterline(body: Body, plane: Plane) -> Waterline | None:
    """Return the line in which a plane cuts a body, None where it does not."""
    u, v = (_finer(breaks) for breaks in body.port.breaks)
    over = over_plane(body.port.grid(u, v), plane)
    traced = contour_generator(x=v, y=u, z=over, line_type=LineType.Separate).lines(0.0)
    if not traced:
        return None
    places = [np.asarray(piece, dtype=np.float64)[:, ::-1] for piece in traced]
    pieces = tuple(body.port.at(piece[:, 0], piece[:, 1]) for piece in places)
    found = np.concatenate(places)
    points = np.concatenate(pieces)
    ends = [furthest(body, plane, found[int(np.argmax(product(points, axis)))], axis) for axis in (-_X, _X, _Y)]
    # On the stringer the line is symmetric, so that its end there is a furthest place of its own.
    on_stringer = [x for face in ("bottom", "deck") for x in stringer_crossings(body, plane, face)]
    wall = _wall_crossings(body, plane)
    return Waterline(
        pieces=pieces,
        from_mm=min([ends[0][0], *on_stringer, *(x for x, _ in wall)]),
        to_mm=max([ends[1][0], *on_stringer]),
        half_beam_mm=max([ends[2][1], *(y for _, y in wall)]),
    )


_X, _Y = np.array([1.0, 0.0, 0.0]), np.array([0.0, 1.0, 0.0])


def _finer(breaks: Array) -> Array:
    return np.unique(np.concatenate([np.linspace(a, b, PER_SPAN + 1) for a, b in itertools.pairwise(breaks)]))


def furthest(body: Body, plane: Plane, start: Array, axis: Array) -> tuple[float, float]:
    """Return (x, y) in mm of the place on the line that lies furthest along an axis, near parameters `start` (2,) on
    it: Newton's method for both conditions; the start itself where it leads elsewhere.
    """
    first = body.port.at(*start)
    u, v = start
    for _ in range(MOST_STEPS):
        s, su, sv, suu, suv, svv = (body.port.at(u, v, *order) for order in FIRST_AND_SECOND)
        f, fu, fv, fuu, fuv, fvv = (each[2] - plane.slope * each[0] for each in (s, su, sv, suu, suv, svv))
        f -= plane.height_mm
        du, dv, duu, duv, dvv = (float((axis * each).sum()) for each in (su, sv, suu, suv, svv))
        g = du * fv - dv * fu
        gu, gv = duu * fv + du * fuv - duv * fu - dv * fuu, duv * fv + du * fvv - dvv * fu - dv * fuv
        determinant = fu * gv - fv * gu
        if determinant == 0.0:
            break
        step = np.array([-(f * gv - g * fv) / determinant, -(g * fu - f * gu) / determinant])
        u, v = u + step[0], v + step[1]
        if not (0.0 <= u <= 1.0 and 0.0 <= v <= 1.0):
            break
        if float(np.abs(su * step[0] + sv * step[1]).max()) < CLOSE_MM:
            end = body.port.at(u, v)
            if np.abs(end - first).max() < NEAR_MM and float((axis * (end - first)).sum()) >= -CLOSE_MM:
                return float(end[0]), float(end[1])
            break
    return float(first[0]), float(first[1])


def stringer_crossings(body: Body, plane: Plane, face: Literal["bottom", "deck"]) -> list[float]:
    """Return the stations in mm at which bottom or deck at the stringer passes a plane, ascending."""
    net = body.port.net[:, 0 if face == "bottom" else -1]
    return sorted(float(x) for x, _ in _crossed(net, body.port.knots_u, plane))


def _wall_crossings(body: Body, plane: Plane) -> list[tuple[float, float]]:
    """Return where the edge of a cut-off tail passes a plane: (x, y) in mm."""
    if body.end != "wall":
        return []
    return _crossed(body.port.net[0], body.port.knots_v, plane)


def _crossed(net: Array, knots: Array, plane: Plane) -> list[tuple[float, float]]:
    """Return (x, y) in mm where a cubic spline with coefficients (n, 3) passes a plane."""
    first, matrices = from_splines(knots)
    found = []
    for begin, matrix in zip(first.tolist(), matrices, strict=True):
        own = (matrix[:, :, None] * net[begin : begin + 4]).sum(axis=1)
        over = own[:, 2] - plane.height_mm - plane.slope * own[:, 0]
        if over.min() >= 0.0 or over.max() < 0.0:
            continue
        for t in crossings(over):
            basis = np.array([(1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3])
            x, y, _ = (basis[:, None] * own).sum(axis=0).tolist()
            found.append((x, y))
    return found
