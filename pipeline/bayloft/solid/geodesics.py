"""Shortest ways on the surface: geodesics shot from many places at once, carried straight on over joints and creases.

The equation of a geodesic in the surface's own parameters (M. P. do Carmo, "Differential Geometry of Curves and
Surfaces", 1976, from memory), solved by the pair of Runge and Kutta's methods of orders 5 and 4 of J. R. Dormand and
P. J. Prince, "A family of embedded Runge-Kutta formulae" (1980), each ray at a step of its own. Over a joint a ray
keeps its angle to the edge: the straightest way (K. Polthier and M. Schmies, "Straightest geodesics on polyhedral
surfaces", 1998, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.arithmetic import lengths, unit_vectors
from bayloft.solid.surface import Surface

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

WITHIN_MM = 1e-6
"""mm by which the two methods may differ in one step."""

FIRST_MM, LEAST_MM, MOST_STEPS, MOST_CROSSINGS = 0.5, 1e-7, 4000, 30
FASTEST = 1e6
"""Of u and v per mm: no ray goes so fast but one that has lost its way."""

GROWTH, CAUTION = (0.2, 4.0), 0.9
AFTER = 1e-3
ON_JOINT, BESIDE = 1e-12, 1e-9
"""Share of a step within which no joint is crossed; of v, how near a joint a ray is put
onto it, and is on it already."""

NODES = np.array([0.0, 1 / 5, 3 / 10, 4 / 5, 8 / 9, 1.0, 1.0])
STAGES = (
    (),
    (1 / 5,),
    (3 / 40, 9 / 40),
    (44 / 45, -56 / 15, 32 / 9),
    (19372 / 6561, -25360 / 2187, 64448 / 6561, -212 / 729),
    (9017 / 3168, -355 / 33, 46732 / 5247, 49 / 176, -5103 / 18656),
    (35 / 384, 0.0, 500 / 1113, 125 / 192, -2187 / 6784, 11 / 84),
)
FOURTH = (5179 / 57600, 0.0, 7571 / 16695, 393 / 640, -92097 / 339200, 187 / 2100, 1 / 40)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rays:
    """Geodesics: parameters `u` and `v` (n, legs + 1) at even lengths from their starts, and `points` (n, legs + 1, 3)
    there, mm. stopped (n,): whether the surface, or the face, came to an end before the ray did; from there its places
    are its end.
    """

    u: Array
    v: Array
    points: Array
    stopped: Flags


class _Bundle:
    """Rays on their way: where they are, how fast in u and v per mm, in which piece between two joints."""

    def __init__(self, surface: Surface, u: Array, v: Array, ahead: Array, bounds: tuple[float, float]) -> None:
        self._surface = surface
        joints = surface.joints
        low, high = bounds
        self._joints = np.concatenate([[low], joints[(joints > low) & (joints < high)], [high]])
        self.place = np.stack([u, v], axis=1)
        # A ray that starts on a joint goes on in the piece that it points into.
        lower = np.searchsorted(self._joints, v + ON_JOINT, side="right") - 1
        self.piece = np.clip(lower, 0, len(self._joints) - 2)
        for _ in range(2):
            su, sv = self._slopes(self.place, self.piece)
            self.speed = _in_parameters(su, sv, ahead)
            below = (np.abs(v - self._joints[self.piece]) <= ON_JOINT) & (self.speed[:, 1] < 0.0) & (self.piece > 0)
            self.piece = np.where(below, self.piece - 1, self.piece)
        self.stopped = np.zeros(len(u), dtype=np.bool_)
        self.step = np.full(len(u), FIRST_MM)

    def _own(self, place: Array, piece: NDArray[np.int64], *orders: tuple[int, int]) -> list[Array]:
        """Return derivatives of the surface at places, each as its own piece has them at a joint."""
        low, high = self._joints[piece], self._joints[piece + 1]
        hair = 1e-12 * (high - low)
        u, v = np.clip(place[:, 0], 0.0, 1.0), np.clip(place[:, 1], low, high - hair)
        return [self._surface.at(u, v, *order) for order in orders]

    def _slopes(self, place: Array, piece: NDArray[np.int64]) -> tuple[Array, Array]:
        su, sv = self._own(place, piece, (1, 0), (0, 1))
        return su, sv

    def _turning(self, state: Array, piece: NDArray[np.int64]) -> Array:
        """Return how places and speeds (n, 4) change per mm."""
        place, speed = state[:, :2], state[:, 2:]
        su, sv, suu, suv, svv = self._own(place, piece, (1, 0), (0, 1), (2, 0), (1, 1), (0, 2))
        # A step too long beside a tip leaves all bounds, and is taken back.
        speed = np.clip(np.nan_to_num(speed), -FASTEST, FASTEST)
        a, b = speed[:, :1], speed[:, 1:]
        bend = suu * a * a + 2.0 * suv * a * b + svv * b * b
        return np.concatenate([speed, -_in_parameters(su, sv, bend)], axis=1)

    def _stepped(self, state: Array, piece: NDArray[np.int64], step: Array) -> tuple[Array, Array]:
        """Return where a step ends, and what the two methods differ by, in mm."""
        slopes: list[Array] = []
        for weights in STAGES:
            moved = state
            for weight, slope in zip(weights, slopes, strict=True):
                moved = moved + (step * weight)[:, None] * slope
            slopes.append(self._turning(moved, piece))
        end = moved
        lower = state
        for weight, slope in zip(FOURTH, slopes, strict=True):
            lower = lower + (step * weight)[:, None] * slope
        su, sv = self._slopes(state[:, :2], piece)
        off = end - lower
        return end, np.asarray(lengths(su) * np.abs(off[:, 0]) + lengths(sv) * np.abs(off[:, 1]))

    def go(self, length_mm: float) -> None:
        """Let all rays go on for a length, or until they stop."""
        left = np.where(self.stopped, 0.0, length_mm)
        # Those that cross a joint with their next step wait until all others do, and cross together.
        crossing = np.zeros(len(left))
        for _ in range(MOST_STEPS):
            on = np.flatnonzero((left > LEAST_MM) & (crossing == 0.0))
            if not len(on):
                over = np.flatnonzero(crossing)
                if not len(over):
                    return
                state = np.concatenate([self.place[over], self.speed[over]], axis=1)
                gone = self._crossed(over, state, crossing[over])
                left[over] = np.where(self.stopped[over], 0.0, left[over] - gone)
                crossing[:] = 0.0
                continue
            step = np.minimum(self.step[on], left[on])
            state = np.concatenate([self.place[on], self.speed[on]], axis=1)
            end, error = self._stepped(state, self.piece[on], step)
            # Where no step is short enough, the surface has no tangent plane: beside a tip.
            stuck = self.step[on] <= LEAST_MM
            self.stopped[on[stuck]] = True
            left[on[stuck]] = 0.0
            error = np.where(np.isfinite(error), error, np.inf)
            good = (error <= WITHIN_MM) & ~stuck
            grow = CAUTION * (WITHIN_MM / np.maximum(error, 1e-300)) ** 0.2
            wanted = step * np.clip(grow, *GROWTH)
            # A step that was cut to land at a leg's end says nothing against longer ones.
            self.step[on] = np.where(good & (step < self.step[on]), np.maximum(self.step[on], wanted), wanted)
            on, end, step = on[good], end[good], step[good]
            low, high = self._joints[self.piece[on]], self._joints[self.piece[on] + 1]
            leaves = (end[:, 1] < low) | (end[:, 1] > high) | (end[:, 0] < 0.0) | (end[:, 0] > 1.0)
            self._put(on[~leaves], end[~leaves])
            left[on[~leaves]] -= step[~leaves]
            crossing[on[leaves]] = step[leaves]

    def _put(self, which: NDArray[np.int64], state: Array) -> None:
        self.place[which] = state[:, :2]
        # What the steps leave of it, a speed of a mm per mm loses slowly.
        su, sv = self._slopes(self.place[which], self.piece[which])
        size = lengths(su * state[:, 2:3] + sv * state[:, 3:])[:, None]
        self.speed[which] = state[:, 2:] / size

    def _crossed(self, which: NDArray[np.int64], state: Array, step: Array) -> Array:
        """Put rays onto the joint or the end that they cross first, and turn them; return how far they went. The place
        is found by false position with the weights of the Illinois algorithm (M. Dowell and P. Jarratt, 1971, from
        memory).
        """
        piece = self.piece[which]
        low, high = self._joints[piece], self._joints[piece + 1]

        def over(end: Array) -> Array:
            return np.asarray(np.max([low - end[:, 1], end[:, 1] - high, -end[:, 0], end[:, 0] - 1.0], axis=0))

        # A ray that has just come over a joint begins on it, which is no crossing; one that leaves at once has come to
        # it with the last step of all.
        before = np.where(over(state) > -BESIDE, AFTER * step, 0.0)
        after, end = step.copy(), state
        off_before = over(self._stepped(state, piece, before)[0])
        off_after = over(self._stepped(state, piece, after)[0])
        gone = np.where(off_before > 0.0, 0.0, after)
        for _ in range(MOST_CROSSINGS):
            width = after - before
            share = off_before / np.where(off_before == off_after, 1.0, off_before - off_after)
            gone = np.where(off_before > 0.0, 0.0, before + np.clip(share, 0.0, 1.0) * width)
            end = self._stepped(state, piece, gone)[0]
            off = np.where(off_before > 0.0, 0.0, over(end))
            if float(np.abs(off).max()) < BESIDE / 10.0:
                break
            outside = off > 0.0
            before, off_before = np.where(outside, before, gone), np.where(outside, off_before / 2.0, off)
            after, off_after = np.where(outside, gone, after), np.where(outside, off, off_after / 2.0)
        self._put(which, np.column_stack([np.clip(end[:, 0], 0.0, 1.0), end[:, 1:]]))
        side = np.where(
            end[:, 1] > self._joints[piece + 1] - 1e-9, 1, np.where(end[:, 1] < self._joints[piece] + 1e-9, -1, 0)
        )
        self._turned(which, side)
        return gone

    def _turned(self, which: NDArray[np.int64], side: NDArray[np.int64]) -> None:
        """Carry rays on in the next piece at the same angle to the edge, or stop those that have none."""
        after = self.piece[which] + side
        ends = (side == 0) | (after < 0) | (after > len(self._joints) - 2)
        self.stopped[which[ends]] = True
        on, onto, over = which[~ends], after[~ends], side[~ends]
        if not len(on):
            return
        self.place[on, 1] = np.where(over > 0, self._joints[onto], self._joints[onto + 1])
        su, sv = self._slopes(self.place[on], self.piece[on])
        ahead = su * self.speed[on, :1] + sv * self.speed[on, 1:]
        edge = unit_vectors(su)
        cosine = (ahead * edge).sum(axis=1, keepdims=True) / lengths(ahead)[:, None]
        self.piece[on] = onto
        new_u, new_v = self._slopes(self.place[on], onto)
        across = unit_vectors(new_v - (new_v * edge).sum(axis=1, keepdims=True) * edge) * over[:, None]
        direction = cosine * edge + np.sqrt(np.maximum(1.0 - cosine * cosine, 0.0)) * across
        self.speed[on] = _in_parameters(new_u, new_v, direction)


def _in_parameters(su: Array, sv: Array, vectors: Array) -> Array:
    """Return a, b (n, 2) for which a S_u + b S_v is nearest to vectors (n, 3)."""
    e, f, g = (su * su).sum(axis=1), (su * sv).sum(axis=1), (sv * sv).sum(axis=1)
    p, q = (vectors * su).sum(axis=1), (vectors * sv).sum(axis=1)
    area = np.maximum(e * g - f * f, 1e-300)
    return np.stack([(g * p - f * q) / area, (e * q - f * p) / area], axis=1)


def shot(
    surface: Surface,
    starts: tuple[ArrayLike, ArrayLike],
    ahead: Array,
    length_mm: float,
    *,
    bounds: tuple[float, float] = (0.0, 1.0),
    legs: int = 4,
) -> Rays:
    """Return geodesics from places (u, v), each (n,), in directions (n, 3), of which the part in the surface counts;
    they stop at the ends of u and at v = bounds. A pole is no place to start at, nor nearer to it than a millimetre.
    """
    u, v = (np.array(each, dtype=np.float64) for each in starts)
    su, sv = surface.at(u, v, 1, 0), surface.at(u, np.clip(v, bounds[0], bounds[1] - 1e-12), 0, 1)
    flat = su * _in_parameters(su, sv, ahead)[:, :1] + sv * _in_parameters(su, sv, ahead)[:, 1:]
    bundle = _Bundle(surface, u, v, unit_vectors(flat), bounds)
    places = [bundle.place.copy()]
    for _ in range(legs):
        bundle.go(length_mm / legs)
        places.append(bundle.place.copy())
    whole = np.stack(places, axis=1)
    points = surface.at(np.clip(whole[..., 0], 0.0, 1.0), np.clip(whole[..., 1], *bounds))
    return Rays(u=whole[..., 0], v=whole[..., 1], points=points, stopped=bundle.stopped)
