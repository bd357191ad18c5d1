"""Joints between the pieces of a part: the edges of both pieces, their dowel holes, and the plate of a butt joint."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, cos, radians, sin, tan

import numpy as np
from numpy.typing import NDArray

from bayloft.plane.contour import Contour
from bayloft.plane.parting import crossings, crossings_at
from bayloft.spec.shops.shop import Cutting, JointKind

Array = NDArray[np.float64]

KEY_MM, NECK_MM, FLARE_DEG = 24.0, 18.0, 12.0
"""A dovetail key: its length, its width at the shoulder, and how far its flanks flare (common practice, no source)."""

KEY_ROUND_MM = 4.0
"""Radius of the inside corners at a key's neck, and of the corners of its head; those of the socket's head are larger
by the fit. A cutter of 8 mm or 5/16 in goes round them all, which is where the size is from."""

KEY_EVERY_MM, BESIDE_KEY_MM = 180.0, 6.0
"""Height of a part for which it gets one more key, and the stuff left between a key and the part's edge
(common practice, no source)."""

LAP_MM = 80.0
"""Length in which the pieces of a half-lap lie on each other (common practice, no source)."""

PLATE_MM, PLATE_HIGH_MM, PLATE_INSET_MM, PLATE_ROUND_MM = 200.0, 120.0, 10.0, 8.0
"""Length of a splice plate and its greatest height, its distance from the part's edges, which a maker traces along, and
its corners' radius (common practice, no source)."""

DOWEL_MM, DOWEL_INSET_MM = 6.0, 12.0
"""Holes for the dowels that hold both pieces where they belong while the glue sets; their middles from any edge
(common practice, no source)."""

LAP_DOWELS_MM, PLATE_DOWELS_MM = (-20.0, 20.0), (-40.0, -18.0, 18.0, 40.0)
"""Where the dowels stand, along the part from the middle of the joint; high and low by turns (common practice, no
source)."""

PLACES = 9
"""Places along a joint where the height of the part is looked at (no source: no outline turns back between them)."""

_REACHES: dict[JointKind, tuple[float, float]] = {
    "dovetail": (0.0, KEY_MM),
    "half-lap": (LAP_MM / 2, LAP_MM / 2),
    "splice": (PLATE_DOWELS_MM[-1] + DOWEL_INSET_MM, PLATE_DOWELS_MM[-1] + DOWEL_INSET_MM),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Joint:
    """A joint at a station in mm: the right end of the left piece and the left end of the right piece, each from the
    part's lower edge up to its upper one; the holes in both; the plate's outline for a splice, else None.
    """

    x_mm: float
    left: Contour
    right: Contour
    holes: tuple[Contour, ...]
    plate: Contour | None


def reach_mm(kind: JointKind) -> tuple[float, float]:
    """Return how far a joint reaches before and after its middle: nothing may be marked or written there."""
    return _REACHES[kind]


def overlap_mm(kind: JointKind) -> tuple[float, float]:
    """Return how far the right piece begins before the middle of a joint, and how far the left one ends after it."""
    return (0.0, 0.0) if kind == "splice" else _REACHES[kind]


def joint_at(contour: Contour, x_mm: float, cutting: Cutting) -> Joint | None:
    """Return the joint of a part's outline at a station, or None where it has no room: the outline must pass each
    station of it twice, and be high enough.
    """
    before, after = (PLATE_MM / 2, PLATE_MM / 2) if cutting.joint == "splice" else _REACHES[cutting.joint]
    heights = _heights(contour, np.linspace(x_mm - before, x_mm + after, PLACES))
    if heights is None:
        return None
    inside = float(heights[:, 0].max()), float(heights[:, 1].min())
    match cutting.joint:
        case "dovetail":
            return _dovetailed(contour, x_mm, inside, cutting.fit_mm)
        case "half-lap":
            return _lapped(contour, x_mm, inside, cutting.fit_mm)
        case "splice":
            return _spliced(contour, x_mm, inside)


def _heights(contour: Contour, stations_mm: Array) -> Array | None:
    """Return the lower and upper edge (n, 2) at stations, or None where the contour does not pass one exactly twice."""
    found = crossings_at(contour, stations_mm)
    if any(len(each) != 2 for each in found):
        return None
    return np.array([[crossing.y_mm for crossing in each] for each in found])


def _end(contour: Contour, x_mm: float) -> Contour:
    low, high = crossings(contour, x_mm)
    return Contour.straight([[x_mm, low.y_mm], [x_mm, high.y_mm]], closed=False)


def _dovetailed(contour: Contour, x_mm: float, inside: tuple[float, float], fit_mm: float) -> Joint | None:
    """Return keys on the left piece in sockets of the right one. Their shoulders meet and so keep the length; round a
    key there is a gap of `fit_mm`, square to its edge.
    """
    least = float(np.abs(_key(fit_mm)[:, 1]).max()) * 2.0 + 2.0 * BESIDE_KEY_MM
    height = inside[1] - inside[0]
    count = min(max(1, ceil(height / KEY_EVERY_MM)), int(height // least))
    if count < 1:
        return None
    middles = inside[0] + (np.arange(count) + 0.5) * height / count
    ends = []
    for gap in (0.0, fit_mm):
        (_, low), (_, high) = _end(contour, x_mm).points.tolist()
        keys = [_key(gap) + np.array([x_mm, middle, 0.0]) for middle in middles.tolist()]
        table = np.vstack([[x_mm, low, 0.0], *keys, [x_mm, high, 0.0]])
        ends.append(Contour(points=table[:, :2], bulges=table[:, 2], closed=False))
    return Joint(x_mm=x_mm, left=ends[0], right=ends[1], holes=(), plate=None)


def _key(gap_mm: float) -> Array:
    """Return points and bulges (8, 3) of a key or, with a gap, of its socket, upward from its lower shoulder at (0, 0).

    The socket's flanks and head stand off the key's by the gap; its neck has the key's own radius, so that its round
    corner, moved along the shoulder, stays clear of the key's.
    """
    flare = radians(FLARE_DEG)
    turn = radians(90.0) + flare
    neck, long = NECK_MM / 2 + gap_mm / cos(flare), KEY_MM + gap_mm
    head = neck + long * tan(flare)
    at_neck, at_head = KEY_ROUND_MM * tan(turn / 2), (KEY_ROUND_MM + gap_mm) * tan(turn / 2)
    bulge = tan(turn / 4)
    half = [
        (long, head - at_head, bulge),
        (long - at_head * cos(flare), head - at_head * sin(flare), 0.0),
        (at_neck * cos(flare), neck + at_neck * sin(flare), -bulge),
        (0.0, neck + at_neck, 0.0),
    ]
    lower = [(x, -y, 0.0) for x, y, _ in reversed(half)]
    arcs = (-bulge, 0.0, bulge, 0.0)
    return np.array([*((x, y, arc) for (x, y, _), arc in zip(lower, arcs, strict=True)), *half])


def _lapped(contour: Contour, x_mm: float, inside: tuple[float, float], fit_mm: float) -> Joint | None:
    """Return pieces that lie on each other for LAP_MM, each end `fit_mm` short of the other's shoulder."""
    if inside[1] - inside[0] < 2.0 * DOWEL_INSET_MM:
        return None
    return Joint(
        x_mm=x_mm,
        left=_end(contour, x_mm + LAP_MM / 2 - fit_mm),
        right=_end(contour, x_mm - LAP_MM / 2 + fit_mm),
        holes=_dowels(x_mm, inside, LAP_DOWELS_MM),
        plate=None,
    )


def _spliced(contour: Contour, x_mm: float, inside: tuple[float, float]) -> Joint | None:
    """Return ends that meet, and the plate over both; it needs no fit, for the dowels hold it."""
    low, high = inside[0] + PLATE_INSET_MM, inside[1] - PLATE_INSET_MM
    middle, half = (low + high) / 2, min(high - low, PLATE_HIGH_MM) / 2
    if half < DOWEL_INSET_MM:
        return None
    end = _end(contour, x_mm)
    wide, r, quarter = PLATE_MM / 2, PLATE_ROUND_MM, tan(np.pi / 8)
    rows = [(wide, r - half, 0.0), (wide, half - r, quarter), (wide - r, half, 0.0), (r - wide, half, quarter)]
    table = np.array(rows + [(-x, -y, bulge) for x, y, bulge in rows]) + np.array([x_mm, middle, 0.0])
    plate = Contour(points=table[:, :2], bulges=table[:, 2], closed=True)
    holes = _dowels(x_mm, (middle - half, middle + half), PLATE_DOWELS_MM)
    return Joint(x_mm=x_mm, left=end, right=end, holes=holes, plate=plate)


def _dowels(x_mm: float, between: tuple[float, float], along_mm: tuple[float, ...]) -> tuple[Contour, ...]:
    rows = between[0] + DOWEL_INSET_MM, between[1] - DOWEL_INSET_MM
    return tuple(Contour.circle((x_mm + off, rows[i % 2]), DOWEL_MM / 2) for i, off in enumerate(along_mm))
