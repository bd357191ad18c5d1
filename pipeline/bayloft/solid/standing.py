"""Fins where they stand on a board: the frame of each, and its base as the bottom itself cuts it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

from bayloft.arithmetic import lengths
from bayloft.solid.body import Body
from bayloft.solid.faces import LEVEL_AXES, met
from bayloft.spec.boards.board import Placement
from bayloft.tolerances import BASE_STRAIGHT_MM, BOTTOM_MM

Array = NDArray[np.float64]

BASE_PLACES = 65
"""Places along a base where the bottom is met; with its slopes there the cubics between leave it by 1e-6 mm."""

FOIL_PLACES = 33
"""Places round each face of a base."""

MOST_STEPS = 20


FIRST_FIN = 51
"""The number of the fin of the first `[[fins]]` entry, of the second one more; other parts of a set have lower and
higher ones."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stand:
    """One `[[fins]]` entry where it stands: the port fin of a pair, or the fin on the stringer. Starboard is the mirror
    image in y = 0, and the same in the fin's own frame.

    rear_mm, front_mm (3,): the ends of the base, both on the bottom, in the board's axes, a base's length apart.
    axes (3, 3), as rows: forward along the base's chord; out, square to the fin's middle plane; away from the board.
    The fin's own x, y, z run along them from the rear end. The chord turns from the stringer's plane by the toe; the
    middle plane leans from the upright plane through the chord, which is square to the board's flat plane, by the cant.
    base: z (mm) of the bottom over x (0 to base_mm) in the middle plane, exact with its slope at BASE_PLACES places and
    0 at both ends. outer, inner (n, 2): x and z of the edges in which the section of the base, carried straight up and
    down, meets the bottom, from the leading to the trailing edge; outer_face, inner_face (n, 2): x and y of the same.
    across: the bottom's slope across the fin at the
    middle of the base (mm per mm, towards the outer face). n: place in the list of fins, from 1.
    """

    n: int
    placement: Placement
    rear_mm: Array
    front_mm: Array
    axes: Array
    base: CubicHermiteSpline[np.float64]
    outer: Array
    inner: Array
    outer_face: Array
    inner_face: Array
    across: float

    @property
    def number(self) -> int:
        """The number that the fin bears on drawings, marks and templates."""
        return FIRST_FIN + self.n - 1

    @property
    def deviation_mm(self) -> float:
        """Greatest distance of the bottom from the base's straight line, in the middle plane."""
        return float(np.abs(self.base(np.linspace(0.0, self.placement.fin.base_mm, 4 * BASE_PLACES))).max())

    @property
    def straight(self) -> bool:
        """Whether a straight base will do."""
        return self.deviation_mm <= BASE_STRAIGHT_MM

    @property
    def sides(self) -> tuple[str, ...]:
        """Where its fins stand: "centre", or "port" and "starboard"."""
        return ("centre",) if self.placement.off_stringer_mm == 0.0 else ("port", "starboard")

    @property
    def toe_mm(self) -> float:
        """By how much the front end of the base stands nearer to the stringer than the rear end."""
        return float(self.rear_mm[1] - self.front_mm[1])

    @property
    def bevel_deg(self) -> float:
        """How far the base of a pair's fin is off square across at its middle, from cant and bottom: positive where the
        outer face is the longer one. 0 on the stringer, where both sides of the bottom are alike.
        """
        return 0.0 if self.sides == ("centre",) else float(np.degrees(np.arctan(-self.across)))

    def like(self, other: Stand) -> bool:
        """Whether the same fin fits both places: the same one, and bases alike within BASE_STRAIGHT_MM."""
        if self.placement.fin.slug != other.placement.fin.slug:
            return False
        pairs = ((self.outer, other.outer), (self.inner, other.inner))
        return all(float(np.abs(a - b).max()) <= BASE_STRAIGHT_MM for a, b in pairs)


def upright_axes(axes: Array) -> Array:
    """Return the axes of the same chord without cant: forward, level outward, away from the board."""
    out = np.array([-axes[0, 1], axes[0, 0], 0.0]) / np.hypot(axes[0, 0], axes[0, 1])
    return np.stack([axes[0], out, -np.cross(axes[0], out)])


def standing(placements: Sequence[Placement], foils: dict[str, tuple[Array, Array]], body: Body) -> tuple[Stand, ...]:
    """Return every placement as it stands on the bottom of a board.

    Parameters
    ----------
    foils : by the fin's slug, the outer and inner face of its base (n, 2) as x and y, leading to trailing edge.

    Raises
    ------
    NotOnFaceError
        For a base beside the bottom, which footing.py refuses.
    """
    rear, front = base_ends(placements, body)
    return tuple(
        _stand(n, placement, rear[n - 1], front[n - 1], foils[placement.fin.slug], body)
        for n, placement in enumerate(placements, start=1)
    )


def base_foil(body: Body) -> tuple[Array, Array]:
    """Return the outer and inner face (n, 2) of a fin's base as x and y, from leading to trailing edge."""
    v = np.linspace(0.0, body.port.joints[-2], FOIL_PLACES)
    outer = body.port.grid([0.0], v)[0, :, :2]
    inner = outer * [1.0, -1.0] if body.starboard is None else body.starboard.grid([0.0], v)[0, :, :2]
    return outer, inner


def base_ends(placements: Sequence[Placement], body: Body) -> tuple[Array, Array]:
    """Return the rear and the front ends (n, 3) in mm of bases on the bottom, port side.

    The front is found by Newton's method in its station, so that the chord is as long as the base.
    """
    if not placements:
        return np.zeros((0, 3)), np.zeros((0, 3))
    base = np.array([placement.fin.base_mm for placement in placements])
    x = np.array([placement.from_tail_mm for placement in placements])
    y = np.array([placement.off_stringer_mm for placement in placements])
    toe = np.radians([placement.toe_deg for placement in placements])
    origin = np.zeros(3)
    low = met(body, origin, LEVEL_AXES, x, y).height_mm
    run, off = base * np.cos(toe), y - base * np.sin(toe)
    ahead = x + run
    for _ in range(MOST_STEPS):
        high = met(body, origin, LEVEL_AXES, ahead, off)
        rise = high.height_mm - low
        step = ((ahead - x) ** 2 + rise**2 - run**2) / (2.0 * (ahead - x + rise * high.along))
        ahead = ahead - step
        if float(np.abs(step).max()) < BOTTOM_MM:
            break
    high = met(body, origin, LEVEL_AXES, ahead, off)
    return np.stack([x, y, low], axis=1), np.stack([ahead, off, high.height_mm], axis=1)


def _stand(n: int, placement: Placement, rear: Array, front: Array, foil: tuple[Array, Array], body: Body) -> Stand:
    forward = (front - rear) / lengths(front - rear)
    upright = upright_axes(np.stack([forward, forward, forward]))
    cant = np.radians(placement.cant_deg)
    out = np.cos(cant) * upright[1] - np.sin(cant) * upright[2]
    away = np.cos(cant) * upright[2] + np.sin(cant) * upright[1]
    axes = np.stack([forward, out, away])
    x = np.linspace(0.0, placement.fin.base_mm, BASE_PLACES)
    outer, inner = foil
    feet = np.concatenate([np.stack([x, np.zeros_like(x)], axis=1), outer, inner])
    bottom = met(body, rear, axes, *feet.T)
    z, slope = bottom.height_mm[:BASE_PLACES].copy(), bottom.along[:BASE_PLACES]
    z[[0, -1]] = 0.0
    edges = np.split(bottom.height_mm[BASE_PLACES:], 2)
    return Stand(
        n=n,
        placement=placement,
        rear_mm=rear,
        front_mm=front,
        axes=axes,
        base=CubicHermiteSpline(x, z, slope),
        outer=np.stack([outer[:, 0], edges[0]], axis=1),
        inner=np.stack([inner[:, 0], edges[1]], axis=1),
        outer_face=outer,
        inner_face=inner,
        across=float(bottom.across[BASE_PLACES // 2]),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cut:
    """A fin with its base cut for one place, or for several alike: all of them, and the name of its files."""

    slug: str
    stands: tuple[Stand, ...]

    @property
    def number(self) -> int:
        """The number that its template bears: that of the first place it is for."""
        return self.stands[0].number


def cuts(stands: Sequence[Stand]) -> tuple[Cut, ...]:
    """Return each fin as often as its places differ: named like the fin where one cut serves them all, or else with the
    number of the first `[[fins]]` entry that it is for.
    """
    groups: list[list[Stand]] = []
    for stand in stands:
        alike = next((group for group in groups if stand.like(group[0])), None)
        if alike is None:
            groups.append([stand])
        else:
            alike.append(stand)
    slugs = [group[0].placement.fin.slug for group in groups]
    return tuple(
        Cut(slug=slug if slugs.count(slug) == 1 else f"{slug}-at-{group[0].n}", stands=tuple(group))
        for slug, group in zip(slugs, groups, strict=True)
    )
