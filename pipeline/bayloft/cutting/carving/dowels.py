"""The holes of the two dowels on which a block is turned over: in the block from its deck side, and in the bed."""

from __future__ import annotations

import math
from collections.abc import Iterator

from bayloft.cutting.carving.setup import CarveJob
from bayloft.cutting.routing.moves import Move

PROUD_DOWELS, PROUD_SHARE = 2.5, 1.0 / 3.0
"""How far a dowel stands over the bed, in diameters, and at most as a share of the block (common practice)."""
DEEPER_MM = 3.0
"""How much deeper than that its hole in the block is: for chips."""
SAME_WIDTH_MM = 0.02
"""mm within which a hole is as wide as the cutter, and drilled."""
PECK_DIAMETERS = 1.0
"""Depth of a peck, in diameters."""


def proud_mm(job: CarveJob) -> float:
    """Return how far the dowels stand over the bed, whole mm."""
    return float(math.floor(min(PROUD_DOWELS * job.gantry.dowel_mm, PROUD_SHARE * job.thickness_mm)))


def hole_in_block_mm(job: CarveJob) -> float:
    """Return how deep the holes in the block are to the cutter's tip: a ball leaves the bottom round."""
    return proud_mm(job) + DEEPER_MM + (job.rougher.diameter_mm if job.rougher.kind == "ball" else 0.0)


def dowel_holes(job: CarveJob, top_mm: float, depth_mm: float) -> list[tuple[str, tuple[Move, ...]]]:
    """Return the moves of both holes, from a height down, with a name each."""
    names = ("hole of the tail's dowel", "hole of the nose's dowel")
    return [(name, tuple(_hole(job, x, top_mm, depth_mm))) for name, x in zip(names, job.dowels_mm, strict=True)]


def _hole(job: CarveJob, x: float, top: float, depth: float) -> Iterator[Move]:
    feed, wide = job.rough_feed_mm_min, (job.gantry.dowel_mm - job.rougher.diameter_mm) / 2.0
    if wide <= SAME_WIDTH_MM / 2.0:
        yield Move(x_mm=x, y_mm=0.0, z_mm=job.safe_mm)
        pecks = math.ceil(depth / (PECK_DIAMETERS * job.rougher.diameter_mm))
        for n in range(1, pecks + 1):
            yield Move(x_mm=x, y_mm=0.0, z_mm=top - depth * n / pecks, feed_mm_min=feed / 3.0)
            yield Move(x_mm=x, y_mm=0.0, z_mm=top, feed_mm_min=feed)
        yield Move(x_mm=x, y_mm=0.0, z_mm=job.safe_mm, feed_mm_min=feed)
        return
    # Rings from the middle outward, none further from the last than a radius: no core is left.
    rings = math.ceil(wide / job.rougher.radius_mm)
    for ring in range(1, rings + 1):
        yield from _helix(job, (x, wide * ring / rings), top, depth, feed)


def _helix(job: CarveJob, middle: tuple[float, float], top: float, depth: float, feed: float) -> Iterator[Move]:
    """Yield the moves down a helix about a place on the stringer, and once round at its bottom."""
    x, radius = middle
    turn = min(2.0 * math.pi * radius * math.tan(math.radians(job.ramp_deg)), job.rougher.pass_mm)
    halves = 2 * math.ceil(depth / turn)
    yield Move(x_mm=x + radius, y_mm=0.0, z_mm=job.safe_mm)
    yield Move(x_mm=x + radius, y_mm=0.0, z_mm=top, feed_mm_min=feed)
    for n in range(1, halves + 3):
        side = radius if n % 2 == 0 else -radius
        z = top - depth * min(n / halves, 1.0)
        yield Move(x_mm=x + side, y_mm=0.0, z_mm=z, bulge=1.0, feed_mm_min=feed)
    yield Move(x_mm=x, y_mm=0.0, z_mm=top - depth, feed_mm_min=feed)
    yield Move(x_mm=x, y_mm=0.0, z_mm=job.safe_mm, feed_mm_min=feed)
