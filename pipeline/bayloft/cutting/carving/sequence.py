"""The block while it is cut, move by move: how deep the cutter goes in at once, how it goes down, and what room the
holder has over what still stands.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter

from bayloft.cutting.carving.setup import CarveJob
from bayloft.cutting.carving.stock import Cuts3D, StockField
from bayloft.findings import Finding
from bayloft.spec.shops.shop import Cutter

Array = NDArray[np.float64]

NODE_MM, SAMPLE_MM = 3.0, 2.0
"""Nodes of the block, and places of a motion, at which it is looked at."""
AT_ONCE = 400
"""Places of a motion that are taken together, as one cut into what stood before."""
TURNED = -0.2
"""Cosine of the turn from which a path goes back on itself: what lies behind it is cut by then."""
COARSE = 2
"""Nodes to a side of a cell in which the holder's room is looked at, each as high as its highest."""
DEEPER_SHARE = 1.0 / 3.0
"""By how much more than a level a cut may be deep, as a share of it: in corners between a tab and a wall, where the
roughing does not come."""
STEEP = 1.05
"""Slope of a way down, a little over 45 degrees, from which it is on the cutter's tip."""
ON_TIP_SHARE = 0.75
"""Share of a level, besides the roughing's allowance, that a cutter may take on its tip: where it was lifted over a tab
and comes down beside it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sequence3D:
    """What was found on the way: greatest depth of a cut, mm, and its line; greatest depth cut straight down, mm, and
    its line; how far the cutter must stand out of the holder at least, with its clearance, mm, and where.
    """

    deepest_mm: float
    deepest_line: int
    plunged_mm: float
    plunged_line: int
    stick_out_mm: float
    stick_out_line: int


def followed(job: CarveJob, programs: Sequence[tuple[Cuts3D, Cutter]]) -> Sequence3D:
    """Return what the programs of one set-up, in their order, do to the block."""
    x = np.arange(job.block_from_mm, job.block_to_mm + NODE_MM, NODE_MM)
    half = math.ceil(job.block_width_mm / 2.0 / NODE_MM) * NODE_MM
    field = StockField(x, np.arange(-half, half + NODE_MM, NODE_MM), job.thickness_mm)
    holder = _Holder(job, field)
    deepest, plunged, deepest_line, plunged_line = 0.0, 0.0, 0, 0
    for cuts, cutter in programs:
        drop = cuts.start[:, 2] - cuts.end[:, 2]
        flat = np.hypot(*(cuts.end - cuts.start)[:, :2].T)
        steep = (drop > STEEP * flat) & (drop > 0.0)
        for first, last in _together(cuts):
            places, which = cuts.sampled(SAMPLE_MM, first, last)
            holder.look(places, cuts.line[which])
            depth, under_tip = field.deepest(places, cutter)
            at = int(np.argmax(depth))
            if depth[at] > deepest:
                deepest, deepest_line = float(depth[at]), int(cuts.line[which[at]])
            tip = np.where(steep[which], under_tip, 0.0)
            at = int(np.argmax(tip))
            if tip[at] > plunged:
                plunged, plunged_line = float(tip[at]), int(cuts.line[which[at]])
    return Sequence3D(
        deepest_mm=deepest,
        deepest_line=deepest_line,
        plunged_mm=plunged,
        plunged_line=plunged_line,
        stick_out_mm=holder.needed_mm + job.gantry.clearance_mm,
        stick_out_line=holder.line,
    )


def sequence_findings(job: CarveJob, where: str, found: Sequence3D) -> Iterator[Finding]:
    """Yield what is wrong with the way a set-up is cut: "level-deep", "plunged", "holder-hits"."""
    level = job.gantry.level_mm * (1.0 + DEEPER_SHARE)
    tip = job.gantry.allowance_mm + ON_TIP_SHARE * job.gantry.level_mm
    rules = (
        (
            "level-deep",
            found.deepest_mm,
            level,
            f"line {found.deepest_line}: the cutter takes {found.deepest_mm:.1f} mm at once, and a level is "
            f"{job.gantry.level_mm:g} mm",
        ),
        (
            "plunged",
            found.plunged_mm,
            tip,
            f"line {found.plunged_line}: the cutter goes straight down into {found.plunged_mm:.1f} mm of foam",
        ),
        (
            "holder-hits",
            found.stick_out_mm,
            job.gantry.stick_out_mm,
            f"line {found.stick_out_line}: the holder comes too near to the foam; the cutter must stand out "
            f"{math.ceil(found.stick_out_mm):d} mm, and stands out {job.gantry.stick_out_mm:g}: a longer cutter, or a "
            "narrower holder, will do",
        ),
    )
    for code, measured, limit, text in rules:
        good = measured <= limit + 1e-6
        yield Finding(
            code=code,
            severity="note" if good else "failure",
            where=where,
            measured=measured,
            limit=limit,
            unit="mm",
            text=text,
        )


def _together(cuts: Cuts3D) -> Iterator[tuple[int, int]]:
    """Yield runs of motions that are one cut: none goes back on another."""
    step = cuts.end - cuts.start
    size = np.sqrt((step * step).sum(axis=1))
    way = step / np.maximum(size, 1e-12)[:, None]
    back = np.concatenate([[True], (way[1:] * way[:-1]).sum(axis=1) < TURNED])
    counts = np.maximum(np.ceil(size / SAMPLE_MM), 1.0)
    total, first = 0.0, 0
    for i, (turned, count) in enumerate(zip(back.tolist(), counts.tolist(), strict=True)):
        if i > first and (turned or total + count > AT_ONCE):
            yield first, i
            total, first = 0.0, i
        total += count
    if first < len(counts):
        yield first, len(counts)


class _Holder:
    """The room under the holder: the highest foam about each place, looked up anew where it seems too little."""

    def __init__(self, job: CarveJob, field: StockField) -> None:
        self._field, self._stick_out = field, job.gantry.stick_out_mm
        self._cell = COARSE * NODE_MM
        reach = math.ceil(job.gantry.holder_mm / 2.0 / self._cell)
        steps = self._cell * np.arange(-reach, reach + 1)
        # A cell counts where any part of it is under the holder.
        near = np.maximum(np.abs(steps) - self._cell / 2.0, 0.0)
        self._round = np.hypot(near[:, None], near[None, :]) <= job.gantry.holder_mm / 2.0
        self.needed_mm, self.line = 0.0, 0
        self._renew()

    def _renew(self) -> None:
        heights = self._field.heights
        nx, ny = (size - size % COARSE for size in heights.shape)
        cells = heights[:nx, :ny].reshape(nx // COARSE, COARSE, ny // COARSE, COARSE).max(axis=(1, 3))
        self._highest = maximum_filter(cells, footprint=self._round, mode="constant", cval=0.0)

    def look(self, places: Array, lines: NDArray[np.int64]) -> None:
        """Look at the tip's places (n, 3), before what they cut is gone."""
        needed = self._needed(places)
        if needed.max() > min(self._stick_out, max(self.needed_mm, 0.0)) or needed.max() > self._stick_out:
            self._renew()
            needed = self._needed(places)
        at = int(np.argmax(needed))
        if needed[at] > self.needed_mm:
            self.needed_mm, self.line = float(needed[at]), int(lines[at])

    def _needed(self, places: Array) -> Array:
        i = np.clip(((places[:, 0] - self._field.x[0]) / self._cell).astype(np.int64), 0, len(self._highest) - 1)
        j = np.clip(((places[:, 1] - self._field.y[0]) / self._cell).astype(np.int64), 0, self._highest.shape[1] - 1)
        return np.asarray(self._highest[i, j] - places[:, 2], dtype=np.float64)
