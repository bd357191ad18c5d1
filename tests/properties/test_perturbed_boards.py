"""The demo boards with every number a few percent off, as a maker tries one thing and another: each is checked whole or
refused with its fault told. None is a defect, and none passes as a spec and then fails its own checks.
"""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from pathlib import Path
from random import Random

import pytest
from click.testing import CliRunner

from bayloft.cli import main
from bayloft.units import angle_deg, length_mm

SPECS = Path(__file__).parents[2] / "specs"
BOARDS = sorted(path.stem for path in SPECS.glob("boards/*.toml"))
SEEDS = range(5)
SHARE = 0.03
"""Share of itself by which a number may be off, either way."""


COUNTS = ("plies_per_session",)


def off(value: object, seed: int) -> object:
    """Return what a key says with its numbers off by up to SHARE, equal ones alike, for places that were one stay one;
    counts, and texts that are no size, stay.
    """
    factor = 1.0 + Random(f"{seed} {value}").uniform(-SHARE, SHARE)
    if isinstance(value, dict):
        return {key: inner if key in COUNTS else off(inner, seed) for key, inner in value.items()}
    if isinstance(value, list):
        return [off(inner, seed) for inner in value]
    if isinstance(value, float) or (isinstance(value, int) and not isinstance(value, bool)):
        return round(value * factor, 4)
    if isinstance(value, str):
        for reading, unit in ((lambda text: length_mm(text, None), "mm"), (angle_deg, "deg")):
            try:
                return f"{reading(value) * factor:.3f} {unit}"
            except ValueError:
                continue
    return value


def as_toml(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {as_toml(inner)}" for key, inner in value.items()) + "}"
    if isinstance(value, list):
        return "[" + ", ".join(map(as_toml, value)) + "]"
    return json.dumps(value, ensure_ascii=False)


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("board", BOARDS)
def test_a_perturbed_board_is_whole_or_its_fault_is_told(board: str, seed: int, tmp_path: Path) -> None:
    shutil.copytree(SPECS, tmp_path / "specs")
    for path in (tmp_path / "specs").glob("[bfr]*/*.toml"):
        spec = off(tomllib.loads(path.read_text(encoding="utf-8")), seed)
        assert isinstance(spec, dict)
        text = "".join(f"{key} = {as_toml(value)}\n" for key, value in spec.items())
        path.write_text(text, encoding="utf-8")
    result = CliRunner().invoke(main, ["check", str(tmp_path / "specs" / "boards" / f"{board}.toml"), "--jobs", "1"])
    assert result.exit_code in (0, 2), result.output
    if result.exit_code == 2:
        assert re.search(r"(?m)^(bayloft: )?\S+\.toml:\d+: [\w.\[\]]+: \S", result.output), result.output
        assert "not TOML" not in result.output
