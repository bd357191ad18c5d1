"""The same bytes whichever kernels of the linear algebra, and whichever instructions, suit the processor."""

from __future__ import annotations

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

SPECS = Path(__file__).parents[2] / "specs"
WHIMBREL = SPECS / "boards" / "whimbrel.toml"
ROUTER = SPECS / "shop" / "boatshed-router.toml"

KERNELS = ("Prescott", "Haswell", "SkylakeX")
"""Kernels of OpenBLAS for one processor after another. One that this processor cannot run ends the process, or is taken
for another."""

PROBE = """
import hashlib, numpy as np
random = np.random.default_rng(1)
a = random.random((60, 60))
print(hashlib.sha256((a @ a).tobytes() + np.linalg.solve(a, a[0]).tobytes() + np.exp(a).tobytes()).hexdigest())
"""
"""What is not to reach a file: products, solutions and exponentials as numpy works them out here."""


def elsewhere(kernel: str) -> dict[str, str]:
    """Return the environment in which numpy and scipy reckon as on another processor."""
    found = np.show_config(mode="dicts")["SIMD Extensions"].get("found", [])
    plain = {"NPY_DISABLE_CPU_FEATURES": " ".join(found)} if kernel == KERNELS[0] else {}
    return os.environ | {"OPENBLAS_CORETYPE": kernel} | plain


@pytest.fixture
def kernels() -> list[str]:
    """Give the kernels that reckon differently here."""
    blas = np.show_config(mode="dicts")["Build Dependencies"]["blas"]
    if "DYNAMIC_ARCH" not in blas.get("openblas configuration", ""):
        pytest.skip(f"numpy's linear algebra, {blas['name']}, cannot be told which kernels to use")
    said = {}
    for kernel in KERNELS:
        command = [sys.executable, "-c", PROBE]
        done = subprocess.run(command, env=elsewhere(kernel), capture_output=True, text=True, check=False)
        if done.returncode == 0:
            said.setdefault(done.stdout, kernel)
    if len(said) < 2:
        pytest.skip("the kernels that this processor can run give the same bits")
    return list(said.values())


def test_the_same_bytes_under_every_kernel(kernels: list[str], tmp_path: Path) -> None:
    trees = []
    for kernel in kernels:
        out = tmp_path / kernel
        for arguments in (["build", WHIMBREL], ["cut", WHIMBREL, "--shop", ROUTER, "--parts", "1, 3, 51-60"]):
            command = [sys.executable, "-m", "bayloft", *arguments, "-o", out, "--jobs", "1"]
            subprocess.run(command, env=elsewhere(kernel), capture_output=True, check=True)
        files = sorted(path for path in out.rglob("*") if path.is_file())
        trees.append(
            {path.relative_to(out).as_posix(): hashlib.sha256(path.read_bytes()).hexdigest() for path in files}
        )
    assert len(trees[0]) > 40
    for kernel, tree in zip(kernels[1:], trees[1:], strict=True):
        assert tree == trees[0], f"{kernel} differs from {kernels[0]}"
