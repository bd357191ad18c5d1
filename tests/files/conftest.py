"""One drawing with everything a template carries, from the invented Saltmarsh Boatshed."""

import os
import pickle
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.drawing.sheet import CENTRE, CUT, MARK, Drawing, Label
from bayloft.plane.biarcs import fitted
from bayloft.plane.contour import Contour
from bayloft.tolerances import ARC_FIT_MM

Array = NDArray[np.float64]


def half_outline(t: Array) -> tuple[Array, Array]:
    """The port half of a 7'4" board, round at both ends: parameter 0 at the tail end, 1 at the nose tip."""
    x, speed = 2235.0 * (3 * t**2 - 2 * t**3), 2235.0 * 6 * (t - t**2)
    width = t * (1 - t) * (900 + 300 * t)
    return np.column_stack([x, width]), np.column_stack([speed, 900 - 1200 * t - 900 * t**2])


@pytest.fixture(scope="session")
def template() -> Drawing:
    edge = fitted([(half_outline, 0.0, 1.0)], ARC_FIT_MM)
    slot = Contour(points=[[600, 20], [700, 20], [700, 40], [600, 40]], bulges=[0, 1, 0, 1], closed=True)
    return Drawing(
        name="whimbrel-outline",
        contours=(
            (CUT, Contour.joined(edge, closed=True)),
            (CUT, Contour.circle((300.0, 50.0), 5.0)),
            (CUT, slot.reversed()),
            (MARK, Contour.straight([[100.0, 20.0], [200.0, 20.0]], closed=False)),
            (CENTRE, Contour.straight([[0.0, 5.0], [2235.0, 5.0]], closed=False)),
        ),
        labels=(
            Label(text="100 mm", x_mm=150.0, y_mm=22.0, anchor="middle"),
            Label(text="Whimbrel 7'4\"", x_mm=900.0, y_mm=100.0, height_mm=12.0, turn_deg=15.0, bold=True),
            Label(text="nose", x_mm=2200.0, y_mm=10.0, anchor="end"),
        ),
    )


@pytest.fixture
def write_elsewhere(tmp_path: Path) -> Callable[..., None]:
    """Write with `bayloft.export.<format>` as on another computer: home, time zone, locale, hash seed, processor."""

    def write(file_format: str, subject: object, path: Path, **options: str) -> None:
        script = (
            "import pickle, sys; from importlib import import_module; "
            "subject, path, options = pickle.load(sys.stdin.buffer); "
            f"import_module('bayloft.export.{file_format}').write(subject, path, **options)"
        )
        settings = {
            "HOME": str(tmp_path),
            "LC_ALL": "C",
            "NPY_DISABLE_CPU_FEATURES": " ".join(np.show_config(mode="dicts")["SIMD Extensions"].get("found", [])),
            "PYTHONHASHSEED": "12345",
            "TZ": "Pacific/Auckland",
        }
        command, given = [sys.executable, "-W", "error", "-c", script], pickle.dumps((subject, path, options))
        done = subprocess.run(command, input=given, env=os.environ | settings, capture_output=True, check=False)
        assert (done.returncode, done.stdout, done.stderr.decode()) == (0, b"", "")

    return write
