"""A whole build of a board with three fins, read back by other readers: GDAL, resvg, trimesh, json."""

from __future__ import annotations

import json
from pathlib import Path

import numpy as np
import pyogrio
import pytest
import resvg_py
import shapely
import trimesh

from bayloft.build import build_boards

SPECS = Path(__file__).parents[2] / "specs"
FLOAT32_MM = 1.2e-4
"""Rounding of single precision at two metres."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.25})
    (built,) = build_boards([SPECS / "boards" / "dunlin.toml"], tmp_path_factory.mktemp("out"), tolerance_mm=0.2)
    assert built.folder is not None
    return built.folder


def cuts(path: Path) -> list[shapely.Polygon]:
    meta, _, shapes, fields = pyogrio.raw.read(path)
    layers = dict(zip(meta["fields"], fields, strict=True))["Layer"]
    found = [shape for shape, layer in zip(shapely.from_wkb(shapes), layers, strict=True) if layer == "CUT"]
    return [shapely.Polygon(shapely.get_coordinates(shape)) for shape in found]


def test_the_files_are_those_a_maker_needs(folder: Path) -> None:
    found = sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file())
    fins = [
        f"fins/dunlin-{fin}{part}.{ending}"
        for fin in ("centre", "side")
        for part in ("", "-gauges")
        for ending in ("dxf", "svg")
    ]
    assert {*fins, "fins/tail.svg"} <= set(found)
    assert {f"templates/fin-{part}.{ending}" for part in ("marks", "slots") for ending in ("dxf", "svg")} <= set(found)
    assert {"solids/dunlin-side.stl", "solids/dunlin-centre.stl", "solids/dunlin-with-fins.stl"} <= set(found)
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    assert [item["name"] for item in report["files"]] == [name for name in found if name != "report.json"]


def test_the_hole_for_the_bush(folder: Path) -> None:
    holes = [shape for shape in cuts(folder / "templates" / "fin-slots.dxf") if 1000.0 < shape.area < 3000.0]
    assert len(holes) == 2
    for hole in holes:
        # Slot 80.4 x 6.9, bit 6, bush 16: the bush's middle runs on 74.4 x 0.9.
        x, y, radius = 74.4, 0.9, 8.0
        assert hole.area == pytest.approx(x * y + 2 * radius * (x + y) + np.pi * radius**2, rel=1e-4)
        left, low, right, high = hole.bounds
        assert (right - left, high - low) == pytest.approx((90.4, 16.9), abs=1e-5)


def test_the_marks_lie_where_the_report_says(folder: Path) -> None:
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    side = report["standing"][0]
    holes = [shape for shape in cuts(folder / "templates" / "fin-marks.dxf") if shape.area < 10.0]
    found = sorted((round(hole.centroid.x, 3), round(hole.centroid.y, 3)) for hole in holes)
    assert found == [tuple(round(value, 3) for value in side[end][:2]) for end in ("rear_mm", "front_mm")]
    assert side["rear_mm"][:2] == [280.0, 108.0]
    assert side["rear_mm"][1] - side["front_mm"][1] == pytest.approx(side["toe_over_base_mm"], abs=2e-6)
    assert side["toe_over_base_mm"] == pytest.approx(112 * np.sin(np.radians(3.0)), abs=1e-6)
    assert side["sides"] == ["port", "starboard"]
    assert 0.05 < side["base_off_straight_mm"] < 1.0
    assert report["standing"][1]["sides"] == ["centre"]


def test_the_template_is_cut_below_and_above_its_straight_base(folder: Path) -> None:
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    for name, standing in (("dunlin-side", report["standing"][0]), ("dunlin-centre", report["standing"][1])):
        (fin,) = cuts(folder / "fins" / f"{name}.dxf")
        shoulders = fin.intersection(shapely.box(0.5, -1.0, 15.5, 1.0))
        # Before the tab the base rises from its end, by less than its greatest deviation.
        corner = [y for x, y in shapely.get_coordinates(shoulders) if 10.0 < x < 15.9 and y < 0.9]
        assert 0.0 < abs(min(corner, key=abs)) <= standing["base_off_straight_mm"]


PLACED = 5e-8
"""Relative: a fin's places on the board are rounded far below single precision, on a body a few millimetres thin."""


@pytest.mark.parametrize("name", ["dunlin-side", "dunlin-centre"])
def test_cut_fins_are_closed_and_have_the_volume_reported(folder: Path, name: str) -> None:
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    standing = report["standing"][0 if name == "dunlin-side" else 1]
    mesh = trimesh.load_mesh(folder / "solids" / f"{name}.stl")
    assert mesh.is_watertight
    assert mesh.is_winding_consistent
    # Merged slivers and single precision.
    assert mesh.volume == pytest.approx(standing["each_volume_mm3"]["outside_board"], rel=1e-4)
    assert mesh.bounds[1][2] == pytest.approx(114.0, abs=FLOAT32_MM)
    volumes = standing["each_volume_mm3"]
    assert volumes["inside_board"] + volumes["outside_board"] == pytest.approx(
        volumes["with_base_carried_into_board"], rel=PLACED
    )


def test_the_whole_is_board_and_fins_less_overlaps(folder: Path) -> None:
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    board, whole = (trimesh.load_mesh(folder / "solids" / f"dunlin{part}.stl") for part in ("", "-with-fins"))
    assert whole.is_watertight
    fins = sum(len(each["sides"]) * each["each_volume_mm3"]["outside_board"] for each in report["standing"])
    # Single precision moves a surface by less than FLOAT32_MM.
    assert whole.volume == pytest.approx(board.volume + fins, abs=FLOAT32_MM * whole.area)


@pytest.mark.parametrize(
    "name", ["fins/tail", "fins/dunlin-side", "fins/dunlin-side-gauges", "templates/fin-marks", "templates/fin-slots"]
)
def test_pictures_render(folder: Path, name: str) -> None:
    data = bytes(resvg_py.svg_to_bytes(svg_path=str(folder / f"{name}.svg"), dpi=50))
    assert data.startswith(b"\x89PNG\r\n\x1a\n")
    assert len(data) > 2000
