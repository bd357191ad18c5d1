"""Roughing a face in levels: rows along the board that go no deeper than a level below the last, nor than the ground.

In each level the cutter goes along rows over all places that are lower than the level before, at the level or on the
ground, whichever is higher; then once round where the ground meets the level, so that no stairs of the rows are left
on steep rails. It enters by a ramp, forth and back, and goes from row to row without lifting where they are neighbours.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

import contourpy
import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.carving.paths import TipPath, thinned
from bayloft.cutting.carving.relief import CELL_MM, Ground
from bayloft.cutting.carving.setup import CarveJob

Array = NDArray[np.float64]

THIN_MM = 0.08
"""By how much straight moves may leave the ground: less than is added to it."""
STEEPEST = 1.0
"""Slope of the way down along the ground: 45 degrees; steeper, a cutter goes down on its tip."""
LEVEL_SHARE = 0.9
"""Share of the level asked that is planned: the rest is for ridges that a level leaves to the next."""
LEVELS_MOST = 400
HAIR_MM = 1e-6
LINKED_STEPS = 15.0
"""How many row steps along the board two neighbouring ends may be apart to be joined without lifting."""
TINY_MM = 6.0
"""Length of a run below which it is left to its neighbours and the rounds."""
SHORTEST_MM = 2.0
"""Length of a round below which it is none: there is no room on it to go down."""
FAR_MM = 1e5


def levels(job: CarveJob, area: Ground) -> list[float]:
    """Return the heights of the levels from the top of the block down to the lowest ground that is to be cleared."""
    cleared = area.lowest[area.beside <= _width(job, area, job.thickness_mm)]
    deepest = float(cleared.min())
    depth = LEVEL_SHARE * job.gantry.level_mm
    count = math.ceil((job.thickness_mm - deepest) / depth - HAIR_MM)
    if count > LEVELS_MOST:
        raise ValueError(f"{count} levels of roughing")
    return [max(job.thickness_mm - depth * (n + 1), deepest) for n in range(count)]


def roughing_paths(job: CarveJob, area: Ground) -> Iterator[TipPath]:
    """Yield the paths of the tip that rough a face, level by level, in the axes of its set-up."""
    above = job.thickness_mm
    found = levels(job, area)
    for n, level in enumerate(found, 1):
        what = f"roughing, level {n} of {len(found)}"
        width = _width(job, area, above)
        lower = area.lowest < above - HAIR_MM
        heights = np.maximum(area.lowest, level)
        for run in _joined(job, area, _rows(job, area, lower & (area.beside <= width), heights), width):
            yield TipPath(what=what, points=_entered(job, run, above))
        # Round the outside, so that every level is as wide as the last; then round the board.
        for ring in _rings(area, area.beside, width, lower):
            yield TipPath(what=what, points=_entered(job, _on_ground(area, ring, level), above))
        for ring in _rings(area, area.lowest, level, area.beside <= width):
            yield TipPath(what=what, points=_entered(job, _on_ground(area, ring, level), above))
        above = level


def _width(job: CarveJob, area: Ground, above: float) -> float:
    """Return how far beside the outline the cutter's middle goes in a level that begins at a height: wider by what the
    holder needs for each of its reaches down to the deepest.
    """
    near = area.lowest[area.beside <= job.beside_mm]
    reaches = math.floor((above - float(near.min())) / job.reach_mm - HAIR_MM)
    return job.beside_mm + max(reaches, 0) * job.wider_mm


def _rows(job: CarveJob, area: Ground, where: NDArray[np.bool_], heights: Array) -> Iterator[list[Array]]:
    """Yield the runs of each row over places that are to be cut: points (n, 3), from the tail's side."""
    step = max(round(job.rough_step_mm / CELL_MM), 1)
    middle = len(area.y) // 2
    rows = sorted({*range(middle, len(area.y), step), *range(middle, -1, -step)})
    for j in rows:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], where[:, j].astype(np.int8), [0]])))
        runs = []
        for a, b in edges.reshape(-1, 2).tolist():
            if (b - a) * CELL_MM >= TINY_MM:
                x = area.x[a:b]
                runs.append(np.column_stack([x, np.full(len(x), area.y[j]), heights[a:b, j]]))
        yield runs


def _joined(job: CarveJob, area: Ground, rows: Iterator[list[Array]], width: float) -> Iterator[Array]:
    """Yield runs of neighbouring rows as one path each, run forth and back, as long as their ends lie close; between
    them the way is on the ground too, and no further beside the board.
    """
    most = LINKED_STEPS * job.rough_step_mm
    open_ones: list[list[Array]] = []
    for runs in rows:
        left, still = list(runs), []
        for path in open_ones:
            end = path[-1][-1]
            near = [run for run in left if min(abs(run[0, 0] - end[0]), abs(run[-1, 0] - end[0])) <= most]
            # Only the end on its own side: a run is cut from end to end.
            near = [run for run in near if _overlap(run, path[-1])]
            run = near[0] if near else path[-1]
            run = run[::-1] if abs(run[-1, 0] - end[0]) < abs(run[0, 0] - end[0]) else run
            way = _between(area, end, run[0])
            if near and float(_nearest(area, area.beside, way).max()) <= width + CELL_MM / 2.0:
                left = [one for one in left if one is not near[0]]
                path += [way, run]
                still.append(path)
            else:
                yield np.concatenate(path)
        open_ones = still + [[run] for run in left]
    for path in open_ones:
        yield np.concatenate(path)


def _between(area: Ground, start: Array, end: Array) -> Array:
    """Return the straight way from one place to another, nowhere under the ground at the four places about it."""
    steps = max(math.ceil(math.hypot(*(end - start)[:2].tolist()) / CELL_MM), 1)
    way = start + (end - start) * np.linspace(0.0, 1.0, steps + 1)[:, None]
    return np.column_stack([way[:, :2], np.maximum(way[:, 2], _on_ground(area, way[:, :2], -math.inf)[:, 2])])


def _nearest(area: Ground, values: NDArray[Any], plan: Array) -> NDArray[Any]:
    """Return the values over the grid at the places of it that are nearest to places (n, 2 or 3)."""
    i = np.clip(np.rint((plan[:, 0] - area.x[0]) / CELL_MM).astype(np.int64), 0, len(area.x) - 1)
    j = np.clip(np.rint((plan[:, 1] - area.y[0]) / CELL_MM).astype(np.int64), 0, len(area.y) - 1)
    return np.asarray(values[i, j])


def _on_ground(area: Ground, plan: Array, level: float) -> Array:
    """Return places (n, 2) in plan at a level, or on the ground at the highest of the four places about each."""
    i = np.clip(np.floor((plan[:, 0] - area.x[0]) / CELL_MM).astype(np.int64), 0, len(area.x) - 2)
    j = np.clip(np.floor((plan[:, 1] - area.y[0]) / CELL_MM).astype(np.int64), 0, len(area.y) - 2)
    around = np.max([area.lowest[i + di, j + dj] for di in (0, 1) for dj in (0, 1)], axis=0)
    return np.column_stack([plan, np.maximum(around, level)])


def _overlap(one: Array, other: Array) -> bool:
    """Whether two runs lie beside one another along the board."""
    (a, b), (c, d) = (sorted((float(run[0, 0]), float(run[-1, 0]))) for run in (one, other))
    return a <= d + HAIR_MM and c <= b + HAIR_MM


def _rings(area: Ground, values: Array, at: float, where: NDArray[np.bool_]) -> Iterator[Array]:
    """Yield the lines in plan (n, 2) on which values over the grid are so much, as far as they run where it is said."""
    made = contourpy.contour_generator(area.x, area.y, np.clip(values, -FAR_MM, FAR_MM).T)
    for line in made.lines(at):
        points = np.asarray(line, dtype=np.float64)
        there = _nearest(area, where.astype(np.int8), points)
        edges = np.flatnonzero(np.diff(np.concatenate([[0], there, [0]])))
        for a, b in edges.reshape(-1, 2).tolist():
            part = points[a:b]
            if len(part) > 1 and float(np.hypot(*np.diff(part, axis=0).T).sum()) >= SHORTEST_MM:
                yield part


def _entered(job: CarveJob, points: Array, above: float) -> Array:
    """Return a path with its way in: a ramp from the level above, forth and back over its first stretch, so that all of
    it is cut; and no steeper down, anywhere, than a cutter goes.
    """
    slope = math.tan(math.radians(job.ramp_deg))
    path = thinned(_no_steeper(points), THIN_MM)
    start = max(above, float(path[0, 2]))
    depth = start - float(path[:, 2].min())
    if depth <= HAIR_MM:
        return path
    flat = np.concatenate([[0.0], np.cumsum(np.sqrt((np.diff(path[:, :2], axis=0) ** 2).sum(axis=1)))])
    reach = min(depth / slope, float(flat[-1]))
    inner = path[1:][(flat[1:] < reach)]
    end = np.array([[np.interp(reach, flat, path[:, k]) for k in range(3)]])
    stretch = np.concatenate([path[:1], inner, end])
    at = np.concatenate([[0.0], flat[1:][flat[1:] < reach], [reach]])
    # Forth and back as often as the ramp takes to come down.
    legs, height, forward = [], start, True
    while height > float(stretch[:, 2].min()) + HAIR_MM:
        leg, along = (stretch, at) if forward else (stretch[::-1], reach - at[::-1])
        down = height - slope * along
        legs.append(np.column_stack([leg[:, :2], np.maximum(leg[:, 2], down)]))
        height = float(down[-1])
        forward = not forward
    if not forward:
        legs.append(stretch[::-1])
    return _no_steeper(np.concatenate([*legs, path]))


def _no_steeper(points: Array) -> Array:
    """Return a path that goes down no steeper than STEEPEST."""
    flat = np.sqrt((np.diff(points[:, :2], axis=0) ** 2).sum(axis=1))
    # z + STEEPEST * s must not fall: its running maximum is the least that does not.
    along = STEEPEST * np.concatenate([[0.0], np.cumsum(flat)])
    return np.column_stack([points[:, :2], np.maximum.accumulate(points[:, 2] + along) - along])
