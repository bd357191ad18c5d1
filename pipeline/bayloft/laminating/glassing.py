"""Glassing a board: cloth to cut, what a bolt leaves for laps, the line that a lap is cut on, resin and its pots."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from bayloft.lines.section_places import APEX
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.face_areas import across_face, face_area_mm2, girths_mm, profile_mm, region_area_mm2
from bayloft.solid.laps import Lap, face_plan, lap
from bayloft.solid.measure import stringer_from_mm
from bayloft.solid.surface import crowded_places
from bayloft.spec.bench.glass import GlassFace, Glassing, Patch, Spread
from bayloft.spec.text.stations import usual_stations

Array = NDArray[np.float64]

GIRTHS = 41
"""Stations at which the greatest girth is looked for."""

OVERLAP_MM = 10.0
"""How far the flaps between two relief cuts may lie over one another (common practice, no source)."""

ENDS_MM, RAIL_PLACES, FAR_MM = 304.8, 2001, 1e4


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GlassedFace:
    """The cloths of one face. lap: where they end on the other face; area_mm2, lap_mm2: of the face, and of the lap on
    the other; girth_mm, widest_mm: the greatest girth and its station; long_mm, wide_mm: a piece as it is cut;
    leaves_mm: the lap that the bolt's width leaves at the widest place; cloth_g, resin_g: of all its plies;
    relief_cuts: how many cuts its edge takes about nose and tail, both sides together.
    """

    face: GlassFace
    cloths_g_m2: tuple[float, ...]
    lap: Lap
    area_mm2: float
    lap_mm2: float
    girth_mm: float
    widest_mm: float
    long_mm: float
    wide_mm: float
    leaves_mm: float
    cloth_g: float
    resin_g: Spread
    pots: int
    relief_cuts: tuple[int, int]

    @property
    def other(self) -> GlassFace:
        """The face that its cloths lap onto."""
        return "bottom" if self.face == "deck" else "deck"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class GlassedPatch:
    """A patch as it lies on its face, cut off where that ends: its size, mm, its area, cloth and resin."""

    patch: Patch
    long_mm: float
    wide_mm: float
    area_mm2: float
    cloth_g: float
    resin_g: Spread


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoardGlass:
    """How a board is glassed: its faces in the order of work, patches, the length of bolt that all pieces take; resin
    of fill coat and gloss over the whole board.
    """

    glass: Glassing
    faces: tuple[GlassedFace, ...]
    patches: tuple[GlassedPatch, ...]
    bolt_mm: float
    fill_g: Spread
    gloss_g: Spread


@lru_cache(maxsize=4)
def board_glass(draft: Draft) -> BoardGlass | None:
    """Return how a board is glassed; None where its file asks for nothing."""
    glass = draft.board.glass
    if glass is None:
        return None
    order: tuple[GlassFace, ...] = ("bottom", "deck") if glass.first == "bottom" else ("deck", "bottom")
    faces = tuple(_face(draft, glass, face) for face in order if glass.cloths(face))
    patches = tuple(_patch(draft.body, glass, patch) for patch in glass.patches)
    whole = sum(face_area_mm2(draft.body, face) for face in order) * 1e-6
    return BoardGlass(
        glass=glass,
        faces=faces,
        patches=patches,
        bolt_mm=sum(len(face.cloths_g_m2) * (face.long_mm + 2.0 * glass.trim_mm) for face in faces)
        + sum(own.long_mm for own in patches),
        fill_g=glass.fill_g_m2.times(whole),
        gloss_g=glass.gloss_g_m2.times(whole),
    )


def _resin(cloth_g: float, share: Spread) -> Spread:
    """Return the resin that goes with cloth at a share of fibre by mass: the more fibre, the less resin."""
    least, usual, most = (cloth_g * (1.0 - f) / f for f in (share.high, share.usual, share.low))
    return Spread(low=least, usual=usual, high=most)


def _face(draft: Draft, glass: Glassing, face: GlassFace) -> GlassedFace:
    board, body = draft.board, draft.body
    other: GlassFace = "bottom" if face == "deck" else "deck"
    laid = lap(body, other, glass.lap_mm)
    start = stringer_from_mm(body)
    x = np.linspace(start + 1.0, board.length_mm - 1.0, GIRTHS)
    girths = girths_mm(body, face, x)
    widest = int(np.argmax(girths))
    area, lapped = face_area_mm2(body, face), region_area_mm2(body, other, laid.covered)
    # Round a closed tip the cloth laps over as along the rail; at a cut-off tail it goes down over the wall as well.
    wall = 0.0 if body.end != "wall" else _wall_mm(body)
    cloth = sum(glass.cloths(face)) * (area + lapped) * 1e-6
    resin = _resin(cloth, glass.fibre_share)
    return GlassedFace(
        face=face,
        cloths_g_m2=glass.cloths(face),
        lap=laid,
        area_mm2=area,
        lap_mm2=lapped,
        girth_mm=float(girths[widest]),
        widest_mm=float(x[widest]),
        long_mm=profile_mm(body, face) + 2.0 * glass.lap_mm + wall,
        wide_mm=float(girths[widest]) + 2.0 * glass.lap_mm,
        leaves_mm=(glass.bolt_mm - float(girths[widest])) / 2.0,
        cloth_g=cloth,
        resin_g=resin,
        pots=math.ceil(resin.high / glass.pot_g),
        relief_cuts=_relief_cuts(body, board.length_mm, glass.lap_mm),
    )


def _wall_mm(body: Body) -> float:
    low, high = body.port.at(0.0, [0.0, float(np.nextafter(1.0, 0.0))])[:, 2]
    return float(high - low)


def _relief_cuts(body: Body, length_mm: float, lap_mm: float) -> tuple[int, int]:
    """Return how many cuts the free edge of a lap takes along the rails about the nose and the tail, both sides
    together: there it is too long by twice the lap for each radian that the rail turns. Corners of a cut-off tail are
    none of it.
    """
    rail = body.port.grid(crowded_places(RAIL_PLACES), [APEX])[:, 0, :2]
    turns = []
    for near in (rail[:, 0] > length_mm - ENDS_MM, rail[:, 0] < ENDS_MM):
        steps = np.diff(rail[near], axis=0)
        headings = np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))
        turns.append(math.ceil(2.0 * float(np.ptp(headings)) * 2.0 * lap_mm / OVERLAP_MM))
    return turns[0], turns[1]


def patch_region(body: Body, patch: Patch) -> shapely.Polygon:
    """Return what of the port half of its face a patch covers, in plan; empty where that is in a notch."""
    half = FAR_MM if patch.wide_mm is None else patch.wide_mm / 2.0
    box = shapely.box(patch.x_mm - patch.long_mm / 2.0, -1.0, patch.x_mm + patch.long_mm / 2.0, half)
    return shapely.intersection(face_plan(body, patch.face), box)


def _patch(body: Body, glass: Glassing, patch: Patch) -> GlassedPatch:
    region = patch_region(body, patch)
    first, _, last, edge = (0.0,) * 4 if region.is_empty else region.bounds
    area = region_area_mm2(body, patch.face, region)
    cloth = patch.cloth_g_m2 * area * 1e-6
    return GlassedPatch(
        patch=patch,
        long_mm=float(last - first),
        wide_mm=2.0 * float(edge),
        area_mm2=area,
        cloth_g=cloth,
        resin_g=_resin(cloth, glass.fibre_share),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class TapeStation:
    """Where a lap ends at a station, mm: along the face from the middle of the stringer, and round the rail from its
    widest point; not a number where the lap takes the whole face there.
    """

    x_mm: float
    from_middle_mm: float
    from_rail_mm: float


def tape_line(draft: Draft, on: Lap) -> tuple[TapeStation, ...]:
    """Return where a lap ends at the usual stations, tail first."""
    board, found = draft.board, []
    start = stringer_from_mm(draft.body)
    for x in usual_stations(board.length_mm, metric=board.metric):
        if not start < x < board.length_mm:
            continue
        off = on.off_mm(x)
        across, tape = across_face(draft.body, on.face, x)
        at = float("nan") if math.isnan(off) else float(np.interp(off, across, tape))
        found.append(TapeStation(x_mm=x, from_middle_mm=at, from_rail_mm=float(tape[-1]) - at))
    return tuple(found)
