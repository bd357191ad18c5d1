"""3MF files read by the format's own library, in its strict mode."""

from __future__ import annotations

import hashlib
import zipfile
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh

from bayloft.export import threemf
from bayloft.export.preflight import ExportError
from bayloft.solid.mesh import Mesh

from ..demo import lofted_board


def test_the_format_s_own_library_takes_it_in_strict_mode(tmp_path: Path) -> None:
    shape = lofted_board("whimbrel")
    assert shape.with_fins is not None
    solids = {"Whimbrel": shape.checked.mesh, 'fin "A" <&>': shape.with_fins.cut_fins[0][1]}
    threemf.write(solids, tmp_path / "a.3mf", title="Whimbrel & fin")
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(tmp_path / "a.3mf"))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    found, objects = {}, model.GetMeshObjects()
    while objects.MoveNext():
        each = objects.GetCurrentMeshObject()
        assert each.IsManifoldAndOriented()
        places = np.array([list(vertex.Coordinates) for vertex in each.GetVertices()])
        corners = np.array([list(triangle.Indices) for triangle in each.GetTriangleIndices()])
        found[each.GetName()] = Mesh(vertices=places, triangles=corners.astype(np.int64)).volume_mm3
    assert found == {name: pytest.approx(mesh.volume_mm3, rel=1e-6) for name, mesh in solids.items()}


def test_same_solid_same_bytes_and_nothing_compressed(tmp_path: Path) -> None:
    box = trimesh.creation.box((10.0, 20.0, 30.0))
    mesh = Mesh(vertices=np.asarray(box.vertices), triangles=np.asarray(box.faces, dtype=np.int64))
    made = threemf.content({"box": mesh}, title="a box")
    assert hashlib.sha256(made).digest() == hashlib.sha256(threemf.content({"box": mesh}, title="a box")).digest()
    (tmp_path / "a.3mf").write_bytes(made)
    for entry in zipfile.ZipFile(tmp_path / "a.3mf").infolist():
        assert entry.compress_type == zipfile.ZIP_STORED
        assert entry.date_time == (1980, 1, 1, 0, 0, 0)


def test_what_is_no_solid_is_refused() -> None:
    empty = Mesh(vertices=np.zeros((0, 3)), triangles=np.zeros((0, 3), dtype=np.int64))
    with pytest.raises(ExportError, match="has triangles"):
        threemf.content({"none": empty}, title="")
