"""A fin's lines: leading and trailing edge, thickness along the height; the section anywhere."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.interpolate import BSpline

from bayloft.errors import Fault, SpecError
from bayloft.lines.closing import closing
from bayloft.lines.foil import Foil, foil, foil_of_section
from bayloft.lines.planform import planform
from bayloft.spec.fins.fin import Fin
from bayloft.units import both

Array = NDArray[np.float64]

TRAILING_CORNER = 0.9
"""Parameter v of the trailing edge's corner; from there to 1 runs the flat of the trailing edge."""

TIP_ROUNDING = 3.0
"""Length over which a fin's tip is rounded off in thickness, in tip thicknesses (common practice, no source)."""

LARGEST_TRAILING_EDGE = 0.6
"""Largest trailing edge as a share of the tip thickness: beyond, the foil would grow thicker towards its back."""

LEFT_BY_HOLLOW = 0.3
"""Least share of the foil's thickness that a hollow leaves anywhere: less is a sheet, no foil (common practice, no
source)."""

LEAST_BETWEEN = 1e-4
"""Least distance of the two faces of a foil between its edges, over the greatest thickness."""

SECTION_PLACES = np.linspace(0.0, 1.0, 401)[1:-1] ** 2
"""Chord shares at which faces are checked, denser towards the nose."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FinLines:
    """The lines of a fin, mm. x forward from the rear end of the base, z up from the base; u from 0 (base) to 1 (tip)
    with z = depth (2 u - u^2), so that edges which run straight in u meet in a round tip. `fillet_u` is the parameter
    up to which the edges flare out at the base.
    """

    depth_mm: float
    leading: BSpline[np.float64]
    trailing: BSpline[np.float64]
    thickness_mm: float
    tip_thickness_mm: float
    trailing_edge_mm: float
    foil: Foil
    fillet_u: float = 0.0

    def height(self, u: ArrayLike) -> Array:
        """Return the height in mm above the base at parameters u."""
        u = np.asarray(u, dtype=np.float64)
        return np.asarray(self.depth_mm * u * (2.0 - u), dtype=np.float64)

    def parameter(self, z_mm: ArrayLike) -> Array:
        """Return u at heights in mm, 0 to depth."""
        return np.asarray(1.0 - np.sqrt(1.0 - np.asarray(z_mm, dtype=np.float64) / self.depth_mm), dtype=np.float64)

    def thickness(self, u: ArrayLike) -> Array:
        """Return the greatest thickness in mm of the section at u: a straight taper, rounded off at the tip."""
        z = self.height(u)
        taper = self.thickness_mm + (self.tip_thickness_mm - self.thickness_mm) * z / self.depth_mm
        return np.asarray(taper * self._tip(u), dtype=np.float64)

    def trailing_edge(self, u: ArrayLike) -> Array:
        """Return the thickness in mm of the trailing edge at u."""
        return self.trailing_edge_mm * self._tip(u)

    def _tip(self, u: ArrayLike) -> Array:
        distance = self.depth_mm * (1.0 - np.asarray(u, dtype=np.float64)) ** 2
        return closing(distance, TIP_ROUNDING * self.tip_thickness_mm)

    def faces(self, u: ArrayLike, chord: ArrayLike) -> tuple[Array, Array]:
        """Return y in mm of the outer and the inner face at u and shares of the chord, broadcast; a hollow is left in
        proportion to the height below the tip.
        """
        left = (1.0 - np.asarray(u, dtype=np.float64)) ** 2
        return self.foil.faces(chord, self.thickness(u), self.trailing_edge(u), left)

    def face(self, u: ArrayLike, v: ArrayLike) -> Array:
        """Return points (..., 3) in mm of the outer face, u and v broadcast: v from the leading edge to the trailing
        edge's corner, then across the trailing edge to the plane y = 0, or as near it as the edge reaches.
        """
        return self._side(u, v, inner=False)

    def inside(self, u: ArrayLike, v: ArrayLike) -> Array:
        """Return points (..., 3) in mm of the inner face, over the parameters of `face`; on a flat inside v
        runs in even steps along the chord.
        """
        return self._side(u, v, inner=True)

    def _side(self, u: ArrayLike, v: ArrayLike, *, inner: bool) -> Array:
        u, v = np.broadcast_arrays(np.asarray(u, dtype=np.float64), np.asarray(v, dtype=np.float64))
        along = np.minimum(v / TRAILING_CORNER, 1.0)
        # A plane needs no crowding at the leading edge, where facets would shrink to nothing.
        chord = along if inner and self.foil.flat_inside else along**2
        sides = self.faces(u, chord)
        corners = self.faces(u, 1.0)
        across = np.clip((1.0 - v) / (1.0 - TRAILING_CORNER), 0.0, 1.0)
        seam = np.clip(0.0, corners[1], corners[0])
        y = np.where(v < TRAILING_CORNER, sides[inner], seam + (corners[inner] - seam) * across)
        front, back = self.leading(u), self.trailing(u)
        return np.stack([front + (back - front) * chord, y, self.height(u)], axis=-1)


def _trailing_edge_fault(fin: Fin) -> list[Fault]:
    if fin.trailing_edge_mm <= LARGEST_TRAILING_EDGE * fin.tip_thickness_mm:
        return []
    problem = "the trailing edge is too thick for the tip: the foil would thicken towards its back"
    allowed = f"up to {both(LARGEST_TRAILING_EDGE * fin.tip_thickness_mm)}, {LARGEST_TRAILING_EDGE:.0%} of the tip's"
    hint = "a thinner trailing edge, or a thicker tip"
    return [fin.source.fault(("foil", "trailing_edge"), both(fin.trailing_edge_mm), problem, allowed, hint)]


def _form(fin: Fin) -> Foil:
    if fin.section is not None:
        return foil_of_section(fin.section)
    return foil(fin.foil, greatest_at=fin.greatest_at, leading_radius=fin.leading_radius, hollow_mm=fin.hollow_mm)


def _crossed_faces(fin: Fin, form: Foil) -> list[Fault]:
    """Return the fault of a foil from a file whose faces meet between its edges."""
    outer, inner = form.faces(SECTION_PLACES, fin.thickness_mm, fin.trailing_edge_mm)
    thin = int(np.argmin(outer - inner))
    if fin.section is None or (outer - inner)[thin] > LEAST_BETWEEN * fin.thickness_mm:
        return []
    problem = "the foil crosses itself: with this trailing edge its faces meet ahead of it"
    where = f"{fin.section.name}, {SECTION_PLACES[thin]:.0%} of the chord from the leading edge"
    hint = "a thicker trailing edge, or a foil that is thicker towards its back"
    return [fin.source.fault(("foil", "section"), where, problem, hint=hint)]


def _hollow_faults(fin: Fin, form: Foil) -> list[Fault]:
    """Return the fault of a hollow that leaves too little of the foil anywhere along the base."""
    if not form.hollow_mm:
        return []
    outer, inner = form.faces(SECTION_PLACES, fin.thickness_mm, fin.trailing_edge_mm)
    uncut = form.faces(SECTION_PLACES, fin.thickness_mm, fin.trailing_edge_mm, 0.0)
    room = (1.0 - LEFT_BY_HOLLOW) * (uncut[0] - uncut[1])
    taken = inner - uncut[1]
    if np.all(taken <= room):
        return []
    most = float((room / taken).min()) * form.hollow_mm
    deeper = "deeper than the foil" if np.any(inner >= outer) else "too deep for the foil"
    allowed = f"up to {both(most)}, which leaves {LEFT_BY_HOLLOW:.0%} of the thickness everywhere"
    return [fin.source.fault(("foil", "hollow"), both(form.hollow_mm), f"the hollow is {deeper}", allowed)]


def fin_lines(fin: Fin) -> FinLines:
    """Return the lines of a fin.

    Raises
    ------
    SpecError
        If an edge would wiggle or the edges cross, the trailing edge is too thick for the tip, the foil crosses itself
        or the hollow is deeper than it: every fault of these.
    """
    form = _form(fin)
    faults = [*_trailing_edge_fault(fin), *_crossed_faces(fin, form), *_hollow_faults(fin, form)]
    try:
        plan = planform(fin)
    except SpecError as error:
        raise SpecError((*faults, *error.faults)) from None
    if faults:
        raise SpecError(tuple(faults))
    return FinLines(
        depth_mm=fin.depth_mm,
        leading=plan.leading,
        trailing=plan.trailing,
        thickness_mm=fin.thickness_mm,
        tip_thickness_mm=fin.tip_thickness_mm,
        trailing_edge_mm=fin.trailing_edge_mm,
        foil=form,
        fillet_u=plan.fillet_u,
    )
