"""How a board is held while both its faces are cut: tabs of foam from its ends to the waste beyond them, and upright
dowel holes there in line with the stringer, about which the block is turned over.
"""

from __future__ import annotations

from dataclasses import dataclass

import manifold3d
import numpy as np

from bayloft.arithmetic import rounded
from bayloft.solid.assembly import cut_solid
from bayloft.solid.body import Body
from bayloft.solid.measure import rocker, stringer_from_mm, thickness
from bayloft.solid.mesh import Mesh, solid_of
from bayloft.tolerances import CUT_FIN_DECIMALS

LONGEST_INTO_SHARE = 0.1
"""Of a board's length that a tab may reach into it."""

ROUND_HOLE_SIDES = 64
"""Sides of a dowel's hole in a mesh, which stand outside the circle: of 10 mm, at most by 0.006 mm."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """How a board is held, mm: the dowels' diameter; how far beyond the board's ends the middles of their holes are;
    width, height and reach into the board of a tab, whose foam is taken off by hand.
    """

    dowel_mm: float = 10.0
    clear_mm: float = 60.0
    tab_width_mm: float = 40.0
    tab_height_mm: float = 25.0
    into_mm: float = 40.0

    @property
    def waste_mm(self) -> float:
        """How much waste is needed beyond an end: three dowels of foam behind the hole (common practice, no source)."""
        return self.clear_mm + 3.5 * self.dowel_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldTab:
    """A level tab in the board's axes, mm: from station to station, its half-width about the stringer, its heights."""

    from_mm: float
    to_mm: float
    half_width_mm: float
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A board's tabs, at tail and nose, and the stations of its dowel holes, both on the stringer, mm."""

    holding: Holding
    tabs: tuple[HeldTab, HeldTab]
    dowels_mm: tuple[float, float]


def held(body: Body, length_mm: float, holding: Holding) -> Held:
    """Return tabs and dowels of a board. A tab lies level about the middle of the foam half its reach inside the end of
    the stringer; where a notch is cut out of the tail it runs through the notch to its root.
    """
    start = stringer_from_mm(body)
    into = min(holding.into_mm, LONGEST_INTO_SHARE * length_mm)
    inside = np.array([start + into / 2.0, length_mm - into / 2.0])
    middle = rounded(rocker(body, inside) + thickness(body, inside) / 2.0, CUT_FIN_DECIMALS)
    ends = ((-holding.waste_mm, start + into), (length_mm - into, length_mm + holding.waste_mm))
    tabs = tuple(
        HeldTab(
            from_mm=low,
            to_mm=high,
            half_width_mm=holding.tab_width_mm / 2.0,
            low_mm=float(z) - holding.tab_height_mm / 2.0,
            high_mm=float(z) + holding.tab_height_mm / 2.0,
        )
        for (low, high), z in zip(ends, middle, strict=True)
    )
    return Held(holding=holding, tabs=(tabs[0], tabs[1]), dowels_mm=(-holding.clear_mm, length_mm + holding.clear_mm))


def with_tabs(mesh: Mesh, how: Held) -> Mesh:
    """Return a board's solid with its tabs, a dowel hole through each, as one closed mesh in single precision."""
    solid = solid_of(mesh)
    for tab, x in zip(how.tabs, how.dowels_mm, strict=True):
        size = (tab.to_mm - tab.from_mm, 2.0 * tab.half_width_mm, tab.high_mm - tab.low_mm)
        box = manifold3d.Manifold.cube(size).translate((tab.from_mm, -tab.half_width_mm, tab.low_mm))
        reach = size[2] + 2.0
        radius = how.holding.dowel_mm / 2.0 / np.cos(np.pi / ROUND_HOLE_SIDES)
        hole = manifold3d.Manifold.cylinder(reach, radius, radius, ROUND_HOLE_SIDES)
        solid += box - hole.translate((x, 0.0, tab.low_mm - 1.0))
    return cut_solid(solid)
