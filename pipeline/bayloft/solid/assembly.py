"""The board with its fins standing in place, as one closed mesh, and each fin as the bottom cuts it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import product, rounded
from bayloft.solid.mesh import Mesh, mesh_of, single_precision, solid_of
from bayloft.solid.standing import Cut, Stand, cuts
from bayloft.tolerances import CUT_FIN_DECIMALS

Array = NDArray[np.float64]

LET_IN_MM = 4.0
"""mm by which a fin is carried on beyond the highest place of its base, so that it ends inside the board: more than
board and mesh can be apart."""

SPECK_MM3 = 1e-3
"""mm3 up to which a body is a speck of rounding."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Joined:
    """A fin and the board where it stands (one fin of a pair; the other is its mirror image): volumes in mm3 of the fin
    with its base carried on into the board, of what of that is inside the board, and of what is left outside; in how
    many bodies that is.
    """

    stand: Stand
    prolonged_mm3: float
    overlap_mm3: float
    outside_mm3: float
    bodies: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Assembly:
    """Board and fins as one mesh; each join; the fins as the bottom cuts them, in their own axes, in the order of
    `standing.cuts`; how much of the fins (mm3) lies in one another, in which pairs of entries.
    """

    whole: Mesh
    joins: tuple[Joined, ...]
    cut_fins: tuple[tuple[Cut, Mesh], ...]
    meeting: tuple[tuple[Stand, Stand, float], ...]

    @property
    def stands(self) -> tuple[Stand, ...]:
        """Every `[[fins]]` entry where it stands."""
        return tuple(join.stand for join in self.joins)

    @property
    def fins_mm3(self) -> list[float]:
        """Volume of every fin of the board, carried on into it."""
        return [join.prolonged_mm3 for join in self.joins for _ in join.stand.sides]

    @property
    def overlap_mm3(self) -> float:
        """Volume of all fins inside the board."""
        return sum(join.overlap_mm3 * len(join.stand.sides) for join in self.joins)


def prolonged(mesh: Mesh, depth_mm: float) -> Mesh:
    """Return a fin's mesh with its level base, in z = 0, carried on upright to z = -depth."""
    base = (mesh.vertices[:, 2] == 0.0)[mesh.triangles].all(axis=1)
    face, count = mesh.triangles[base], len(mesh.vertices)
    level = np.unique(face)
    lowered = np.zeros(count, dtype=np.int64)
    lowered[level] = count + np.arange(len(level))
    start, stop = face.ravel(), np.roll(face, -1, axis=1).ravel()
    rim = ~np.isin(start * count + stop, stop * count + start)
    a, b = start[rim], stop[rim]
    walls = np.concatenate([np.stack([a, b, lowered[b]], axis=1), np.stack([a, lowered[b], lowered[a]], axis=1)])
    return Mesh(
        vertices=np.concatenate([mesh.vertices, mesh.vertices[level] - [0.0, 0.0, depth_mm]]),
        triangles=np.concatenate([mesh.triangles[~base], lowered[face], walls]),
    )


def stood(mesh: Mesh, stand: Stand, side: str) -> Mesh:
    """Return a fin's mesh, given in its own axes, where it stands on the board."""
    points = rounded(stand.rear_mm + product(mesh.vertices, stand.axes), CUT_FIN_DECIMALS)
    if side == "starboard":
        return Mesh(vertices=points * [1.0, -1.0, 1.0], triangles=mesh.triangles)
    # Away from the board is down, so the port fin's own axes are left-handed and turn the triangles inside out.
    return Mesh(vertices=points, triangles=mesh.triangles[:, ::-1])


def assembled(hull: manifold3d.Manifold, stands: Sequence[Stand], meshes: Mapping[str, Mesh]) -> Assembly:
    """Return board and fins as one closed mesh (a boolean union) in single precision, and every fin cut by the board (a
    difference).

    Both are exact for the meshes; a board's mesh is within its chord tolerance of the surface. `meshes` by the fin's
    slug, in the fin's own axes. Board plus fins less overlaps is the volume of the union as long as fins do not meet.
    """
    joins, solids, outside = [], [], {}
    for stand in stands:
        highest = -min(float(stand.outer[:, 1].min()), float(stand.inner[:, 1].min()))
        fin = prolonged(meshes[stand.placement.fin.slug], highest + LET_IN_MM)
        sides = [solid_of(stood(fin, stand, side)) for side in stand.sides]
        inside, outside[stand.n] = sides[0].split(hull)
        joins.append(
            Joined(
                stand=stand,
                prolonged_mm3=fin.volume_mm3,
                overlap_mm3=float(inside.volume()),
                outside_mm3=float(outside[stand.n].volume()),
                bodies=sum(body.volume() > SPECK_MM3 for body in outside[stand.n].decompose()),
            )
        )
        solids += [(stand, solid) for solid in sides]
    union = manifold3d.Manifold.batch_boolean([hull, *(solid for _, solid in solids)], manifold3d.OpType.Add)
    return Assembly(
        whole=single_precision(mesh_of(union)),
        joins=tuple(joins),
        cut_fins=tuple((cut, _own(outside[cut.stands[0].n], cut.stands[0])) for cut in cuts(stands)),
        meeting=tuple(_meeting(solids)),
    )


def _meeting(solids: list[tuple[Stand, manifold3d.Manifold]]) -> list[tuple[Stand, Stand, float]]:
    """Return which fins lie in one another, and by what volume; only those are cut whose upright boxes meet."""
    found = []
    for (one, solid), (other, second) in combinations(solids, 2):
        a, b = np.reshape(solid.bounding_box(), (2, 3)), np.reshape(second.bounding_box(), (2, 3))
        if (a[0] < b[1]).all() and (b[0] < a[1]).all() and (shared := float((solid ^ second).volume())) > SPECK_MM3:
            found.append((one, other, shared))
    return found


def cut_solid(solid: manifold3d.Manifold) -> Mesh:
    """Return a solid that was cut out of others, in single precision."""
    mesh = mesh_of(solid)
    return single_precision(Mesh(vertices=rounded(mesh.vertices, CUT_FIN_DECIMALS), triangles=mesh.triangles))


def _own(solid: manifold3d.Manifold, stand: Stand) -> Mesh:
    """Return a port or single fin's solid in its own axes, in single precision."""
    mesh = mesh_of(solid)
    own = rounded(product(mesh.vertices - stand.rear_mm, stand.axes.T), CUT_FIN_DECIMALS)
    return single_precision(Mesh(vertices=own, triangles=mesh.triangles[:, ::-1]))
