"""Programs for a router: a sheet's G-code and its dry run, proved from their text before anything is written."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

from bayloft.cutting.routing.proof import minutes, proved_in_the_air, proved_on_the_sheet
from bayloft.cutting.routing.tasks import OPERATIONS, Operation
from bayloft.cutting.routing.toolpath import Toolpath, job_of, toolpath
from bayloft.drawing.sheet import Drawing
from bayloft.export.gcode import CutFiles, written
from bayloft.export.gcode_reader import Program, read
from bayloft.findings import CheckError, Finding
from bayloft.spec.shops.dialects import DIALECTS
from bayloft.spec.shops.shop import Cutter, Cutting, Machine, Stock


def cut_files(
    name: str,
    placed: Sequence[Drawing],
    stock: Stock,
    cutter: Cutter,
    machine: Machine,
    cutting: Cutting,
    operations: Collection[Operation] = OPERATIONS,
) -> CutFiles:
    """Return the proved files of one sheet with one cutter.

    Parameters
    ----------
    name : what the sheet is called in comments and findings
    placed : drawings where they lie on the sheet, in mm from its lower left corner, x along its length
    operations : which of scribed lines, holes, and openings with outlines; another cutter may do the others

    Raises
    ------
    CheckError
        With everything that keeps the parts from being cut (see cutting/routing/reach.py), or with what the proof of
        the written text found wrong (see cutting/routing/proof.py).
    ValueError
        For a dialect that is not in spec/shops/dialects.py.
    """
    if machine.dialect not in DIALECTS:
        raise ValueError(f"no dialect of G-code is called {machine.dialect}; there are {', '.join(DIALECTS)}")
    path = toolpath(job_of(name, placed, stock, cutter, machine, cutting, operations))
    return proved(path, written(path, DIALECTS[machine.dialect]), written(path, DIALECTS[machine.dialect], air=True))


def proved(path: Toolpath, cut: str, air: str) -> CutFiles:
    """Return the files of a toolpath, once their text is read back and the sheet is cut with it in simulation.

    Raises
    ------
    CheckError
        With everything that the proof found.
    """
    programs = read(cut), read(air)
    findings = [*_unread(path, programs)]
    if not findings:
        findings += proved_on_the_sheet(path, programs[0].motions)
        findings += proved_in_the_air(path.job, programs[0].motions, programs[1].motions)
    failures = tuple(finding for finding in findings if not finding.passed)
    if failures:
        raise CheckError(path.job.name, failures)
    took = minutes(programs[0].motions, path.job.machine) + programs[0].dwell_s / 60
    return CutFiles(cut=cut, air=air, minutes=took, tabs=len(path.tabs), findings=(*path.findings, *findings))


def _unread(path: Toolpath, programs: Sequence[Program]) -> Iterator[Finding]:
    for program, which in zip(programs, ("cut", "dry run"), strict=True):
        for problem in program.problems[:20]:
            yield Finding(
                code="gcode-text",
                severity="failure",
                where=f"{path.job.name}, {which}",
                measured=len(program.problems),
                limit=0.0,
                unit="problems",
                text=problem,
            )
