"""Whether a board comes out of a blank: where it lies best, how much foam is over it, where it is short, and proofs."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from bayloft.foam.blocks import FoamBlock
from bayloft.foam.placing import (
    BestPlacing,
    Ceiling,
    Placing,
    Reach,
    Search,
    best_placing,
    ceiling,
    exchanged_placing,
)
from bayloft.lines.section_places import DECK_CHINE, EDGE
from bayloft.solid.body import Body
from bayloft.solid.closest import Nearest
from bayloft.solid.integrals import integrals
from bayloft.solid.measure import places, rocker, stringer_from_mm, thickness
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.blanks.blank import Blank
from bayloft.spec.boards.board import Board
from bayloft.spec.text.stations import usual_stations

Array = NDArray[np.float64]

COARSE, FINER, FINEST = (32, 17), (64, 33), (128, 66)
"""Places in u and in v with which a placing is first looked for, blanks are ranked, and tight places are found."""
NEAR_MM, SPARSE = 15.0, 8
"""Places that have so many mm of cover more than the least, of which one in so many is kept where many placings are
looked at: any set of places gives a true ceiling, and those with least cover the lowest."""
PROVEN_CHORD_MM = 0.1
"""mm, chord tolerance of the mesh at whose vertices the floor is proven."""
REACH_MM, REACH_RAD = 40.0, 0.03
"""How far a board is moved in its blank beyond what their lengths leave, and turned: 0.03 is 30 mm a metre."""
CLOSED_MM, MOST_BOXES = 0.25, 400
"""How near floor and ceiling are brought, and the placings that are looked at for it."""
CHEAP_MM = 0.1
"""Cover that a shift along the board may cost, and still be as good."""
HOLLOW_SAMPLES, HOLLOW_SHARE = (160, 64), 0.5
"""Places in u and v at which the least hollow radius of a blank is looked for, and the share of it that is relied on:
between the places it may be less."""
STATION_PLACES = 161
FACES = ("bottom", "rail", "deck")


@dataclass(frozen=True, slots=True, kw_only=True)
class StationCover:
    """The cover at a station of the board, mm: least on bottom, rail and deck, square to the blank's faces; upright at
    the stringer, under the bottom and over the deck (None aft of a notch, or beyond the blank).
    """

    x_mm: float
    bottom_mm: float
    rail_mm: float
    deck_mm: float
    upright_bottom_mm: float | None
    upright_deck_mm: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class TightPlace:
    """A place of the board with least cover: its station, distance off the stringer and height, mm; on which face."""

    x_mm: float
    off_mm: float
    height_mm: float
    face: str
    cover_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Fit:
    """A board in a block, where most foam is over it everywhere. cover_mm: the least at the mesh's vertices; floor_mm:
    what it is at least everywhere, proven; ceiling: of all placings within reach. shift_mm: how far the board may be
    moved along the blank, aft and forward, for CHEAP_MM. foam_mm3: what is planed off.
    """

    board: Board
    block: FoamBlock
    body: Body
    placing: Placing
    middle_mm: Array
    cover_mm: float
    floor_mm: float
    ceiling: Ceiling
    shift_mm: tuple[float, float]
    foam_mm3: float
    stations: tuple[StationCover, ...]
    tight: tuple[TightPlace, ...]

    def upright_mm(self, x_mm: float) -> tuple[float, float] | None:
        """Return the cover under the bottom and over the deck at a station of the board; see upright_cover."""
        return upright_cover((self.body, self.block.body), self.placing, self.middle_mm, x_mm)

    @property
    def blank(self) -> Blank:
        """The blank, as it was measured."""
        return self.block.blank

    @property
    def tail_gap_mm(self) -> float:
        """How far the board's tail end, its station 0, lies ahead of the block's, along the plane that the block stands
        on.
        """
        own, other = (body.port.at(0.0, 0.0) * [0.0, 1.0, 1.0] for body in (self.body, self.block.body))
        gap, slope = self.placing.placed(own[None], self.middle_mm)[0] - other, self.block.pitch_rad
        return float(gap[0] * np.cos(slope) + gap[2] * np.sin(slope))

    @property
    def nose_up_rad(self) -> float:
        """By how much the board is pitched from how the block stands, nose up."""
        return self.placing.pitch_rad - self.block.pitch_rad

    @property
    def sure_mm(self) -> float:
        """The floor, less what the block may be less than it was taken for."""
        return self.floor_mm - self.block.error_mm


def upright_cover(
    bodies: tuple[Body, Body], placing: Placing, middle_mm: Array, x_mm: float
) -> tuple[float, float] | None:
    """Return the cover in mm under the bottom and over the deck of a board (the first of the bodies) in a blank, at the
    stringer at a station of the board, upright in the blank; None aft of a notch, or beyond the blank.
    """
    body, blank = bodies
    if x_mm < stringer_from_mm(body):
        return None
    low = float(rocker(body, [x_mm])[0])
    high = low + float(thickness(body, [x_mm])[0])
    found = []
    for z, deck in ((low, False), (high, True)):
        at = placing.placed(np.array([[x_mm, 0.0, z]]), middle_mm)[0]
        if not stringer_from_mm(blank) < at[0] < float(blank.port.at(1.0, 1.0)[0]) - 1.0:
            return None
        block = float(rocker(blank, [float(at[0])])[0])
        block += float(thickness(blank, [float(at[0])])[0]) if deck else 0.0
        found.append(block - float(at[2]) if deck else float(at[2]) - block)
    return found[0], found[1]


class BoardInBlank:
    """A board with its surface, a block, and the search for where one lies in the other."""

    def __init__(self, board: Board, body: Body, block: FoamBlock) -> None:
        self.board, self.body, self.block = board, body, block
        self.nearest = Nearest(block.body)
        room = block.length_mm - board.length_mm
        self.middle_mm = np.array([board.length_mm / 2.0, 0.0, 0.0])
        at = board.length_mm / 2.0
        own, other = (
            float((rocker(each, [x]) + thickness(each, [x]) / 2.0)[0])
            for each, x in ((body, at), (block.body, at + room / 2.0))
        )
        reach = Reach(shift_mm=abs(room) / 2.0 + REACH_MM, lift_mm=2.0 * REACH_MM, pitch_rad=REACH_RAD)
        self.search = Search(
            depths=self.nearest.feet,
            points=_places(body, COARSE),
            middle_mm=self.middle_mm,
            start=Placing(shift_mm=room / 2.0, lift_mm=other - own, pitch_rad=block.pitch_rad),
            reach=reach,
        )

    @cached_property
    def ranked(self) -> tuple[BestPlacing, Search]:
        """The best placing of so many places as blanks are ranked by."""
        return exchanged_placing(self.search, _places(self.body, FINER))

    def fit(self) -> Fit:
        """Return the fit, with its proofs."""
        grid = grid_for(self.body, PROVEN_CHORD_MM)
        mesh = meshed(self.body, grid)
        every = mesh.vertices[mesh.vertices[:, 1] >= 0.0]
        ranked, search = self.ranked
        placed, search = exchanged_placing(search, every, ranked.placing)
        hollow = hollow_radius_mm(self.block.body)
        first, second, third = mesh.corners
        sides = [first - second, second - third, third - first]
        longest = max(float(np.sqrt((side * side).sum(axis=1)).max()) for side in sides)
        floor = placed.cover_mm - PROVEN_CHORD_MM - longest * longest / (8.0 * hollow)
        near = self._near(search, placed)
        proven = ceiling(near, found_mm=placed.cover_mm, within_mm=CLOSED_MM, most_boxes=MOST_BOXES, hollow_mm=hollow)
        volume = integrals(self.block.body).volume_mm3 - integrals(self.body).volume_mm3
        return Fit(
            board=self.board,
            block=self.block,
            body=self.body,
            placing=placed.placing,
            middle_mm=self.middle_mm,
            cover_mm=placed.cover_mm,
            floor_mm=floor,
            ceiling=proven,
            shift_mm=self._shifts(near, placed),
            foam_mm3=volume,
            stations=tuple(
                self._station(x, placed.placing) for x in usual_stations(self.board.length_mm, metric=self.board.metric)
            ),
            tight=self._tight(placed),
        )

    def _near(self, search: Search, placed: BestPlacing) -> Search:
        """Return a search with the places of least cover, and a few of the others."""
        depth = self.nearest.feet(placed.placing.placed(search.points, self.middle_mm)).depth_mm
        kept = depth < float(depth.min()) + NEAR_MM
        kept[::SPARSE] = True
        return replace(search, points=search.points[kept])

    def _shifts(self, search: Search, placed: BestPlacing) -> tuple[float, float]:
        """Return how far from the best placing the board may be moved along, lift and pitch following, for CHEAP_MM."""
        least = best_placing(search, placed.placing).cover_mm - CHEAP_MM
        found = []
        for side in (-1.0, 1.0):
            low, high = 0.0, search.reach.shift_mm
            for _ in range(7):
                tried = (low + high) / 2.0
                fixed = replace(placed.placing, shift_mm=placed.placing.shift_mm + side * tried)
                held = replace(search, start=fixed, reach=replace(search.reach, shift_mm=0.0))
                if best_placing(held).cover_mm >= least:
                    low = tried
                else:
                    high = tried
            found.append(side * low)
        return found[0], found[1]

    def _station(self, x_mm: float, placing: Placing) -> StationCover:
        v = np.linspace(0.0, 1.0, STATION_PLACES)
        points = placing.placed(places(self.body, [x_mm], v.tolist())[:, 0], self.middle_mm)
        depth = self.nearest.feet(points).depth_mm
        least = [float(depth[_face(v) == face].min()) for face in FACES]
        upright = upright_cover((self.body, self.block.body), placing, self.middle_mm, x_mm)
        return StationCover(
            x_mm=x_mm,
            bottom_mm=least[0],
            rail_mm=least[1],
            deck_mm=least[2],
            upright_bottom_mm=None if upright is None else upright[0],
            upright_deck_mm=None if upright is None else upright[1],
        )

    def _tight(self, placed: BestPlacing, count: int = 4, apart_mm: float = 60.0) -> tuple[TightPlace, ...]:
        """Return the places with least cover, apart from one another."""
        own = _places(self.body, FINEST)
        depth = self.nearest.feet(placed.placing.placed(own, self.middle_mm)).depth_mm
        faces = np.tile(_face(np.linspace(0.0, 1.0, FINEST[1])), FINEST[0])
        found: list[TightPlace] = []
        for i in np.argsort(depth):
            x, y, z = own[i].tolist()
            if all(np.hypot(x - each.x_mm, y - each.off_mm) > apart_mm or faces[i] != each.face for each in found):
                found.append(TightPlace(x_mm=x, off_mm=y, height_mm=z, face=str(faces[i]), cover_mm=float(depth[i])))
            if len(found) == count:
                break
        return tuple(found)


def _places(body: Body, count: tuple[int, int]) -> Array:
    """Return places (n, 3) of a body's port side on an even grid of parameters."""
    return body.port.grid(np.linspace(0.0, 1.0, count[0]), np.linspace(0.0, 1.0, count[1])).reshape(-1, 3)


def _face(v: Array) -> NDArray[np.str_]:
    """Return which face parameters lie on: the bottom within its edge, the rail from there to where the deck begins."""
    return np.where(v < EDGE, FACES[0], np.where(v < DECK_CHINE, FACES[1], FACES[2]))


def hollow_radius_mm(body: Body) -> float:
    """Return the least radius in mm with which a body's faces are hollow anywhere, halved for what lies between the
    places looked at; a long one where they are hollow nowhere.
    """
    surface = body.port
    u, v = np.linspace(0.01, 0.99, HOLLOW_SAMPLES[0]), np.linspace(0.005, 0.995, HOLLOW_SAMPLES[1])
    su, sv, suu, suv, svv = (surface.grid(u, v, *order) for order in ((1, 0), (0, 1), (2, 0), (1, 1), (0, 2)))
    normal = np.cross(sv, su)
    normal /= np.maximum(np.sqrt((normal * normal).sum(axis=-1)), 1e-12)[..., None]
    e, f, g = (su * su).sum(axis=-1), (su * sv).sum(axis=-1), (sv * sv).sum(axis=-1)
    a, b, c = (suu * normal).sum(axis=-1), (suv * normal).sum(axis=-1), (svv * normal).sum(axis=-1)
    det = np.maximum(e * g - f * f, 1e-12)
    mean = (a * g - 2.0 * b * f + c * e) / (2.0 * det)
    # Outward is up: a face bends away from it with a negative curvature, and is hollow with a positive one.
    most = mean + np.sqrt(np.maximum(mean * mean - (a * c - b * b) / det, 0.0))
    hollow = float(most.max())
    return HOLLOW_SHARE / max(hollow, 1e-6)
