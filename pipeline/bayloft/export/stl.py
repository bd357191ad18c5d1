"""Binary STL: triangles in float32 millimetres."""

from __future__ import annotations

from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from bayloft.export.preflight import ExportError
from bayloft.solid.mesh import Mesh

Array32 = NDArray[np.float32]

HEADER_BYTES = 80
_TRIANGLE = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("attributes", "<u2")])


def write(mesh: Mesh, path: Path, *, name: str) -> None:
    """Write `content` to a file. Raises ExportError as that does, OSError where the file cannot be written."""
    path.write_bytes(content(mesh, name=name))


def content(mesh: Mesh, *, name: str) -> bytes:
    """Return a mesh as binary STL with outward unit normals; a triangle without area has the normal 0.

    The header reads "bayloft <name> UNITS=mm": the format itself knows no unit. Coordinates are rounded to float32,
    1.2e-4 mm at 2 m. Same mesh, same bytes.

    Raises ExportError for a mesh without triangles or with coordinates that are not finite.
    """
    if len(mesh.triangles) == 0 or not np.isfinite(mesh.vertices).all():
        raise ExportError(name, ("a solid has triangles, and finite coordinates",))
    rows = np.zeros(len(mesh.triangles), dtype=_TRIANGLE)
    corners = np.take(mesh.vertices.astype(np.float32), mesh.triangles, axis=0)
    rows["corners"], rows["normal"] = corners, _normals(corners)
    # Not by numpy's tofile, which says of a full disk no more than how many items were written.
    return _header(name) + len(rows).to_bytes(4, "little") + rows.tobytes()


def _header(name: str) -> bytes:
    unit = b" UNITS=mm"
    title = "".join(character if " " <= character <= "~" else "?" for character in f"bayloft {name}").encode("ascii")
    return (title[: HEADER_BYTES - len(unit)] + unit).ljust(HEADER_BYTES)


def _normals(corners: Array32) -> Array32:
    """Return unit normals (n, 3) of corners (n, 3, 3), by single products: a library's dot may differ by machine."""
    ax, ay, az = (corners[:, 1] - corners[:, 0]).T
    bx, by, bz = (corners[:, 2] - corners[:, 0]).T
    normals = np.stack([ay * bz - az * by, az * bx - ax * bz, ax * by - ay * bx])
    lengths = np.sqrt(normals[0] ** 2 + normals[1] ** 2 + normals[2] ** 2)
    units: Array32 = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0.0)
    return units.T
