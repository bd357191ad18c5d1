"""The pockets of plugs and boxes: where they lie on the surface, the foam under them, and the solids that they take."""

from __future__ import annotations

import cmath
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import product, rounded, unit_vectors
from bayloft.errors import Fault, SpecError, spelled
from bayloft.findings import Finding
from bayloft.lines.section_places import EDGE
from bayloft.plane.shapes import rounded_rectangle
from bayloft.plane.track import segments_of
from bayloft.solid.assembly import cut_solid
from bayloft.solid.body import Body
from bayloft.solid.faces import NotOnFaceError, met
from bayloft.solid.mesh import Mesh, mesh_of, solid_of
from bayloft.spec.boards.board import Board
from bayloft.spec.boards.plug import Plug
from bayloft.tape import fine
from bayloft.tolerances import CUT_FIN_DECIMALS

Array = NDArray[np.float64]

ROUND_MM = 0.005
"""mm by which a pocket's walls may lie inside its true corners: a thirtieth of what a plug is loose by."""

THIN_MM = 6.0
"""mm of foam under a pocket below which its load goes through the other skin (common practice, no source)."""

NODES = 8
"""Gauss-Legendre nodes along each line and arc of a pocket's outline, and from its middle out."""

SHARES = np.linspace(0.0, 1.0, 6)
"""Of the way from a pocket's middle to its outline, at which the foam under it is looked at."""

OVER_MM = 2.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pocket:
    """The pocket of a plug, on port or on the stringer (that of starboard is its mirror image): its middle on the face
    (3,) and its axes (3, 3) as rows: forward, outward, out of the face; its outline (n, 2) along the first two; mm.
    lowest_mm, highest_mm: of the face over the pocket, from the level of its middle; under_mm: the least foam between
    its floor and the other face; volume_mm3: of the foam that it takes.
    """

    plug: Plug
    middle_mm: Array
    axes: Array
    outline: Array
    lowest_mm: float
    highest_mm: float
    under_mm: float
    volume_mm3: float

    def solid(self, more_mm: float) -> manifold3d.Manifold:
        """Return what is taken away where the face has `more_mm` on it: a prism from its floor to beyond the face."""
        depth = self.plug.depth_mm + self.highest_mm + more_mm + OVER_MM
        section = manifold3d.CrossSection([self.outline.tolist()], manifold3d.FillRule.NonZero)
        prism = mesh_of(manifold3d.Manifold.extrude(section, depth).translate((0.0, 0.0, -self.plug.depth_mm)))
        points = rounded(self.middle_mm + product(prism.vertices, self.axes), CUT_FIN_DECIMALS)
        corners = prism.triangles
        # On the bottom, out of the face is down, and its axes are left-handed.
        left_handed = float(np.cross(self.axes[0], self.axes[1]) @ self.axes[2]) < 0.0
        return solid_of(Mesh(vertices=points, triangles=corners[:, ::-1] if left_handed else corners))


def pockets(board: Board, body: Body) -> tuple[Pocket, ...]:
    """Return the pockets of a board's plugs, in the order of its file.

    Raises SpecError with every plug that reaches over an edge of its face, goes through the board, or meets another.
    """
    faults: list[Fault] = []
    found: list[Pocket] = []
    for plug in board.plugs:
        try:
            found.append(_pocket(plug, body))
        except NotOnFaceError:
            problem, hint = f"it reaches over the edge of the {plug.face}", "nearer to the middle, or smaller"
            faults.append(board.source.fault(plug.path, plug.name, problem, hint=hint))
    for pocket in found:
        if pocket.under_mm <= 0.0:
            most = max(pocket.plug.depth_mm + pocket.under_mm - THIN_MM, 0.0)
            allowed = f"at most {fine(most, metric=board.metric)} there, with {fine(THIN_MM, metric=board.metric)} left"
            value = fine(pocket.plug.depth_mm, metric=board.metric)
            path = (*pocket.plug.path, "deep")
            faults.append(board.source.fault(path, value, "its pocket goes through the board", allowed))
    for one, other in combinations(found, 2):
        if _meet(one, other):
            problem = f"its pocket meets that of {spelled(one.plug.path)}, {one.plug.name}"
            hint = "further apart, or on the other side of the stringer"
            faults.append(board.source.fault(other.plug.path, other.plug.name, problem, hint=hint))
    if faults:
        raise SpecError(tuple(faults))
    return tuple(found)


def plug_findings(board: Board, every: Sequence[Pocket]) -> list[Finding]:
    """Return a warning for each pocket with little foam under it."""
    return [
        Finding(
            code="plug-foam",
            severity="warning" if pocket.under_mm < THIN_MM else "note",
            where=spelled(pocket.plug.path),
            measured=pocket.under_mm,
            limit=THIN_MM,
            unit="mm",
            text=f"{pocket.plug.name}: foam under its pocket, {fine(pocket.under_mm, metric=board.metric)} at least",
        )
        for pocket in every
    ]


def with_pockets(mesh: Mesh, every: Sequence[Pocket], more_mm: tuple[float, float]) -> Mesh:
    """Return a board's solid without what the pockets take, as one closed mesh in single precision; `more_mm`: what is
    left on its deck and its bottom.
    """
    solid = solid_of(mesh)
    for pocket in every:
        own = pocket.solid(more_mm[0] if pocket.plug.face == "deck" else more_mm[1])
        for side in pocket.plug.sides:
            solid -= _on(own, side)
    return cut_solid(solid)


def _lie(plug: Plug, body: Body) -> tuple[Array, Array]:
    """Return the middle of a pocket on the face (3,), and its axes (3, 3) as rows: forward along the face, from end to
    end of the plug; outward; out of the face, square to it at the middle, or leaning by its cant from the upright plane
    through the first.
    """
    deck, toe = plug.face == "deck", np.radians(plug.toe_deg)
    up = 1.0 if deck else -1.0
    level = np.array([[np.cos(toe), -np.sin(toe), 0.0], [np.sin(toe), np.cos(toe), 0.0], [0.0, 0.0, up]])
    half = plug.length_mm / 2.0
    foot = np.array([plug.x_mm, plug.off_mm, 0.0])
    ends, middle = (met(body, foot, level, x, 0.0, deck=deck) for x in ([-half, half], [0.0]))
    forward = unit_vectors(2.0 * half * level[0] + float(np.diff(ends.height_mm)[0]) * level[2])
    if plug.cant_deg is None:
        away = level[2] - float(middle.along[0]) * level[0] - float(middle.across[0]) * level[1]
        away = away * [1.0, 0.0, 1.0] if plug.off_mm == 0.0 else away
    else:
        upright = unit_vectors(level[2] - float(product(level[2], forward)) * forward)
        cant = np.radians(plug.cant_deg)
        away = np.cos(cant) * upright + np.sin(cant) * level[1]
    away = unit_vectors(away - float(product(away, forward)) * forward)
    return foot + float(middle.height_mm[0]) * level[2], np.stack([forward, up * np.cross(away, forward), away])


def _pocket(plug: Plug, body: Body) -> Pocket:
    deck = plug.face == "deck"
    middle, axes = _lie(plug, body)
    contour = rounded_rectangle(plug.length_mm, plug.width_mm, plug.corner_mm)
    outline = contour.flattened(ROUND_MM)
    looked = np.concatenate([share * outline for share in SHARES])
    face = met(body, middle, axes, *looked.T, deck=deck)
    if not deck and float(face.v.max()) > EDGE:
        raise NotOnFaceError
    other = met(body, middle, axes, *looked.T, deck=not deck)
    return Pocket(
        plug=plug,
        middle_mm=middle,
        axes=axes,
        outline=outline,
        lowest_mm=float(face.height_mm.min()),
        highest_mm=float(face.height_mm.max()),
        under_mm=float(-plug.depth_mm - other.height_mm.max()),
        volume_mm3=_volume_mm3(plug, body, middle, axes),
    )


def _volume_mm3(plug: Plug, body: Body, middle: Array, axes: Array) -> float:
    """Return the foam that a pocket takes: the face's height over its floor, integrated from the middle out to each
    line and arc of its outline (Gauss-Legendre).
    """
    nodes, weights = np.polynomial.legendre.leggauss(NODES)
    nodes, weights = (nodes + 1.0) / 2.0, weights / 2.0
    places, shares = [], []
    for segment in segments_of(rounded_rectangle(plug.length_mm, plug.width_mm, plug.corner_mm)):
        on = [segment.at(t) for t in nodes.tolist()]
        along = [segment.headings[0] * cmath.rect(segment.length, segment.sweep * t) for t in nodes.tolist()]
        turning = np.array([(point.conjugate() * step).imag for point, step in zip(on, along, strict=True)])
        points = np.array([(point.real, point.imag) for point in on])
        for share, weight in zip(nodes.tolist(), weights.tolist(), strict=True):
            places.append(share * points)
            shares.append(weight * share * weights * turning)
    heights = met(body, middle, axes, *np.concatenate(places).T, deck=plug.face == "deck").height_mm
    return float((np.concatenate(shares) * (heights + plug.depth_mm)).sum())


def _meet(one: Pocket, other: Pocket) -> bool:
    """Whether two plugs' pockets have foam in common, on either side."""
    first, second = one.solid(0.0), other.solid(0.0)
    return any(float((_on(first, a) ^ _on(second, b)).volume()) > 0.0 for a in one.plug.sides for b in other.plug.sides)


def _on(solid: manifold3d.Manifold, side: str) -> manifold3d.Manifold:
    return solid.mirror((0.0, 1.0, 0.0)) if side == "starboard" else solid
