"""Where the middle of a ball is that touches a board: rows of its centre surface, S + r n, at equal arc from a line.

A zone is what lies between two lines of the surface, v = const: deck from the apex up to the stringer, bottom from its
edge in to the stringer and out to the apex. At each u the centre curve of a zone is a chain of pieces, one for each
stretch of the surface between two joints, with an arc of the ball about each crease that is outward, and one over a
stringer that is a ridge. A pass is the line of equal arc along that curve: its neighbours are no further from it than
the step, measured across, anywhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import turned_vectors, unit_vectors
from bayloft.solid.body import Body

Array = NDArray[np.float64]

COLUMNS = 60
"""Places in each piece of a centre curve by which its arc is measured: chords of 5 mm on a deck, 0.3 mm on a rail."""
LINK_MM = 0.3
"""From place to place on the way from pass to pass across the end of a board."""
FAN_COLUMNS = 9
"""Places on an arc about a crease."""
BESIDE = 1e-4
"""v beside the end of a piece, as a share of it, by which the normal there is told: on an edge that is a crease the
surface may have no slope of its own."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CentrePass:
    """A line of centres on the port side, by rising u: points (n, 3), outward normals (n, 3) of the surface there, and
    the number of steps from the zone's first line.
    """

    number: int
    points: Array
    normals: Array
    u: Array


class CentreZone:
    """The centres of a ball between two lines of a board's port side."""

    def __init__(self, body: Body, radius_mm: float, v_from: float, v_to: float, u: Array) -> None:
        self.body, self.radius_mm, self.u = body, radius_mm, u
        self._rising = v_to > v_from
        low, high = min(v_from, v_to), max(v_from, v_to)
        joints = body.port.joints
        inner = [float(v) for v in joints if low < v < high]
        ends = [low, *inner, high] if self._rising else [high, *inner[::-1], low]
        self._pieces: list[tuple[float, float] | float] = []
        for i, (first, last) in enumerate(pairwise(ends)):
            self._pieces += [(first, last)] if i == 0 else [first, (first, last)]
        self._to_stringer = v_to in (0.0, 1.0)
        if self._to_stringer:
            self._pieces.append(v_to)
        self._measure()

    def _measure(self) -> None:
        """Reckon the arc of each row's centre curve."""
        t, places = [], []
        for n, piece in enumerate(self._pieces):
            share = np.linspace(0.0, 1.0, COLUMNS if isinstance(piece, tuple) else FAN_COLUMNS)
            grid_u, grid_t = np.broadcast_arrays(self.u[:, None], (n + share)[None, :])
            t.append(n + share)
            points, _ = self._piece(n, grid_u.ravel(), (grid_t - n).ravel())
            places.append(points.reshape(len(self.u), -1, 3))
        self._t = np.concatenate(t)
        curve = np.concatenate(places, axis=1)
        self._end_t = np.full(len(self.u), float(len(self._pieces)))
        steps = np.sqrt((np.diff(curve, axis=1) ** 2).sum(axis=-1))
        self._arc = np.concatenate([np.zeros((len(self.u), 1)), np.cumsum(steps, axis=1)], axis=1)
        self.end_arc = self._arc[:, -1].copy()
        if self._to_stringer:
            self._cut_at_the_middle(curve)

    def _cut_at_the_middle(self, curve: Array) -> None:
        """End the rows where they run over the middle: the other half's own begin there."""
        over = curve[..., 1] < -1e-9
        for row in np.flatnonzero(over.any(axis=1)):
            at = int(np.argmax(over[row]))
            if at == 0:
                self._end_t[row], self.end_arc[row] = self._t[0], 0.0
                continue
            y0, y1 = curve[row, at - 1, 1], curve[row, at, 1]
            share = float(y0 / (y0 - y1))
            self._end_t[row] = self._t[at - 1] + share * (self._t[at] - self._t[at - 1])
            self.end_arc[row] = self._arc[row, at - 1] + share * (self._arc[row, at] - self._arc[row, at - 1])

    def _normals(self, u: Array, v: Array, towards: Array) -> Array:
        """Return outward unit normals (n, 3) at places, a hair `towards` other v."""
        beside = v + BESIDE * (towards - v)
        # At the very poles a level normal is the limit from every side.
        inner = np.clip(u, 1e-9, 1.0 - 1e-9) if self.body.end != "wall" else np.clip(u, 0.0, 1.0 - 1e-9)
        normal = np.cross(self.body.port.at(inner, beside, 0, 1), self.body.port.at(inner, beside, 1, 0))
        unit = unit_vectors(normal)
        unit[u >= 1.0 - 1e-9] = [1.0, 0.0, 0.0]
        if self.body.end == "closed":
            unit[u <= 1e-9] = [-1.0, 0.0, 0.0]
        return unit

    def _piece(self, n: int, u: Array, share: Array) -> tuple[Array, Array]:
        """Return centres (n, 3) and normals (n, 3) at places u (n,) and shares (n,) of a piece."""
        piece = self._pieces[n]
        if isinstance(piece, tuple):
            first, last = piece
            v = first + (last - first) * share
            middle = (first + last) / 2.0
            # The hair is nothing but at the piece's very ends.
            close = np.minimum(share, 1.0 - share) < BESIDE
            normal = self._normals(u, v, np.where(close, middle, v))
            return self._on(u, v) + self.radius_mm * normal, normal
        before = self._pieces[n - 1]
        assert isinstance(before, tuple)
        left = self._normals(u, np.full_like(u, piece), np.full_like(u, before[0]))
        if n + 1 < len(self._pieces):
            after = self._pieces[n + 1]
            assert isinstance(after, tuple)
            right = self._normals(u, np.full_like(u, piece), np.full_like(u, after[1]))
        else:
            level = unit_vectors(left * np.array([1.0, 0.0, 1.0]))
            # A stringer that is no ridge has no arc over it.
            right = np.where(left[:, 1:2] > 0.0, level, left)
        normal = turned_vectors(left, right, share[:, None])
        return self._on(u, np.full_like(u, piece)) + self.radius_mm * normal, normal

    def _on(self, u: Array, v: Array) -> Array:
        return self.body.port.at(u, np.clip(v, 0.0, 1.0))

    def at(self, u: Array, t: Array) -> tuple[Array, Array]:
        """Return centres (n, 3) and normals (n, 3) at places u (n,) and t (n,) along the chain of pieces."""
        points, normals = np.zeros((len(u), 3)), np.zeros((len(u), 3))
        piece = np.clip(np.floor(t).astype(np.int64), 0, len(self._pieces) - 1)
        for n in range(len(self._pieces)):
            own = np.flatnonzero(piece == n)
            if len(own):
                points[own], normals[own] = self._piece(n, u[own], t[own] - n)
        return points, normals

    def passes(self, step_mm: float) -> list[CentrePass]:
        """Return the passes at equal arc, a step apart, from the first line on; each as far as it comes before the last
        line. Where rows of one are apart there are several of its number.
        """
        numbers, us, ts, starts = [], [], [], [0]
        most = int(np.floor(float(self.end_arc.max()) / step_mm + 1e-9))
        wanted = step_mm * np.arange(most + 1)
        # t of all passes on every row; rows are rising in arc.
        table = np.array([np.interp(wanted, arc, self._t) for arc in self._arc])
        for k, arc in enumerate(wanted.tolist()):
            there = self.end_arc >= arc - 1e-12 if k else np.ones(len(self.u), dtype=np.bool_)
            for first, last in _runs(there):
                u, t = self.u[first : last + 1], np.minimum(table[first : last + 1, k], self._end_t[first : last + 1])
                for end, beyond in ((0, first - 1), (-1, last + 1)):
                    if 0 <= beyond < len(self.u):
                        inside = first if end == 0 else last
                        met_u, met_t = self._met(inside, beyond, arc)
                        u = np.concatenate([[met_u], u]) if end == 0 else np.concatenate([u, [met_u]])
                        t = np.concatenate([[met_t], t]) if end == 0 else np.concatenate([t, [met_t]])
                numbers.append(k)
                us.append(u)
                ts.append(t)
                starts.append(starts[-1] + len(u))
        points, normals = self.at(np.concatenate(us), np.concatenate(ts))
        return [
            CentrePass(number=k, points=points[a:b], normals=normals[a:b], u=u)
            for k, u, a, b in zip(numbers, us, starts[:-1], starts[1:], strict=True)
        ]

    def _met(self, inside: int, beyond: int, arc: float) -> tuple[float, float]:
        """Return where, between two rows, a pass ends on the last line."""
        here, there = self.end_arc[inside], self.end_arc[beyond]
        share = float(np.clip((here - arc) / max(here - there, 1e-12), 0.0, 1.0))
        u = self.u[inside] + share * (self.u[beyond] - self.u[inside])
        return float(u), float(self._end_t[inside] + share * (self._end_t[beyond] - self._end_t[inside]))

    def last_line(self, u_from: float = 0.0, u_to: float = 1.0) -> CentrePass:
        """Return the centres along the last line, from one u to another, by the way given."""
        low, high = min(u_from, u_to), max(u_from, u_to)
        inner = self.u[(self.u > low) & (self.u < high)]
        u = np.concatenate([[low], inner, [high]])
        points, normals = self.at(u, np.interp(u, self.u, self._end_t))
        found = CentrePass(number=-1, points=points, normals=normals, u=u)
        return found if u_from <= u_to else reversed_pass(found)

    def first_row(self, arc_from: float, arc_to: float) -> tuple[Array, Array]:
        """Return centres and normals along the first row, u = u[0], from one arc to another."""
        count = max(int(np.ceil(abs(arc_to - arc_from) / LINK_MM)), 1) + 1
        t = np.interp(np.linspace(arc_from, arc_to, count), self._arc[0], self._t)
        return self.at(np.full(len(t), self.u[0]), t)


def reversed_pass(one: CentrePass) -> CentrePass:
    """Return a pass run the other way."""
    return CentrePass(number=one.number, points=one.points[::-1], normals=one.normals[::-1], u=one.u[::-1])


def step_for(radius_mm: float, cusp_mm: float) -> float:
    """Return how far apart the centres of a ball may be so that no cusp between them on a flat is higher: the ridge is
    r - sqrt(r^2 - c^2 / 4), and lower on anything convex.
    """
    height = min(cusp_mm, radius_mm)
    return float(2.0 * np.sqrt(height * (2.0 * radius_mm - height)))


def _runs(there: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """Return the first and the last place of each run of true values that has two or more."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], there.astype(np.int8), [0]])))
    return [(int(a), int(b) - 1) for a, b in edges.reshape(-1, 2) if b - a > 1]
