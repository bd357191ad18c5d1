"""Meshes that other writers wrote, read; and files that are broken, or made to do harm, refused within bounds."""

from __future__ import annotations

import io
import struct
import tracemalloc
import zipfile
from collections.abc import Callable
from pathlib import Path

import lib3mf
import numpy as np
import pytest
import trimesh
from lib3mf import get_wrapper

from bayloft.export.mesh_limits import MOST_FACETS, MeshFileError, MeshRead
from bayloft.export.mesh_reader import read_mesh
from bayloft.export.stl import content as stl_bytes
from bayloft.solid.mesh import Mesh, all_welded

BALL = trimesh.creation.icosphere(subdivisions=2, radius=700.0)
HEAD = b"ply\nformat ascii 1.0\n"
CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"


def ball() -> Mesh:
    return Mesh(vertices=np.array(BALL.vertices), triangles=np.array(BALL.faces, dtype=np.int64))


def volume(read: MeshRead) -> float:
    mesh = all_welded(Mesh(vertices=read.vertices, triangles=read.triangles))
    assert mesh.unpaired_edges() == 0
    return mesh.volume_mm3


def package(model: str | bytes, name: str = "3D/3dmodel.model", compression: int = zipfile.ZIP_DEFLATED) -> bytes:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", compression) as archive:
        archive.writestr(name, model)
    return made.getvalue()


def model(resources: str, build: str, attributes: str = 'unit="millimeter"') -> str:
    return f'<model {attributes} xmlns="{CORE}"><resources>{resources}</resources><build>{build}</build></model>'


TETRAHEDRON = (
    "<mesh><vertices>"
    '<vertex x="0" y="0" z="0"/><vertex x="600" y="0" z="0"/><vertex x="0" y="600" z="0"/><vertex x="0" y="0" z="600"/>'
    '</vertices><triangles><triangle v1="0" v2="2" v3="1"/><triangle v1="0" v2="1" v3="3"/>'
    '<triangle v1="0" v2="3" v3="2"/><triangle v1="1" v2="2" v3="3"/></triangles></mesh>'
)
ONE = f'<object id="1">{TETRAHEDRON}</object>'


def read(folder: Path, name: str, data: bytes) -> MeshRead:
    path = folder / name
    path.write_bytes(data)
    return read_mesh(path)


WRITERS: dict[str, Callable[[], bytes]] = {
    "binary.stl": lambda: trimesh.exchange.stl.export_stl(BALL),
    "text.stl": lambda: trimesh.exchange.stl.export_stl_ascii(BALL).encode(),
    "binary.ply": lambda: trimesh.exchange.ply.export_ply(BALL, encoding="binary"),
    "text.ply": lambda: trimesh.exchange.ply.export_ply(BALL, encoding="ascii"),
    "plain.OBJ": lambda: trimesh.exchange.obj.export_obj(BALL).encode(),
}


@pytest.mark.parametrize("name", WRITERS)
def test_what_another_program_wrote_has_its_volume(tmp_path: Path, name: str) -> None:
    found = read(tmp_path, name, WRITERS[name]())
    assert len(found.triangles) == len(BALL.faces)
    assert found.unit is None
    assert volume(found) == pytest.approx(BALL.volume, rel=1e-6)


def test_a_3mf_by_lib3mf_has_its_unit_and_places(tmp_path: Path) -> None:
    wrapper = get_wrapper()
    made = wrapper.CreateModel()
    made.SetUnit(lib3mf.ModelUnit.Inch)
    solid = made.AddMeshObject()
    for vertex in BALL.vertices / 25.4:
        place = lib3mf.Position()
        place.Coordinates[:] = [float(axis) for axis in vertex]
        solid.AddVertex(place)
    for face in BALL.faces:
        triangle = lib3mf.Triangle()
        triangle.Indices[:] = [int(corner) for corner in face]
        solid.AddTriangle(triangle)
    where = wrapper.GetTranslationTransform(10.0, 20.0, 30.0)
    made.AddBuildItem(solid, where)
    made.QueryWriter("3mf").WriteToFile(str(tmp_path / "ball.3mf"))
    found = read_mesh(tmp_path / "ball.3mf")
    assert found.unit == "in"
    assert volume(found) * 25.4**3 == pytest.approx(BALL.volume, rel=1e-5)
    middle = (found.vertices.min(axis=0) + found.vertices.max(axis=0)) / 2
    np.testing.assert_allclose(middle, [10.0, 20.0, 30.0], atol=1e-4)


def test_our_own_stl_says_its_unit_and_another_s_header_may(tmp_path: Path) -> None:
    own = stl_bytes(ball(), name="ball")
    assert read(tmp_path, "own.stl", own).unit == "mm"
    assert read(tmp_path, "other.stl", b"scan units = INCH".ljust(80) + own[80:]).unit == "in"
    assert read(tmp_path, "third.stl", b"solid of 20 mm".ljust(80) + own[80:]).unit is None


def test_faces_of_many_corners_of_any_number_and_order_of_bytes(tmp_path: Path) -> None:
    box = trimesh.creation.box((1000.0, 500.0, 60.0))
    corners = box.vertices
    sides = [(0, 1, 3, 2), (4, 6, 7, 5), (0, 4, 5, 1), (2, 3, 7, 6), (0, 2, 6, 4), (1, 5, 7, 3)]
    lines = [f"v {x} {y} {z}" for x, y, z in corners]
    obj = "\n".join(
        ["mtllib ../../etc/passwd", *lines, *(f"f {' '.join(f'{n + 1}/1/1' for n in side)}" for side in sides)]
    )
    found = read(tmp_path, "box.obj", obj.encode())
    assert abs(volume(found)) == pytest.approx(1000 * 500 * 60)
    back = "\n".join([*lines, *(f"f {' '.join(str(n - 8) for n in side)}" for side in sides)])
    np.testing.assert_array_equal(read(tmp_path, "back.obj", back.encode()).triangles, found.triangles)
    for order, mark in (("little", "<"), ("big", ">")):
        head = (
            f"ply\nformat binary_{order}_endian 1.0\ncomment made by hand\nelement vertex 8\nproperty uchar red\n"
            "property double x\nproperty float y\nproperty float z\nelement edge 1\nproperty int v\nelement face 6\n"
            "property list uchar int vertex_indices\nproperty uchar side\nend_header\n"
        ).encode()
        body = b"".join(struct.pack(f"{mark}Bdff", 7, *each) for each in corners) + struct.pack(f"{mark}i", 3)
        even = body + b"".join(struct.pack(f"{mark}B4iB", 4, *side, 1) for side in sides)
        np.testing.assert_array_equal(
            np.sort(read(tmp_path, "even.ply", head + even).triangles, axis=0), np.sort(found.triangles, axis=0)
        )
        first = [(3, side[:3]) for side in sides[:1]] + [(3, (sides[0][0], *sides[0][2:]))]
        mixed = body + b"".join(struct.pack(f"{mark}B3iB", 3, *own, 1) for _, own in first)
        mixed += b"".join(struct.pack(f"{mark}B4iB", 4, *side, 1) for side in sides[1:])
        odd = read(tmp_path, "mixed.ply", head.replace(b"element face 6", b"element face 7") + mixed)
        assert abs(volume(odd)) == pytest.approx(1000 * 500 * 60)


def test_a_3mf_of_parts_that_are_turned_mirrored_and_put_together(tmp_path: Path) -> None:
    inner = '<component objectid="1" transform="-1 0 0 0 1 0 0 0 1 5 0 0"/>'
    whole = f'<object id="2"><components>{inner}</components></object>'
    item = '<item objectid="2" transform="2 0 0 0 2 0 0 0 2 0 0 7"/>'
    found = read(tmp_path, "two.3mf", package(model(ONE + whole, item, "")))
    assert found.unit == "mm"
    assert volume(found) == pytest.approx(8 * 600**3 / 6)
    np.testing.assert_allclose(found.vertices.min(axis=0), [2 * (5 - 600), 0, 7])


def stl_of(count: int, facets: int) -> bytes:
    return b"x".ljust(80) + count.to_bytes(4, "little") + b"\0" * 50 * facets


def ply(vertices: int, faces: int, body: str = "") -> bytes:
    return (
        HEAD.decode() + f"element vertex {vertices}\nproperty float x\nproperty float y\nproperty float z\n"
        f"element face {faces}\nproperty list uchar int vertex_indices\nend_header\n{body}"
    ).encode()


def nested(deep: int) -> str:
    parts = [ONE]
    for n in range(2, deep):
        inner = f'<component objectid="{n - 1}"/>' * 2
        parts.append(f'<object id="{n}"><components>{inner}</components></object>')
    return model("".join(parts), f'<item objectid="{deep - 1}"/>')


LOOP = '<object id="1"><components><component objectid="1"/></components></object>'
ITEM = '<item objectid="1"/>'
ENTITIES = f'<!DOCTYPE m [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>{model(ONE, ITEM)}'
GOOD_STL = stl_bytes(ball(), name="ball")
TEXT_STL = trimesh.exchange.stl.export_stl_ascii(BALL).encode()
HOSTILE = [
    ("cut.stl", GOOD_STL[:-70], "promises 320 facets.*cut short"),
    ("four-billion.stl", stl_of(2**32 - 1, 1), "promises 4,294,967,295 facets"),
    ("short.stl", b"solid"[:4] + b"\0" * 20, "too short"),
    ("none.stl", stl_of(0, 0), "no facets"),
    ("empty.stl", b"", "empty"),
    ("nan.stl", GOOD_STL[:96] + struct.pack("<f", np.nan) + GOOD_STL[100:], "no finite numbers"),
    ("inf.stl", GOOD_STL[:96] + struct.pack("<f", np.inf) + GOOD_STL[100:], "no finite numbers"),
    ("text-cut.stl", TEXT_STL[: len(TEXT_STL) // 2], "cut short"),
    ("text-none.stl", b"solid x\nendsolid x\n", "no facets"),
    ("text-words.stl", TEXT_STL.replace(b"vertex ", b"vertex x", 1), "not all numbers"),
    ("text-quad.stl", TEXT_STL.replace(b"endloop", b"vertex 0 0 0\nendloop", 1), "4 corners"),
    ("wide.stl", TEXT_STL.decode().encode("utf-16"), "UTF-16"),
    ("picture.stl", b"\x89PNG\r\n" + bytes(range(256)) * 4, "cut short, or no STL"),
    ("binary-in-text.ply", ply(4, 4) + b"\xff\xfe\x00\x01" * 40, "numbers"),
    ("trillion.ply", ply(10**12, 4, "0 0 0\n" * 4), "promises 1,000,000,000,000 of vertex"),
    ("trillion-faces.ply", ply(4, 10**12, "0 0 0\n" * 4), "promises 1,000,000,000,000 of face"),
    ("far.ply", ply(3, 1, "0 0 0\n1 0 0\n0 1 0\n3 0 1 9\n"), "names vertex 9; there are 3"),
    ("back.ply", ply(3, 1, "0 0 0\n1 0 0\n0 1 0\n3 0 1 -1\n"), "names vertex -1"),
    ("short-face.ply", ply(3, 1, "0 0 0\n1 0 0\n0 1 0\n2 0 1 9\n"), "no face"),
    ("huge-index.ply", ply(3, 1, f"0 0 0\n1 0 0\n0 1 0\n3 0 1 {10**30}\n"), "no face"),
    ("points.ply", ply(3, 0, "0 0 0\n1 0 0\n0 1 0\n"), "no facets"),
    ("cut.ply", ply(4, 4, "0 0 0\n1 0 0\n0 1 0\n0 0 1\n3 0 1 2\n3 0 1 3\n"), "cut short"),
    ("no-header.ply", b"ply\nformat ascii 1.0\nelement vertex 3\n", "cut short"),
    ("odd-header.ply", HEAD + b"element vertex -3\n", "not of a PLY"),
    ("other.ply", b"solid x", "no PLY"),
    ("far.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 4\n", "line 4: a facet names"),
    ("words.obj", b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf a b c\n", "is no facet"),
    ("nan.obj", b"v nan 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "no finite numbers"),
    ("line.obj", b"v " + b"0" * 200_000, "longer than any"),
    ("none.obj", b"# nothing\nv 1 2 3\n", "no facets"),
    ("no-zip.3mf", b"<model/>", "no zip"),
    ("other-zip.3mf", package("x", name="../evil.txt"), "no model"),
    ("no-xml.3mf", package("not xml"), "is no XML"),
    ("dtd.3mf", package(ENTITIES), "document type or entities"),
    ("loop.3mf", package(model(LOOP, '<item objectid="1"/>')), "without end"),
    ("doubling.3mf", package(nested(60)), "without end"),
    ("many-objects.3mf", package(model('<object id="1"/>' * 5000, "")), "more than 1,000 objects"),
    ("no-object.3mf", package(model("", '<item objectid="9"/>')), "which is not in it"),
    ("no-build.3mf", package(model(ONE, "")), "places no mesh"),
    ("unit.3mf", package(model(ONE, '<item objectid="1"/>', 'unit="furlong"')), "none of the format's"),
    ("path.3mf", package(model(ONE, '<item objectid="1" p:path="/3D/a.model" xmlns:p="p"/>')), "several models"),
    ("vertex.3mf", package(model(ONE.replace('x="600"', 'x="wide"'), "")), "<vertex>"),
    ("matrix.3mf", package(model(ONE, '<item objectid="1" transform="1 2"/>')), "<item>"),
    ("index.3mf", package(model(ONE.replace('v3="3"', 'v3="7"'), '<item objectid="1"/>')), "names vertex 7"),
    ("bomb.3mf", package(b" " * (300 * 2**20)), "is no XML|unpacks to more than 256 MB"),
    ("no.txt", b"solid", "no mesh by its ending"),
]


@pytest.mark.parametrize(("name", "data", "said"), HOSTILE, ids=[each[0] for each in HOSTILE])
def test_what_is_broken_or_made_to_do_harm_is_told_within_bounds(
    tmp_path: Path, name: str, data: bytes, said: str
) -> None:
    path = tmp_path / name
    path.write_bytes(data)
    tracemalloc.start()
    try:
        with pytest.raises(MeshFileError, match=said) as caught:
            read_mesh(path)
        assert tracemalloc.get_traced_memory()[1] < 20 * 2**20 + 4 * len(data)
    finally:
        tracemalloc.stop()
    assert str(path) in str(caught.value)


def test_a_zip_that_lists_more_than_a_mesh_comes_in_is_not_opened(tmp_path: Path) -> None:
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w") as archive:
        for n in range(30_000):
            archive.writestr(f"{n}", b"")
    with pytest.raises(MeshFileError, match="more files than a mesh"):
        read(tmp_path, "list.3mf", made.getvalue())


def test_too_many_facets_are_refused_by_the_header(tmp_path: Path) -> None:
    path = tmp_path / "large.stl"
    count = MOST_FACETS + 1
    with path.open("wb") as opened:
        opened.write(b"x".ljust(80) + count.to_bytes(4, "little"))
        opened.truncate(84 + 50 * count)
    with pytest.raises(MeshFileError, match=r"1,500,001 facets: read are 256 MB and 1,500,000 facets"):
        read_mesh(path)
    with path.open("wb") as opened:
        opened.truncate(2**29)
    with pytest.raises(MeshFileError, match="512 MB; read are 256 MB"):
        read_mesh(path)


def test_a_zip_whose_list_is_said_to_be_longer_in_its_extension_is_not_opened(tmp_path: Path) -> None:
    good = package(model(ONE, ITEM))
    end = good[-22:]
    large = b"PK\x06\x06" + bytes(36) + (2**31).to_bytes(8, "little") + bytes(8)
    with pytest.raises(MeshFileError, match="more files than a mesh"):
        read(tmp_path, "large.3mf", good[:-22] + large + b"PK\x06\x07" + bytes(16) + end)


def test_a_folder_a_missing_file_and_a_link_that_leads_nowhere(tmp_path: Path) -> None:
    (tmp_path / "folder.stl").mkdir()
    for name, said in (("folder.stl", "no file"), ("gone.stl", "no such file")):
        with pytest.raises(MeshFileError, match=said):
            read_mesh(tmp_path / name)
