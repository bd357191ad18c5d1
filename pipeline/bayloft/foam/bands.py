"""Rail bands: the flats that are planed onto the squared foam before a rail is rounded, and their pencil lines.

In each section a flat is the straight line of its slope that touches the finished section from outside: nothing of the
board stands over it, also where deck or bottom is hollow. Squared foam has its deck level with the highest place of the
section, its bottom level with the lowest, and its side upright at the widest.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import CubicSpline

from bayloft.arithmetic import rounded
from bayloft.foam.section_hulls import FACES, Face, SectionHulls, crossing, on_face, section_hulls
from bayloft.lines.roots import bracketed
from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.solid.measure import places
from bayloft.spec.bench.bands import Bands, Flats

Array = NDArray[np.float64]

EDGE_MM = 3.0
"""Radius in mm below which what a flat touches is an edge: a plane that rides on it breaks it. The band ends there
(common practice, no source)."""

SOLE_CUTS_MM = 0.1
"""mm that a stiff flat sole may cut into the finished surface: a sheet of paper."""

STEP_MM, SOLE_STEP_MM = 15.0, 1.0
"""Greatest distance along the board of two places where a pencil line is solved, and step in which a sole is laid."""

OFF_END_MM = 25.0
"""mm from nose tip and tail end, or from the last of a tail's wall, where pencil lines end: there they turn round with
the tip."""

SAME_DEG = 1e-9
"""Degrees within which two flats are one, and meet in what they touch."""

END_PLACES = 401
"""Places round an end of the board at which its farthest is looked for."""

LINE_DECIMALS = 6
"""Decimals (mm) kept of what was solved."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FaceBands:
    """The flats of one face at stations (n,), k of them from the middle outward; not a number where there is no band.

    angles_deg (n, k): slopes from level. inner_mm (n, k): distance of each flat's inner line from the middle of the
    stringer. inner_up_mm, side_mm (n, k): heights of its inner line, and of its line on the squared side, over the
    squared bottom. left_mm (n, k + 1): foam left once all are planed, where it is most, at the corners: at each inner
    line, and where the last flat meets the side; square to the finished section.
    """

    face: Face
    angles_deg: Array
    inner_mm: Array
    inner_up_mm: Array
    side_mm: Array
    left_mm: Array

    @property
    def count(self) -> int:
        """How many flats there are."""
        return int(self.angles_deg.shape[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Sole:
    """How a stiff flat sole lies along a band. cuts_mm: how far at most one as long as the board's bands ask for would
    cut into the finished surface, or stand off it, mm; x_mm: the station where that is, None where it nowhere does.
    longest_mm: the longest one that would do so by no more than SOLE_CUTS_MM, None where it may be as long as the band.
    """

    face: Face
    number: int
    cuts_mm: float
    x_mm: float | None
    longest_mm: float | None


@dataclass(frozen=True, kw_only=True, eq=False)
class BoardBands:
    """The rail bands of a board at stations (n,), mm from the tail end: half-width and height of the squared foam
    there, and the height of its bottom over the flat that the board stands on; the flats of each face.
    """

    stations_mm: Array
    half_width_mm: Array
    low_mm: Array
    high_mm: Array
    faces: tuple[FaceBands, ...]
    hulls: SectionHulls
    sole_mm: float

    def at(self, stations_mm: Sequence[float]) -> list[int]:
        """Return where in the arrays stations stand."""
        return [int(np.abs(self.stations_mm - x).argmin()) for x in stations_mm]

    @cached_property
    def soles(self) -> tuple[Sole, ...]:
        """How a sole lies along each band."""
        return tuple(self._sole(face, i) for face in self.faces for i in range(face.count))

    def _sole(self, face: FaceBands, i: int) -> Sole:
        x, every = self.stations_mm, np.arange(len(self.stations_mm))
        own = face.angles_deg[:, i]
        fixed = bool(np.ptp(own[np.isfinite(own)]) == 0.0) if np.isfinite(own).any() else False
        longest, deepest, where = np.inf, 0.0, None
        outward = np.zeros(0)
        for low, high in stretches(np.isfinite(own)):
            for j in range(low, high):
                if not fixed or len(outward) == 0:
                    outward = self.hulls.touch(every, np.full(len(x), own[j]), face.face).outward_mm
                reach, cuts = half_sole(x, outward, j, (low, high), self.sole_mm / 2.0)
                longest = min(longest, 2.0 * reach)
                if round(cuts, LINE_DECIMALS) > deepest:
                    deepest, where = round(cuts, LINE_DECIMALS), float(x[j])
        found = float(longest) if np.isfinite(longest) else None
        return Sole(face=face.face, number=i + 1, cuts_mm=deepest, x_mm=where, longest_mm=found)


def half_sole(x: Array, outward: Array, j: int, stretch: tuple[int, int], half_mm: float) -> tuple[float, float]:
    """Return how far to one side of a station a sole may reach that touches there, endless where it never cuts; and how
    far one that reaches `half_mm` to both sides, as far as there is a band, cuts in.

    A flat's plane at one station has the same slope in every section, so what stands over it is how far the touching
    line of that slope is outward there, less the tangent of this along the board.
    """
    line = CubicSpline(x, outward)
    reach, deepest = np.inf, 0.0
    for end in (x[stretch[0]], x[stretch[1] - 1]):
        steps = int(abs(end - x[j]) / SOLE_STEP_MM)
        away = np.sign(end - x[j]) * SOLE_STEP_MM * np.arange(1, steps + 1)
        over = line(x[j] + away) - outward[j] - line(x[j], 1) * away
        if (cuts := np.flatnonzero(over > SOLE_CUTS_MM)).size:
            reach = min(reach, SOLE_STEP_MM * int(cuts[0]))
        deepest = max(deepest, float(over[np.abs(away) <= half_mm].max(initial=0.0)))
    return reach, deepest


def stretches(there: ArrayLike) -> list[tuple[int, int]]:
    """Return the runs (first, one after the last) of what is there."""
    edges = np.flatnonzero(np.diff(np.concatenate([[0], np.asarray(there, dtype=np.int64), [0]])))
    return [(int(a), int(b)) for a, b in edges.reshape(-1, 2)]


# Card and templates ask for the same bands, and equal foam takes seconds.
@lru_cache(maxsize=8)
def board_bands(body: Body, bands: Bands) -> BoardBands:
    """Return a board's rail bands all along it: at its own stations, and between and beyond them STEP_MM apart at most,
    as far as OFF_END_MM from the ends.
    """
    tail, nose = body.port.grid([0.0, 1.0], np.linspace(0.0, 1.0, END_PLACES))[..., 0]
    low, high = float(tail.max()) + OFF_END_MM, float(nose.min()) - OFF_END_MM
    own = [low, *(x for x in bands.stations_mm if low < x < high), high]
    between = [np.linspace(a, b, int(np.ceil((b - a) / STEP_MM)) + 1)[:-1] for a, b in itertools.pairwise(own)]
    return bands_at(body, bands, [*np.concatenate(between).tolist(), own[-1]])


def bands_at(body: Body, bands: Bands, stations_mm: Sequence[float]) -> BoardBands:
    """Return a board's rail bands at stations where the whole section is there, ascending."""
    hulls = section_hulls(body, stations_mm)
    every = np.arange(len(stations_mm))
    low = -hulls.touch(every, np.zeros(len(every)), "bottom").outward_mm
    high = hulls.touch(every, np.zeros(len(every)), "deck").outward_mm
    flats = {"deck": bands.deck, "bottom": bands.bottom}
    return BoardBands(
        stations_mm=np.asarray(stations_mm, dtype=np.float64),
        half_width_mm=rounded(places(body, stations_mm, (APEX,))[0, :, 1], LINE_DECIMALS),
        low_mm=rounded(low, LINE_DECIMALS),
        high_mm=rounded(high, LINE_DECIMALS),
        faces=tuple(_face_bands(hulls, face, flats[face], low) for face in FACES if flats[face]),
        hulls=hulls,
        sole_mm=bands.sole_mm,
    )


def _face_bands(hulls: SectionHulls, face: Face, flats: Flats, low: Array) -> FaceBands:
    n = len(low)
    angles = equal_foam(hulls, face, flats) if isinstance(flats, int) else np.tile(np.asarray(flats), (n, 1))
    count = angles.shape[1]
    every = np.arange(n)
    touches = [hulls.touch(every, angles[:, i], face) for i in range(count)]
    there = [(each.radius_mm >= EDGE_MM) & on_face(each.v, face) for each in touches]
    # From level over the flats that are there to upright.
    before_deg, before_mm = np.zeros(n), hulls.touch(every, np.zeros(n), face).outward_mm
    upright = np.full(n, 90.0)
    width = hulls.touch(every, upright, face).outward_mm
    inner, side = np.full((n, count, 2), np.nan), np.full((n, count, 2), np.nan)
    left = np.full((n, count + 1), np.nan)
    for i, (touch, own) in enumerate(zip(touches, there, strict=True)):
        corner = crossing(before_deg, before_mm, angles[:, i], touch.outward_mm, face)
        inner[own, i] = corner[own]
        side[own, i] = crossing(angles[:, i], touch.outward_mm, upright, width, face)[own]
        left[own, i] = hulls.distance(every[own], corner[own])
        before_deg, before_mm = (
            np.where(own, new, old) for new, old in ((angles[:, i], before_deg), (touch.outward_mm, before_mm))
        )
    last = before_deg > 0.0
    left[last, count] = hulls.distance(every[last], crossing(before_deg, before_mm, upright, width, face)[last])
    present = np.stack(there, axis=1)
    return FaceBands(
        face=face,
        angles_deg=np.where(present, rounded(angles, LINE_DECIMALS), np.nan),
        inner_mm=rounded(inner[..., 0], LINE_DECIMALS),
        inner_up_mm=rounded(inner[..., 1] - low[:, None], LINE_DECIMALS),
        side_mm=rounded(side[..., 1] - low[:, None], LINE_DECIMALS),
        left_mm=rounded(left, LINE_DECIMALS),
    )


def equal_foam(hulls: SectionHulls, face: Face, count: int) -> Array:
    """Return the slopes in degrees (stations, count) of flats that leave as much foam at every corner, from level deck
    or bottom to the upright side.
    """
    n = len(hulls.control)
    every = np.arange(n, dtype=np.float64)

    def corner(inner_deg: Array, outer_deg: Array, which: Array) -> Array:
        found = np.zeros(np.broadcast(inner_deg, outer_deg).shape)
        apart = outer_deg - inner_deg > SAME_DEG
        if apart.any():
            own, a, b = which[apart].astype(np.int64), inner_deg[apart], outer_deg[apart]
            out = [hulls.touch(own, deg, face).outward_mm for deg in (a, b)]
            found[apart] = hulls.distance(own, crossing(a, out[0], b, out[1], face))
        return found

    def marched(left_mm: Array, which: Array) -> Array:
        """Return flats one after the other, each as steep as leaves that much foam at the corner inside it."""
        steep, found = np.zeros(len(which)), []
        for _ in range(count):
            enough = corner(steep, np.full(len(which), 90.0), which) > left_mm
            outer = np.full(len(which), 90.0)
            if enough.any():
                outer[enough] = bracketed(
                    lambda deg, inner, own, left: corner(inner, deg, own) - left,
                    steep[enough],
                    np.full(int(enough.sum()), 90.0),
                    steep[enough],
                    which[enough],
                    left_mm[enough],
                )
            steep = outer
            found.append(steep)
        return np.stack(found, axis=1)

    def spare(left_mm: Array, which: Array) -> Array:
        return corner(marched(left_mm, which)[:, -1], np.full(len(which), 90.0), which) - left_mm

    most = corner(np.zeros(n), np.full(n, 90.0), every)
    left = bracketed(spare, np.zeros(n), most, every)
    return marched(left, every)
