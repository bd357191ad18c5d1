"""The fins of a board together: which of them share a panel, how they lie on it, and what it takes off the roll."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from shapely import Polygon

from bayloft.laminating.laminate import Session
from bayloft.laminating.layup import Panel, fin_panel, laid_up
from bayloft.laminating.nesting import Nest, NestShape, NestSpot, nested
from bayloft.solid.draft import Draft, FinDraft
from bayloft.spec.bench.fin_panels import FinPanels
from bayloft.spec.fins.layup import Warp

EDGE_STEPS = 300
"""Steps along each edge of an outline that is laid: chords leave an edge of 300 mm by less than 0.005 mm."""

ANGLE_STEP_DEG = 5.0
"""Between the angles that are tried where the warp may lie any way."""

ROUNDING = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FinPiece:
    """One fin to be made: of a pair the second is the first one's mirror image."""

    fin: FinDraft
    panel: Panel
    copy: int
    mirrored: bool

    @property
    def symmetric(self) -> bool:
        """Whether its faces are alike, so that its mirror image is itself turned over."""
        return self.fin.body.starboard is None

    @property
    def outline(self) -> Polygon:
        """Its outline with its tab on a straight base, x forward, z up, as its template is drawn."""
        return Polygon(_outline(self.fin))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LaidFin:
    """A fin on its panel, as it is seen from above; the drawing of a fin shows the outer face of a port one."""

    piece: FinPiece
    spot: NestSpot

    @property
    def turned_over(self) -> bool:
        """Whether its inside face lies up: never of a fin whose faces are alike."""
        return not self.piece.symmetric and self.spot.flipped != self.piece.mirrored


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SetPanel:
    """One panel and the fins that are sawn from it. panel: that of its first fin alone, of which thickness and plies
    hold; size_mm: along the roll and across. bolt_mm: width of the cloth's bolt.
    """

    fins: tuple[LaidFin, ...]
    panel: Panel
    size_mm: tuple[float, float]
    sessions: tuple[Session, ...]
    bolt_mm: float

    @property
    def area_m2(self) -> float:
        """Area of one ply."""
        return self.size_mm[0] * self.size_mm[1] / 1e6

    @property
    def single_m2(self) -> float:
        """Area of one ply of a panel for each of its fins alone, in all."""
        return sum(laid.piece.panel.area_m2 for laid in self.fins)

    @property
    def fins_m2(self) -> float:
        """Area within the outlines of its fins."""
        return sum(float(laid.piece.outline.area) for laid in self.fins) / 1e6

    @property
    def saved_share(self) -> float:
        """How much more a panel for each fin alone would take, as a share of this one."""
        return self.single_m2 / self.area_m2 - 1.0

    @property
    def cloth_m2(self) -> float:
        """Cloth of all plies."""
        return self.panel.plies * self.area_m2

    @property
    def cloth_g(self) -> float:
        """Mass of the cloth of all plies."""
        return self.cloth_m2 * self.panel.laminate.glass_g_m2

    @property
    def resin_g(self) -> float:
        """Resin that stays in all plies."""
        return self.cloth_m2 * self.panel.laminate.resin_g_m2

    @property
    def core_g(self) -> float:
        """The piece of core it takes, before anything is planed off; 0 without one."""
        core = self.fins[0].piece.fin.fin.core
        return 0.0 if core is None else self.area_m2 * core.thickness_mm * core.density_kg_m3

    @property
    def mass_g(self) -> float:
        """Cloth, resin and core."""
        return self.cloth_g + self.resin_g + self.core_g

    @property
    def side_by_side(self) -> int:
        """How many plies lie side by side across the bolt; 0 where one is wider than it."""
        return math.floor(self.bolt_mm / self.size_mm[1] + ROUNDING)

    @property
    def strips(self) -> int:
        """Of how many strips a ply is laid that is wider than the bolt; 1 of one that is not."""
        return math.ceil(self.size_mm[1] / self.bolt_mm - ROUNDING)

    @property
    def roll_mm(self) -> float:
        """The length of all plies off the roll."""
        rows = math.ceil(self.panel.plies / self.side_by_side) if self.side_by_side else self.panel.plies * self.strips
        return rows * self.size_mm[0]


@lru_cache(maxsize=8)
def set_panels(draft: Draft) -> tuple[SetPanel, ...]:
    """Return the panels of a board's fins. Those of one laminate share a panel where it is no larger than theirs alone
    together, no ply of it takes more resin than a pot, and it is no wider than the bolt; else as many as do.

    The fewest plies at once and the smallest pot that any of the fins asks for hold for all. With a core, fins whose
    faces differ lie with one face up, for the core is foiled before it has skins; in glass all through, one that is its
    neighbour's mirror image may as well be that one turned over.

    Raises
    ------
    SpecError
        As `fin_panel`, of a fin alone.
    """
    groups: dict[tuple[object, ...], list[FinPiece]] = {}
    for fin in draft.fins:
        panel = fin_panel(fin.fin, fin.lines)
        places = [place for place in draft.board.fins if place.fin.slug == fin.fin.slug]
        sides = [mirrored for place in places for mirrored in ((False, True) if place.off_stringer_mm else (False,))]
        own = groups.setdefault(_schedule(fin, panel), [])
        own += [FinPiece(fin=fin, panel=panel, copy=n, mirrored=side) for n, side in enumerate(sides, 1)]
    return tuple(panel for pieces in groups.values() for panel in _shared(pieces, draft.board.panels))


def _schedule(fin: FinDraft, panel: Panel) -> tuple[object, ...]:
    """Return what fins on one panel have in common."""
    core = fin.fin.core
    cored = None if core is None else (core.material, core.density_kg_m3, core.thickness_mm, fin.fin.thickness_mm)
    return panel.laminate, panel.plies, panel.skin_plies, cored, fin.fin.layup.warp


def _shared(pieces: Sequence[FinPiece], asked: FinPanels) -> list[SetPanel]:
    """Return the panels of fins of one laminate: all on one, or else one after the other where there is room."""
    whole = _together(pieces, asked) if pieces else None
    if whole is not None:
        return [whole]
    found: list[SetPanel] = []
    for piece in pieces:
        for at, panel in enumerate(found):
            more = _together([*(laid.piece for laid in panel.fins), piece], asked)
            if more is not None:
                found[at] = more
                break
        else:
            found.append(_alone(piece, asked))
    return found


def _together(pieces: Sequence[FinPiece], asked: FinPanels) -> SetPanel | None:
    """Return the panel of several fins, or None where they do better alone."""
    if len(pieces) == 1:
        return _alone(pieces[0], asked)
    single = sum(piece.panel.area_m2 for piece in pieces)
    most = min(single, min(piece.fin.fin.layup.pot_g for piece in pieces) / pieces[0].panel.laminate.resin_g_m2)
    if sum(piece.outline.area for piece in pieces) / 1e6 > most:
        return None
    nest = nested(
        [_shape(piece, asked) for piece in pieces],
        _angles(pieces[0].fin.fin.layup.warp),
        most_across_mm=math.floor(asked.bolt_mm + ROUNDING),
    )
    if nest is None or nest.area_mm2 / 1e6 > most * (1.0 + ROUNDING):
        return None
    return _off_the_roll(pieces, nest, asked)


def _alone(piece: FinPiece, asked: FinPanels) -> SetPanel:
    """Return the panel of one fin: its own."""
    (x, y), size = piece.panel.corner_mm, piece.panel.size_mm
    # A mirror image reaches as far down as the fin does up.
    moved = round(-x, 3) + 0.0, round(size[1] + y if piece.mirrored else -y, 3) + 0.0
    spot = NestSpot(flipped=piece.mirrored, turned_deg=0.0, moved_mm=moved)
    nest = Nest(spots=(spot,), size_mm=size)
    return _off_the_roll([piece], nest.turned if piece.fin.fin.layup.warp == "depth" else nest, asked)


def _off_the_roll(pieces: Sequence[FinPiece], nest: Nest, asked: FinPanels) -> SetPanel:
    """Return a panel as it lies on the roll: the way that takes less of it, where the warp may lie either way."""
    lying = [_panel(pieces, nest, asked)]
    if pieces[0].fin.fin.layup.warp in (None, "any"):
        lying.append(_panel(pieces, nest.turned, asked))
    return min(lying, key=lambda panel: (panel.roll_mm, panel.strips))


def _panel(pieces: Sequence[FinPiece], nest: Nest, asked: FinPanels) -> SetPanel:
    layups, own = [piece.fin.fin.layup for piece in pieces], pieces[0].panel
    sessions = laid_up(
        own.laminate,
        own.plies,
        own.skin_plies,
        nest.area_mm2 / 1e6,
        most=min(layup.plies_per_session for layup in layups),
        pot_g=min(layup.pot_g for layup in layups),
    )
    fins = (LaidFin(piece=piece, spot=spot) for piece, spot in zip(pieces, nest.spots, strict=True))
    return SetPanel(fins=tuple(fins), panel=own, size_mm=nest.size_mm, sessions=sessions, bolt_mm=asked.bolt_mm)


def _angles(warp: Warp | None) -> tuple[float, ...]:
    """Return the angles from the roll at which a fin's base may lie."""
    if warp == "any":
        return tuple(np.arange(0.0, 180.0, ANGLE_STEP_DEG).tolist())
    return {"base": (0.0,), "depth": (90.0,), None: (0.0, 90.0)}[warp]


def _shape(piece: FinPiece, asked: FinPanels) -> NestShape:
    either, margin = piece.symmetric or piece.fin.fin.core is None, piece.fin.fin.layup.margin_mm
    clear = margin + asked.saw_mm / 2 if asked.between_mm is None else asked.between_mm / 2
    flips = (False, True) if either else (piece.mirrored,)
    return NestShape(points=_outline(piece.fin), margin_mm=margin, clear_mm=clear, flips=flips)


@lru_cache(maxsize=32)
def _outline(draft: FinDraft) -> tuple[tuple[float, float], ...]:
    fin, u = draft.fin, np.linspace(0.0, 1.0, EDGE_STEPS + 1)
    leading, trailing = (draft.body.port.grid(u, [v])[:, 0, [0, 2]] for v in (0.0, 1.0))
    base = [(0.0, 0.0), (fin.base_mm, 0.0)]
    if fin.tab is not None:
        rear, front, low = fin.tab.from_rear_mm, fin.tab.from_rear_mm + fin.tab.length_mm, -fin.tab.height_mm
        base[1:1] = [(rear, 0.0), (rear, low), (front, low), (front, 0.0)]
    points = np.concatenate([base, leading[1:], trailing[-1:0:-1]])
    kept = [tuple(point) for point in np.round(points, 6).tolist()]
    return tuple(dict.fromkeys((x + 0.0, y + 0.0) for x, y in kept))
