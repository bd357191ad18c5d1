"""Where a profile lies on a plank: clear of knots and of what is cut from it besides, exact in translation."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from shapely import (
    LineString,
    MultiPolygon,
    Point,
    Polygon,
    convex_hull,
    get_coordinates,
    maximum_inscribed_circle,
    polygons,
    transform,
    union_all,
)
from shapely.geometry.base import BaseGeometry

from bayloft.arithmetic import product
from bayloft.plane.contour import Contour
from bayloft.spec.planks.plank import Knot, Plank

Array = NDArray[np.float64]

ANGLES_DEG = tuple(sign * step / 20.0 for step in range(81) for sign in ((1.0, -1.0) if step else (1.0,)))
"""Turns that are tried: 4 degrees to either side in steps of 0.05, the least first. On a plank 3 m long a step is
2.6 mm at its end."""

PACKED_DEG = tuple(sign * step / 4.0 for step in range(17) for sign in ((1.0, -1.0) if step else (1.0,)))
"""Turns that are tried where several pieces come out of one plank: steps of a quarter of a degree."""

TURN_OVERS = ((1.0, 1.0), (-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0))
"""How a profile is laid: as it is drawn, nose to the far end and deck to the far edge; turned end for end; and these
two turned over. The signs of its x and y."""

FLAT_MM = 0.02
"""mm within which a profile's arcs are drawn as straight lines, and places found by shapely are true."""

STEP_MM = 5.0
"""mm along the plank between places at which the edges' room is worked out."""

SHOWN_DECIMALS = 1
"""Decimals (mm) to which a place is rounded: a pencil is no finer, and all machines find the same one."""

ROUNDED_MM = 0.08
"""mm by which rounding moves a place at most."""

ROUND_SEGMENTS = 16
"""Straight lines in a quarter of a knot's round; drawn outside of it."""

TIGHT_MM = 1.0
"""Wood left between a piece and the plank's edge where others are to come out of the plank too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Lie:
    """How a profile lies on a plank: its x and y times `flips`, turned by `angle_deg` counter-clockwise, and its origin
    moved to (x_mm, y_mm) on the plank.
    """

    flips: tuple[float, float]
    angle_deg: float
    x_mm: float
    y_mm: float

    def placed(self, points: Array) -> Array:
        """Return points (n, 2) of the profile on the plank, mm."""
        placed: Array = _turned(points, self.flips, self.angle_deg) + np.array([self.x_mm, self.y_mm])
        return placed

    def laid(self, contour: Contour) -> Contour:
        """Return a contour of the profile on the plank."""
        flipped = Contour(
            points=contour.points * np.array(self.flips),
            bulges=contour.bulges * (self.flips[0] * self.flips[1]),
            closed=contour.closed,
        )
        return flipped.turned(self.angle_deg).moved(self.x_mm, self.y_mm)

    @property
    def turned_over(self) -> bool:
        """Whether the template lies on its other face."""
        return self.flips[0] * self.flips[1] < 0.0

    @property
    def nose_to_far_end(self) -> bool:
        """Whether the nose lies towards the end of the plank that the tape does not begin at."""
        return self.flips[0] > 0.0

    @property
    def deck_to_far_edge(self) -> bool:
        """Whether the deck lies towards the edge away from the maker."""
        return self.flips[1] > 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Clear:
    """How far a profile on a plank keeps from what is round it, mm: the plank's near and far edge, the end that the
    tape begins at and the other, and each knot in the plank's order, from its own edge.
    """

    near_mm: float
    far_mm: float
    end_mm: float
    other_end_mm: float
    knots_mm: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastWidth:
    """The narrowest straight strip that holds a profile, mm, by what it is turned in it, counter-clockwise, and how
    long the strip is.
    """

    width_mm: float
    angle_deg: float
    length_mm: float


def least_width(points: Array) -> LeastWidth:
    """Return the least width of a straight-edged strip round points (n, 2), by rotating callipers: exact, for one side
    of it lies along an edge of the convex hull.
    """
    hull = get_coordinates(convex_hull(Polygon(points)))
    found: list[LeastWidth] = []
    for start, end in pairwise(hull):
        angle = -math.degrees(math.atan2(*(end - start)[::-1]))
        angle = (angle + 90.0) % 180.0 - 90.0
        size = np.ptp(_turned(hull, (1.0, 1.0), angle), axis=0)
        found.append(LeastWidth(width_mm=float(size[1]), angle_deg=angle, length_mm=float(size[0])))
    return min(found, key=lambda one: (round(one.width_mm, 9), abs(one.angle_deg)))


def plank_outline(plank: Plank) -> Array:
    """Return the outline (n, 2) of a plank on the face that it is measured on, counter-clockwise, mm."""
    x = np.linspace(0.0, plank.length_mm, 65 if plank.crook_mm else 2)
    near = np.array([plank.near_mm(each) for each in x.tolist()])
    far = near + np.array([plank.wide_mm(each) for each in x.tolist()])
    return np.vstack([np.column_stack([x, near]), np.column_stack([x, far])[::-1]])


def middle_of(knot: Knot, plank: Plank) -> tuple[float, float]:
    """Return where the middle of a knot lies on its plank, mm."""
    return knot.from_end_mm, plank.near_mm(knot.from_end_mm) + knot.from_edge_mm


def core_of(knot: Knot, plank: Plank) -> tuple[BaseGeometry, float]:
    """Return the middle line of a knot on its plank, and the radius round it that is the knot."""
    x, y = middle_of(knot, plank)
    dx, dy = _half_line(knot)
    radius = min(knot.along_mm, knot.across_mm) / 2.0
    return (LineString([(x - dx, y - dy), (x + dx, y + dy)]) if dx or dy else Point(x, y)), radius


def clearances(points: Array, plank: Plank) -> Clear:
    """Return how far a profile that lies on a plank, its outline's points (n, 2), keeps from all round it."""
    own = Polygon(points)
    edges = plank_outline(plank)
    half = len(edges) // 2
    near, far = LineString(edges[:half]), LineString(edges[half:])
    knots = []
    for knot in plank.knots:
        core, radius = core_of(knot, plank)
        knots.append(float(own.distance(core)) - radius)
    return Clear(
        near_mm=float(own.distance(near)),
        far_mm=float(own.distance(far)),
        end_mm=float(points[:, 0].min()),
        other_end_mm=plank.length_mm - float(points[:, 0].max()),
        knots_mm=tuple(knots),
    )


def best_lie(profile: Array, plank: Plank) -> Lie | None:
    """Return how a profile, its outline's points (n, 2), lies furthest from the plank's edges and ends, and from the
    clearance asked round each knot, over all turn-overs and ANGLES_DEG; None where it lies nowhere.

    For each angle the places free for the profile's origin are one polygon, and the middle of the greatest circle in it
    is the place.
    """
    best: tuple[float, Lie] | None = None
    for flips, angle in _ways(ANGLES_DEG):
        turned = _turned(profile, flips, angle)
        room = _room(turned, plank)
        if room.is_empty or (best and round(_at_most(room), SHOWN_DECIMALS) <= best[0]):
            continue
        free = room.difference(_blocked(turned, plank, ()))
        for place, radius in _middles(free):
            score = round(radius, SHOWN_DECIMALS)
            if score > 0.0 and (best is None or score > best[0]):
                best = score, Lie(flips=flips, angle_deg=angle, x_mm=place[0], y_mm=place[1])
    return None if best is None else best[1]


def packed_lie(profile: Array, plank: Plank, taken: Sequence[Array], apart_mm: float) -> Lie | None:
    """Return how a profile lies on a plank with its middle as near as can be to the near edge, TIGHT_MM inside of the
    plank's edges and `apart_mm` off each of those that lie there already; None where it lies nowhere.
    """
    best: tuple[tuple[float, float], Lie] | None = None
    for flips, angle in _ways(PACKED_DEG):
        turned = _turned(profile, flips, angle)
        room = _room(turned, plank).buffer(-TIGHT_MM)
        if room.is_empty:
            continue
        middle = Polygon(turned).centroid.y
        if best and round(room.bounds[1] + middle, SHOWN_DECIMALS) > best[0][0]:
            continue
        free = room.difference(_blocked(turned, plank, [(each, apart_mm) for each in taken])).buffer(-ROUNDED_MM)
        corners = np.round(get_coordinates(free), SHOWN_DECIMALS)
        for x, y in corners[np.lexsort(corners.T)].tolist():
            score = round(y + middle, SHOWN_DECIMALS), x
            if best is not None and score >= best[0]:
                break
            # Rounding may have moved it, by less than the room left round it.
            if free.distance(Point(x, y)) <= ROUNDED_MM:
                best = score, Lie(flips=flips, angle_deg=angle, x_mm=x, y_mm=y)
                break
    return None if best is None else best[1]


def _ways(angles: Sequence[float]) -> Iterator[tuple[tuple[float, float], float]]:
    """Yield the ways in which a profile is turned over and turned, in the order of the angles."""
    for angle in angles:
        for flips in TURN_OVERS:
            yield flips, angle


def _turned(points: Array, flips: tuple[float, float], angle_deg: float) -> Array:
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turned: Array = product(points * np.array(flips), [[cosine, sine], [-sine, cosine]])
    return turned


def _at_most(room: BaseGeometry) -> float:
    """Return the most that a place in a room can be from its edge."""
    left, low, right, high = room.bounds
    return float(min(right - left, high - low)) / 2.0


def _middles(free: BaseGeometry) -> Iterator[tuple[tuple[float, float], float]]:
    """Yield the place in a set that is furthest from its edge, rounded, and how far it is."""
    if free.is_empty or free.area == 0.0:
        return
    circle = maximum_inscribed_circle(free, tolerance=FLAT_MM)
    x, y = np.round(get_coordinates(circle)[0], SHOWN_DECIMALS).tolist()
    place = Point(x, y)
    if free.contains(place):
        yield (x, y), float(free.boundary.distance(place))


def _room(turned: Array, plank: Plank) -> BaseGeometry:
    """Return the places of the origin at which a profile lies within the plank's edges and ends.

    The edges' room at a place along the plank is the least over the profile's points: of functions that are straight
    but for the crook, so straight lines between two places keep within it, but for what the crook bends in a step.
    """
    first, last = -float(turned[:, 0].min()), plank.length_mm - float(turned[:, 0].max())
    if last <= first:
        return Polygon()
    x = np.linspace(first, last, math.ceil((last - first) / STEP_MM) + 1)
    at = turned[:, :1] + x
    share = at / plank.length_mm
    near = 4.0 * plank.crook_mm * share * (1.0 - share)
    far = near + plank.width_mm + (plank.width_other_mm - plank.width_mm) * share
    longest = float(np.hypot(*np.diff(turned, axis=0, append=turned[:1]).T).max())
    bent = plank.crook_mm * (longest**2 + STEP_MM**2) / plank.length_mm**2
    low = (near - turned[:, 1:]).max(axis=0) + bent
    high = (far - turned[:, 1:]).min(axis=0) - bent
    whole = (high[:-1] > low[:-1]) & (high[1:] > low[1:])
    quads = np.stack(
        [
            np.column_stack([x[:-1], low[:-1]]),
            np.column_stack([x[1:], low[1:]]),
            np.column_stack([x[1:], high[1:]]),
            np.column_stack([x[:-1], high[:-1]]),
        ],
        axis=1,
    )[whole]
    if len(quads) == 0:
        return Polygon()
    ends = np.flatnonzero(np.diff(np.flatnonzero(whole)) > 1) + 1
    runs = [np.vstack([run[:, 0], run[-1:, 1], run[-1:, 2], run[::-1, 3]]) for run in np.split(quads, ends)]
    return MultiPolygon([Polygon(run) for run in runs]) if len(runs) > 1 else Polygon(runs[0])


def _blocked(turned: Array, plank: Plank, taken: Sequence[tuple[Array, float]]) -> BaseGeometry:
    """Return the places of the origin at which a profile comes too near to a knot, or to another that lies there."""
    image = Polygon(-turned)
    blocks: list[BaseGeometry] = []
    for knot in plank.knots:
        x, y = middle_of(knot, plank)
        radius = min(knot.along_mm, knot.across_mm) / 2.0 + plank.clearance_mm
        grown = _grown(image, *_half_line(knot), radius)
        blocks.append(transform(grown, lambda points, x=x, y=y: points + np.array([x, y])))
    blocks += [_met(turned, other).buffer(apart) for other, apart in taken]
    return union_all(blocks)


def _grown(shape: BaseGeometry, dx: float, dy: float, radius: float) -> BaseGeometry:
    """Return what a shape covers when it is moved along a line from (-dx, -dy) to (dx, dy), and a radius round that."""
    if dx or dy:
        points = get_coordinates(shape)
        step = np.array([dx, dy])
        quads = np.stack([points[:-1] - step, points[1:] - step, points[1:] + step, points[:-1] + step], axis=1)
        ends = [Polygon(points - step), Polygon(points + step)]
        shape = union_all([*ends, *(each.buffer(0.0) for each in polygons(quads))])
    outside = radius / math.cos(math.pi / (4 * ROUND_SEGMENTS))
    return shape.buffer(outside, quad_segs=ROUND_SEGMENTS)


def _half_line(knot: Knot) -> tuple[float, float]:
    """Return half the middle line of a knot, along and across."""
    spare = (knot.along_mm - knot.across_mm) / 2.0
    return (spare, 0.0) if spare >= 0.0 else (0.0, -spare)


def _met(turned: Array, other: Array) -> BaseGeometry:
    """Return the places of the origin at which a profile meets another one that lies on the plank: Minkowski's sum of
    the other and its own image. Both are one stretch of heights at each place along the plank, so the places are one
    stretch of heights too, worked out at STEP_MM.
    """
    own_x, own_low, own_high = _heights(turned)
    x, low, high = _heights(other)
    first, last = float(x[0] - own_x[-1]), float(x[-1] - own_x[0])
    at = np.linspace(first, last, math.ceil((last - first) / STEP_MM) + 1)
    least, most = np.empty_like(at), np.empty_like(at)
    for i, shift in enumerate(at.tolist()):
        places = np.concatenate([x, own_x + shift])
        places = places[(places >= max(x[0], own_x[0] + shift)) & (places <= min(x[-1], own_x[-1] + shift))]
        if len(places) == 0:
            places = np.array([x[0] if i == 0 else x[-1]])
        below = np.interp(places, x, low) - np.interp(places - shift, own_x, own_high)
        above = np.interp(places, x, high) - np.interp(places - shift, own_x, own_low)
        least[i], most[i] = below.min(), above.max()
    return Polygon(np.vstack([np.column_stack([at, least]), np.column_stack([at, most])[::-1]])).buffer(0.0)


def _heights(points: Array) -> tuple[Array, Array, Array]:
    """Return the places along the plank of an outline's points, and its lower and upper edge at these."""
    x = np.unique(points[:, 0])
    ring = np.vstack([points, points[:1]])
    low, high = np.full_like(x, np.inf), np.full_like(x, -np.inf)
    for (x0, y0), (x1, y1) in pairwise(ring.tolist()):
        first, last = np.searchsorted(x, (min(x0, x1), max(x0, x1)))
        own = slice(first, last + 1)
        heights = (y0 + (y1 - y0) * (x[own] - x0) / (x1 - x0)) if x1 != x0 else np.array([y0, y1])
        low[own] = np.minimum(low[own], heights.min() if x1 == x0 else heights)
        high[own] = np.maximum(high[own], heights.max() if x1 == x0 else heights)
    return x, low, high
