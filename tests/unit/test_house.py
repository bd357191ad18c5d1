"""The rules of the house that a machine can check."""

from __future__ import annotations

import ast
import platform
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import numpy
import pytest
import scipy

import bayloft
from bayloft.record.libraries import DECIDING, libraries

ROOT = Path(__file__).parents[2]
MODULES = sorted((ROOT / "pipeline" / "bayloft").rglob("*.py"))


def test_imports_go_downward() -> None:
    result = subprocess.run(
        [Path(sys.executable).with_name("lint-imports"), "--no-cache"],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        errors="replace",
        check=False,
    )
    assert result.returncode == 0, result.stdout


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.stem)
def test_modules_stay_short(module: Path) -> None:
    assert len(module.read_text(encoding="utf-8").splitlines()) <= 400


def test_no_two_public_classes_share_a_name() -> None:
    homes: dict[str, list[str]] = {}
    for module in MODULES:
        for node in ast.parse(module.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                homes.setdefault(node.name, []).append(module.relative_to(ROOT).as_posix())
    assert {name: places for name, places in homes.items() if len(places) > 1} == {}


def test_help_starts_without_the_heavy_libraries() -> None:
    code = "import sys, bayloft.cli; print(*sorted(m for m in sys.modules if '.' not in m))"
    loaded = set(
        subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    )
    heavy = {"numpy", "scipy", "ezdxf", "svgwrite", "reportlab", "shapely", "trimesh", "pydantic", "manifold3d"}
    assert not loaded & heavy


def test_five_names_for_a_notebook() -> None:
    assert len(bayloft.__all__) == 5
    assert all(callable(getattr(bayloft, name)) for name in bayloft.__all__)


def test_readme_opens_with_the_job_and_holds_two_commands() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    assert text.startswith("# bayloft\n\n")
    commands = re.findall(r"```sh\n(python3 .*)\n```", text)
    assert len(commands) == 2
    assert all(command.startswith("python3 -m venv") for command in commands)


def test_a_report_names_the_libraries_that_decide_bytes() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    needed = {re.split(r"[^\w-]", dependency)[0] for dependency in project["dependencies"]}
    assert needed - set(DECIDING) == {"click", "pydantic", "tree-sitter", "tree-sitter-toml"}
    assert set(DECIDING) <= needed
    said = libraries()
    assert said["python"] == platform.python_version()
    assert (said["numpy"], said["scipy"]) == (numpy.__version__, scipy.__version__)
