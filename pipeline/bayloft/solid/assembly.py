"""The board with its fins standing in place, as one closed mesh."""

from __future__ import annotations

from dataclasses import dataclass

import manifold3d
import numpy as np
from numpy.typing import NDArray

from bayloft.solid.body import Body
from bayloft.solid.measure import bottom_height
from bayloft.solid.mesh import Mesh, single_precision, solid_of
from bayloft.spec.board import Placement

Array = NDArray[np.float64]

SUNK_MM = 0.2
"""mm by which the highest place of a fin's level base is let into the bottom, so that no gap is left anywhere."""

MERGED_MM = 1e-3
"""mm within which the union's slivers are merged: eight times what single precision resolves at two metres."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """A fin's mesh where it stands: `side` is "centre", "port" or "starboard"."""

    name: str
    side: str
    mesh: Mesh


def _turned(points: Array, axis: int, deg: float) -> Array:
    angle = np.deg2rad(deg)
    i, j = [k for k in range(3) if k != axis]
    result = points.copy()
    result[:, i] = np.cos(angle) * points[:, i] - np.sin(angle) * points[:, j]
    result[:, j] = np.sin(angle) * points[:, i] + np.cos(angle) * points[:, j]
    return result


def _stood(mesh: Mesh, placement: Placement, body: Body, side: str) -> Mesh:
    """Return a fin's mesh (x forward from the rear of the base, z up, outer face at +y) hung under the bottom."""
    port = side != "starboard"
    points = mesh.vertices * np.array([1.0, 1.0 if port else -1.0, -1.0])
    # Port is a reflection and turns the triangles inside out; starboard a half turn, which does not.
    triangles = mesh.triangles[:, ::-1] if port else mesh.triangles
    outward = 0.0 if side == "centre" else (1.0 if port else -1.0)
    points = _turned(points, 0, outward * placement.cant_deg)
    front, rear = placement.from_tail_mm + placement.fin.base_mm, placement.from_tail_mm
    rise = float(np.diff(bottom_height(body, [rear, front], [placement.off_stringer_mm] * 2))[0])
    points = _turned(points, 1, float(np.rad2deg(np.arctan2(rise, placement.fin.base_mm))))
    points = _turned(points, 2, -outward * placement.toe_deg)
    points[:, :2] += [placement.from_tail_mm, outward * placement.off_stringer_mm]
    base = points[mesh.vertices[:, 2] == 0.0]
    height = bottom_height(body, base[:, 0], base[:, 1])
    points[:, 2] += float((height - base[:, 2]).max()) + SUNK_MM
    return Mesh(vertices=points, triangles=triangles)


def standing_fins(placements: tuple[Placement, ...], meshes: dict[str, Mesh], body: Body) -> tuple[Standing, ...]:
    """Return every fin of a board in its place; `meshes` by the fin's slug."""
    found = []
    for placement in placements:
        for side in ("centre",) if placement.off_stringer_mm == 0.0 else ("port", "starboard"):
            mesh = _stood(meshes[placement.fin.slug], placement, body, side)
            found.append(Standing(name=placement.fin.name, side=side, mesh=mesh))
    return tuple(found)


def assembled(board: Mesh, fins: tuple[Standing, ...]) -> tuple[Mesh, float]:
    """Return board and fins as one closed mesh (a boolean union) in single precision, and the volume in mm3 of all
    their overlaps.

    Board plus fins less overlaps is the volume of the union as long as fins do not meet one another.
    """
    hull = solid_of(board)
    solids = [solid_of(fin.mesh) for fin in fins]
    overlap = sum((hull ^ solid).volume() for solid in solids)
    union = manifold3d.Manifold.batch_boolean([hull, *solids], manifold3d.OpType.Add).simplify(MERGED_MM)
    result = union.to_mesh64()
    whole = Mesh(
        vertices=np.asarray(result.vert_properties, dtype=np.float64)[:, :3],
        triangles=np.asarray(result.tri_verts, dtype=np.int64),
    )
    return single_precision(whole), float(overlap)
