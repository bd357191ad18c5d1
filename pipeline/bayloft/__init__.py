"""bayloft: from a board maker's numbers to one exact, fair surface, and everything the shop cuts from it.

Five names serve a notebook: `load_board` reads a spec, `lofted` turns it into surface, integrals and mesh,
`build_boards` and `check_boards` do what the commands do, and `BayloftError` is what all of them raise.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from bayloft.build import build_boards, check_boards
    from bayloft.errors import BayloftError
    from bayloft.solid.loft import lofted
    from bayloft.spec.loading import load_board

__all__ = ["BayloftError", "build_boards", "check_boards", "load_board", "lofted"]

_HOMES = {
    "BayloftError": "bayloft.errors",
    "build_boards": "bayloft.build",
    "check_boards": "bayloft.build",
    "load_board": "bayloft.spec.loading",
    "lofted": "bayloft.solid.loft",
}


def __getattr__(name: str) -> Any:
    # Loaded when asked for, so that the command line can answer --help at once.
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(name)
