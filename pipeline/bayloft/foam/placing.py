"""Where in its blank a board has most foam over it everywhere: found, and proven within a stated range."""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

from bayloft.solid.closest import Feet

Array = NDArray[np.float64]

Depths = Callable[[Array], Feet]
"""The feet in the blank of points (n, 3) in mm."""

STEP_MM, LEAST_STEP_MM = 20.0, 1e-5
"""How far the places may move in one step of the search at first, and the step in which it is done."""
MOST_ROUNDS = 80
SAME_MM = 1e-4
"""mm of cover: a placement is no better than another within it."""
EXCHANGED, MOST_EXCHANGES = 150, 12
"""Places added where the coarse set of them is found to be too coarse, and how often."""
SAFE_MM = 60.0
"""Places that have so many mm more cover than the least are left out of a step."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """How far a placing may go to either side of a middle one, in each of its numbers."""

    shift_mm: float
    lift_mm: float
    pitch_rad: float

    @property
    def numbers(self) -> Array:
        """Shift, lift and pitch."""
        return np.array([self.shift_mm, self.lift_mm, self.pitch_rad])


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing(Reach):
    """How a board lies in its blank: turned by `pitch_rad` about its own middle, nose up, then moved by `shift_mm`
    towards the nose and `lift_mm` up.
    """

    @classmethod
    def of(cls, numbers: Array) -> Placing:
        """Return the placing of three numbers."""
        shift, lift, pitch = numbers.tolist()
        return cls(shift_mm=shift, lift_mm=lift, pitch_rad=pitch)

    def placed(self, points: Array, middle_mm: Array) -> Array:
        """Return points (n, 3) of the board where they lie in the blank's axes."""
        c, s = np.cos(self.pitch_rad), np.sin(self.pitch_rad)
        apart = points - middle_mm
        x = c * apart[:, 0] - s * apart[:, 2] + middle_mm[0] + self.shift_mm
        z = s * apart[:, 0] + c * apart[:, 2] + middle_mm[2] + self.lift_mm
        return np.column_stack([x, points[:, 1], z])

    def taken_back(self, points: Array, middle_mm: Array) -> Array:
        """Return places (n, 3) of the blank in the board's own axes: what `placed` moved them from."""
        apart = points - middle_mm - [self.shift_mm, 0.0, self.lift_mm]
        c, s = np.cos(self.pitch_rad), np.sin(self.pitch_rad)
        x = c * apart[:, 0] + s * apart[:, 2] + middle_mm[0]
        z = c * apart[:, 2] - s * apart[:, 0] + middle_mm[2]
        return np.column_stack([x, points[:, 1], z])


@dataclass(frozen=True, slots=True, kw_only=True)
class BestPlacing:
    """The best placing found, and the least cover of all places in mm."""

    placing: Placing
    cover_mm: float


def _slopes(feet: Feet, points: Array, placing: Placing, middle_mm: Array) -> Array:
    """Return how the depth of each place (n,) grows with shift, lift and pitch: (n, 3)."""
    turned = points - middle_mm
    c, s = np.cos(placing.pitch_rad), np.sin(placing.pitch_rad)
    dx, dz = -s * turned[:, 0] - c * turned[:, 2], c * turned[:, 0] - s * turned[:, 2]
    n = feet.inward
    return np.column_stack([n[:, 0], n[:, 2], n[:, 0] * dx + n[:, 2] * dz])


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Search:
    """What is placed where: the feet in the blank, places of the board (n, 3) and its middle (3,) in mm, and the
    placings looked at: within reach of a middle one.
    """

    depths: Depths
    points: Array
    middle_mm: Array
    start: Placing
    reach: Reach


def _highest(slopes: Array, at_most: Array, low: Array, high: Array) -> tuple[Array, float] | None:
    """Return the step (3,) between bounds at which the least of so many linear depths is greatest, and that depth; None
    where the program has no solution. slopes: of each depth (n, 3); at_most: each without a step (n,).
    """
    found = linprog(
        [0.0, 0.0, 0.0, -1.0],
        A_ub=np.column_stack([-slopes, np.ones(len(slopes))]),
        b_ub=at_most,
        bounds=[*zip(low.tolist(), high.tolist(), strict=True), (None, None)],
        method="highs",
    )
    if found.status != 0 or found.x is None:
        return None
    return np.asarray(found.x[:3], dtype=np.float64), float(found.x[3])


def best_placing(search: Search, begin: Placing | None = None) -> BestPlacing:
    """Return the placing within reach whose least cover over the points is greatest, searched from the middle one or
    from another.

    Sequential linear programs with a trust region (K. Madsen, "An algorithm for minimax solution of overdetermined
    systems of non-linear equations", 1975, from memory): each maximises the least of the depths as they are to first
    order. Places with far more than the least have no part in a step.
    """
    depths, points, middle_mm, reach = search.depths, search.points, search.middle_mm, search.reach
    start = search.start
    size = np.array([1.0, 1.0, 1.0 / max(float(np.abs(points[:, 0] - middle_mm[0]).max()), 1.0)])
    low, high = start.numbers - reach.numbers, start.numbers + reach.numbers
    here = np.clip((begin or start).numbers, low, high)
    feet = depths(Placing.of(here).placed(points, middle_mm))
    least, step = float(feet.depth_mm.min()), STEP_MM
    for _ in range(MOST_ROUNDS):
        rows = feet.depth_mm < least + SAFE_MM
        slopes = _slopes(feet, points, Placing.of(here), middle_mm)[rows]
        found = _highest(
            slopes * size,
            feet.depth_mm[rows],
            np.maximum(-step, (low - here) / size),
            np.minimum(step, (high - here) / size),
        )
        if found is None or found[1] < least + SAME_MM / 10.0:
            break
        tried = here + found[0] * size
        next_feet = depths(Placing.of(tried).placed(points, middle_mm))
        reached = float(next_feet.depth_mm.min())
        gained, promised = reached - least, found[1] - least
        if gained > 0.1 * promised:
            here, feet, least = tried, next_feet, reached
            step *= 2.0 if gained > 0.7 * promised else 1.0
        else:
            step /= 4.0
        if step < LEAST_STEP_MM:
            break
    return BestPlacing(placing=Placing.of(here), cover_mm=least)


def exchanged_placing(search: Search, every: Array, begin: Placing | None = None) -> tuple[BestPlacing, Search]:
    """Return the best placing for every point: found for the search's own, to which the worst of all are added until
    the least cover of both is the same; and the search with the points that it came to have.
    """
    placed = best_placing(search, begin)
    for exchanges in range(MOST_EXCHANGES + 1):
        whole = search.depths(placed.placing.placed(every, search.middle_mm)).depth_mm
        if float(whole.min()) > placed.cover_mm - SAME_MM or exchanges == MOST_EXCHANGES:
            break
        search = replace(search, points=np.vstack([search.points, every[np.argsort(whole)[:EXCHANGED]]]))
        placed = best_placing(search, placed.placing)
    return replace(placed, cover_mm=float(whole.min())), search


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceiling:
    """No placing within reach has more cover than `cover_mm`; `boxes`: of placings that were looked at for it; whether
    it is as near to what was found as was asked.
    """

    cover_mm: float
    boxes: int
    closed: bool


def ceiling(search: Search, *, found_mm: float, within_mm: float, most_boxes: int, hollow_mm: float) -> Ceiling:
    """Return a ceiling over the cover of all placings within reach, by branch and bound.

    Over a box of placings the depth of a place is at most what it is at the box's middle to first order, plus |dp|^2 /
    2R for how far dp the place moves, R the least hollow radius of the blank (the depth is that much from concave: a
    blank hollow anywhere has places whose nearest foot jumps), plus |p| dtheta^2 / 2 for the turn itself. The least of
    these bounds over the places is greatest by a linear program; a box whose bound is below what was found is done.
    """
    depths, points, middle_mm = search.depths, search.points, search.middle_mm
    arms = np.sqrt((points[:, 0] - middle_mm[0]) ** 2 + (points[:, 2] - middle_mm[2]) ** 2)

    def bound(middle: Array, half: Array) -> float:
        feet = depths(Placing.of(middle).placed(points, middle_mm))
        moved = np.hypot(half[0], half[1]) + arms * half[2]
        curved = moved * moved / (2.0 * hollow_mm) + arms * half[2] * half[2] / 2.0
        slopes = _slopes(feet, points, Placing.of(middle), middle_mm)
        least = float((feet.depth_mm + np.abs(slopes) @ half + curved).min())
        rows = feet.depth_mm < float(feet.depth_mm.min()) + 2.0 * float(moved.max()) + 1.0
        found = _highest(slopes[rows] * half, (feet.depth_mm + curved)[rows], -np.ones(3), np.ones(3))
        return least if found is None else min(least, found[1])

    start, reach = search.start.numbers, search.reach.numbers
    waiting = [(-bound(start, reach), 0, start, reach)]
    boxes = 1
    size = np.array([1.0, 1.0, float(arms.max())])
    while waiting and boxes < most_boxes:
        top, _, middle, half = waiting[0]
        if -top <= found_mm + within_mm:
            break
        heapq.heappop(waiting)
        axis = int(np.argmax(half * size))
        smaller = half.copy()
        smaller[axis] /= 2.0
        for side in (-1.0, 1.0):
            centre = middle.copy()
            centre[axis] += side * smaller[axis]
            boxes += 1
            value = min(bound(centre, smaller), -top)
            if value > found_mm:
                heapq.heappush(waiting, (-value, boxes, centre, smaller))
    left = -waiting[0][0] if waiting else found_mm
    return Ceiling(cover_mm=max(left, found_mm), boxes=boxes, closed=left <= found_mm + within_mm)
