"""The templates of a build read back by GDAL, an independent reader of DXF, and measured there."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pyogrio
import pytest
import shapely

from bayloft.build import build_boards
from bayloft.drawing.curves.board_curves import PLACES
from bayloft.lines.drafting import board_lines
from bayloft.solid.board import board_body
from bayloft.solid.measure import thickness
from bayloft.spec.loading import load_board

SPECS = Path(__file__).parents[2] / "specs"
ARCS_MM = 0.03
"""Arcs within 0.02 mm of the surface, and GDAL's chords of a twentieth of a degree: 0.005 mm on a radius of 50 m."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": 0.05})
    (built,) = build_boards([SPECS / "boards" / "whimbrel.toml"], tmp_path_factory.mktemp("out"), tolerance_mm=0.3)
    assert built.folder is not None
    return built.folder / "templates"


def read(path: Path) -> list[tuple[str, shapely.Geometry]]:
    meta, _, shapes, fields = pyogrio.raw.read(path)
    layers = dict(zip(meta["fields"], fields, strict=True))["Layer"]
    return list(zip(layers, shapely.from_wkb(shapes), strict=True))


def cuts(path: Path) -> list[shapely.Polygon]:
    return [shapely.Polygon(shapely.get_coordinates(shape)) for layer, shape in read(path) if layer == "CUT"]


def test_the_stringer_is_the_side_of_the_board(folder: Path) -> None:
    board = load_board(SPECS / "boards" / "whimbrel.toml")
    body = board_body(board_lines(board))
    (cut,) = cuts(folder / "stringer.dxf")
    sides = body.port.grid(np.linspace(0.0, 1.0, 4 * PLACES), [0.0, 1.0])[..., [0, 2]].reshape(-1, 2)
    assert shapely.distance(shapely.points(sides), cut.exterior).max() <= ARCS_MM
    # Upright at 3 ft the drawn stringer is as thick as the board.
    x = 914.4
    drawn = cut.intersection(shapely.LineString([(x, -1e3), (x, 1e3)])).length
    assert drawn == pytest.approx(float(thickness(body, x)[0]), abs=2 * ARCS_MM)


def test_the_full_outline_is_twice_the_half(folder: Path) -> None:
    (half,), (full,) = cuts(folder / "half-outline.dxf"), cuts(folder / "full-outline.dxf")
    assert full.area == pytest.approx(2 * half.area, rel=1e-6)


def test_gauges_and_card_share_a_file_and_do_not_touch(folder: Path) -> None:
    found = cuts(folder / "gauges.dxf")
    # One card, and gauges at the six stations of the sheet.
    assert len(found) == 7
    assert all(one.distance(other) >= 10.0 for i, one in enumerate(found) for other in found[i + 1 :])


@pytest.mark.parametrize(
    "kind", ["half-outline", "full-outline", "stringer", "rocker-stick", "gauges", "spin-templates"]
)
def test_what_is_scribed_is_open_lines_on_a_layer_of_its_own(folder: Path, kind: str) -> None:
    found = read(folder / f"{kind}.dxf")
    strokes = [shape for layer, shape in found if layer == "SCRIBE"]
    assert strokes
    assert {shape.geom_type for shape in strokes} == {"LineString"}
    plates = [shapely.Polygon(shapely.get_coordinates(shape)) for layer, shape in found if layer == "CUT"]
    assert all(any(plate.buffer(ARCS_MM).contains(stroke) for plate in plates) for stroke in strokes)
    # The check line is 100 mm long as another reader measures it.
    marks = [shape.length for layer, shape in found if layer == "MARK"]
    assert min(abs(length - 100.0) for length in marks) < 1e-5
