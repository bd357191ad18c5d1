"""STEP files read by another kernel (Open CASCADE): a valid solid, its volume, and how far its faces are from ours."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeVertex
from OCP.BRepCheck import BRepCheck_Analyzer
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.BRepGProp import BRepGProp
from OCP.gp import gp_Pnt
from OCP.GProp import GProp_GProps
from OCP.IFSelect import IFSelect_RetDone
from OCP.STEPControl import STEPControl_Reader
from OCP.TopAbs import TopAbs_FACE, TopAbs_ShapeEnum, TopAbs_SHELL, TopAbs_SOLID
from OCP.TopExp import TopExp_Explorer
from OCP.TopoDS import TopoDS_Shape

from bayloft.export import step
from bayloft.export.preflight import ExportError
from bayloft.solid.brep import Brep, board_brep, fin_brep
from bayloft.solid.integrals import integrals
from bayloft.solid.surface import Surface

from ..demo import draft, fin_draft

Array = NDArray[np.float64]

FACES = {"avocet": 8, "dunlin": 14, "fulmar": 6, "sanderling": 20, "shearwater": 6, "spoonbill": 14, "turnstone": 8}
FACES |= {"whimbrel": 6}
VOLUME = {"avocet": 2e-9, "turnstone": 3e-9, "sanderling": 5e-8}
"""Relative: what the other kernel's quadrature, asked for 1e-9, makes of these faces; 2e-8 for the others."""

PLACES = 30
"""Places of each board that are held against the other kernel's faces: 240 in all."""


def read(path: Path) -> TopoDS_Shape:
    reader = STEPControl_Reader()
    assert reader.ReadFile(str(path)) == IFSelect_RetDone
    reader.TransferRoots()
    return reader.OneShape()


def counted(shape: TopoDS_Shape, kind: TopAbs_ShapeEnum) -> int:
    found, count = TopExp_Explorer(shape, kind), 0
    while found.More():
        count += 1
        found.Next()
    return count


@pytest.mark.parametrize("name", FACES)
def test_another_kernel_reads_the_same_solid(name: str, tmp_path: Path) -> None:
    body = draft(name).body
    solid = board_brep(body)
    step.write(solid, tmp_path / "a.step", name=name)
    shape = read(tmp_path / "a.step")
    assert BRepCheck_Analyzer(shape).IsValid()
    assert (counted(shape, TopAbs_SOLID), counted(shape, TopAbs_FACE)) == (1, FACES[name])
    sums = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, sums, 1e-9)
    assert sums.Mass() == pytest.approx(integrals(body).volume_mm3, rel=VOLUME.get(name, 2e-8))
    assert solid.gap_mm < 1e-4
    # Places anywhere on the surface, both sides, and on the wall.
    random = np.random.default_rng(7)
    u, v = random.uniform(0.0, 1.0, (2, PLACES))
    places = body.port.at(u, v) * np.column_stack(
        [np.ones(PLACES), random.choice([-1.0, 1.0], PLACES), np.ones(PLACES)]
    )
    if body.end == "wall":
        low = body.port.at(0.0, 0.1)
        edge = body.port.grid([0.0], np.linspace(1.0, body.wall_corner, 4001))[0]
        high = float(np.interp(low[1], edge[:, 1], edge[:, 2]))
        places[:3] = np.column_stack([np.full(3, low[0]), np.full(3, low[1]), np.linspace(low[2], high, 3)])
    away = [
        BRepExtrema_DistShapeShape(BRepBuilderAPI_MakeVertex(gp_Pnt(*place)).Vertex(), face_of(shape)).Value()
        for place in places.tolist()
    ]
    assert max(away) < 1e-3


def face_of(shape: TopoDS_Shape) -> TopoDS_Shape:
    """Return the shell of a solid: the distance to a solid is 0 inside it."""

    return TopExp_Explorer(shape, TopAbs_SHELL).Current()


@pytest.mark.parametrize(("name", "faces"), [("whimbrel-flex", 5), ("dunlin-side", 4), ("dunlin-centre", 5)])
def test_another_kernel_reads_the_same_fin(name: str, faces: int, tmp_path: Path) -> None:
    body = fin_draft(name).body
    step.write(fin_brep(body), tmp_path / "a.step", name=name)
    shape = read(tmp_path / "a.step")
    assert BRepCheck_Analyzer(shape).IsValid()
    assert (counted(shape, TopAbs_SOLID), counted(shape, TopAbs_FACE)) == (1, faces)
    sums = GProp_GProps()
    BRepGProp.VolumeProperties_s(shape, sums, 1e-9)
    assert sums.Mass() == pytest.approx(integrals(body).volume_mm3, rel=2e-7)


SOLIDS = [*FACES, "whimbrel-flex", "dunlin-side", "dunlin-centre", "turnstone-keel"]


def solid_named(name: str) -> Brep:
    return board_brep(draft(name).body) if name in FACES else fin_brep(fin_draft(name).body)


@pytest.mark.parametrize("name", SOLIDS)
def test_edges_are_shared_and_loops_are_closed(name: str) -> None:
    """Each edge is run once each way, each loop goes on where it stopped, each curve ends at its edge's vertices."""
    solid = solid_named(name)
    used = Counter(each for face in solid.faces for each in face.loop)
    assert set(used.values()) == {1}
    assert all((edge, not forward) in used for edge, forward in used)
    for face in solid.faces:
        ends = []
        for edge, forward in face.loop:
            own = solid.edges[edge]
            ends.append((own.start, own.stop) if forward else (own.stop, own.start))
        assert all(one[1] == other[0] for one, other in zip(ends, [*ends[1:], ends[0]], strict=True))
        if isinstance(face.surface, Surface):
            corners = face.surface.net[[0, 0, -1, -1], [0, -1, 0, -1]]
            for edge, _ in face.loop:
                for vertex in solid.vertices[[solid.edges[edge].start, solid.edges[edge].stop]]:
                    on_row = np.abs(face.surface.net[0] - vertex).max(axis=1).min() < 1e-9
                    assert on_row or np.abs(corners - vertex).max(axis=1).min() < 1e-9 or vertex[0] < 200.0
    for edge in solid.edges:
        if edge.curve is not None:
            curve = solid.curves[edge.curve].points
            whole = np.abs(curve[[0, -1]] - solid.vertices[[edge.start, edge.stop]]).max() < 1e-9
            assert whole or solid.vertices[edge.start][0] < 200.0


def test_same_solid_same_bytes_and_names_in_ascii(tmp_path: Path) -> None:
    solid = board_brep(draft("whimbrel").body)
    one, other = step.content(solid, name="Möwe's \\ 浪"), step.content(solid, name="Möwe's \\ 浪")
    assert one == other
    text = one.decode("ascii")
    assert "'M\\X2\\00F6\\X0\\we''s \\\\ \\X2\\6D6A\\X0\\'" in text
    assert "1980-01-01" in text
    (tmp_path / "a.step").write_bytes(one)
    assert counted(read(tmp_path / "a.step"), TopAbs_SOLID) == 1


def test_what_is_no_board_or_not_finite_is_refused() -> None:
    with pytest.raises(ValueError, match="no board's body"):
        board_brep(fin_draft("whimbrel-flex").body)
    with pytest.raises(ValueError, match="no fin's body"):
        fin_brep(draft("whimbrel").body)
    solid = board_brep(draft("whimbrel").body)
    solid.vertices[0, 0] = np.nan
    with pytest.raises(ExportError, match="finite"):
        step.content(solid, name="a")
