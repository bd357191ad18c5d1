"""A package for a machine by the command line: what is in it, read back, and what is refused."""

from __future__ import annotations

import hashlib
import json
import zipfile
from pathlib import Path

import numpy as np
import pypdf
import pytest
import trimesh
from click.testing import CliRunner, Result

from bayloft.cli import main

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
    names = ["turnstone-allowance-bottom-up.stl", "turnstone-allowance-deck-up.stl", "turnstone-allowance.3mf",
             "turnstone.3mf", "turnstone.step", "turnstone.stl", "turnstone-keel.step",
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
        trimesh.load_mesh(folder / f"turnstone{end}.stl") for end in ("", "-allowance-deck-up", "-allowance-bottom-up")
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
    for part in ("1727.2 mm (5' 8\")", "x from the tail end to the nose", "3/32\" on the deck, 1/32\" on the bottom",
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
    for _ in range(2):
        again = run("machine", spec, "--allowance", "1 mm", "--deck", "2 mm",
                    "--blank", SPECS / "blanks/short-wide.toml", "--date", "2026-05-01", "-o", tmp_path)  # fmt: skip
        assert again.exit_code == 0, again.output
        assert (tmp_path / "turnstone" / "machine" / "turnstone-machine.zip").read_bytes() == wanted
    plain = run("machine", spec, "-o", tmp_path)
    assert plain.exit_code == 0, plain.output
    names = {path.name for path in (tmp_path / "turnstone" / "machine").iterdir()}
    assert not any("allowance" in name for name in names)
    # Files of the maker's own are never replaced.
    (tmp_path / "turnstone" / "machine" / "note.txt").write_text("mine")
    refused = run("machine", spec, "-o", tmp_path)
    assert refused.exit_code == 2
    assert "note.txt" in refused.output


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (["--allowance", "1"], "a length without a unit"),
        (["--allowance", "2 m"], "no allowance that is sanded off"),
        (["--allowance", "thick", "--deck", "40 mm"], "2 faults"),
        (["--deck", "2 mm"], "--bottom too, or --allowance"),
        (["--blank", SPECS / "blanks" / "nowhere.toml"], "no such file"),
    ],
)
def test_what_is_wrong_is_told_and_nothing_written(tmp_path: Path, arguments: list[str | Path], told: str) -> None:
    result = run("machine", BOARDS / "whimbrel.toml", *arguments, "-o", tmp_path / "out")
    assert result.exit_code == 2
    assert told in result.output
    assert not (tmp_path / "out").exists()


def test_an_allowance_that_a_hollow_does_not_bear_is_told(tmp_path: Path) -> None:
    text = (BOARDS / "sanderling.toml").read_text("utf-8")
    spec = changed(tmp_path, "sanderling", text.replace('depth = "3/16 in"', 'depth = "3/8 in"'))
    result = run("machine", spec, "--allowance", "25 mm", "-o", tmp_path / "out")
    assert result.exit_code in (0, 2)
    if result.exit_code == 2:
        assert "too near to the surface in a hollow" in result.output
        assert not (tmp_path / "out" / "sanderling").exists()


def test_less_foam_than_is_to_be_left_on_is_told(tmp_path: Path) -> None:
    result = run("machine", BOARDS / "turnstone.toml", "--allowance", "10 mm",
                 "--blank", SPECS / "blanks" / "short-wide.toml", "-o", tmp_path)  # fmt: skip
    assert result.exit_code == 0, result.output
    assert "look: that is less than what is to be left on" in result.output
    assert np.isfinite(json.loads((tmp_path / "turnstone/machine/report.json").read_text("utf-8"))["volume_mm3"])
