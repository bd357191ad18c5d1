"""The ground that a cutter is kept above: a face of the board and its tabs on a grid, grown by the cutter."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.spatial import KDTree

from bayloft.cutting.carving.setup import BELOW_MM, CarveJob, Face
from bayloft.lines.section_places import APEX
from bayloft.solid.surface import crowded_places
from bayloft.spec.shops.shop import Cutter

Array = NDArray[np.float64]

CELL_MM = 2.0
"""Grid of the roughing."""
SURE_MM = 0.2
"""Added to the grown ground: what a place between two of the grid may stand out, and what straight moves cut off."""
ROWS_U, PLACES_V = 1600, 90
OUTLINE_PLACES, WALL_PLACES = 4001, 1001
"""Of an outline, along the rail and along the edge of a wall."""
STEEP = 0.7
"""Slope across from which places of the surface are looked at one by one."""
STRINGER_MM = 0.05
"""Off the stringer within which a section begins at it."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ground:
    """Heights on a grid, in a set-up's axes: x (nx,), y (ny,) even in 0, `lowest` (nx, ny) for the tip of the roughing
    cutter, and how far beside the board's outline a place lies (nx, ny), 0 over it.
    """

    x: Array
    y: Array
    lowest: Array
    beside: Array


def ground(job: CarveJob, face: Face) -> Ground:
    """Return where the roughing cutter's tip may go on a face: no deeper than the surface and the allowance, the tabs
    and the allowance, and, beside the board, a little below the finishing cutter's own tip.
    """
    most = job.block_width_mm / 2.0
    reach = math.ceil(most / CELL_MM)
    y = np.asarray(CELL_MM * np.arange(-reach, reach + 1), dtype=np.float64)
    x = np.arange(job.block_from_mm, job.block_to_mm + CELL_MM, CELL_MM)
    heights = board_heights(job, face, x, y)
    beside = _beside(job, face, x, y, np.isfinite(heights))
    for low, high, half, top in job.tabs(face):
        on = (x[:, None] >= low - CELL_MM) & (x[:, None] <= high + CELL_MM) & (np.abs(y)[None, :] <= half + CELL_MM)
        heights[on] = np.maximum(heights[on], top)
    grown = lowest_tip(heights, job.rougher, job.gantry.allowance_mm)
    _grow_by_steep(grown, x, y, _face_grid(job, face), job)
    grown += SURE_MM
    lowest = np.maximum(grown, _floor(job, face, x)[:, None])
    return Ground(x=x, y=y, lowest=lowest, beside=beside)


def _face_grid(job: CarveJob, face: Face) -> Array:
    """Return places (nu, nv, 3) of a face's port side, in the axes of its set-up."""
    ends = (APEX, 1.0) if face == "deck" else (0.0, APEX)
    joints = [ends[0], *(float(v) for v in job.body.port.joints if ends[0] < v < ends[1]), ends[1]]
    v = np.unique(np.concatenate([np.linspace(a, b, PLACES_V) for a, b in pairwise(joints)]))
    return job.placed(job.body.port.grid(crowded_places(ROWS_U), v), face)


def _grow_by_steep(grown: Array, x: Array, y: Array, grid: Array, job: CarveJob) -> None:
    """Raise grown ground by the places of rails, tips and walls' edges themselves: from one place of the grid of
    heights to the next they may fall by many mm.
    """
    step = np.gradient(grid, axis=1)
    steep = np.abs(step[..., 2]) > STEEP * np.hypot(step[..., 0], step[..., 1])
    steep[:2] = steep[-2:] = True
    half = grid[steep]
    places = np.concatenate([half, half * np.array([1.0, -1.0, 1.0])])
    i = np.rint((places[:, 0] - x[0]) / CELL_MM).astype(np.int64)
    j = np.rint((places[:, 1] - y[0]) / CELL_MM).astype(np.int64)
    # Between two places of the grid the side of a cliff is anywhere.
    left = job.gantry.allowance_mm + CELL_MM / 2.0
    reach = math.ceil((job.rougher.radius_mm + left) / CELL_MM + 0.5)
    flat = grown.reshape(-1)
    for di in range(-reach, reach + 1):
        for dj in range(-reach, reach + 1):
            at_i, at_j = i + di, j + dj
            off = np.hypot(x[0] + CELL_MM * at_i - places[:, 0], y[0] + CELL_MM * at_j - places[:, 1])
            inside = (at_i >= 0) & (at_i < len(x)) & (at_j >= 0) & (at_j < len(y))
            rise = _rise(job.rougher, left, off)
            inside &= np.isfinite(rise)
            np.maximum.at(flat, at_i[inside] * len(y) + at_j[inside], places[inside, 2] + rise[inside])


def _rise(cutter: Cutter, left: float, off: Array) -> Array:
    """Return how high over a place a cutter's tip must be that is so far aside, to keep an allowance off it; minus
    infinity where it is out of reach.
    """
    radius = cutter.radius_mm
    if cutter.kind == "ball":
        rise = np.sqrt(np.maximum((radius + left) ** 2 - off * off, 0.0)) - radius
    else:
        rise = np.sqrt(np.maximum(left * left - np.maximum(off - radius, 0.0) ** 2, 0.0))
    return np.where(off <= radius + left, rise, -np.inf)


def board_heights(job: CarveJob, face: Face, x: Array, y: Array) -> Array:
    """Return the heights (nx, ny) of a face over a grid, in the axes of its set-up; minus infinity beside the board."""
    grid = _face_grid(job, face)
    along = np.maximum.accumulate(grid[..., 0], axis=0)
    # Each line v = const, asked at the stations; then each section, asked across.
    across, up = (
        np.column_stack(
            [np.interp(x, along[:, j], values[:, j], left=np.nan, right=np.nan) for j in range(grid.shape[1])]
        )
        for values in (np.abs(grid[..., 1]), grid[..., 2])
    )
    edge = grid[0] if job.body.end == "wall" else grid[0][:0]
    found = np.full((len(x), len(y)), -np.inf)
    for i in range(len(x)):
        there = np.isfinite(across[i])
        wall = _crossed(edge, float(x[i]))
        places = np.concatenate([across[i][there], np.abs(wall[:, 0])])
        if len(places) < 2:
            continue
        order = np.argsort(places, kind="stable")
        section, height = places[order], np.concatenate([up[i][there], wall[:, 1]])[order]
        found[i] = np.interp(np.abs(y), section, height, left=-np.inf, right=-np.inf)
        if float(section[0]) <= STRINGER_MM:
            found[i, np.abs(y) < section[0]] = height[0]
    return found


def _crossed(edge: Array, x: float) -> Array:
    """Return y and z (n, 2) where the edge of a wall (k, 3) crosses a station."""
    if len(edge) < 2:
        return np.zeros((0, 2))
    before, behind = edge[:-1], edge[1:]
    at = np.flatnonzero((before[:, 0] - x) * (behind[:, 0] - x) <= 0.0)
    step = behind[at, 0] - before[at, 0]
    share = np.where(step != 0.0, (x - before[at, 0]) / np.where(step != 0.0, step, 1.0), 0.0)
    return np.asarray((before[at] + share[:, None] * (behind[at] - before[at]))[:, 1:], dtype=np.float64)


def lowest_tip(heights: Array, cutter: Cutter, allowance_mm: float) -> Array:
    """Return how low a cutter's tip may go (nx, ny) to stay an allowance off ground of these heights: the ground grown
    by the cutter, itself grown by the allowance.
    """
    reach = math.ceil((cutter.radius_mm + allowance_mm) / CELL_MM)
    nx, ny = heights.shape
    padded = np.full((nx + 2 * reach, ny + 2 * reach), -np.inf)
    padded[reach:-reach, reach:-reach] = heights
    found = np.full_like(heights, -np.inf)
    for i in range(-reach, reach + 1):
        for j in range(-reach, reach + 1):
            rise = float(_rise(cutter, allowance_mm, np.array(CELL_MM * math.hypot(i, j))))
            if not math.isfinite(rise):
                continue
            np.maximum(found, padded[reach + i : reach + i + nx, reach + j : reach + j + ny] + rise, out=found)
    return found


def _beside(job: CarveJob, face: Face, x: Array, y: Array, over: NDArray[np.bool_]) -> Array:
    """Return how far beside the board's outline places of a grid lie (nx, ny), 0 over it."""
    half = outline(job, face)[:, :2]
    tree = KDTree(np.concatenate([half, half * np.array([1.0, -1.0])]))
    found = np.zeros(over.shape)
    i, j = np.nonzero(~over)
    found[i, j] = tree.query(np.column_stack([x[i], y[j]]))[0]
    return found


def outline(job: CarveJob, face: Face) -> Array:
    """Return places (n, 3) of the outline's port half, in the axes of a set-up: the apex, and the edge of a wall on
    this face, none further from the next than about a mm.
    """
    rail = job.body.port.grid(crowded_places(OUTLINE_PLACES), [APEX])[:, 0]
    if job.body.end == "wall":
        ends = (APEX, 1.0) if face == "deck" else (APEX, 0.0)
        rail = np.concatenate([job.body.port.grid([0.0], np.linspace(*ends, WALL_PLACES))[0][::-1], rail])
    placed = job.placed(rail, face)
    side = math.copysign(1.0, float(placed[:, 1].sum()))
    return np.asarray(placed * np.array([1.0, side, 1.0]), dtype=np.float64)


def _floor(job: CarveJob, face: Face, x: Array) -> Array:
    """Return how low the roughing goes beside the board at stations: below the tip of the ball at the apex nearby."""
    apex = job.placed(job.body.port.grid(crowded_places(ROWS_U), [APEX])[:, 0], face)
    height = np.interp(x, np.maximum.accumulate(apex[:, 0]), apex[:, 2])
    reach = math.ceil(2.0 * job.finisher.radius_mm / CELL_MM)
    low = np.array([height[max(i - reach, 0) : i + reach + 1].min() for i in range(len(x))])
    return np.asarray(low - job.finisher.radius_mm - BELOW_MM, dtype=np.float64)
