"""How a board lies in the water under the load that its maker asks about, and under a little less and more."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from bayloft.floating.equilibrium import Rest, Weight, rest
from bayloft.floating.water import density_kg_m3
from bayloft.laminating.weighing import board_weight
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.measure import places, stringer_from_mm
from bayloft.solid.plane_cut import Below, CutBody, Plane
from bayloft.solid.waterline import Waterline, over_plane, stringer_crossings, waterline
from bayloft.spec.bench.floating import FloatAsked

SHARES = (0.8, 1.0, 1.2)
"""The loads that are told, as shares of the one asked about."""

ENDS = ("tail", "centre", "nose")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FloatLie:
    """How a board lies at rest: the water in the board's axes and what is below it; its waterline; trim in degrees,
    nose up positive. Square to the water, mm, at tail, centre and nose of the stringer: draft of the bottom (negative:
    it is clear of the water) and freeboard of the deck (negative: it is under). stretches_mm: stations from and to
    which the deck is under water at the stringer; deck_share: how much of the whole deck is, seen from above. What 1 kg
    more makes it sink, mm; by how much nose and tail together move, for 1 mm that the load is moved along.
    """

    plane: Plane
    below: Below
    line: Waterline
    trim_deg: float
    drafts_mm: tuple[float, float, float]
    freeboards_mm: tuple[float, float, float]
    stretches_mm: tuple[tuple[float, float], ...]
    deck_share: float
    sinks_mm_kg: float
    trims_mm_mm: float

    @property
    def length_mm(self) -> float:
        """Length of the waterline, along the water."""
        return (self.line.to_mm - self.line.from_mm) * self.plane.steepness

    @property
    def waterplane_mm2(self) -> float:
        """Area of the waterplane."""
        return self.below.face_mm2 * self.plane.steepness


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LoadedFloat:
    """One load: its mass in kg, how the board comes to rest under it, and how it then lies (None where it does not)."""

    load_kg: float
    rest: Rest
    lie: FloatLie | None


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoardFloats:
    """What is told of a board afloat: what was asked, with the board's own weight where
    that is reckoned; the water's density; the place of the load's middle (x, z) in mm;
    the most that the whole board carries beside its own mass before it sinks, kg; each load of SHARES.
    """

    asked: FloatAsked
    density_kg_m3: float
    load_at_mm: tuple[float, float]
    carries_kg: float
    loads: tuple[LoadedFloat, ...]

    @property
    def own(self) -> LoadedFloat:
        """The load asked about."""
        return self.loads[SHARES.index(1.0)]


@lru_cache(maxsize=8)
def board_floats(draft: Draft) -> BoardFloats | None:
    """Return how a board floats under what its file asks about; None where it asks nothing. Fins are left out."""
    asked = draft.board.afloat
    if asked is None:
        return None
    if asked.board_kg == 0.0 and (weight := board_weight(draft)) is not None:
        # Not told, but reckoned from what the board is made of, and so is where it balances.
        asked = replace(asked, board_kg=weight.total_g.usual * 1e-3, balance_x_mm=weight.balance_mm)
    body = _cut_body(draft.body)
    density = density_kg_m3(asked.salinity_g_kg, asked.temperature_c)
    deck = float(places(draft.body, [asked.x_mm], (1.0,))[0, 0, 2])
    at = (asked.x_mm, deck + asked.above_deck_mm)
    own: list[Weight] = []
    if asked.board_kg > 0.0:
        middle = body.whole.centre_mm
        x = middle[0] if asked.balance_x_mm is None else asked.balance_x_mm
        own.append(Weight(mass_kg=asked.board_kg, x_mm=x, z_mm=middle[1]))
    loads = []
    for share in SHARES:
        load = asked.load_kg * share
        found = rest(body, [*own, Weight(mass_kg=load, x_mm=at[0], z_mm=at[1])], density)
        loads.append(LoadedFloat(load_kg=load, rest=found, lie=_lie(draft, body, found, load)))
    return BoardFloats(
        asked=asked,
        density_kg_m3=density,
        load_at_mm=at,
        carries_kg=density * body.whole.volume_mm3 * 1e-9 - asked.board_kg,
        loads=tuple(loads),
    )


@lru_cache(maxsize=4)
def _cut_body(body: Body) -> CutBody:
    return CutBody(body)


def _lie(draft: Draft, body: CutBody, found: Rest, load_kg: float) -> FloatLie | None:
    plane, below = found.plane, found.below
    if plane is None or below is None:
        return None
    line = waterline(body.body, plane)
    if line is None:
        return None
    length = draft.board.length_mm
    x = [stringer_from_mm(body.body), length / 2.0, length]
    bottom, deck = over_plane(places(body.body, np.array(x), (0.0, 1.0)), plane).tolist()
    face = below.face_mm2 * plane.steepness
    return FloatLie(
        plane=plane,
        below=below,
        line=line,
        trim_deg=-math.degrees(math.atan(plane.slope)),
        drafts_mm=(-bottom[0], -bottom[1], -bottom[2]),
        freeboards_mm=(deck[0], deck[1], deck[2]),
        stretches_mm=_under(body.body, plane),
        deck_share=below.deck_mm2 / body.whole.deck_mm2,
        sinks_mm_kg=1e9 / (found.density_kg_m3 * face),
        trims_mm_mm=length * load_kg / (found.mass_kg * found.metacentric_mm),
    )


def _under(body: Body, plane: Plane) -> tuple[tuple[float, float], ...]:
    """Return the stretches of the deck at the stringer that lie under a plane, stations in mm."""
    ends = body.port.grid([0.0, 1.0], [1.0])[:, 0]
    first, last = over_plane(ends, plane).tolist()
    turns = stringer_crossings(body, plane, "deck")
    if first < 0.0:
        turns.insert(0, float(ends[0, 0]))
    if last < 0.0:
        turns.append(float(ends[1, 0]))
    return tuple(zip(turns[::2], turns[1::2], strict=False))
