"""Packing of bounding boxes, to compare with: bottom-left on exact rectangles, the best of many orders."""

from __future__ import annotations

import random
from collections.abc import Sequence

import numpy as np

from bayloft.drawing.part import Part

STEPS = 300


def boxes_reach_mm(parts: Sequence[Part], width_mm: float, gap_mm: float) -> float:
    """Return how far along a strip of a width the bounding boxes reach, `gap_mm` apart, laid bottom-left.

    Four orders, large before small, then STEPS changes of the best that are kept where they are no worse; quarter
    turns for parts that need not lie along the grain. The same search as for true outlines, and no grid.
    """
    sizes = [(right - left, top - bottom) for left, bottom, right, top in (part.outline.bounds for part in parts)]
    turns = [{size} if part.along_grain else {size, size[::-1]} for size, part in zip(sizes, parts, strict=True)]

    def reach(order: Sequence[int]) -> float:
        placed = np.empty((0, 4))
        for which in order:
            spots = [spot for size in sorted(turns[which]) if (spot := _spot(size, placed, width_mm, gap_mm))]
            placed = np.vstack([placed, min(spots, key=lambda spot: (spot[2], spot[3]))])
        return float(placed[:, 2].max())

    ranks = (max, min, lambda size: size[0] * size[1], sum)
    orders = [sorted(range(len(parts)), key=lambda i, rank=rank: -rank(sizes[i])) for rank in ranks]
    best = min(orders, key=reach)
    least = reach(best)
    chance = random.Random(5)
    for _ in range(STEPS):
        tried = list(best)
        tried.insert(int(chance.random() * len(tried)), tried.pop(int(chance.random() * len(tried))))
        if (far := reach(tried)) <= least:
            best, least = tried, far
    return least


def _spot(
    size: tuple[float, float], placed: np.ndarray, width_mm: float, gap_mm: float
) -> tuple[float, float, float, float] | None:
    """Return the box (least x and y, greatest x and y) at the free corner furthest left, then furthest down."""
    along, across = size
    x = np.unique([0.0, *(placed[:, 2] + gap_mm)])
    y = np.unique([0.0, *(placed[:, 3] + gap_mm)])
    y = y[y + across <= width_mm + 1e-9]
    left, low = (grid.ravel()[:, None] for grid in np.meshgrid(x, y, indexing="ij"))
    clear = (
        (placed[:, 0] - gap_mm >= left + along - 1e-9)
        | (placed[:, 2] + gap_mm <= left + 1e-9)
        | (placed[:, 1] - gap_mm >= low + across - 1e-9)
        | (placed[:, 3] + gap_mm <= low + 1e-9)
    ).all(axis=1)
    if not clear.any():
        return None
    first = int(np.argmax(clear))
    a, b = float(left[first, 0]), float(low[first, 0])
    return a, b, a + along, b + across
