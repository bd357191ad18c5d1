"""What `machine` does: a board's solids, with what is left on them, as a package for a machine-shaping service."""

from __future__ import annotations

import datetime
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from bayloft.build import VERSION, Named, Told, folders_of, loaded, passed, silent
from bayloft.delivery.machine_files import MACHINE_MM, Machining, machine_files
from bayloft.errors import Fault, SpecError, gathered
from bayloft.fit import cover_of
from bayloft.foam.asking import fitted
from bayloft.foam.blocks import on_rack
from bayloft.record.folder import MACHINE, claimed
from bayloft.solid.holding import Holding
from bayloft.solid.offsetting import Allowance
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.text.options import typed_mm

ALLOWANCES_MM = (0.1, 25.4)
"""mm beyond which what is left on is a blank and no allowance (common practice, no source)."""


DOWELS_MM, LAMINATES_MM = (3.0, 25.4), (0.1, 8.0)
"""mm, diameters of dowels and bolts that hold foam, and thicknesses of what a board is glassed with (common practice,
no source)."""


AS_FINISHED = Machining()


@dataclass(frozen=True, slots=True, kw_only=True)
class Packed:
    """A package that was written: its folder, and what its report says."""

    folder: Path
    report: dict[str, Any]


def typed_allowance(even: str | None, deck: str | None, bottom: str | None) -> Allowance | None:
    """Return the allowance typed as lengths, None where none is; deck and bottom are the even one where left out, the
    rail's is the middle of both.

    Raises SpecError with all that are no length, or out of bounds.
    """
    faults: list[Fault] = []
    found: dict[str, float] = {}
    for option, typed in (("--allowance", even), ("--deck", deck), ("--bottom", bottom)):
        if typed is None:
            continue
        found[option] = 0.0
        with gathered(faults):
            found[option] = typed_mm(option, typed, ALLOWANCES_MM, "no allowance that is sanded off")
    if not faults and found and "--allowance" not in found and len(found) == 1:
        (only,) = found
        other = "--bottom" if only == "--deck" else "--deck"
        hint = f"{other} too, or --allowance for what is left elsewhere"
        faults.append(Fault(file=only, line=None, path=(), value="", problem="alone", hint=hint))
    if faults:
        raise SpecError(tuple(faults))
    if not found:
        return None
    on_deck, on_bottom = (found.get(option, found.get("--allowance", 0.0)) for option in ("--deck", "--bottom"))
    return Allowance(deck_mm=on_deck, bottom_mm=on_bottom, rail_mm=found.get("--allowance", (on_deck + on_bottom) / 2))


def typed_dowels(typed: str | None) -> Holding | None:
    """Return how a board is held on dowels of a diameter typed as a length, None where none is. Raises SpecError."""
    return None if typed is None else Holding(dowel_mm=typed_mm("--dowels", typed, DOWELS_MM, "no dowel for this"))


def typed_laminate(typed: str | None, allowance: Allowance | None) -> float:
    """Return the thickness of a laminate typed as a length, mm; 0 where none is. Raises SpecError, also where both it
    and an allowance are asked for.
    """
    if typed is None:
        return 0.0
    if allowance is not None:
        hint = "one of the two: foam that is cut smaller for its laminate, or larger to be sanded"
        raise SpecError(
            (Fault(file="--laminate", line=None, path=(), value=typed, problem="beside an allowance", hint=hint),)
        )
    return typed_mm("--laminate", typed, LAMINATES_MM, "no laminate of a board")


def pack_board(
    spec: Path,
    out: Named = "out",
    *,
    how: Machining = AS_FINISHED,
    blank: Path | None = None,
    date: datetime.date | None = None,
    waits: Told = silent,
) -> Packed:
    """Write a board's package into the folder `machine` of the board's own in `out`, and return it.

    Parameters
    ----------
    spec : the board's file.
    out : folder for the boards' folders.
    how : what the solid to cut is to be; there is none if left out.
    blank : file of the block that the board's place in is told; that of the board's own file if left out.
    date : written on the sheet; none is if left out.
    waits : called with the board's name if another command has its folder, which is then waited for.

    Raises
    ------
    SpecError, CheckError, OffsetError, OutputError
        A faulty file; a shape that fails its own checks; an allowance that its hollows do not bear; a place that cannot
        be written, or is not this board's.
    """
    (draft,) = loaded([spec])
    board = draft.board
    if how.pockets and not board.plugs:
        hint = "[[plugs]] in the board's file, or without --pockets"
        raise SpecError((board.source.fault(("plugs",), "", "no plugs, so there are no pockets", hint=hint),))
    named = blank or (board.blank.file if board.blank else None)
    fit = None if named is None else fitted(draft, on_rack(load_blank(named)), cover_of(board))
    shape = passed(draft, MACHINE_MM)
    files, said = machine_files(shape, how, fit, VERSION, date)
    with claimed(folders_of([draft], out), waits) as (claim,):
        claim.put_files(MACHINE, files)
    return Packed(folder=claim.folder / MACHINE, report=said)
