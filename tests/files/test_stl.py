"""STL files read back by numpy-stl and trimesh."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import trimesh
from stl import Mode
from stl.mesh import Mesh as StlMesh

from bayloft.export import stl
from bayloft.export.preflight import ExportError
from bayloft.solid.mesh import Mesh

FLOAT32 = 2.0**-24
"""Relative: half of the last bit of a float32."""


def ball(length_mm: float, width_mm: float, height_mm: float) -> Mesh:
    sphere = trimesh.creation.icosphere(subdivisions=4)
    sizes = np.array([length_mm, width_mm, height_mm]) / 2
    return Mesh(vertices=sphere.vertices * sizes + sizes, triangles=np.asarray(sphere.faces, dtype=np.int64))


BOARD = ball(2235.0, 530.0, 68.0)


def test_other_readers_find_the_solid(tmp_path: Path) -> None:
    stl.write(BOARD, tmp_path / "board.stl", name="whimbrel")
    loaded = trimesh.load_mesh(tmp_path / "board.stl")
    assert loaded.is_watertight
    assert loaded.is_winding_consistent
    assert len(loaded.faces) == len(BOARD.triangles)
    # The volume moves by area x rounding at most, were all coordinates rounded the same way.
    rounding_mm3 = FLOAT32 * 2235.0 * loaded.area
    assert loaded.volume == pytest.approx(BOARD.volume_mm3, abs=rounding_mm3)
    volume, _, _ = StlMesh.from_file(str(tmp_path / "board.stl"), mode=Mode.BINARY).get_mass_properties()
    # numpy-stl adds up in float32: 5120 terms of some 1e7 mm3.
    assert volume == pytest.approx(BOARD.volume_mm3, rel=1e-5)
    assert BOARD.volume_mm3 == pytest.approx(np.pi / 6 * 2235 * 530 * 68, rel=4e-3), "a ball of 5120 flat faces"


def test_a_box_keeps_its_exact_volume(tmp_path: Path) -> None:
    box = trimesh.creation.box((2048.0, 512.0, 64.0))
    stl.write(Mesh(vertices=box.vertices, triangles=box.faces), tmp_path / "box.stl", name="box")
    assert trimesh.load_mesh(tmp_path / "box.stl").volume == 2048 * 512 * 64


def test_coordinates_are_within_float32(tmp_path: Path) -> None:
    stl.write(BOARD, tmp_path / "board.stl", name="whimbrel")
    found = StlMesh.from_file(str(tmp_path / "board.stl"), mode=Mode.BINARY, calculate_normals=False)
    corners = BOARD.vertices[BOARD.triangles]
    assert found.vectors.dtype == np.dtype("<f4")
    assert np.abs(found.vectors - corners).max() <= FLOAT32 * 2235.0
    assert np.abs(found.vectors - corners).max() > 0.1 * FLOAT32 * 2235.0


def test_normals_are_unit_and_outward(tmp_path: Path) -> None:
    stl.write(BOARD, tmp_path / "board.stl", name="whimbrel")
    found = StlMesh.from_file(str(tmp_path / "board.stl"), mode=Mode.BINARY, calculate_normals=False)
    assert np.linalg.norm(found.normals, axis=1) == pytest.approx(1.0, abs=1e-6)
    middles = found.vectors.mean(axis=1) - BOARD.vertices.mean(axis=0)
    assert ((middles * found.normals).sum(axis=1) > 0).all()
    a, b, c = BOARD.corners
    exact = np.cross(b - a, c - a)
    exact /= np.linalg.norm(exact, axis=1)[:, None]
    # Corners rounded by 1.2e-4 mm tilt a triangle of 1.7 mm height at the rim by 2e-4 at most.
    assert found.normals == pytest.approx(exact, abs=2e-4)


def test_a_triangle_without_area_has_no_normal(tmp_path: Path) -> None:
    flat = Mesh(vertices=np.array([[0.0, 0, 0], [1, 0, 0], [2, 0, 0]]), triangles=np.array([[0, 1, 2]]))
    stl.write(flat, tmp_path / "flat.stl", name="flat")
    data = (tmp_path / "flat.stl").read_bytes()
    assert np.frombuffer(data, dtype="<f4", count=3, offset=84).tolist() == [0, 0, 0]


@pytest.mark.parametrize(
    ("name", "header"),
    [
        ("whimbrel", b"bayloft whimbrel UNITS=mm"),
        ("solid", b"bayloft solid UNITS=mm"),
        ("Öre\n\x00🏄", b"bayloft ?re??? UNITS=mm"),
        ("x" * 200, b"bayloft " + b"x" * 63 + b" UNITS=mm"),
        ("", b"bayloft  UNITS=mm"),
    ],
)
def test_the_header_names_the_solid_and_its_unit(name: str, header: bytes, tmp_path: Path) -> None:
    stl.write(BOARD, tmp_path / "board.stl", name=name)
    data = (tmp_path / "board.stl").read_bytes()
    assert data[:80] == header.ljust(80)
    assert not data.startswith(b"solid")
    assert len(data) == 84 + 50 * len(BOARD.triangles)
    assert int.from_bytes(data[80:84], "little") == len(BOARD.triangles)


def test_same_mesh_same_bytes(tmp_path: Path, write_elsewhere: Callable[..., None]) -> None:
    first, second, third = (tmp_path / f"{i}.stl" for i in range(3))
    stl.write(BOARD, first, name="whimbrel")
    stl.write(BOARD, second, name="whimbrel")
    write_elsewhere("stl", BOARD, third, name="whimbrel")
    assert first.read_bytes() == second.read_bytes() == third.read_bytes()


@pytest.mark.parametrize(
    "mesh",
    [
        Mesh(vertices=np.zeros((3, 3)), triangles=np.zeros((0, 3), dtype=np.int64)),
        Mesh(vertices=np.array([[0, 0, 0], [1, 0, 0], [0, np.nan, 0]]), triangles=np.array([[0, 1, 2]])),
    ],
)
def test_what_is_no_solid_is_not_written(mesh: Mesh, tmp_path: Path) -> None:
    with pytest.raises(ExportError, match="finite coordinates"):
        stl.write(mesh, tmp_path / "a.stl", name="a")
    assert not [*tmp_path.iterdir()]
