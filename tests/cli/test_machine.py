"""A package for a machine by the command line: what is in it, read back, and what is refused."""

from __future__ import annotations

import hashlib
import json
import zipfile
from pathlib import Path

import lib3mf
import manifold3d
import numpy as np
import pypdf
import pytest
import trimesh
from click.testing import CliRunner, Result

from bayloft.build import loaded
from bayloft.cli import main
from bayloft.solid.mesh import Mesh, solid_of
from bayloft.solid.plugs import pockets

from ..demo import SPECS, changed, draft

BOARDS = SPECS / "boards"


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, [*map(str, arguments)])


@pytest.fixture(scope="module", name="packed")
def _packed(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Result]:
    out = tmp_path_factory.mktemp("machine")
    spec = BOARDS / "turnstone.toml"
    result = run("machine", spec, "--allowance", "1 mm", "--deck", "2 mm", "--blank", SPECS / "blanks/short-wide.toml",
                 "--date", "2026-05-01", "-o", out)  # fmt: skip
    return out / "turnstone" / "machine", result


def test_the_zip_holds_all_and_a_manifest_that_is_true(packed: tuple[Path, Result]) -> None:
    folder, result = packed
    assert result.exit_code == 0, result.output
    names = ["turnstone-to-cut-bottom-up.stl", "turnstone-to-cut-deck-up.stl", "turnstone-to-cut.3mf",
             "turnstone-in-blank.3mf", "turnstone.3mf", "turnstone.step", "turnstone.stl", "turnstone-keel.step",
             "manifest.json", "sheet.pdf", "sheet.svg"]  # fmt: skip
    with zipfile.ZipFile(folder / "turnstone-machine.zip") as archive:
        assert archive.testzip() is None
        assert archive.namelist() == sorted(names)
        manifest = json.loads(archive.read("manifest.json"))
        listed = {entry["name"]: entry["sha256"] for entry in manifest["files"]}
        assert listed == {
            name: hashlib.sha256(archive.read(name)).hexdigest() for name in names if name != "manifest.json"
        }
        for name in names:
            assert archive.read(name) == (folder / name).read_bytes()
    report = json.loads((folder / "report.json").read_text("utf-8"))
    listed = {entry["name"]: entry["sha256"] for entry in report["files"]}
    assert listed == {
        path.name: hashlib.sha256(path.read_bytes()).hexdigest()
        for path in folder.iterdir()
        if path.name != "report.json"
    }
    assert report["date"] == "2026-05-01"
    assert report["allowance"]["deck_mm"] == 2.0
    assert report["blank"]["name"] == "Short wide"


def test_solids_read_back_are_the_board_with_what_is_left_on(packed: tuple[Path, Result]) -> None:
    folder, _ = packed
    report = json.loads((folder / "report.json").read_text("utf-8"))
    plain, up, down = (
        trimesh.load_mesh(folder / f"turnstone{end}.stl") for end in ("", "-to-cut-deck-up", "-to-cut-bottom-up")
    )
    for solid in (plain, up, down):
        assert solid.is_watertight
        assert solid.is_winding_consistent
    assert plain.volume == pytest.approx(report["volume_mm3"], rel=2e-4)
    assert up.volume == pytest.approx(report["allowance"]["volume_mm3"], rel=1e-5)
    assert down.volume == pytest.approx(up.volume, rel=1e-6)
    low, high = up.bounds - plain.bounds
    assert high == pytest.approx([1.0, 1.0, 2.0], abs=0.03)
    assert low == pytest.approx([-1.0, -1.0, -1.0], abs=0.03)
    # Turned about x: port is starboard, deck is down; it stands on z = 0.
    assert down.bounds[0][2] == pytest.approx(0.0, abs=1e-4)
    assert down.extents == pytest.approx(up.extents, abs=1e-3)
    assert down.centroid[0] == pytest.approx(up.centroid[0], abs=1e-3)
    assert down.bounds[1][2] - down.centroid[2] == pytest.approx(up.centroid[2] - up.bounds[0][2], abs=1e-2)


def test_the_sheet_tells_sizes_axes_and_the_blank(packed: tuple[Path, Result]) -> None:
    folder, _ = packed
    (page,) = pypdf.PdfReader(folder / "sheet.pdf").pages
    said = " ".join(page.extract_text().split())
    for part in ("1727.2 mm (5' 8\")", "x from the tail end to the nose", "2 mm on the deck, 1 mm on the bottom",
                 "Short wide", "maker, telephone", "2026-05-01"):  # fmt: skip
        assert part in said
    volume = draft("turnstone").board
    assert f"{volume.name}" in said


def test_the_same_package_is_the_same_bytes_and_replaces_the_former(
    packed: tuple[Path, Result], tmp_path: Path
) -> None:
    folder, _ = packed
    spec = BOARDS / "turnstone.toml"
    wanted = (folder / "turnstone-machine.zip").read_bytes()
    again = run("machine", spec, "--allowance", "1 mm", "--deck", "2 mm",
                "--blank", SPECS / "blanks/short-wide.toml", "--date", "2026-05-01", "-o", tmp_path)  # fmt: skip
    assert again.exit_code == 0, again.output
    assert (tmp_path / "turnstone" / "machine" / "turnstone-machine.zip").read_bytes() == wanted
    plain = run("machine", spec, "-o", tmp_path)
    assert plain.exit_code == 0, plain.output
    names = {path.name for path in (tmp_path / "turnstone" / "machine").iterdir()}
    assert not any("to-cut" in name or "blank" in name for name in names)
    # Files of the maker's own are never replaced.
    (tmp_path / "turnstone" / "machine" / "note.txt").write_text("mine")
    refused = run("machine", spec, "-o", tmp_path)
    assert refused.exit_code == 2
    assert "note.txt" in refused.output


def solids_of(path: Path) -> dict[str, Mesh]:
    """Return the solids of a 3MF file by name, read by the format's own library."""
    model = lib3mf.get_wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    found, objects = {}, model.GetMeshObjects()
    while objects.MoveNext():
        each = objects.GetCurrentMeshObject()
        places = np.array([list(vertex.Coordinates) for vertex in each.GetVertices()])
        corners = np.array([list(triangle.Indices) for triangle in each.GetTriangleIndices()])
        found[each.GetName()] = Mesh(vertices=places, triangles=corners.astype(np.int64))
    return found


def heights(solid: trimesh.Trimesh, x: float, y: float) -> list[float]:
    """Return where an upright line meets a solid, ascending."""
    a, b, c = (solid.triangles[:, i, :2] - [x, y] for i in range(3))
    turns = [p[:, 0] * q[:, 1] - p[:, 1] * q[:, 0] for p, q in ((b, c), (c, a), (a, b))]
    met = (np.min(turns, axis=0) > 0.0) | (np.max(turns, axis=0) < 0.0)
    share = np.stack(turns, axis=1)[met]
    return sorted((share * solid.triangles[met, :, 2]).sum(axis=1) / share.sum(axis=1))


def test_the_blank_stands_about_the_board_as_the_fit_found_it(packed: tuple[Path, Result]) -> None:
    folder, _ = packed
    report = json.loads((folder / "report.json").read_text("utf-8"))
    solids = solids_of(folder / "turnstone-in-blank.3mf")
    assert sorted(solids) == ["Turnstone", "blank: Short wide"]
    board, block = (solid_of(solids[name]) for name in ("Turnstone", "blank: Short wide"))
    # What is left on the deck is 2 mm: all of it lies in the block, with that much less foam about it.
    assert float((board - block).volume()) == pytest.approx(0.0, abs=1.0)
    finished = trimesh.load_mesh(folder / "turnstone.stl")
    hull = solids["blank: Short wide"].vertices
    gap = solid_of(Mesh(vertices=finished.vertices, triangles=finished.faces)).min_gap(
        (manifold3d.Manifold.cube((4000.0, 2000.0, 1000.0)).translate((-1000.0, -1000.0, -500.0)) - block), 50.0
    )
    assert gap == pytest.approx(report["blank"]["least_cover_mm"], abs=3.5)
    assert gap > report["blank"]["least_cover_mm"] - 0.3
    assert report["blank"]["tail_end_ahead_of_its_own_mm"] == pytest.approx(
        finished.bounds[0][0] - hull[:, 0].min(), abs=1.5
    )


def test_pockets_tabs_and_hot_wire_are_in_what_is_cut(tmp_path: Path) -> None:
    text = (BOARDS / "turnstone.toml").read_text("utf-8") + '\n[hot_wire]\nkerf = "1.5 mm"\n'
    spec = changed(tmp_path, "turnstone", text)
    result = run("machine", spec, "--allowance", "2 mm", "--pockets", "--dowels", "3/8 in", "-o", tmp_path / "out")
    assert result.exit_code == 0, result.output
    folder = tmp_path / "out" / "turnstone" / "machine"
    report = json.loads((folder / "report.json").read_text("utf-8"))
    names = {entry["name"] for entry in report["files"]}
    assert {f"turnstone-hot-wire-{path}.dxf" for path in ("outline-from-deck", "profile-from-port")} <= names
    assert report["hot_wire_off_mm"] == pytest.approx(25.4 / 8.0 + 0.75)
    solid = trimesh.load_mesh(folder / "turnstone-to-cut-deck-up.stl")
    assert solid.is_watertight
    assert solid.body_count == 1
    assert report["datums"]["dowel_holes"]["diameter_mm"] == pytest.approx(9.525)
    for x, y in report["datums"]["dowel_holes"]["at_mm"]:
        # Through the hole there is nothing, beside it there is foam.
        assert heights(solid, x + 0.1, y + 0.2) == []
        assert len(heights(solid, x + 0.1, y + 8.0)) == 2
    # The floor of the plug's pocket is as deep as the spec says, whatever is left on the deck.
    (drawn,) = loaded([spec])
    (pocket,) = pockets(drawn.board, drawn.body)
    middle = pocket.middle_mm
    floor = heights(solid, 203.2 + 0.1, -31.75)[-1]
    assert middle[2] - floor == pytest.approx(0.75 * 25.4, abs=0.15)
    said = " ".join(pypdf.PdfReader(folder / "sheet.pdf").pages[0].extract_text().split())
    assert "9.525 mm holes on y = 0" in said
    assert "leash plug" in said


def test_foam_under_a_laminate_is_what_is_cut(tmp_path: Path) -> None:
    result = run("machine", BOARDS / "whimbrel.toml", "--laminate", "1 mm", "-o", tmp_path)
    assert result.exit_code == 0, result.output
    folder = tmp_path / "whimbrel" / "machine"
    whole, under = (trimesh.load_mesh(folder / f"whimbrel{end}.stl") for end in ("", "-to-cut-deck-up"))
    assert under.is_watertight
    assert whole.extents - under.extents == pytest.approx([2.0, 2.0, 2.0], abs=0.05)


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--allowance", "1"], "a length without a unit"),
        (["--allowance", "2 m"], "no allowance that is sanded off"),
        (["--allowance", "thick", "--deck", "40 mm"], "2 faults"),
        (["--deck", "2 mm"], "--bottom too, or --allowance"),
        (["--dowels", "40 mm"], "no dowel for this"),
        (["--laminate", "1 mm", "--allowance", "1 mm"], "one of the two"),
        (["--laminate", "5 mm"], "the least radius is"),
        (["--pockets"], "no plugs, so there are no pockets"),
        (["--blank", SPECS / "blanks" / "nowhere.toml"], "no such file"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_written(tmp_path: Path, arguments: list[str | Path], told: str) -> None:
    result = run("machine", BOARDS / "whimbrel.toml", *arguments, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert told in result.output
    assert not (tmp_path / "out").exists()


def test_less_foam_than_is_to_be_left_on_is_told(tmp_path: Path) -> None:
    result = run("machine", BOARDS / "turnstone.toml", "--allowance", "10 mm",
                 "--blank", SPECS / "blanks" / "short-wide.toml", "-o", tmp_path)  # fmt: skip
    assert result.exit_code == 0, result.output
    assert "look: that is less than what is to be left on" in result.output
    assert np.isfinite(json.loads((tmp_path / "turnstone/machine/report.json").read_text("utf-8"))["volume_mm3"])
