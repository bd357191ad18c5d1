"""A closed contour parted along an upright line, exactly: lines and arcs are cut where they pass it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.drawing.contour import Contour

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Crossing:
    """Where a contour passes an upright line: on which segment, after which share of its sweep or length, at which
    height in mm, whether towards greater x, how far from the ends of the segment in mm, how steep (rise per run) and how
    curved (1/mm) the contour is there.
    """

    segment: int
    share: float
    y_mm: float
    rightward: bool
    off_ends_mm: float
    slope: float
    curvature: float


def crossings(contour: Contour, x_mm: float) -> tuple[Crossing, ...]:
    """Return where a contour passes an upright line, by height, from below."""
    ends = np.roll(contour.points, -1, axis=0)
    count = len(contour.points) - (not contour.closed)
    found: list[Crossing] = []
    for i in range(count):
        start, end, bulge = contour.points[i], ends[i], float(contour.bulges[i])
        # An arc reaches beyond its ends by its sagitta at most, one of more than half a turn by twice its radius.
        reach = abs(bulge) * float(np.hypot(*(end - start))) * max(1.0, bulge * bulge)
        if min(start[0], end[0]) - reach <= x_mm <= max(start[0], end[0]) + reach:
            found += _on_segment(i, start, end, bulge, x_mm)
    return tuple(sorted(found, key=lambda crossing: crossing.y_mm))


def _on_segment(i: int, start: Array, end: Array, bulge: float, x_mm: float) -> list[Crossing]:
    chord = end - start
    length = float(np.hypot(*chord))
    if bulge == 0.0:
        if chord[0] == 0.0:
            return []
        share = float((x_mm - start[0]) / chord[0])
        rise = float(chord[1] / chord[0])
        y = float(start[1] + share * chord[1])
        return [_crossing(i, share, y, chord[0] > 0.0, length, rise, 0.0)] if 0.0 <= share < 1.0 else []
    sweep = 4.0 * np.arctan(bulge)
    radius = length * (1.0 + bulge * bulge) / (4.0 * bulge)
    across = np.array([-chord[1], chord[0]]) / length
    centre = (start + end) / 2 + across * radius * np.cos(sweep / 2)
    root = radius * radius - (x_mm - centre[0]) ** 2
    if root <= 0.0:
        return []
    found = []
    for sign in (1.0, -1.0):
        out = np.array([x_mm - centre[0], sign * np.sqrt(root)])
        turned = float(np.arctan2(*_turn(start - centre, out)))
        share = turned / sweep if turned * sweep >= 0.0 else (turned + np.sign(sweep) * 2.0 * np.pi) / sweep
        heading = np.sign(bulge) * np.array([-out[1], out[0]])
        if 0.0 <= share < 1.0 and heading[0] != 0.0:
            y, slope = float(centre[1] + out[1]), float(heading[1] / heading[0])
            found.append(_crossing(i, share, y, heading[0] > 0.0, abs(radius * sweep), slope, 1.0 / abs(radius)))
    return found


def _turn(a: Array, b: Array) -> tuple[float, float]:
    return float(a[0] * b[1] - a[1] * b[0]), float(a @ b)


def _crossing(
    i: int, share: float, y: float, rightward: np.bool_ | bool, length: float, slope: float, curvature: float
) -> Crossing:
    return Crossing(
        segment=i,
        share=share,
        y_mm=y,
        rightward=bool(rightward),
        off_ends_mm=length * min(share, 1.0 - share),
        slope=slope,
        curvature=curvature,
    )


def parted(contour: Contour, x_mm: float) -> tuple[Contour, Contour]:
    """Return what lies left and what lies right of an upright line, as open contours that keep the contour's sense.

    A counter-clockwise contour's left part runs from its upper to its lower crossing, the right part from the lower to
    the upper one. Raises ValueError unless the contour passes the line exactly twice.
    """
    found = crossings(contour, x_mm)
    if len(found) != 2 or found[0].rightward == found[1].rightward:
        raise ValueError(f"a contour that passes x = {x_mm:g} mm {len(found)} times cannot be parted there")
    lower, upper = found
    into, back = (lower, upper) if lower.rightward else (upper, lower)
    return _between(contour, back, into, x_mm), _between(contour, into, back, x_mm)


def _between(contour: Contour, first: Crossing, last: Crossing, x_mm: float) -> Contour:
    """Return the contour from one crossing on to another."""
    n = len(contour.points)
    steps = (last.segment - first.segment) % n
    if steps == 0 and last.share <= first.share:
        steps = n
    which = [(first.segment + step) % n for step in range(1, steps + 1)]
    points = np.vstack([[x_mm, first.y_mm], contour.points[which], [x_mm, last.y_mm]])
    shares = np.ones(len(which) + 1)
    shares[0] -= first.share
    shares[-1] -= 1.0 - last.share
    sweeps = np.arctan(contour.bulges[[first.segment, *which]]) * shares
    return Contour(points=points, bulges=np.append(np.tan(sweeps), 0.0), closed=False)
