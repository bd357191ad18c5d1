"""The libraries that decide the bytes of files, with their versions: what is needed to make the same files again."""

from __future__ import annotations

import platform
from functools import cache
from importlib.metadata import version

DECIDING = (
    "contourpy",
    "daqp",
    "ezdxf",
    "Hershey-Fonts",
    "manifold3d",
    "numpy",
    "reportlab",
    "scipy",
    "shapely",
    "svgwrite",
)
"""Dependencies that reckon, draw or write; the others read a spec or the command line."""


@cache
def libraries() -> dict[str, str]:
    """Return the versions of Python and of the libraries in DECIDING, as installed here."""
    return {"python": platform.python_version()} | {name.lower(): version(name) for name in DECIDING}
