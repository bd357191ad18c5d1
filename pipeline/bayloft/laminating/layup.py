"""A fin's layup: plies, panel, sessions, weights, and the planes in which its plies meet."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from bayloft.errors import Fault, SpecError
from bayloft.laminating.core import core_volume_mm3
from bayloft.laminating.laminate import Laminate, Session, laminate, sessions
from bayloft.lines.fin import FinLines
from bayloft.solid.body import Body
from bayloft.solid.integrals import Integrals
from bayloft.spec.fins.fin import Fin
from bayloft.spec.fins.layup import CAUTIOUS
from bayloft.tolerances import WHOLE_PLY_SHARE
from bayloft.units import both

Array = NDArray[np.float64]

EDGE_STEPS = 2000
"""Steps along the edges in which the fin's extent is looked for: within 1e-4 mm of it on a fin of 300 mm."""

LEAST_PLIES = 2
"""Plies of which a foil must hold room at its tip, so that no place away from the trailing edge is a single one (common
practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """The panel from which a fin is sawn, or the pieces of cloth that go over its core.

    plies: in all; skin_plies: on each face of a core, None without one. corner_mm: (x, z) of its lower rear corner on
    the fin; size_mm: along the base and up. thickness_mm: as laid; ground_mm: what of it is more than the foil needs
    (with a core: planed off the core before the skins are laid).
    """

    laminate: Laminate
    plies: int
    skin_plies: int | None
    corner_mm: tuple[float, float]
    size_mm: tuple[float, float]
    thickness_mm: float
    ground_mm: float
    sessions: tuple[Session, ...]

    @property
    def area_m2(self) -> float:
        """Area of one ply."""
        return self.size_mm[0] * self.size_mm[1] / 1e6


@dataclass(frozen=True, slots=True, kw_only=True)
class FinLayup:
    """The panel of one fin, and what is weighed. cloth_m2: all plies; cloth_g, resin_g: what stays in the panel;
    core_g: the piece of core it takes, 0 without one; panel_g: all of these; finished_g: the foiled fin with its tab;
    waste_g: what is sawn and ground off.
    """

    panel: Panel
    cloth_m2: float
    cloth_g: float
    resin_g: float
    core_g: float
    panel_g: float
    core_mm3: float
    finished_g: float

    @property
    def waste_g(self) -> float:
        """What is sawn and ground off the panel."""
        return self.panel_g - self.finished_g


def fin_panel(fin: Fin, lines: FinLines) -> Panel:
    """Return the panel of a fin, its plies rounded up to whole ones and shared out evenly among sessions.

    Raises
    ------
    SpecError
        If a single ply takes more resin than a pot, the tip is thinner than two plies, or core and skins do not make
        the foil.
    """
    of = laminate(fin.layup)
    corner, size = _extent(fin, lines)
    area_m2 = size[0] * size[1] / 1e6
    faults = [*_tip_fault(fin, of), *_pot_fault(fin, of, area_m2)]
    needed = _whole(fin.thickness_mm, of)
    if fin.core is None:
        plies, skin, thickness = needed, None, needed * of.ply_mm
    else:
        filling = _whole((fin.thickness_mm - fin.core.thickness_mm) / 2, of)
        skin = filling if fin.core.skin_plies is None else fin.core.skin_plies
        plies, thickness = 2 * skin, 2 * skin * of.ply_mm + fin.core.thickness_mm
        faults += _skin_faults(fin, of, skin, filling)
    if faults:
        raise SpecError(tuple(faults))
    layup = fin.layup
    laid = laid_up(of, plies, skin, area_m2, most=layup.plies_per_session, pot_g=layup.pot_g)
    return Panel(
        laminate=of,
        plies=plies,
        skin_plies=skin,
        corner_mm=corner,
        size_mm=size,
        thickness_mm=thickness,
        ground_mm=max(thickness - fin.thickness_mm, 0.0),
        sessions=laid,
    )


def laid_up(
    of: Laminate, plies: int, skin_plies: int | None, area_m2: float, *, most: int, pot_g: float
) -> tuple[Session, ...]:
    """Return the sessions of a panel of an area, or of the skins on both faces of its core: at most so many plies at
    once, and no more than the resin of a pot covers.

    Raises ValueError where a pot does not cover one ply.
    """
    most = min(most, int(pot_g / (of.resin_g_m2 * area_m2)))
    if skin_plies is None:
        return sessions(of, plies, most, area_m2, "panel")
    return sessions(of, skin_plies, most, area_m2, "outer face") + sessions(
        of, skin_plies, most, area_m2, "inside face"
    )


def fin_layup(fin: Fin, lines: FinLines, body: Body, exact: Integrals) -> FinLayup:
    """Return a fin's panel with its weights: the fin's integral times the laminate's density.

    A tab counts as thick as the fin. With a core, the skins are counted square to the fin's middle plane, and wherever
    the foil is thinner than both of them it is glass all through.

    Raises
    ------
    SpecError
        As `fin_panel`.
    """
    panel = fin_panel(fin, lines)
    of, area_m2 = panel.laminate, panel.area_m2
    tab_mm2 = 0.0 if fin.tab is None else fin.tab.length_mm * fin.tab.height_mm
    whole_mm3 = exact.volume_mm3 + tab_mm2 * fin.thickness_mm
    core_mm3 = blank_g = core_g = 0.0
    if fin.core is not None:
        skins_mm = panel.plies * of.ply_mm
        core_mm3 = core_volume_mm3(body, skins_mm) + tab_mm2 * max(fin.thickness_mm - skins_mm, 0.0)
        blank_g = area_m2 * fin.core.thickness_mm * fin.core.density_kg_m3
        core_g = core_mm3 * fin.core.density_kg_m3 / 1e6
    cloth_g, resin_g = (panel.plies * per_m2 * area_m2 for per_m2 in (of.glass_g_m2, of.resin_g_m2))
    return FinLayup(
        panel=panel,
        cloth_m2=panel.plies * area_m2,
        cloth_g=cloth_g,
        resin_g=resin_g,
        core_g=blank_g,
        panel_g=cloth_g + resin_g + blank_g,
        core_mm3=core_mm3,
        finished_g=core_g + (whole_mm3 - core_mm3) * of.density_kg_m3 / 1e6,
    )


def ply_planes_mm(panel: Panel, body: Body) -> Array:
    """Return the y (n,) in mm, ascending, of the planes in which plies meet inside a fin; none in a fin with a core.

    Plies lie parallel to the panel's middle plane. A fin whose faces mirror each other lies in the middle of its panel,
    and as much is ground off either face: with an even number of plies the middle plane, and so the leading edge, is
    where two plies meet; with an odd number it is the middle of a ply, and the first planes lie half a ply beside it.
    Any other fin has the panel's face where its inside reaches furthest out, and is ground from the outer face.
    """
    if panel.skin_plies is not None:
        return np.zeros(0)
    steps = np.arange(1, panel.plies, dtype=np.float64)
    if body.starboard is None:
        return np.asarray((steps - panel.plies / 2) * panel.laminate.ply_mm, dtype=np.float64)
    inside = body.starboard.grid(*body.starboard.breaks)[..., 1].min()
    return np.asarray(np.round(inside, 6) + steps * panel.laminate.ply_mm, dtype=np.float64)


def assumed_limits(fin: Fin) -> frozenset[str]:
    """Return which of the limits of a session, "plies_per_session" and "pot", the maker did not give."""
    return frozenset(str(item.path[-1]) for item in fin.assumed if item.path[0] == "layup" and item.reason == CAUTIOUS)


def _whole(thickness_mm: float, of: Laminate) -> int:
    return max(ceil(thickness_mm / of.ply_mm - WHOLE_PLY_SHARE), 1)


def _extent(fin: Fin, lines: FinLines) -> tuple[tuple[float, float], tuple[float, float]]:
    """Return corner and size of the outline's bounding box with the margin round it, the size in whole mm upward."""
    u = np.linspace(0.0, 1.0, EDGE_STEPS + 1)
    x = np.concatenate([lines.leading(u), lines.trailing(u)])
    low = 0.0 if fin.tab is None else -fin.tab.height_mm
    margin = fin.layup.margin_mm
    corner = round(float(x.min()), 3) - margin, low - margin
    size = np.ceil(np.round([np.ptp(x) + 2 * margin, fin.depth_mm - low + 2 * margin], 3))
    return corner, (float(size[0]), float(size[1]))


def _tip_fault(fin: Fin, of: Laminate) -> list[Fault]:
    least = LEAST_PLIES * of.ply_mm
    if fin.tip_thickness_mm >= least:
        return []
    return [
        fin.source.fault(
            ("foil", "tip_thickness"),
            f"{fin.tip_thickness_mm:.2f} mm",
            "the foil is thinner than two plies towards its tip",
            allowed=f"{least:.2f} mm or more, two plies of {of.ply_mm:.3f} mm; a trailing edge may be thinner",
            hint="a thicker tip, or a lighter cloth",
        )
    ]


def _pot_fault(fin: Fin, of: Laminate, area_m2: float) -> list[Fault]:
    resin_g = of.resin_g_m2 * area_m2
    if resin_g <= fin.layup.pot_g:
        return []
    return [
        fin.source.fault(
            ("layup", "pot"),
            f"{fin.layup.pot_g:g} g" + (f" ({CAUTIOUS})" if "pot" in assumed_limits(fin) else ""),
            f"a single ply of this panel takes {resin_g:.0f} g of resin: more than a pot",
            allowed=f"{resin_g:.0f} g or more, as far as the resin's data sheet allows",
            hint="a lighter cloth, or less margin",
        )
    ]


def _skin_faults(fin: Fin, of: Laminate, skin: int, filling: int) -> list[Fault]:
    core = fin.core
    if core is None:
        return []
    if 2 * skin * of.ply_mm >= fin.thickness_mm:
        return [
            fin.source.fault(
                ("core", "skin_plies"),
                f"{skin}",
                f"more plies than fit: both skins are {2 * skin * of.ply_mm:.2f} mm thick and leave no core",
                allowed=f"less than {fin.thickness_mm:.2f} mm for both",
                hint="fewer plies or a lighter cloth, or no [core]",
            )
        ]
    if skin < filling:
        short = fin.thickness_mm - core.thickness_mm - 2 * skin * of.ply_mm
        return [
            fin.source.fault(
                ("core", "skin_plies"),
                f"{skin}",
                f"core and skins make {both(fin.thickness_mm - short)}: {short:.2f} mm less than the foil",
                allowed=f"{filling} or more on a core of {both(core.thickness_mm)}",
                hint="more plies, or a thicker core",
            )
        ]
    return []
