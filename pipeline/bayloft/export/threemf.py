"""3MF (3D Manufacturing Format, core specification 1): solids as separate objects, with unit and names, in one file."""

from __future__ import annotations

import io
from collections.abc import Iterable, Mapping
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

import numpy as np

from bayloft.export.preflight import ExportError
from bayloft.export.zipped import stored
from bayloft.solid.mesh import Mesh, all_welded

DECIMALS = 5
"""Decimals (mm) of a vertex: far below any chord tolerance."""

CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
CONTENT_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0" '
    'Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)


def write(solids: Mapping[str, Mesh], path: Path, *, title: str) -> None:
    """Write `content` to a file. Raises ExportError as that does, OSError where the file cannot be written."""
    path.write_bytes(content(solids, title=title))


def content(solids: Mapping[str, Mesh], *, title: str) -> bytes:
    """Return solids, by their names, as a 3MF file in mm, each an object that is built where it stands. Same solids,
    same bytes: what is in it is stored, not compressed, and undated.

    Raises ExportError for a solid without triangles or with coordinates that are not finite.
    """
    text = io.StringIO()
    text.write('<?xml version="1.0" encoding="UTF-8"?>\n')
    text.write(f'<model unit="millimeter" xml:lang="en-US" xmlns="{CORE}">')
    for name, value in (("Title", title), ("Application", "bayloft")):
        text.write(f'<metadata name="{name}">{escape(_printable(value))}</metadata>')
    text.write("<resources>")
    for number, (name, mesh) in enumerate(solids.items(), 1):
        if len(mesh.triangles) == 0 or not np.isfinite(mesh.vertices).all():
            raise ExportError(name, ("a solid has triangles, and finite coordinates",))
        text.write(f'<object id="{number}" type="model" name={quoteattr(_printable(name))}><mesh>')
        text.writelines(_mesh(mesh))
        text.write("</mesh></object>")
    items = "".join(f'<item objectid="{number}"/>' for number in range(1, len(solids) + 1))
    text.write(f"</resources><build>{items}</build></model>\n")
    return stored(
        {
            "3D/3dmodel.model": text.getvalue().encode(),
            "[Content_Types].xml": CONTENT_TYPES.encode(),
            "_rels/.rels": RELATIONS.encode(),
        }
    )


def _mesh(mesh: Mesh) -> Iterable[str]:
    """Yield the text of a mesh; vertices that are one once they are written are one, and no facet vanishes by it."""
    rounded = np.round(mesh.vertices, DECIMALS) + 0.0
    whole = all_welded(Mesh(vertices=rounded, triangles=mesh.triangles))
    yield "<vertices>"
    for x, y, z in whole.vertices.tolist():
        yield f'<vertex x="{x:.{DECIMALS}f}" y="{y:.{DECIMALS}f}" z="{z:.{DECIMALS}f}"/>'
    yield "</vertices><triangles>"
    for a, b, c in whole.triangles.tolist():
        yield f'<triangle v1="{a}" v2="{b}" v3="{c}"/>'
    yield "</triangles>"


def _printable(words: str) -> str:
    """Return a text without what XML cannot hold."""
    return "".join(letter if letter.isprintable() else "?" for letter in words)
