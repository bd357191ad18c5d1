"""A body as faces, edges and vertices that a CAD kernel joins to a solid: the same knots and net, nothing fitted.

A side is one face between each two joints of its surface. The wall of a cut-off tail is, on each side, one face for
each piece of the deck's edge: that edge drawn straight down, to where the bottom's edge lies under it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from bayloft.solid.body import Body
from bayloft.solid.surface import DEGREE, Surface

Array = NDArray[np.float64]

SAME_MM = 1e-5
"""mm across within which two joints of a wall's edges lie over one another: a lower edge is not cut there."""

FLAT_MM = 1e-7
"""mm that a wall's edge may leave a plane, and be in it: rounding of its control points, less than a kernel sees."""

GAP_PLACES = 2001
"""Places on a wall's lower edge at which it is looked how far it lies off what the deck's edge draws."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SplineCurve:
    """A cubic curve: clamped `knots`, control `points` (n, 3) in mm."""

    knots: Array
    points: Array


@dataclass(frozen=True, slots=True, kw_only=True)
class Edge:
    """An edge from one vertex to another, by their numbers; along the curve of a number, or straight."""

    start: int
    stop: int
    curve: int | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Flat:
    """A plane through a place (3,) in mm, with its unit normal (3,)."""

    place: Array
    normal: Array


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BrepFace:
    """A face on a surface: a patch of a side, a plane, or the curve of that number drawn straight up; whether it faces
    the way in which the surface's own normal points, S_u x S_v, or that of the curve's direction and up; its edges
    counter-clockwise seen from outside, each with whether it is run forward.
    """

    surface: Surface | Flat | int
    same_sense: bool
    loop: tuple[tuple[int, bool], ...]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Brep:
    """A closed solid; gap_mm: how far at most an edge lies off a face that it bounds."""

    vertices: Array
    curves: tuple[SplineCurve, ...]
    edges: tuple[Edge, ...]
    faces: tuple[BrepFace, ...]
    gap_mm: float


@dataclass(slots=True)
class _Shell:
    """What has been gathered of a solid: each vertex once by its place, each edge once by what it is."""

    vertices: dict[tuple[float, ...], int] = field(default_factory=dict)
    curves: list[SplineCurve] = field(default_factory=list)
    edges: list[Edge] = field(default_factory=list)
    faces: list[BrepFace] = field(default_factory=list)
    known: dict[object, int] = field(default_factory=dict)

    def vertex(self, place: Array) -> int:
        """Return the number of the vertex at a place."""
        return self.vertices.setdefault(tuple((np.asarray(place) + 0.0).tolist()), len(self.vertices))

    def curve(self, key: object, knots: Array, points: Array) -> int:
        """Return the number of a curve."""
        if key not in self.known:
            self.known[key] = len(self.curves)
            self.curves.append(SplineCurve(knots=knots, points=points))
        return self.known[key]

    def edge(self, key: object, start: Array, stop: Array, curve: int | None) -> int:
        """Return the number of an edge."""
        if key not in self.known:
            self.known[key] = len(self.edges)
            self.edges.append(Edge(start=self.vertex(start), stop=self.vertex(stop), curve=curve))
        return self.known[key]

    def closed(self, gap_mm: float) -> Brep:
        """Return the solid."""
        return Brep(
            vertices=np.array(list(self.vertices)),
            curves=tuple(self.curves),
            edges=tuple(self.edges),
            faces=tuple(self.faces),
            gap_mm=gap_mm,
        )


def board_brep(body: Body) -> Brep:
    """Return the solid of a board's body, symmetric in y = 0.

    Raises ValueError for a body of another kind.
    """
    if body.starboard is not None or body.end == "face":
        raise ValueError("no board's body")
    shell = _Shell()
    wall = _Wall(body) if body.end == "wall" else None
    for side in (1.0, -1.0):
        _sides(shell, body, wall, side)
        if wall is not None:
            _walls(shell, body, wall, side)
    return shell.closed(0.0 if wall is None else wall.gap_mm)


def fin_brep(body: Body) -> Brep:
    """Return the solid of a fin's body, which stands on the plane z = 0.

    Raises ValueError for a body of another kind.
    """
    if body.end != "face":
        raise ValueError("no fin's body")
    shell, base = _Shell(), []
    joints = body.port.joints.tolist()
    corner = joints[-2]
    for side in (1.0, -1.0):
        rows = []
        own = body.port if side > 0.0 or body.starboard is None else body.starboard
        turned = np.array([1.0, side if body.starboard is None else 1.0, 1.0])
        # The trailing edge of a fin that is flat inside is all on the outer side.
        ends = joints if own is body.port else [v for v in joints if v <= corner]
        for low, high in pairwise(ends):
            patch = _piece(own, low, high, turned)
            row = shell.edge(
                ("row", low, side),
                patch.net[0, 0],
                patch.net[0, -1],
                shell.curve(("foot", low, side), patch.knots_v, patch.net[0]),
            )
            rows.append(row)
            _add_patch(shell, patch, (low, high), (ends[0], ends[-1]), [row], side)
        base += [(row, False) for row in reversed(rows)] if side > 0.0 else [(row, True) for row in rows]
    flat = Flat(place=np.zeros(3), normal=np.array([0.0, 0.0, -1.0]))
    shell.faces.append(BrepFace(surface=flat, same_sense=True, loop=tuple(base)))
    return shell.closed(0.0)


class _Wall:
    """The upright wall of a cut-off tail: where its upper and lower edge are parted, by v at u = 0."""

    def __init__(self, body: Body) -> None:
        self._port = body.port
        joints = body.port.joints.tolist()
        corner = min(joints, key=lambda v: abs(v - body.wall_corner))
        self.upper = [v for v in joints if v >= corner]
        lower = [v for v in joints if v <= corner]
        self.feet = [corner, *(self._foot(v, lower) for v in self.upper[1:-1]), 0.0]
        self.breaks = sorted({*lower, *self.feet, *self.upper})

    def at(self, v: float) -> Array:
        """Return the place of the edge at v."""
        return np.asarray(self._port.at(0.0, v), dtype=np.float64)

    def _foot(self, v: float, lower: list[float]) -> float:
        """Return where on the lower edge the foot of the upright through an upper joint stands: at a joint, if near."""
        y = float(self.at(v)[1])
        near = min(lower, key=lambda each: abs(float(self.at(each)[1]) - y))
        if abs(float(self.at(near)[1]) - y) <= SAME_MM:
            return near
        return float(brentq(lambda at: float(self.at(at)[1]) - y, lower[0], lower[-1], xtol=1e-15))

    @property
    def gap_mm(self) -> float:
        """How far the lower edge lies off the upright surface through the upper one, or an upright off upright."""
        worst = 0.0
        for high, foot in ((pair, feet) for pair, feet in zip(pairwise(self.upper), pairwise(self.feet), strict=True)):
            top = self._port.grid([0.0], np.linspace(*high, GAP_PLACES))[0, :, :2]
            low = self._port.grid([0.0], np.linspace(*foot, GAP_PLACES))[0, :, :2]
            order = np.argsort(top[:, 1], kind="stable")
            step = np.gradient(top[order, 0], top[order, 1], edge_order=1)
            off = low[:, 0] - np.interp(low[:, 1], top[order, 1], top[order, 0])
            steep = np.interp(low[:, 1], top[order, 1], step)
            worst = max(worst, float(np.abs(off / np.hypot(1.0, steep)).max()))
        for v, foot in zip(self.upper, self.feet, strict=True):
            worst = max(worst, float(np.hypot(*(self.at(v) - self.at(foot))[:2])))
        return worst


def _piece(surface: Surface, low: float, high: float, turned: Array) -> Surface:
    """Return a surface between two joints as one of its own, its knots taken as they are and its net times `turned`."""
    knots = surface.knots_v
    first = int(np.searchsorted(knots, low, side="right")) - DEGREE - 1
    last = int(np.searchsorted(knots, high, side="left"))
    inner = knots[(knots > low) & (knots < high)]
    own = np.concatenate([np.full(DEGREE + 1, low), inner, np.full(DEGREE + 1, high)])
    return Surface(knots_u=surface.knots_u, knots_v=own, net=surface.net[:, max(first, 0) : last] * turned + 0.0)


def _sides(shell: _Shell, body: Body, wall: _Wall | None, side: float) -> None:
    """Add the faces of a side: port 1, starboard -1."""
    turned = np.array([1.0, side, 1.0])
    joints = body.port.joints.tolist()
    for low, high in pairwise(joints):
        patch = _piece(body.port, low, high, turned)
        rows: list[int] = []
        if wall is not None:
            inside = [v for v in wall.breaks if low <= v <= high]
            rows = [_row(shell, wall, patch, (low, high), ends, side) for ends in pairwise(inside)]
        _add_patch(shell, patch, (low, high), (joints[0], joints[-1]), rows, side)


def _add_patch(
    shell: _Shell,
    patch: Surface,
    between: tuple[float, float],
    ends: tuple[float, float],
    rows: Sequence[int],
    side: float,
) -> None:
    """Add the face of a patch between two joints in v, with its edges at u = 0; both sides share the columns at the
    first and the last of their joints.
    """
    columns = []
    for v, net in zip(between, (patch.net[:, 0], patch.net[:, -1]), strict=True):
        key = ("column", ends.index(v), 0.0) if v in ends else ("column", v, side)
        columns.append(shell.edge(key, net[0], net[-1], shell.curve(("along", key), patch.knots_u, net)))
    loop = [(columns[1], True), (columns[0], False), *((row, True) for row in rows)]
    shell.faces.append(BrepFace(surface=patch, same_sense=side < 0.0, loop=_run(loop, side)))


def _row(
    shell: _Shell, wall: _Wall, patch: Surface, joints: tuple[float, float], ends: tuple[float, float], side: float
) -> int:
    """Return the edge of a patch at u = 0 between two of the wall's breaks."""
    curve = shell.curve(("lower or upper", joints, side), patch.knots_v, patch.net[0])
    turned = np.array([1.0, side, 1.0])
    places = [
        patch.net[0, 0 if v == joints[0] else -1] if v in joints else np.round(wall.at(v), 9) * turned for v in ends
    ]
    return shell.edge(("row", ends, side), places[0], places[1], curve)


def _walls(shell: _Shell, body: Body, wall: _Wall, side: float) -> None:
    """Add the faces of a side's wall."""
    joints = body.port.joints.tolist()
    for (outer, inner), (outer_foot, inner_foot) in zip(pairwise(wall.upper), pairwise(wall.feet), strict=True):
        deck = shell.known["row", (outer, inner), side]
        curve = shell.edges[deck].curve
        assert curve is not None
        lower = [v for v in wall.breaks if inner_foot <= v <= outer_foot]
        under = [shell.known["row", ends, side] for ends in pairwise(lower)]
        edges = shell.edges
        loop = [(_upright(shell, edges[under[0]].start, edges[deck].stop, 0.0 if inner == joints[-1] else side), True)]
        loop.append((deck, False))
        if edges[deck].start != edges[under[-1]].stop:
            loop.append((_upright(shell, edges[under[-1]].stop, edges[deck].start, side), False))
        loop += [(row, False) for row in reversed(under)]
        flat = _flat(shell.curves[curve].points, side)
        same = side > 0.0 or flat is not None
        shell.faces.append(BrepFace(surface=curve if flat is None else flat, same_sense=same, loop=_run(loop, side)))


def _flat(points: Array, side: float) -> Flat | None:
    """Return the upright plane that a deck's edge lies in, facing aft; None where it is curved in plan."""
    way = points[-1, :2] - points[0, :2]
    normal = np.array([way[1], -way[0]]) * side / float(np.hypot(*way))
    off = (points[:, :2] - points[0, :2]) @ normal
    if float(np.abs(off).max()) > FLAT_MM:
        return None
    return Flat(place=points[0], normal=np.array([normal[0], normal[1], 0.0]) + 0.0)


def _upright(shell: _Shell, low: int, high: int, side: float) -> int:
    key = ("upright", low, high, side)
    if key not in shell.known:
        shell.known[key] = len(shell.edges)
        shell.edges.append(Edge(start=low, stop=high, curve=None))
    return shell.known[key]


def _run(loop: list[tuple[int, bool]], side: float) -> tuple[tuple[int, bool], ...]:
    """Return a port loop as it is run, or turned round for starboard."""
    return tuple(loop) if side > 0.0 else tuple((edge, not forward) for edge, forward in reversed(loop))
