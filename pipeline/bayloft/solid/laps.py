"""What of a face lies within a width of its edge, measured along the surface: laps of cloth, tape lines, pinlines.

The places within a width of a line are all that geodesics of that length sweep, shot square from it, with a fan where
it turns away from the face: no crossed rays have to be sorted out. Each face is a graph over the plan, so the sweep is
put together there.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from bayloft.arithmetic import lengths, turned_vectors, unit_vectors
from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.solid.geodesics import shot
from bayloft.solid.surface import crowded_places

Array = NDArray[np.float64]
Face = Literal["deck", "bottom"]

APART_MM, OFF_POLE_MM = 5.0, 1.0
"""mm between rays along a line, about, and between the first and a tip: nearer to it none can start."""

BETWEEN, ROUNDS = 12, 2
"""Rays put between two of which one was stopped, and how often: the corner of what is swept lies between them."""

FAN = 40
"""Rays that turn round the root of a notch."""

LEG_MM, LEAST_MM2, CLEAN_MM = 12.5, 1e-7, 2e-3
"""mm of a ray between which the sweep is drawn; mm2 below which a triangle in plan is none; mm of a needle."""

ON_STRINGER_MM, NARROW_MM = 0.05, 1.0

PLACES = 2001


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lap:
    """What of the port half of a face lies within a width of its edge. `covered`, `clear`: within it and beyond, in
    plan; `line` (n, 2): where the lap ends, from the tail end to the nose, x and y off the stringer, mm; empty where
    the lap takes the whole face.
    """

    face: Face
    width_mm: float
    covered: shapely.Geometry
    clear: shapely.Geometry
    line: Array

    def off_mm(self, x_mm: float) -> float:
        """Return how far off the stringer the lap ends at a station, at the furthest; not a number where it takes the
        whole width.
        """
        if not len(self.line):
            return float("nan")
        across = shapely.LineString([(x_mm, -1.0), (x_mm, 2_000.0)])
        y = shapely.get_coordinates(shapely.intersection(shapely.LineString(self.line), across))[:, 1]
        return float(y.max()) if len(y) else float("nan")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sweep:
    """Rays beside one another: their places (n, legs + 1, 2) in plan, and which were stopped."""

    points: Array
    stopped: NDArray[np.bool_]

    def joined(self, other: _Sweep) -> _Sweep:
        return _Sweep(
            points=np.concatenate([self.points, other.points]), stopped=np.concatenate([self.stopped, other.stopped])
        )

    @property
    def triangles(self) -> Array:
        """What lies between neighbours, (m, 3, 2)."""
        near, far = self.points[:-1], self.points[1:]
        a, b, c, d = near[:, :-1], near[:, 1:], far[:, :-1], far[:, 1:]
        return np.concatenate([np.stack(each, axis=2).reshape(-1, 3, 2) for each in ((a, b, c), (b, d, c))])


def bounds_of(face: Face) -> tuple[float, float]:
    """Return between which v a face lies: from the apex of the rail to the stringer."""
    return (APEX, 1.0) if face == "deck" else (0.0, APEX)


def lap(body: Body, face: Face, width_mm: float) -> Lap:
    """Return what of a face lies within a width of its edge: the apex of the rail, and of a cut-off tail the wall's
    edge. A width of 0 gives the edge itself.
    """
    whole = face_plan(body, face)
    if width_mm <= 0.0:
        return Lap(face=face, width_mm=0.0, covered=shapely.Polygon(), clear=whole, line=edge_line(body, face))
    triangles = np.concatenate([sweep.triangles for sweep in _Edge(body, face, width_mm).sweeps()])
    (ax, ay), (bx, by) = ((triangles[:, i] - triangles[:, 0]).T for i in (1, 2))
    swept = shapely.union_all(shapely.polygons(triangles[np.abs(ax * by - ay * bx) > 2.0 * LEAST_MM2]))
    rest = shapely.difference(whole, swept)
    # A needle along the stringer, or at a notch, is none of the face.
    rest = rest.buffer(-CLEAN_MM, join_style="mitre").buffer(CLEAN_MM, join_style="mitre")
    clear = max(shapely.get_parts(rest), key=shapely.area, default=shapely.Polygon())
    if clear.buffer(-NARROW_MM).is_empty:
        # All that is left stands between the edge and the chords of the rays' starts.
        clear = shapely.Polygon()
    return Lap(
        face=face,
        width_mm=width_mm,
        covered=shapely.difference(whole, clear),
        clear=clear,
        line=_end_of(clear),
    )


def face_plan(body: Body, face: Face) -> shapely.Polygon:
    """Return the port half of a face in plan: from the stringer to its edge."""
    edge = edge_line(body, face)
    return shapely.Polygon(edge)


def along_stringer(body: Body, face: Face) -> tuple[Array, Array]:
    """Return places along the stringer of a face, tail first: their stations, and how far a tape along it has come."""
    v = min(_stringer_v(face), float(np.nextafter(1.0, 0.0)))
    line = body.port.grid(crowded_places(2 * PLACES - 1), [v])[:, 0]
    far = np.concatenate([[0.0], np.cumsum(lengths(np.diff(line, axis=0)))])
    return np.asarray(line[:, 0], dtype=np.float64), np.asarray(far, dtype=np.float64)


def edge_line(body: Body, face: Face) -> Array:
    """Return the edge of the port half of a face in plan (n, 2), from the stringer at the tail end to the nose."""
    apex = body.port.grid(crowded_places(PLACES), [APEX])[:, 0, :2]
    if body.end != "wall":
        return np.asarray(apex, dtype=np.float64)
    v = np.linspace(_stringer_v(face), APEX, PLACES // 4)
    return np.concatenate([body.port.grid([0.0], v)[0, :-1, :2], apex])


def _stringer_v(face: Face) -> float:
    return 1.0 if face == "deck" else 0.0


class _Edge:
    """The edge of the port half of a face, from which rays are shot."""

    def __init__(self, body: Body, face: Face, width_mm: float) -> None:
        self._body, self._port, self._face, self._width = body, body.port, face, width_mm
        self._bounds, self._stringer = bounds_of(face), _stringer_v(face)
        self._legs = max(int(np.ceil(width_mm / LEG_MM)), 2)

    def sweeps(self) -> list[_Sweep]:
        """Return what each piece of the edge sweeps: the rail with its tips, the wall, the root of a notch."""
        walled = self._body.end == "wall"
        rail = _refined(self._from_rail, self._even(lambda u: self._port.grid(u, [APEX])[:, 0], closed=not walled))
        rail = rail.joined(self._along_stringer(1.0))
        if not walled:
            return [self._along_stringer(0.0).joined(rail)]
        places = self._even(lambda share: self._port.grid([0.0], self._wall_v(share))[0], closed=None)
        return [rail, _refined(self._from_wall, places), *self._fan()]

    def _wall_v(self, share: Array) -> Array:
        return APEX + share * (self._stringer - APEX)

    def _from_rail(self, u: Array) -> _Sweep:
        side = 1.0 if self._face == "deck" else -1.0
        beside = APEX if self._face == "deck" else float(np.nextafter(APEX, 0.0))
        along, across = self._port.grid(u, [APEX], 1, 0)[:, 0], self._port.grid(u, [beside], 0, 1)[:, 0]
        return self._shot(u, np.full_like(u, APEX), _square(side * across, along))

    def _from_wall(self, share: Array) -> _Sweep:
        v = self._wall_v(share)
        ahead, along = (self._port.grid([0.0], self._inside(v), *order)[0] for order in ((1, 0), (0, 1)))
        return self._shot(np.zeros_like(v), v, _square(ahead, along))

    def _fan(self) -> list[_Sweep]:
        """Return what is swept from the root of a notch, between the stringer and square to the wall."""
        v = self._inside(np.array([self._stringer]))
        ahead, along = (self._port.grid([0.0], v, *order)[0, 0] for order in ((1, 0), (0, 1)))
        square = _square(ahead[None], along[None])[0]
        if square[1] <= 1e-6 * float(lengths(square)):
            return []
        first, last = unit_vectors(ahead), unit_vectors(square)
        ways = turned_vectors(first, last, np.linspace(0.0, 1.0, FAN + 1)[1:, None])
        rays = self._shot(np.zeros(FAN), np.full(FAN, float(v[0])), ways)
        return [self._along_stringer(0.0).joined(rays)]

    def _shot(self, u: Array, v: Array, ahead: Array) -> _Sweep:
        rays = shot(self._port, (u, v), ahead, self._width, bounds=self._bounds, legs=self._legs)
        return _Sweep(points=rays.points[..., :2], stopped=rays.stopped)

    def _inside(self, v: Array) -> Array:
        return np.clip(v, self._bounds[0], float(np.nextafter(self._bounds[1], 0.0)))

    def _along_stringer(self, end: float) -> _Sweep:
        """Return the ray of a tip, or of a notch's root: the stringer's own line from an end."""
        stations, far = along_stringer(self._body, self._face)
        if end == 1.0:
            stations, far = stations[::-1], far[-1] - far[::-1]
        x = np.interp(np.linspace(0.0, self._width, self._legs + 1), far, stations)
        return _Sweep(points=np.column_stack([x, np.zeros_like(x)])[None], stopped=np.zeros(1, dtype=np.bool_))

    def _even(self, places: Callable[[Array], Array], *, closed: bool | None) -> Array:
        """Return parameters about APART_MM apart along a curve, clear of its tips: the end, and the start if closed."""
        t = crowded_places(PLACES)
        far = np.concatenate([[0.0], np.cumsum(lengths(np.diff(places(t), axis=0)))])
        first = OFF_POLE_MM if closed else 0.0
        last = float(far[-1]) - (0.0 if closed is None else OFF_POLE_MM)
        count = max(int(np.ceil((last - first) / APART_MM)), 2)
        return np.interp(np.linspace(first, last, count + 1), far, t)


def _refined(made: Callable[[Array], _Sweep], places: Array) -> _Sweep:
    """Return the rays of places along a line, more of them between two of which one was stopped."""
    sweep = made(places)
    for _ in range(ROUNDS):
        at = np.flatnonzero(sweep.stopped[:-1] != sweep.stopped[1:])
        if not len(at):
            break
        shares = np.arange(1, BETWEEN + 1) / (BETWEEN + 1)
        more = (places[at, None] + (places[at + 1] - places[at])[:, None] * shares).ravel()
        both = sweep.joined(made(more))
        places = np.concatenate([places, more])
        order = np.argsort(places, kind="stable")
        places = places[order]
        sweep = _Sweep(points=both.points[order], stopped=both.stopped[order])
    return sweep


def _square(across: Array, along: Array) -> Array:
    """Return what of vectors (n, 3) is square to others."""
    unit = unit_vectors(along)
    return np.asarray(across - (across * unit).sum(axis=1, keepdims=True) * unit, dtype=np.float64)


def _end_of(clear: shapely.Geometry) -> Array:
    """Return the border of what is clear of a lap but for the stringer, from the tail end to the nose."""
    if clear.is_empty:
        return np.zeros((0, 2))
    ring = shapely.get_coordinates(clear.exterior)[:-1]
    off = ring[:, 1] > ON_STRINGER_MM
    # Round the ring from its foremost place on the stringer, counter-clockwise: over port to its rearmost.
    start = int(np.argmax(np.where(off, -np.inf, ring[:, 0])))
    turned = np.roll(ring, -start, axis=0)
    area = shapely.Polygon(ring).exterior.is_ccw
    turned = turned if area else np.concatenate([turned[:1], turned[:0:-1]])
    last = int(np.flatnonzero(turned[:, 1] > ON_STRINGER_MM)[-1])
    line = turned[: min(last + 2, len(turned))]
    return np.asarray(line[::-1], dtype=np.float64)
