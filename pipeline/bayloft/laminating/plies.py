"""How many plies of glass lie where on a board, how thick they cure, and how large the finished board is with them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from bayloft.laminating.glassing import BoardGlass
from bayloft.solid.draft import Draft
from bayloft.solid.measure import stringer_from_mm, thickness, width
from bayloft.solid.offsetting import Allowance
from bayloft.spec.bench.glass import GlassFace
from bayloft.spec.fins.layup import USUAL
from bayloft.spec.text.stations import usual_stations


@dataclass(frozen=True, slots=True, kw_only=True)
class PlyZone:
    """A part of a face with as many plies everywhere: what it is, how many, how thick they cure, mm."""

    face: GlassFace
    name: str
    plies: int
    thick_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class GlassedSize:
    """A board's sizes at a station with its glass on, mm: full width, where the rail begins there, and thickness at the
    stringer.
    """

    x_mm: float
    width_mm: float | None
    thickness_mm: float


def cured_mm(cloths_g_m2: Sequence[float], fibre_share: float) -> float:
    """Return how thick plies cure: glass and resin by volume (see `Layup.ply_mm`), polyester and E-glass assumed."""
    return sum(replace(USUAL, cloth_g_m2=weight, fibre_share=fibre_share).ply_mm for weight in cloths_g_m2)


def ply_zones(made: BoardGlass) -> tuple[PlyZone, ...]:
    """Return the zones of each face, deck first: in the middle, on the lap of the other face's cloth, under a patch in
    the middle.
    """
    found = []
    faces: tuple[GlassFace, ...] = ("deck", "bottom")
    for face in faces:
        own, over = made.glass.cloths(face), made.glass.cloths("bottom" if face == "deck" else "deck")
        zones: list[tuple[str, tuple[float, ...]]] = [("middle", own), ("lap", (*own, *over))]
        zones += [(patch.name, (*own, patch.cloth_g_m2)) for patch in made.glass.patches if patch.face == face]
        for name, cloths in zones:
            thick = cured_mm(cloths, made.glass.fibre_share.usual)
            found.append(PlyZone(face=face, name=name, plies=len(cloths), thick_mm=thick))
    return tuple(found)


def glass_on(made: BoardGlass) -> Allowance:
    """Return what the glass adds to the foam's shape: on deck and bottom, and on the rails, where both lap."""
    share = made.glass.fibre_share.usual
    deck, bottom = (cured_mm(cloths, share) for cloths in (made.glass.deck, made.glass.bottom))
    return Allowance(deck_mm=deck, bottom_mm=bottom, rail_mm=deck + bottom)


def glassed_sizes(draft: Draft, made: BoardGlass) -> tuple[GlassedSize, ...]:
    """Return the finished sizes at the usual stations, tail first: before any sanding, without fill coat."""
    board, body, added = draft.board, draft.body, glass_on(made)
    start = stringer_from_mm(body)
    rail_from = 0.0 if draft.lines.wall is None else draft.lines.wall.corner_x_mm
    found = []
    for x in usual_stations(board.length_mm, metric=board.metric):
        if not start < x < board.length_mm:
            continue
        across = float(width(body, [x])[0]) + 2.0 * added.rail_mm if x > rail_from else None
        deep = float(thickness(body, np.array([x]))[0]) + added.deck_mm + added.bottom_mm
        found.append(GlassedSize(x_mm=x, width_mm=across, thickness_mm=deep))
    return tuple(found)
