"""Half-sections of a board as cubics, the straight lines that touch them from outside, and how far off a place is."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.arithmetic import lengths
from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.solid.integrals import parameter_at
from bayloft.solid.measure import section_slopes

Array = NDArray[np.float64]
Face = Literal["deck", "bottom"]
FACES: tuple[Face, ...] = ("deck", "bottom")

NEWTON_STEPS, NEAREST = 7, 6
"""Steps of Newton's method for a foot, and how many of the nearest knots it is looked for beside."""
TANGENT = 1e-6
"""Sine of the angle between a line and the section from which the line stands on a corner and not on a curve."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Touch:
    """Where lines of an outward normal touch sections, each array (n,): how far outward the line is from the origin,
    mm; the parameter v; the section's radius there, mm, 0 on a corner; the place (n, 2) as (y, z), mm.
    """

    outward_mm: Array
    v: Array
    radius_mm: Array
    place: Array


@dataclass(frozen=True, kw_only=True, eq=False)
class SectionHulls:
    """Port half-sections (y, z) in mm at stations, each as cubics in Bezier's form: `control` (stations, pieces, 4, 2)
    between the parameters v `ends` (pieces, 2), from bottom to deck at the stringer.
    """

    control: Array
    ends: Array

    @cached_property
    def _starts(self) -> Array:
        return np.concatenate([self.control[:, :, 0], self.control[:, -1:, 3]], axis=1)

    def touch(self, which: NDArray[np.int64], angle_deg: Array, face: Face) -> Touch:
        """Return where flats that slope `angle_deg` (n,) from level, falling outward on the deck and rising outward
        on the bottom, touch the sections `which` (n,): the whole half-section lies inside each. 90 degrees is upright.
        """
        normal = outward(angle_deg, face)
        own = self.control[which]
        heights = own[..., 0] * normal[:, None, None, 0] + own[..., 1] * normal[:, None, None, 1]
        # A piece stays below its control points: only those that reach over the best of all ends can be the highest.
        best = heights[..., (0, 3)].max(axis=(1, 2), keepdims=True)
        row, piece = np.nonzero((heights >= best).any(axis=2))
        reached, t = _highest(heights[row, piece])
        order = np.lexsort((reached, row))
        chosen = order[np.append(np.flatnonzero(np.diff(row[order])), len(order) - 1)]
        piece, at, outward_mm = piece[chosen], t[chosen], reached[chosen]
        place, slope, bend = _at(own[np.arange(len(which)), piece], at)
        speed = lengths(slope)
        turned = np.abs(slope[:, 0] * bend[:, 1] - slope[:, 1] * bend[:, 0])
        smooth = np.abs((slope * normal).sum(axis=1)) <= TANGENT * speed
        radius = np.where(smooth, speed**3 / np.maximum(turned, 1e-12), 0.0)
        low, high = self.ends[piece].T
        return Touch(outward_mm=outward_mm, v=low + (high - low) * at, radius_mm=radius, place=place)

    def distance(self, which: NDArray[np.int64], points: Array) -> Array:
        """Return the least distance (n,) in mm of points (n, 2) from the sections `which` (n,)."""
        starts = self._starts[which]
        # It lies on a piece that begins or ends at one of the nearest knots: where a section has two branches, the
        # nearest of all may be on the other.
        nearest = np.argsort(lengths(starts - points[:, None, :]), axis=1, kind="stable")[:, :NEAREST].T
        pieces = np.clip(np.concatenate([nearest - 1, nearest]), 0, self.control.shape[1] - 1)
        own, to = (np.concatenate([each] * len(pieces)) for each in (which, points))
        curve = self.control[own, pieces.ravel()]
        t = np.full(len(to), 0.5)
        for _ in range(NEWTON_STEPS):
            place, slope, bend = _at(curve, t)
            off = place - to
            down, steep = (off * slope).sum(axis=1), (slope * slope).sum(axis=1)
            steeper = steep + (off * bend).sum(axis=1)
            t = np.clip(t - down / np.where(steeper > 0.1 * steep, steeper, steep), 0.0, 1.0)
        found = lengths(_at(curve, t)[0] - to).reshape(len(pieces), len(which))
        return np.asarray(found.min(axis=0), dtype=np.float64)


def outward(angle_deg: ArrayLike, face: Face) -> Array:
    """Return the outward normals (..., 2) as (y, z) of flats that slope so much from level."""
    angle = np.radians(np.asarray(angle_deg, dtype=np.float64))
    up = np.cos(angle) if face == "deck" else -np.cos(angle)
    return np.stack([np.sin(angle), up], axis=-1)


def crossing(one_deg: ArrayLike, one_mm: ArrayLike, other_deg: ArrayLike, other_mm: ArrayLike, face: Face) -> Array:
    """Return where two flats meet (..., 2) as (y, z) in mm, told by their slopes and how far outward they are."""
    first, second = outward(one_deg, face), outward(other_deg, face)
    one_mm, other_mm = np.asarray(one_mm, dtype=np.float64), np.asarray(other_mm, dtype=np.float64)
    det = first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0]
    y = (one_mm * second[..., 1] - other_mm * first[..., 1]) / det
    z = (first[..., 0] * other_mm - second[..., 0] * one_mm) / det
    return np.stack([y, z], axis=-1)


def on_face(v: Array, face: Face) -> NDArray[np.bool_]:
    """Return which parameters lie on the deck's side of the apex, or on the bottom's."""
    return np.asarray(v > APEX if face == "deck" else v < APEX, dtype=np.bool_)


def section_hulls(body: Body, stations_mm: Sequence[float]) -> SectionHulls:
    """Return the half-sections at stations where the whole section is there: cubics through the surface's points and
    slopes at its own knots.
    """
    joints, breaks = body.port.joints, body.port.breaks[1]
    stretches = [breaks[(breaks >= a) & (breaks <= b)] for a, b in itertools.pairwise(joints)]
    v = np.concatenate(stretches)
    last = np.cumsum([len(stretch) for stretch in stretches]) - 1
    # The last of a stretch is taken from its own side of the joint.
    sided = v.copy()
    sided[last] = np.nextafter(v[last], 0.0)
    x, places = np.broadcast_arrays(np.asarray(stations_mm, dtype=np.float64)[:, None], sided)
    u = parameter_at(body.port, x, places)
    points, slopes = body.port.at(u, places)[..., 1:], section_slopes(body, u, places)[0]
    first = np.setdiff1d(np.arange(len(v)), last)
    third = ((v[first + 1] - v[first]) / 3.0)[:, None]
    low, high = points[:, first], points[:, first + 1]
    control = np.stack([low, low + slopes[:, first] * third, high - slopes[:, first + 1] * third, high], axis=2)
    return SectionHulls(control=control, ends=np.stack([v[first], v[first + 1]], axis=-1))


def _highest(values: Array) -> tuple[Array, Array]:
    """Return the greatest values (n,) of cubics (n, 4) in Bezier's form, and where they are, t (n,)."""
    # At an end, or where the slope, a quadratic, is 0.
    first, second, third = (values[:, i + 1] - values[:, i] for i in range(3))
    a, b = first - 2.0 * second + third, second - first
    root = np.sqrt(np.maximum(b * b - a * first, 0.0))
    with np.errstate(divide="ignore", invalid="ignore"):
        level = np.stack([(-b - root) / a, (-b + root) / a, -first / (2.0 * b)], axis=-1)
    ends = np.broadcast_to([0.0, 1.0], (len(values), 2))
    t = np.concatenate([ends, np.clip(np.where(np.isfinite(level), level, 0.0), 0.0, 1.0)], axis=1)
    heights = _bernstein(values[:, None, :], t)
    best = heights.argmax(axis=1)
    rows = np.arange(len(values))
    return heights[rows, best], t[rows, best]


def _bernstein(values: Array, t: Array) -> Array:
    """Return cubics of Bezier values (..., 4) at t (...)."""
    s = 1.0 - t
    return np.asarray(
        s * s * s * values[..., 0]
        + 3.0 * s * s * t * values[..., 1]
        + 3.0 * s * t * t * values[..., 2]
        + t * t * t * values[..., 3],
        dtype=np.float64,
    )


def _at(curve: Array, t: Array) -> tuple[Array, Array, Array]:
    """Return place, slope and bend (n, 2) in t of cubics (n, 4, 2) in Bezier's form at t (n,)."""
    t, s = t[:, None], 1.0 - t[:, None]
    a, b, c, d = (curve[:, i] for i in range(4))
    place = s * s * s * a + 3.0 * s * s * t * b + 3.0 * s * t * t * c + t * t * t * d
    slope = 3.0 * (s * s * (b - a) + 2.0 * s * t * (c - b) + t * t * (d - c))
    bend = 6.0 * (s * (c - 2.0 * b + a) + t * (d - 2.0 * c + b))
    return place, slope, bend
