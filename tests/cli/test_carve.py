"""Carving by the command line: what is written, and what is refused with what would do."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from bayloft.cli import main

from ..carving import GANTRY
from .small_board import KNOT


def run(folder: Path, shop: str, *arguments: str) -> Result:
    (folder / "knot.toml").write_text(KNOT, "utf-8")
    (folder / "shop.toml").write_text(shop, "utf-8")
    given = ["carve", str(folder / "knot.toml"), "--shop", str(folder / "shop.toml"), "-o", str(folder / "out")]
    return CliRunner().invoke(main, [*given, *arguments])


def test_a_board_is_carved_and_told(tmp_path: Path) -> None:
    result = run(tmp_path, GANTRY, "--date", "2026-05-01")
    assert result.exit_code == 0, result.output
    folder = tmp_path / "out" / "knot" / "carve"
    programs = ["1-block-dowels", "2-deck", "3-bed-dowels", "4-bottom"]
    names = {f"{stem}{end}.nc" for stem in programs for end in ("", "-dry-run")}
    assert {path.name for path in folder.iterdir()} == names | {"sheet.pdf", "sheet.svg", "report.json"}
    report = json.loads((folder / "report.json").read_text("utf-8"))
    assert [proof["face"] for proof in report["proof"]] == ["deck", "bottom"]
    assert all(proof["cusp_mm"] <= 0.44 and proof["gouge_mm"] <= 0.02 for proof in report["proof"])
    assert "minutes in all" in result.output


@pytest.mark.parametrize(
    ("shop", "arguments", "told"),
    [
        (GANTRY.replace("bed_length = 1600", "bed_length = 1200"), (), "and the bed has 1200"),
        (GANTRY.replace("z_travel = 260", "z_travel = 75"), (), "it can be raised by 75.0"),
        (GANTRY.replace('kind = "ball"', 'kind = "flat"'), (), "no ball cutter"),
        (GANTRY.replace("dowel = 16", "dowel = 10"), (), "dowels of 12 mm or more"),
        (GANTRY.replace("level_depth = 15", "level_depth = 61"), (), "deeper than the cutting edges"),
        (GANTRY[: GANTRY.index("[gantry]")], (), "missing"),
        (GANTRY, ("--thickness", "40 mm"), "the block is 40.0 mm thick"),
        (GANTRY, ("--thickness", "thick"), "--thickness"),
    ],
)
def test_what_cannot_be_carved_is_refused_and_nothing_written(
    tmp_path: Path, shop: str, arguments: tuple[str, ...], told: str
) -> None:
    result = run(tmp_path, shop, *arguments)
    assert result.exit_code in (2, 3), result.output
    assert told in result.output
    assert not (tmp_path / "out").exists()
