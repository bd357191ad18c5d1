"""What `lift` does: a sheet of readings to the spec of a board, of a fin, or of rails, by what was read."""

from __future__ import annotations

import os
from pathlib import Path

from bayloft.lift.board import lifted_board
from bayloft.lift.fin import lifted_fin
from bayloft.lift.lifted import Lifted
from bayloft.lift.rails import lifted_rails
from bayloft.spec.readings.sheet import sheet_source

KINDS = {"traced": lifted_fin, "gauged": lifted_rails}
"""What is lifted where a sheet has readings of this name; a board where it has none of them."""


def lift(readings: Path, folder: str | os.PathLike[str]) -> Lifted:
    """Write the spec of what was read, and a drawing of both, into a folder.

    Raises
    ------
    SpecError
        With every fault of the sheet, and every reading that no fair line passes within its accuracy.
    OutputError
        If a file of either name is in the folder, or it cannot be written.
    """
    source = sheet_source(readings)
    kind = next((lifted for key, lifted in KINDS.items() if key in source.values), lifted_board)
    return kind(source, folder)
