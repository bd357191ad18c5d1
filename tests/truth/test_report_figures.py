"""The figures of report.json against what others measure on the files written beside it: trimesh on the STL, shapely on
its shadow, and the kitchen scales' arithmetic on the numbers of the spec.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
import trimesh
from numpy.typing import NDArray

from bayloft.build import build_boards
from bayloft.lines.fin import fin_lines
from bayloft.solid.fin import fin_body
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.loading import load_fin

Array = NDArray[np.float64]
SPECS = Path(__file__).parents[2] / "specs"

FACETED = 8e-4
"""Relative: twice what the facets take off volume, area and shadow of board and fin (measured: 4e-4 at most)."""

FACETED_MOMENTS = 1.6e-3
"""Relative: the same for second moments (measured: 8e-4), of which no two are nearer to one another than as 2 to 1."""

CHORD_MM = 0.05
"""mm: the chord tolerance; no centroid moves by more."""

FIN_CHORD_MM = 0.005
"""mm, of the fin meshed here: as large a share of its thickness as 0.05 mm is of a board's."""

AXES = "xyz"
OZ_YD2 = 28.349523125 / 0.83612736
"""g/m2, exact: international ounce over international square yard."""


class Built:
    """A board as built: its report, and its solids as trimesh reads them. The fin in the board's folder is cut to the
    bottom; the report's figures are of the whole one, on its straight base.
    """

    def __init__(self, folder: Path) -> None:
        self.report: dict[str, Any] = json.loads((folder / "report.json").read_text(encoding="utf-8"))
        self.solids = {path.stem: trimesh.load_mesh(path) for path in (folder / "solids").glob("*.stl")}
        body = fin_body(fin_lines(load_fin(SPECS / "fins" / "turnstone-keel.toml")))
        mesh = meshed(body, grid_for(body, FIN_CHORD_MM))
        self.solids["keel"] = trimesh.Trimesh(vertices=mesh.vertices, faces=mesh.triangles, process=False)

    def figures(self, name: str) -> dict[str, Any]:
        of = self.report if name == "turnstone" else self.report["fins"][0]
        found: dict[str, Any] = of["integrals"]
        return found


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Built:
    (done,) = build_boards([SPECS / "boards" / "turnstone.toml"], tmp_path_factory.mktemp("out"))
    assert done.folder is not None
    return Built(done.folder)


def shadow(solid: trimesh.Trimesh, along: int) -> shapely.Geometry:
    """Return the shadow of a closed solid along an axis: the triangles that face up it, laid flat and joined."""
    kept = [axis for axis in range(3) if axis != along]
    return shapely.union_all(shapely.polygons(solid.triangles[solid.face_normals[:, along] > 1e-6][..., kept]))


def section_mm2(solid: trimesh.Trimesh, x_mm: float) -> float:
    """Return the area of a solid's section at a station: half the integral of r n along trimesh's cut (divergence)."""
    lines, faces = trimesh.intersections.mesh_plane(solid, [1.0, 0.0, 0.0], [x_mm, 0.0, 0.0], return_faces=True)
    outward = solid.face_normals[faces][:, 1:]
    outward /= np.linalg.norm(outward, axis=1)[:, None]
    lengths = np.linalg.norm(lines[:, 1] - lines[:, 0], axis=1)
    return float(((lines.mean(axis=1)[:, 1:] * outward).sum(axis=1) * lengths).sum() / 2)


@pytest.mark.parametrize("name", ["turnstone", "keel"])
def test_volume_area_and_centroid(built: Built, name: str) -> None:
    told, solid = built.figures(name), built.solids[name]
    assert solid.is_watertight
    assert told["volume_mm3"] == pytest.approx(solid.volume, rel=FACETED)
    assert told["area_mm2"] == pytest.approx(solid.area, rel=FACETED)
    assert told["centroid_mm"] == pytest.approx(solid.center_mass.tolist(), abs=CHORD_MM)


def test_litres(built: Built) -> None:
    assert built.report["litres"] == pytest.approx(built.solids["turnstone"].volume / 1e6, rel=FACETED)


@pytest.mark.parametrize("name", ["turnstone", "keel"])
def test_second_moments_are_told_under_their_own_axes(built: Built, name: str) -> None:
    """Moments of inertia are about axes: I_x holds y^2 + z^2. Half their sum less one gives the second moment of x."""
    told, inertia = built.figures(name), built.solids[name].moment_inertia
    about = np.diag(inertia)
    expected = dict(zip(AXES, about.sum() / 2 - about, strict=True))
    assert told["second_moments_about_centroid_mm5"] == pytest.approx(expected, rel=FACETED_MOMENTS)
    size = float(np.sqrt(expected["x"] * expected["z"]))
    assert told["product_of_inertia_xz_mm5"] == pytest.approx(-inertia[0, 2], abs=FACETED_MOMENTS * size)
    assert abs(inertia[0, 2]) > 10 * FACETED_MOMENTS * size, "large enough to tell its sign"


def test_the_plan_area_is_that_of_the_shadow(built: Built) -> None:
    assert built.figures("turnstone")["plan_area_mm2"] == pytest.approx(
        shadow(built.solids["turnstone"], 2).area, rel=FACETED
    )


def test_section_areas_are_those_of_the_cut_solid(built: Built) -> None:
    told, solid = built.report["section_areas"], built.solids["turnstone"]
    stations, areas = told["stations_mm"], told["areas_mm2"]
    assert stations == pytest.approx(np.linspace(0.0, built.report["length"]["mm"], len(stations)).tolist(), abs=1e-6)
    cut = [section_mm2(solid, x) for x in stations[1:-1]]
    # 0.05 mm all round a girth of 1.15 m at most.
    assert areas[1:-1] == pytest.approx(cut, abs=CHORD_MM * 1150.0)
    assert areas[0] == areas[-1] == 0.0


def test_the_planform_is_that_of_the_fins_shadow(built: Built) -> None:
    fin = built.report["fins"][0]
    told, side = fin["planform"], shadow(built.solids["keel"], 1)
    assert (fin["base_mm"], fin["depth_mm"], fin["rake_mm"]) == pytest.approx((8.5 * 25.4, 5.25 * 25.4, 3 * 25.4))
    assert told["area_mm2"] == pytest.approx(side.area, rel=FACETED)
    middle = side.centroid
    assert (told["centre_of_area_mm"]["x"], told["centre_of_area_mm"]["z"]) == pytest.approx(
        (middle.x, middle.y), abs=CHORD_MM
    )
    ratio = fin["depth_mm"] ** 2 / side.area
    assert told["aspect_ratio"]["single_fin_depth2_over_area"] == pytest.approx(ratio, rel=FACETED)
    assert told["aspect_ratio"]["with_mirror_image_in_the_bottom"] == pytest.approx(2 * ratio, rel=FACETED)
    assert told["mean_chord_mm"]["geometric"] == pytest.approx(side.area / fin["depth_mm"], rel=FACETED)
    # Chords at the middles of strips, squared: c^2 dz over the area.
    heights = (np.arange(400) + 0.5) / 400 * fin["depth_mm"]
    rows = [shapely.LineString([[-500.0, z], [500.0, z]]) for z in heights]
    chords = shapely.length(shapely.intersection(side, rows))
    aerodynamic = float((chords**2).mean() / chords.mean())
    assert told["mean_chord_mm"]["aerodynamic"] == pytest.approx(aerodynamic, rel=2 * FACETED)


def test_the_fins_outside_the_board_are_what_the_joined_solid_has_more(built: Built) -> None:
    (standing,) = built.report["standing"]
    each = standing["each_volume_mm3"]
    more = built.solids["turnstone-with-fins"].volume - built.solids["turnstone"].volume
    assert 2 * each["outside_board"] == pytest.approx(more, rel=FACETED)
    assert each["with_base_carried_into_board"] - each["inside_board"] == pytest.approx(each["outside_board"], abs=1e-3)


def test_the_weights_of_the_layup_by_hand(built: Built) -> None:
    """Turnstone keel: 6 oz cloth with as much resin as glass (2560 and 1200 kg/m3), 8 plies, four on either face of a
    core of 1/4 in at 340 kg/m3; the panel is the fin's box and 20 mm round it, upward in whole mm.
    """
    told = built.report["fins"][0]["layup"]
    solid = built.solids["keel"]
    extent = solid.bounds[1] - solid.bounds[0]
    panel = np.ceil(np.round(extent[[0, 2]] + 2 * 20.0, 2))
    assert told["panel_mm"] == panel.tolist()
    area_m2 = float(panel.prod()) / 1e6
    cloth = 6 * OZ_YD2
    ply_mm = cloth / 2560.0 + cloth / 1200.0
    assert told["plies"] == 8
    assert told["cloth_g_m2"] == pytest.approx(cloth, abs=1e-6)
    assert told["ply_mm"] == pytest.approx(ply_mm, abs=1e-6)
    density = 2 * cloth / ply_mm
    assert told["laminate_density_kg_m3"] == pytest.approx(density, abs=1e-6)
    assert told["panel_thickness_mm"] == pytest.approx(8 * ply_mm + 6.35, abs=2e-6)
    assert told["ground_off_mm"] == pytest.approx(8 * ply_mm + 6.35 - 8.0, abs=2e-6)
    assert told["cloth_m2"] == pytest.approx(8 * area_m2, abs=1e-6)
    assert told["cloth_g"] == pytest.approx(8 * area_m2 * cloth, abs=1e-5)
    assert told["resin_g"] == pytest.approx(8 * area_m2 * cloth, abs=1e-5)
    blank_g = area_m2 * 6.35 * 340.0
    assert told["core"]["mass_g"] == pytest.approx(blank_g, abs=1e-5)
    assert told["panel_g"] == pytest.approx(16 * area_m2 * cloth + blank_g, abs=1e-4)
    left = core_mm3(solid, 8 * ply_mm)
    assert told["core"]["foiled_volume_mm3"] == pytest.approx(left, rel=4 * FACETED)
    finished = (left * 340.0 + (solid.volume - left) * density) / 1e6
    assert told["finished_g"] == pytest.approx(finished, rel=FACETED)
    assert told["waste_g"] == pytest.approx(told["panel_g"] - told["finished_g"], abs=2e-6)


def test_the_sessions_of_the_layup_make_up_the_panel(built: Built) -> None:
    told = built.report["fins"][0]["layup"]
    assert [(session["on"], session["plies"]) for session in told["sessions"]] == [
        ("outer face", 4),
        ("inside face", 4),
    ]
    for session in told["sessions"]:
        assert session["laid_mm"] == pytest.approx(4 * told["ply_mm"], abs=4e-6)
        assert session["cloth_g"] == pytest.approx(told["cloth_g"] / 2, abs=2e-6)
        assert session["resin_g"] == pytest.approx(told["resin_g"] / 2, abs=2e-6)


def core_mm3(solid: trimesh.Trimesh, skins_mm: float) -> float:
    """Return what both skins leave of a fin with a flat inside: what stands above the plane y = skins. Seen from a
    point of that plane the cut itself has no volume, so the solid may stay open there.
    """
    above = solid.slice_plane([0.0, skins_mm, 0.0], [0.0, 1.0, 0.0], cap=False)
    a, b, c = np.moveaxis(above.triangles - [0.0, skins_mm, 0.0], 1, 0)
    return float(np.einsum("ij,ij->", a, np.cross(b, c)) / 6)
