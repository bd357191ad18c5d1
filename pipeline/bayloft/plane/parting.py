"""A closed contour parted along an upright line, exactly: lines and arcs are cut where they pass it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.plane.contour import Contour

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """Where a contour passes an upright line, in mm: on which segment, after which share of its sweep or length,
    whether towards greater x, how far from the ends of the segment in mm, how steep (rise per run) and how curved
    (1/mm) the contour is there.
    """

    segment: int
    share: float
    x_mm: float
    y_mm: float
    rightward: bool
    off_ends_mm: float
    slope: float
    curvature: float


def crossings(contour: Contour, x_mm: float) -> tuple[Crossing, ...]:
    """Return where a contour passes an upright line, by height, from below."""
    return crossings_at(contour, [x_mm])[0]


def crossings_at(contour: Contour, stations_mm: ArrayLike) -> tuple[tuple[Crossing, ...], ...]:
    """Return where a contour passes each of many upright lines, by height, from below; exact for lines and arcs."""
    x = np.asarray(stations_mm, dtype=np.float64)[:, None]
    segments = contour.segments
    starts, chords, bent = segments.starts, segments.chords, segments.bulges != 0.0
    found: list[list[Crossing]] = [[] for _ in range(len(x))]

    def note(
        hit: NDArray[np.bool_], share: Array, y: Array, slope: Array, ahead: Array, size: Array, bend: Array
    ) -> None:
        for i, k in np.argwhere(hit).tolist():
            found[i].append(
                Crossing(
                    segment=k,
                    share=float(share[i, k]),
                    x_mm=float(x[i, 0]),
                    y_mm=float(y[i, k]),
                    rightward=bool(ahead[i, k] > 0.0),
                    off_ends_mm=float(size[k] * min(share[i, k], 1.0 - share[i, k])),
                    slope=float(slope[i, k]),
                    curvature=float(bend[k]),
                )
            )

    with np.errstate(divide="ignore", invalid="ignore"):
        share, rise = (x - starts[:, 0]) / chords[:, 0], chords[:, 1] / chords[:, 0]
        shape = share.shape
        straight = ~bent & (share >= 0.0) & (share < 1.0)
        along = np.broadcast_to(chords[:, 0], shape)
        note(
            straight,
            share,
            starts[:, 1] + share * chords[:, 1],
            np.broadcast_to(rise, shape),
            along,
            segments.chords_mm,
            np.zeros(len(segments)),
        )
        sweeps, radii, centres = segments.sweeps, segments.radii_mm, segments.centres
        out = x - centres[:, 0]
        root = np.sqrt(radii**2 - out**2)
        since = starts - centres
        for up in (root, -root):
            turned = np.arctan2(since[:, 0] * up - since[:, 1] * out, since[:, 0] * out + since[:, 1] * up)
            share = np.where(turned * sweeps >= 0.0, turned, turned + np.sign(sweeps) * 2.0 * np.pi) / sweeps
            hit = bent & (root > 0.0) & (share >= 0.0) & (share < 1.0)
            note(
                hit,
                share,
                centres[:, 1] + up,
                -out / up,
                -np.sign(sweeps) * up,
                segments.lengths_mm,
                1.0 / radii,
            )
    return tuple(tuple(sorted(each, key=lambda crossing: crossing.y_mm)) for each in found)


def parted(contour: Contour, x_mm: float) -> tuple[Contour, Contour]:
    """Return what lies left and what lies right of an upright line, as open contours that keep the contour's sense.

    A counter-clockwise contour's left part runs from its upper to its lower crossing, the right part from the lower to
    the upper one. Raises ValueError unless the contour is counter-clockwise and passes the line exactly twice.
    """
    lower, upper = _pair(contour, x_mm)
    return _run(contour, upper, lower), _run(contour, lower, upper)


def between(contour: Contour, left_mm: float, right_mm: float) -> tuple[Contour, Contour]:
    """Return a counter-clockwise contour's lower edge from one upright line to another to its right, and its upper edge
    back. Raises ValueError as `parted` does.
    """
    (left_low, left_high), (right_low, right_high) = _pair(contour, left_mm), _pair(contour, right_mm)
    return _run(contour, left_low, right_low), _run(contour, right_high, left_high)


def _pair(contour: Contour, x_mm: float) -> tuple[Crossing, Crossing]:
    found = crossings(contour, x_mm)
    if len(found) != 2 or not found[0].rightward or found[1].rightward:
        raise ValueError(f"a contour that passes x = {x_mm:g} mm {len(found)} times cannot be parted there")
    return found[0], found[1]


def _run(contour: Contour, first: Crossing, last: Crossing) -> Contour:
    """Return the contour from one crossing on to another."""
    n = len(contour.points)
    steps = (last.segment - first.segment) % n
    if steps == 0 and last.share <= first.share:
        steps = n
    which = [(first.segment + step) % n for step in range(1, steps + 1)]
    points = np.vstack([[first.x_mm, first.y_mm], contour.points[which], [last.x_mm, last.y_mm]])
    shares = np.ones(len(which) + 1)
    shares[0] -= first.share
    shares[-1] -= 1.0 - last.share
    sweeps = np.arctan(contour.bulges[[first.segment, *which]]) * shares
    return Contour(points=points, bulges=np.append(np.tan(sweeps), 0.0), closed=False)
