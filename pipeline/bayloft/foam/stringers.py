"""A new stringer worked out: its profile, how it comes out of its plank, its grain, its weight, the glue it takes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from bayloft.foam.planks import FLAT_MM, Clear, LeastWidth, Lie, best_lie, clearances, least_width, packed_lie
from bayloft.plane.contour import Contour
from bayloft.plane.parting import between, crossings, parted
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.measure import stringer_from_mm
from bayloft.solid.stringer_side import BOTTOM, DECK, stringer_curve, stringer_outline
from bayloft.spec.bench.stringer import Stringer
from bayloft.spec.plank_loading import load_plank
from bayloft.spec.planks.plank import Plank

Array = NDArray[np.float64]

MOST_PIECES = 3
"""Pieces that a strip is scarfed together of, at most (common practice, no source)."""

MOST_LAID = 6
"""Pieces in all that are laid out on a plank: each takes longer to place than the one before."""

GRAIN_INSIDE_MM = 60.0
"""mm inside the ends from which the grain's slope is looked at: a tip is round, and all grain ends in it."""

GRAIN_PLACES = 2001
STAGGER_SHARE = 1.0 / 12.0
"""Of the length, by how much the scarfs of every second strip are shifted, lest two lie side by side."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Steepest:
    """Where the grain runs out most steeply: 1 across in `along` along the edge, at a station, at deck or bottom."""

    along: float
    x_mm: float
    edge: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlankPlace:
    """A place on a plank's face, as a tape finds it: from the end that it begins at, and from the near edge there."""

    from_end_mm: float
    from_edge_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StringerPiece:
    """A piece that is cut out of the plank's face, in the axes of the board: its profile, allowance and scarfs
    included; the outline it is a piece of, from 0; from what station to what; the least plank that it comes out of; how
    it lies on the plank and what it keeps clear of, None where it does not come out of it; where its grain is steepest
    as it lies, or as it would in the least plank.
    """

    profile: Contour
    outline: int
    from_mm: float
    to_mm: float
    least: LeastWidth
    lie: Lie | None
    clear: Clear | None
    steepest: Steepest

    def ends_on(self, plank: Plank) -> tuple[PlankPlace, PlankPlace] | None:
        """Return where its tail end, at the bottom edge, and its nose end, likewise, lie on a plank; None where it does
        not come out of it.
        """
        if self.lie is None:
            return None
        points = self.profile.flattened(FLAT_MM)
        points = points[np.argsort(points[:, 1], kind="stable")]
        along = np.round(points[:, 0], 2)
        ends = points[[int(along.argmin()), int(along.argmax())]]
        tail, nose = (
            PlankPlace(from_end_mm=x, from_edge_mm=y - plank.near_mm(x)) for x, y in self.lie.placed(ends).tolist()
        )
        return tail, nose


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CutStringer:
    """A new stringer; lengths in mm, areas in mm2, masses in kg, None where no density or spread is given.

    profile: with the allowance; finished: as the board is. straight_mm: width of a plank that holds the profile as it
    stands; least: turned. It is cut out of the plank's face `outlines` times, each in as many `pieces` as there are
    scarfs and one, and an outline is sawn into `sawn` strips of one thickness; 0: the plank is too thin for one.
    """

    stringer: Stringer
    plank: Plank | None
    profile: Contour
    finished: Contour
    straight_mm: float
    length_mm: float
    least: LeastWidth
    pieces: tuple[StringerPiece, ...]
    sawn: int
    outlines: int
    scarfs: tuple[tuple[float, ...], ...]

    @property
    def comes_out(self) -> bool:
        """Whether all of it comes out of the plank."""
        return self.plank is not None and all(piece.lie is not None for piece in self.pieces)

    @property
    def steepest(self) -> Steepest:
        """Where the grain is steepest in any piece."""
        return min((piece.steepest for piece in self.pieces), key=lambda one: one.along)

    @property
    def density_kg_m3(self) -> float | None:
        """Density of the wood: the stringer's, or else its plank's."""
        own = self.stringer.density_kg_m3
        return own if own is not None or self.plank is None else self.plank.density_kg_m3

    def kg(self, volume_mm3: float) -> float | None:
        """Return the mass of so much of its wood."""
        return None if self.density_kg_m3 is None else volume_mm3 * 1e-9 * self.density_kg_m3

    @property
    def finished_kg(self) -> float | None:
        """Mass of the wood in the board, its allowance planed off."""
        return self.kg(self.finished.area_mm2 * self.stringer.strips * self.stringer.strip_mm)

    @property
    def sawn_kg(self) -> float | None:
        """Mass of its pieces as they are sawn out of the plank, as thick as that; of the stringer without one."""
        stringer, plank = self.stringer, self.plank
        thick = stringer.strips * stringer.strip_mm if plank is None else plank.thickness_mm
        return self.kg(sum(piece.profile.area_mm2 for piece in self.pieces) * thick)

    @property
    def plank_kg(self) -> float | None:
        """Mass of the whole plank."""
        plank = self.plank
        if plank is None or plank.density_kg_m3 is None:
            return None
        return plank.area_mm2 * plank.thickness_mm * 1e-9 * plank.density_kg_m3

    @property
    def glue_area_mm2(self) -> float:
        """All joints: both faces, for the stringer with its allowance lies in the block with its whole side; between
        strips; scarfs.
        """
        return self.profile.area_mm2 * (self.stringer.strips + 1) + self.scarf_area_mm2

    @property
    def scarf_area_mm2(self) -> float:
        """The scarfs of all strips, each as high as the stringer is in its middle."""
        stringer = self.stringer
        along = math.hypot(stringer.bevel_mm, stringer.strip_mm)
        heights = [_height(self.profile, x) for strip in range(stringer.strips) for x in self.scarfs_of(strip)]
        return sum(heights) * along

    def scarfs_of(self, strip: int) -> tuple[float, ...]:
        """Return the stations of the middles of the scarfs of a strip, from 0."""
        return self.scarfs[strip // max(self.sawn, 1)]

    def height_mm(self, x_mm: float) -> float:
        """Return how high the stringer is at a station, its allowance included, mm."""
        return _height(self.profile, x_mm)

    @property
    def glue_g(self) -> float | None:
        """Mass of the glue, spread as its sheet says."""
        spread = self.stringer.spread_g_m2
        return None if spread is None else spread * self.glue_area_mm2 * 1e-6

    @property
    def pigment_g(self) -> float | None:
        """Mass of the pigment in it."""
        glue, share = self.glue_g, self.stringer.pigment_share
        return None if glue is None or share is None else glue * share

    @property
    def clamps(self) -> tuple[int, float]:
        """How many clamps stand along it, ends included, and how far apart, mm: evenly, as near as is asked."""
        gaps = max(math.ceil(round(self.length_mm / self.stringer.clamps_every_mm, 9)), 1)
        return gaps + 1, self.length_mm / gaps


# Card, layout and report ask for the same stringer, and a hard plank takes a second.
@lru_cache(maxsize=8)
def cut_stringer(draft: Draft) -> CutStringer | None:
    """Return the new stringer of a board, or None where it asks for none.

    Raises
    ------
    SpecError : every fault of its plank's file.
    """
    stringer = draft.board.stringer
    if stringer is None:
        return None
    plank = None if stringer.plank is None else load_plank(stringer.plank)
    profile, finished = profile_of(draft.body, stringer.allowance_mm), profile_of(draft.body, 0.0)
    low, _, high, _ = profile.bounds
    points = profile.flattened(FLAT_MM)
    sawn = sawn_from(plank, stringer)
    outlines = -(-stringer.strips // max(sawn, 1))
    tried: list[list[StringerPiece]] = []
    cuts: list[list[tuple[float, ...]]] = []
    for count in range(1, MOST_PIECES + 1):
        if count > 1 and count * outlines > MOST_LAID:
            break
        cuts.append([scarfs(low, high, count, outline, outlines) for outline in range(outlines)])
        tried.append(_pieces(draft.body, profile, stringer, plank if sawn else None, cuts[-1]))
        if not (plank and sawn) or all(piece.lie for piece in tried[-1]):
            break
    # Where nothing does all, the fewest pieces of which most comes out are told.
    best = max(range(len(tried)), key=lambda n: (all(each.lie for each in tried[n]), _share(tried[n])))
    return CutStringer(
        stringer=stringer,
        plank=plank,
        profile=profile,
        finished=finished,
        straight_mm=float(np.ptp(points[:, 1])),
        length_mm=high - low,
        least=least_width(points),
        pieces=tuple(tried[best]),
        sawn=sawn,
        outlines=outlines,
        scarfs=tuple(cuts[best]),
    )


def profile_of(body: Body, allowance_mm: float) -> Contour:
    """Return the outline of a stringer with an allowance, as `stringer_outline` does."""
    profile = stringer_outline(body, allowance_mm, allowance_mm)
    assert profile is not None  # what is left on never makes its edges cross
    return profile


def sawn_from(plank: Plank | None, stringer: Stringer) -> int:
    """Return how many strips lie in the thickness of a plank, the kerf between two: 0 where it is too thin for one."""
    if plank is None:
        return stringer.strips
    strip, kerf = stringer.strip_mm, stringer.kerf_mm
    return min(int(round((plank.thickness_mm + kerf) / (strip + kerf), 9)), stringer.strips)


def scarfs(low_mm: float, high_mm: float, pieces: int, outline: int, outlines: int) -> tuple[float, ...]:
    """Return the stations of the middles of the scarfs of an outline between its ends: even, and of several outlines
    shifted in turn, lest two lie side by side.
    """
    shift = 0.0 if outlines == 1 else STAGGER_SHARE if outline % 2 else -STAGGER_SHARE
    return tuple(low_mm + (high_mm - low_mm) * (n + shift) / pieces for n in range(1, pieces))


def steepest(body: Body, lie_deg: float, from_mm: float, to_mm: float) -> Steepest:
    """Return where bottom or deck edge runs most steeply to the grain once the board is turned `lie_deg`
    counter-clockwise in it, between two stations and GRAIN_INSIDE_MM inside the ends of the stringer.
    """
    u = np.linspace(0.0, 1.0, GRAIN_PLACES)
    first = stringer_from_mm(body) + GRAIN_INSIDE_MM
    last = float(body.port.at(1.0, 0.0)[0]) - GRAIN_INSIDE_MM
    found: list[tuple[float, float, str]] = []
    for v, edge in ((BOTTOM, "bottom"), (DECK, "deck")):
        points, tangents = stringer_curve(body, v)(u)
        own = (points[:, 0] >= max(first, from_mm)) & (points[:, 0] <= min(last, to_mm))
        slopes = np.abs(np.tan(np.arctan2(tangents[own, 1], tangents[own, 0]) + math.radians(lie_deg)))
        if len(slopes):
            at = int(np.argmax(np.round(slopes, 9)))
            found.append((float(slopes[at]), float(points[own, 0][at]), edge))
    slope, x, edge = max(found)
    return Steepest(along=1.0 / max(slope, 1e-6), x_mm=x, edge=edge)


def _pieces(
    body: Body, profile: Contour, stringer: Stringer, plank: Plank | None, cuts: list[tuple[float, ...]]
) -> list[StringerPiece]:
    """Return the pieces of all outlines, each cut at its own stations, as they lie on a plank one after the other."""
    low, _, high, _ = profile.bounds
    half = stringer.bevel_mm / 2.0
    wanted = [
        (outline, start - half if start > low else low, stop + half if stop < high else high)
        for outline, own in enumerate(cuts)
        for start, stop in pairwise((low, *own, high))
    ]
    found: list[StringerPiece] = []
    for outline, first, last in wanted:
        own = _cut_out(profile, first, last)
        points = own.flattened(FLAT_MM)
        lie = None
        if plank is not None and len(wanted) == 1:
            lie = best_lie(points, plank)
        elif plank is not None and len(wanted) <= MOST_LAID:
            taken = [each.lie.placed(each.profile.flattened(FLAT_MM)) for each in found if each.lie]
            lie = packed_lie(points, plank, taken, stringer.kerf_mm)
        least = least_width(points)
        turned = least.angle_deg if lie is None else lie.angle_deg * lie.flips[0] * lie.flips[1]
        found.append(
            StringerPiece(
                profile=own,
                outline=outline,
                from_mm=first,
                to_mm=last,
                least=least,
                lie=lie,
                clear=None if lie is None or plank is None else clearances(lie.placed(points), plank),
                steepest=steepest(body, turned, first, last),
            )
        )
    return found


def _cut_out(profile: Contour, first_mm: float, last_mm: float) -> Contour:
    """Return a profile between two stations, cut square across; where one is an end of its own, up to that."""
    low, _, high, _ = profile.bounds
    if first_mm <= low and last_mm >= high:
        return profile
    if first_mm <= low:
        return Contour.joined(parted(profile, last_mm)[0], closed=True)
    if last_mm >= high:
        return Contour.joined(parted(profile, first_mm)[1], closed=True)
    lower, upper = between(profile, first_mm, last_mm)
    across = Contour.straight([lower.points[-1], upper.points[0]], closed=False)
    return Contour.joined(lower, across, upper, closed=True)


def _share(pieces: list[StringerPiece]) -> float:
    """Return how much of the pieces' area lies on the plank."""
    areas = [(piece.profile.area_mm2, piece.lie is not None) for piece in pieces]
    return round(sum(area for area, lies in areas if lies) / sum(area for area, _ in areas), 6)


def _height(profile: Contour, x_mm: float) -> float:
    heights = [crossing.y_mm for crossing in crossings(profile, x_mm)]
    return max(heights) - min(heights)
