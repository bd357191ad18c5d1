"""Two boards held against one another by the command line: specs, archives and meshes, and what is refused."""

from __future__ import annotations

import json
import re
import zipfile
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pypdf
import pytest
import trimesh
from click.testing import CliRunner, Result

from bayloft.cli import main
from bayloft.export.stl import content as stl_bytes
from bayloft.export.zipped import stored
from bayloft.record.surface_text import surface_text
from bayloft.solid.body import Body
from bayloft.solid.integrals import integrals
from bayloft.solid.mesh import Mesh
from bayloft.solid.meshing import grid_for, meshed

from ..demo import SPECS, changed, draft

BOARDS = SPECS / "boards"
SPEC = BOARDS / "dunlin.toml"


@pytest.fixture(autouse=True)
def _fewer(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bayloft.solid.apart.PLACES", 1500)
    monkeypatch.setattr("bayloft.solid.apart.BACK_PLACES", 300)
    monkeypatch.setattr("bayloft.solid.apart.MAP_STATIONS", 61)


def run(*arguments: str | Path) -> Result:
    return CliRunner().invoke(main, ["compare", *map(str, arguments)])


def said(folder: Path) -> dict[str, Any]:
    return dict(json.loads((folder / "report.json").read_text("utf-8")))


def size(report: dict[str, Any], key: str) -> dict[str, Any]:
    return next(row for row in report["sizes"] if row["key"] == key)


@pytest.fixture(scope="module", name="mesh")
def _mesh() -> Mesh:
    body = draft("dunlin").body
    return meshed(body, grid_for(body, 0.2))


def written(path: Path, mesh: Mesh, scale: float = 1.0, way: tuple[int, int, int] = (0, 1, 2), sign: Any = 1.0) -> Path:
    """A mesh as another program writes it, of no unit, its axes where they are asked."""
    trimesh.Trimesh((mesh.vertices * scale)[:, way] * sign, mesh.triangles, process=False).export(path)
    return path


def archived(path: Path, body: Body, name: str = "Dunlin", volume: float | None = None) -> Path:
    report = {"name": name, "unit": "mm", "integrals": {"volume_mm3": volume or integrals(body).volume_mm3}}
    members = {"report.json": json.dumps(report).encode(), "surface.txt": surface_text(body).encode()}
    path.write_bytes(stored(members))
    return path


def test_two_boards_side_by_side(tmp_path: Path) -> None:
    result = run(BOARDS / "whimbrel.toml", BOARDS / "dunlin.toml", "-o", tmp_path, "--align", "wide")
    assert result.exit_code == 0, result.output
    assert re.search(r"length +7' 4\" +6' 2\" +−14\"", result.output)
    assert re.search(r"wide point, ahead of centre +2\" +−(31/32|1)\" +−(2 31/32|3)\"", result.output)
    assert "laid wide on wide" in result.output
    folder = tmp_path / "whimbrel-dunlin"
    report = said(folder)
    assert {entry["name"] for entry in report["files"]} == {"comparison-1.svg", "comparison-2.svg", "comparison.pdf"}
    assert size(report, "length")["difference"] == pytest.approx(1879.6 - 2235.2)
    assert size(report, "volume")["a"] == pytest.approx(integrals(draft("whimbrel").body).volume_mm3, rel=1e-8)
    assert report["aligned"]["by"] == "wide"
    assert report["b_over_a"]["least_mm"] <= report["b_over_a"]["mean_mm"] <= report["b_over_a"]["greatest_mm"]
    assert report["stations"][3]["width_mm"]["a"] > 0.0
    pages = pypdf.PdfReader(folder / "comparison.pdf").pages
    assert len(pages) == 2
    assert float(pages[0].mediabox.width) / 72 * 25.4 == pytest.approx(210.0, abs=0.1)
    assert float(pages[0].mediabox.height) / 72 * 25.4 == pytest.approx(279.4, abs=0.1)
    text = pages[0].extract_text() + pages[1].extract_text()
    for word in ("Dunlin", "against Whimbrel", "greatest width", "B stands out over A", "outline, 1:"):
        assert word in text
    assert "/work" not in (folder / "report.json").read_text("utf-8")


def test_the_same_comparison_is_the_same_bytes(tmp_path: Path) -> None:
    for out in ("one", "two"):
        assert run(SPEC, BOARDS / "turnstone.toml", "-o", tmp_path / out).exit_code == 0
    one, two = (sorted((tmp_path / out / "dunlin-turnstone").iterdir()) for out in ("one", "two"))
    assert [path.read_bytes() for path in one] == [path.read_bytes() for path in two]
    # Made again in its place; and nothing of somebody else's is replaced.
    assert run(SPEC, BOARDS / "turnstone.toml", "-o", tmp_path / "one").exit_code == 0
    (tmp_path / "one" / "dunlin-turnstone" / "mine.txt").write_text("mine")
    refused = run(SPEC, BOARDS / "turnstone.toml", "-o", tmp_path / "one")
    assert refused.exit_code == 2
    assert "mine.txt" in refused.output


def test_a_board_and_its_own_stl_are_alike_in_any_unit_and_way(tmp_path: Path, mesh: Mesh) -> None:
    own = tmp_path / "own.stl"
    own.write_bytes(stl_bytes(mesh, name="dunlin"))
    inches = written(tmp_path / "inches.ply", mesh, 1 / 25.4)
    upright = written(tmp_path / "upright.obj", mesh, 0.1, (1, 2, 0), np.array([1.0, -1.0, -1.0]))
    reports = {}
    for path, told in (
        (own, ()),
        (inches, ("--unit", "in")),
        (upright, ("--unit-b", "cm", "--nose-b", "-z", "--up-b", "-y")),
    ):
        result = run(SPEC, path, *told, "-o", tmp_path / "out")
        assert result.exit_code == 0, result.output
        assert "look" not in result.output
        reports[path.name] = report = said(tmp_path / "out" / f"dunlin-{path.name.replace('.', '-')}")
        lies = report["b_over_a"]
        assert max(-lies["least_mm"], lies["greatest_mm"]) < 0.21
        assert abs(lies["mean_mm"]) < 0.1
        volume = size(report, "volume")
        assert volume["b"] == pytest.approx(mesh.volume_mm3, rel=1e-5)
        assert volume["difference"] == pytest.approx(mesh.volume_mm3 - volume["a"], rel=1e-2)
    assert reports["own.stl"]["b"]["unit_from"] == "the file"
    assert reports["inches.ply"]["b"]["unit_from"] == "told"
    for row, other in zip(reports["own.stl"]["sizes"], reports["upright.obj"]["sizes"], strict=True):
        assert row["b"] == pytest.approx(other["b"], rel=1e-4, abs=0.3), row["key"]
    for row, other in zip(reports["own.stl"]["sizes"], reports["inches.ply"]["sizes"], strict=True):
        assert row["b"] == pytest.approx(other["b"], rel=1e-5, abs=0.1), row["key"]


def test_a_unit_is_asked_for_and_never_guessed(tmp_path: Path, mesh: Mesh) -> None:
    path = written(tmp_path / "scan.stl", mesh, 1 / 25.4)
    result = run(SPEC, path, "-o", tmp_path)
    assert result.exit_code == 2
    assert (
        """Its longest side is 74: in mm 74 mm; in cm 740 mm; in metres 74 m; in inches 1,880 mm, 6' 2"; in feet"""
        in (result.output)
    )
    assert "--unit-b" in result.output
    assert not (tmp_path / "dunlin-scan-stl").exists()
    wrong = run(SPEC, path, "--unit", "mm", "-o", tmp_path)
    assert wrong.exit_code == 2
    assert "in mm it is 74 mm long, which is no board" in wrong.output
    # What the file says goes before what is told of whichever states none; not before what is told of it alone.
    own = tmp_path / "own.stl"
    own.write_bytes(stl_bytes(replace(mesh, vertices=mesh.vertices / 25.4), name="dunlin"))
    assert "in mm it is 74 mm long" in run(SPEC, own, "--unit", "in", "-o", tmp_path).output
    told = run(SPEC, own, "--unit-b", "in", "-o", tmp_path)
    assert told.exit_code == 0, told.output
    assert "its file says that it is in mm; it is taken in in, as told" in told.output.replace("inches", "in")


def test_how_a_mesh_lies_is_asked_for_and_looked_at(tmp_path: Path, mesh: Mesh) -> None:
    aside = written(tmp_path / "aside.stl", mesh, way=(1, 0, 2), sign=np.array([-1.0, 1.0, 1.0]))
    result = run(SPEC, aside, "--unit", "mm", "-o", tmp_path)
    assert result.exit_code == 2
    assert re.search(r"its box is 482 x 1880 x \d+ mm along x, y and z: longest along y, least along z", result.output)
    assert "--nose-b y or --nose-b=-y" in result.output
    back = run(SPEC, aside, "--unit", "mm", "--nose-b=-y", "-o", tmp_path)
    assert back.exit_code == 0
    assert "turned end for end it would be nearer to A" in back.output
    right = run(SPEC, aside, "--unit", "mm", "--nose-b", "y", "-o", tmp_path)
    assert "look" not in right.output
    down = run(SPEC, written(tmp_path / "down.stl", mesh, sign=np.array([1, -1, -1])), "--unit", "mm", "-o", tmp_path)
    assert "its bottom hangs lowest at an end: if it lies deck down, --up-b=-z" in down.output
    both = run(SPEC, aside, "--unit", "mm", "--nose-b", "z", "-o", tmp_path)
    assert "cannot both lie along z" in both.output
    forced = run(SPEC, aside, "--unit", "mm", "--nose-b", "x", "--up-b", "z", "-o", tmp_path)
    assert "as told, it is not longest towards its nose" in forced.output


def test_a_mesh_with_a_fin_a_hole_or_a_second_board(tmp_path: Path, mesh: Mesh) -> None:
    fin = trimesh.creation.box((200, 10, 200), trimesh.transformations.translation_matrix([300, 0, -60]))
    board = trimesh.Trimesh(mesh.vertices, mesh.triangles, process=False)
    united = trimesh.util.concatenate([board, fin])
    # One body: the fin hangs on the board by a facet.
    joined = trimesh.Trimesh(united.vertices, [*united.faces, [0, len(board.vertices), 1]], process=False)
    joined.export(tmp_path / "finned.stl")
    result = run(SPEC, tmp_path / "finned.stl", "--unit", "mm", "-o", tmp_path)
    assert result.exit_code == 2
    assert "something stands out of its bottom at the stringer" in result.output
    united.export(tmp_path / "loose-fin.stl")
    result = run(SPEC, tmp_path / "loose-fin.stl", "--unit", "mm", "-o", tmp_path)
    assert "1 shorter body in it, a fin or a speck, is left out" in result.output
    two = trimesh.util.concatenate([board, board.copy().apply_translation([0, 900, 0])])
    two.export(tmp_path / "two.stl")
    result = run(SPEC, tmp_path / "two.stl", "--unit", "mm", "-o", tmp_path)
    assert "2 closed bodies of a board's length are in it" in result.output
    up = mesh.vertices[mesh.triangles].mean(axis=1)
    hole = (up[:, 2] > 40.0) & (np.abs(up[:, 0] - 900.0) < 60.0) & (np.abs(up[:, 1]) < 60.0)
    written(tmp_path / "open.stl", replace(mesh, triangles=mesh.triangles[~hole]))
    result = run(SPEC, tmp_path / "open.stl", "--unit", "mm", "-o", tmp_path)
    assert result.exit_code == 0, result.output
    assert "it is not closed: its volume and areas are not told" in result.output
    report = said(tmp_path / "dunlin-open-stl")
    assert report["b"]["closed"] is False
    assert size(report, "volume")["b"] is None
    assert size(report, "greatest_width")["difference"] == pytest.approx(0.0, abs=0.2)
    inside_out = written(tmp_path / "inside-out.stl", replace(mesh, triangles=mesh.triangles[:, ::-1]))
    assert run(SPEC, inside_out, "--unit", "mm", "-o", tmp_path).exit_code == 0
    report = said(tmp_path / "dunlin-inside-out-stl")
    assert report["b"]["was_inside_out"] is True
    assert report["b_over_a"]["greatest_mm"] < 0.2


def test_an_archive_is_compared_by_its_own_surface(tmp_path: Path) -> None:
    body = draft("dunlin").body
    wider = replace(body, port=replace(body.port, net=body.port.net * np.array([1.0, 1.05, 1.0])))
    result = run(archived(tmp_path / "old.zip", wider), SPEC, "-o", tmp_path)
    assert result.exit_code == 0, result.output
    report = said(tmp_path / "dunlin-archive-dunlin")
    assert size(report, "greatest_width")["a"] == pytest.approx(1.05 * size(report, "greatest_width")["b"], abs=1e-3)
    assert size(report, "volume")["a"] == pytest.approx(1.05 * size(report, "volume")["b"], rel=1e-8)
    assert report["b_over_a"]["least_mm"] == pytest.approx(-0.025 * size(report, "greatest_width")["b"], rel=0.05)


def test_archives_that_are_none_or_do_harm_are_refused(tmp_path: Path) -> None:
    body = draft("dunlin").body
    net = body.port.net
    spoilt = {
        "other.zip": (body, 3e7, "another volume than it states"),
        "back.zip": (replace(body, port=replace(body.port, net=net[::-1])), 1.0, "no board's surface"),
        "vast.zip": (replace(body, port=replace(body.port, net=net * 1e6)), None, "no board's surface"),
        "fin.zip": (replace(body, end="face"), 1.0, "no board's surface"),
        "two.zip": (replace(body, starboard=body.port), 1.0, "no board's surface"),
    }
    for name, (shape, volume, told) in spoilt.items():
        result = run(SPEC, archived(tmp_path / name, shape, volume=volume), "-o", tmp_path)
        assert result.exit_code == 2, result.output
        assert told in result.output
    with zipfile.ZipFile(tmp_path / "bare.zip", "w") as bare:
        bare.writestr("notes.txt", "nothing")
    assert "no archive of a board: report.json, surface.txt" in run(SPEC, tmp_path / "bare.zip", "-o", tmp_path).output
    named = archived(tmp_path / "named.zip", body, name="\x1b[31m../../Dunlin\n" + "x" * 500)
    result = run(SPEC, named, "-o", tmp_path / "out")
    assert result.exit_code == 0, result.output
    assert "\x1b[31m" not in result.output
    (folder,) = (tmp_path / "out").iterdir()
    assert folder.name.startswith("dunlin-31m-dunlin")


def test_the_faults_of_both_are_told_at_once(tmp_path: Path) -> None:
    text = SPEC.read_text("utf-8").replace("length =", "lenght =", 1)
    result = run(changed(tmp_path, "dunlin", text), tmp_path / "gone.stl", "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert "lenght" in result.output
    assert "no such file" in result.output
    assert not (tmp_path / "out").exists()


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        ((SPEC, BOARDS), "a folder"),
        ((SPEC, SPECS / "readings" / "avocet.csv"), "of no kind that is compared"),
        ((SPEC, SPEC, "--unit-b", "mm"), "a spec is no mesh"),
        ((SPEC, SPEC, "--align", "middle"), "tail"),
        ((SPEC, SPEC, "--unit", "yards"), "mm"),
    ],
)
def test_what_is_asked_wrongly_is_told(tmp_path: Path, arguments: tuple[str | Path, ...], told: str) -> None:
    result = run(*arguments, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert told in result.output
    assert not (tmp_path / "out").exists()


def test_two_meshes_are_compared_without_a_spec(tmp_path: Path) -> None:
    ball = trimesh.creation.icosphere(subdivisions=4)
    for name, axes in (("one", [900.0, 250.0, 40.0]), ("other", [900.0, 250.0, 44.0])):
        trimesh.Trimesh(ball.vertices * axes, ball.faces, process=False).export(tmp_path / f"{name}.ply")
    result = run(tmp_path / "one.ply", tmp_path / "other.ply", "--unit", "mm", "-o", tmp_path)
    assert result.exit_code == 0, result.output
    report = said(tmp_path / "one-ply-other-ply")
    assert size(report, "volume")["b"] == pytest.approx(1.1 * size(report, "volume")["a"], rel=1e-9)
    assert report["b_over_a"]["greatest_mm"] == pytest.approx(8.0, abs=0.2)
    assert report["unit"] == "mm"
