"""Triangle meshes: closed, consistently wound, outward; checked exactly by pairing edges."""

from __future__ import annotations

from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Indices = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mesh:
    """A triangle mesh: `vertices` (n, 3) float64 in mm, `triangles` (m, 3) int64, counter-clockwise from outside."""

    vertices: Array
    triangles: Indices

    @property
    def corners(self) -> tuple[Array, Array, Array]:
        """The triangles' corners: three arrays (m, 3) in mm."""
        a, b, c = (self.vertices[self.triangles[:, i]] for i in range(3))
        return a, b, c

    @property
    def volume_mm3(self) -> float:
        """Enclosed volume, positive where triangles face outward: the divergence theorem, exact for the polyhedron.

        Taken about the middle of the mesh, so that no large terms cancel.
        """
        middle = (self.vertices.min(axis=0) + self.vertices.max(axis=0)) / 2
        x, y, z = np.ascontiguousarray((self.vertices - middle).T)
        a, b, c = np.ascontiguousarray(self.triangles.T)
        across = x[a] * (y[b] * z[c] - z[b] * y[c])
        across += y[a] * (z[b] * x[c] - x[b] * z[c])
        across += z[a] * (x[b] * y[c] - y[b] * x[c])
        return float(across.sum() / 6.0)

    @property
    def area_mm2(self) -> float:
        """Area of all triangles."""
        return float(self.triangle_areas_mm2.sum())

    @property
    def triangle_areas_mm2(self) -> Array:
        """Area of each triangle (m,)."""
        a, b, c = self.corners
        (a, b, c), (d, e, f) = (b - a).T, (c - a).T
        return np.asarray(np.sqrt((b * f - c * e) ** 2 + (c * d - a * f) ** 2 + (a * e - b * d) ** 2) / 2.0)

    def unpaired_edges(self) -> int:
        """Return how many directed edges lack exactly one opposite: 0 for a closed, manifold, consistently wound mesh.

        Every directed edge must occur once and its reverse once; found by sorting, exactly.
        """
        start = self.triangles.ravel()
        stop = np.roll(self.triangles, -1, axis=1).ravel()
        count = len(self.vertices)
        there, back = np.sort(start * count + stop), np.sort(stop * count + start)
        repeated = int((np.diff(there) == 0).sum())
        return repeated + int((there != back).sum())

    def joined(self, other: Mesh) -> Mesh:
        """Return both meshes as one, side by side, nothing welded."""
        return Mesh(
            vertices=np.concatenate([self.vertices, other.vertices]),
            triangles=np.concatenate([self.triangles, other.triangles + len(self.vertices)]),
        )


def welded(mesh: Mesh, seam: NDArray[np.bool_] | None = None) -> Mesh:
    """Return the mesh with its vertices on the plane y = 0 or marked by `seam` (n,) that share a place made one, and
    without the triangles and vertices that vanish by it. The two sides of a body meet there, exactly.
    """
    on_plane = mesh.vertices[:, 1] == 0.0
    return _united(mesh, np.flatnonzero(on_plane if seam is None else on_plane | seam))


def all_welded(mesh: Mesh) -> Mesh:
    """Return the mesh with all vertices that share a place made one, and without what vanishes by it."""
    return _united(mesh, np.arange(len(mesh.vertices)))


def single_precision(mesh: Mesh) -> Mesh:
    """Return the mesh as an STL holds it: coordinates in single precision, vertices that then share a place made one,
    and what vanishes by it left out. A closed mesh stays closed.
    """
    rounded = mesh.vertices.astype(np.float32).astype(np.float64)
    return _united(Mesh(vertices=rounded, triangles=mesh.triangles), np.arange(len(rounded)))


def _united(mesh: Mesh, among: Indices) -> Mesh:
    """Return the mesh with those vertices `among` its own that share a place made one, without triangles two corners of
    which are the same, and without vertices that no triangle uses.
    """
    # Sorted by place, and by number where places are the same: each run of one place becomes its first vertex.
    x, y, z = mesh.vertices[among].T
    order = np.lexsort((z, y, x))
    ranked = mesh.vertices[among[order]]
    fresh = np.append(True, (ranked[1:] != ranked[:-1]).any(axis=1))
    target = np.arange(len(mesh.vertices))
    target[among[order]] = among[order][fresh][np.cumsum(fresh) - 1]
    triangles = target[mesh.triangles]
    a, b, c = triangles.T
    triangles = triangles[(a != b) & (b != c) & (c != a)]
    used = np.zeros(len(mesh.vertices), dtype=np.bool_)
    used[triangles] = True
    number = np.cumsum(used) - 1
    return Mesh(vertices=mesh.vertices[used], triangles=number[triangles])


def float32_collapsed(mesh: Mesh) -> int:
    """Return how many triangles have no area left once their corners are single-precision, as an STL holds them."""
    single = mesh.vertices.astype(np.float32).astype(np.float64)
    return int((Mesh(vertices=single, triangles=mesh.triangles).triangle_areas_mm2 == 0.0).sum())


def solid_of(mesh: Mesh) -> manifold3d.Manifold:
    """Return the mesh as a manifold3d solid in double precision; its `status` tells whether it is one."""
    return manifold3d.Manifold(
        manifold3d.Mesh64(
            vert_properties=np.array(mesh.vertices, order="C"),
            tri_verts=np.array(mesh.triangles, dtype=np.uint64, order="C"),
        )
    )


def mesh_of(solid: manifold3d.Manifold) -> Mesh:
    """Return a manifold3d solid as a mesh."""
    found = solid.to_mesh64()
    return Mesh(
        vertices=np.array(found.vert_properties, dtype=np.float64)[:, :3],
        triangles=np.array(found.tri_verts).astype(np.int64),
    )


def manifold(solid: manifold3d.Manifold, volume_mm3: float) -> tuple[bool, str]:
    """Return whether manifold3d accepts a mesh as a solid of its own volume (1e-9 relative), and its word for it."""
    status = solid.status()
    if status != manifold3d.Error.NoError:
        return False, status.name
    same = abs(solid.volume() - volume_mm3) <= 1e-9 * abs(volume_mm3)
    return same, "closed and manifold" if same else "another volume"
