"""What a finished board weighs, from what it is made of, with a range; where it balances; what a choice changes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from bayloft.foam.stringers import cut_stringer
from bayloft.laminating.glassing import BoardGlass, board_glass
from bayloft.laminating.layup import fin_layup
from bayloft.solid.draft import Draft
from bayloft.solid.face_areas import face_middle_mm
from bayloft.solid.integrals import integrals
from bayloft.spec.bench.glass import Spread
from bayloft.spec.blank_loading import load_blank
from bayloft.units import cloth_g_m2

FOAM_KG_M3 = Spread(low=40.0, usual=47.0, high=55.0)
"""Polyurethane blanks, where no block is told or its foam was not weighed (common practice, no source)."""

WEIGHED, MILLED = 0.05, 0.03
"""Shares by which foam that was weighed, or wood, and cloth may be off (no source)."""

SANDED = Spread(low=0.3, usual=0.45, high=0.6)
"""Share of fill coat and gloss that is sanded off again (common practice, no source)."""

ONE_CLOTH_G_M2 = cloth_g_m2("4 oz/yd2")
FOAM_STEP_KG_M3 = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighedPart:
    """A part of a board's weight: what it is, its mass in g, and the station of its middle, mm."""

    name: str
    mass_g: Spread
    x_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BoardWeight:
    """What a finished board weighs: its parts; what was assumed for want of a number; what some choices would change,
    each in words with its mass in g.
    """

    parts: tuple[WeighedPart, ...]
    assumed: tuple[str, ...]
    changes: tuple[tuple[str, float], ...]

    @property
    def total_g(self) -> Spread:
        """All of it: least and greatest if all its parts are so at once."""
        low, usual, high = (sum(getattr(part.mass_g, key) for part in self.parts) for key in ("low", "usual", "high"))
        return Spread(low=low, usual=usual, high=high)

    @property
    def balance_mm(self) -> float:
        """Station at which it balances, mm from the tail end."""
        return sum(part.mass_g.usual * part.x_mm for part in self.parts) / self.total_g.usual


@lru_cache(maxsize=4)
def board_weight(draft: Draft) -> BoardWeight | None:
    """Return what a board weighs; None where its file says nothing of its glass."""
    made = board_glass(draft)
    if made is None:
        return None
    exact = integrals(draft.body)
    parts, assumed, foam_mm3 = [], [], exact.volume_mm3
    cut = cut_stringer(draft)
    if cut is not None:
        foam_mm3 -= cut.finished.area_mm2 * cut.stringer.thickness_mm
        if cut.finished_kg is None:
            assumed.append("the stringer is not weighed: no density of its wood is given")
        else:
            parts.append(
                WeighedPart(
                    name="stringer", mass_g=Spread.about(1e3 * cut.finished_kg, WEIGHED), x_mm=exact.centroid_mm[0]
                )
            )
    density, said = _foam(draft)
    assumed += said
    foam = density.times(foam_mm3 * 1e-6)
    parts.insert(0, WeighedPart(name="foam", mass_g=foam, x_mm=exact.centroid_mm[0]))
    parts += _glass(draft, made)
    parts += _fins(draft)
    if draft.board.plugs:
        assumed.append("plugs and boxes are not weighed; the foam that their pockets take is not taken off")
    return BoardWeight(parts=tuple(parts), assumed=tuple(assumed), changes=tuple(_changes(made, foam_mm3)))


def _foam(draft: Draft) -> tuple[Spread, list[str]]:
    """Return the foam's density, kg/m3, and what was assumed of it."""
    choice = draft.board.blank
    foam = None if choice is None else load_blank(choice.file).foam
    if foam is not None and foam.density_kg_m3 is not None:
        return Spread.about(foam.density_kg_m3, WEIGHED), []
    return FOAM_KG_M3, ["foam of 40 to 55 kg/m3, as polyurethane blanks have: no density is given"]


def _glass(draft: Draft, made: BoardGlass) -> list[WeighedPart]:
    found = []
    for face in made.faces:
        x = face_middle_mm(draft.body, face.face)
        found.append(WeighedPart(name=f"cloth, {face.face}", mass_g=Spread.about(face.cloth_g, MILLED), x_mm=x))
        found.append(WeighedPart(name=f"resin, {face.face}", mass_g=face.resin_g, x_mm=x))
    for own in made.patches:
        cloth = Spread.about(own.cloth_g, MILLED)
        both = Spread(
            low=cloth.low + own.resin_g.low, usual=cloth.usual + own.resin_g.usual, high=cloth.high + own.resin_g.high
        )
        found.append(WeighedPart(name=own.patch.name, mass_g=both, x_mm=own.patch.x_mm))
    middle = (face_middle_mm(draft.body, "deck") + face_middle_mm(draft.body, "bottom")) / 2.0
    for name, coat in (("fill coat", made.fill_g), ("gloss", made.gloss_g)):
        kept = Spread(
            low=coat.low * (1.0 - SANDED.high),
            usual=coat.usual * (1.0 - SANDED.usual),
            high=coat.high * (1.0 - SANDED.low),
        )
        found.append(WeighedPart(name=f"{name}, sanded", mass_g=kept, x_mm=middle))
    return found


def _fins(draft: Draft) -> list[WeighedPart]:
    found = []
    for fin in draft.fins:
        finished = fin_layup(fin.fin, fin.lines, fin.body, integrals(fin.body)).finished_g
        own = [each for each in draft.board.fins if each.fin.slug == fin.fin.slug]
        count = sum(2 if each.off_stringer_mm > 0.0 else 1 for each in own)
        x = sum(each.from_tail_mm + fin.fin.base_mm / 2.0 for each in own) / len(own)
        name = f"{count} × fin {fin.fin.name}" if count > 1 else f"fin {fin.fin.name}"
        found.append(WeighedPart(name=name, mass_g=Spread.about(count * finished, 2.0 * MILLED), x_mm=x))
    return found


def _changes(made: BoardGlass, foam_mm3: float) -> list[tuple[str, float]]:
    """Return what some choices would change, in words with g."""
    share = made.glass.fibre_share.usual
    found = []
    for face in made.faces:
        square = face.cloth_g / sum(face.cloths_g_m2)
        found.append((f"another 4 oz cloth on the {face.face}", square * ONE_CLOTH_G_M2 / share))
    found.append((f"foam of {FOAM_STEP_KG_M3:g} kg/m3 more", foam_mm3 * 1e-6 * FOAM_STEP_KG_M3))
    cloth = sum(face.cloth_g for face in made.faces)
    wetter = cloth * ((1.0 - 0.9 * share) / (0.9 * share) - (1.0 - share) / share)
    found.append((f"laid wetter: {90.0 * share:.0f} % glass in place of {100.0 * share:.0f} %", wetter))
    return found
