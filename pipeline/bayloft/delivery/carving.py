"""The files with which a gantry carves a board: each program's text, read back and proved before it is written."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from bayloft.cutting.carving.bounds import ReadProgram, air_lift_mm, bounds, failure, in_the_air
from bayloft.cutting.carving.dowels import hole_in_block_mm
from bayloft.cutting.carving.paths import FINISHING, CarveProgram
from bayloft.cutting.carving.programs import dowel_program, face_programs
from bayloft.cutting.carving.proof import FaceProof, dowel_findings, proved_face
from bayloft.cutting.carving.sequence import Sequence3D, followed, sequence_findings
from bayloft.cutting.carving.setup import FACES, CarveJob, Face
from bayloft.cutting.carving.stock import Cuts3D
from bayloft.cutting.routing.proof import minutes
from bayloft.export.gcode import CutFiles, written_carving
from bayloft.export.gcode_reader import Program, read
from bayloft.findings import CheckError, Finding
from bayloft.spec.shops.dialects import DIALECTS

Progress = Callable[[str], None]
"""Called with what is done next."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WrittenProgram:
    """A program with its text and that of its dry run; `face` is None for holes, by how much the dry run is lifted."""

    program: CarveProgram
    face: Face | None
    cut: str
    air: str
    lift_mm: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CarvedFiles:
    """The proved files of a board by stem, in the order in which they are run; and what the proof found, by face."""

    files: dict[str, CutFiles]
    programs: dict[str, CarveProgram]
    faces: tuple[FaceProof, ...]
    sequences: tuple[Sequence3D, ...]
    findings: tuple[Finding, ...]

    @property
    def minutes(self) -> float:
        """How long all of it takes at its feeds."""
        return sum(each.minutes for each in self.files.values())


def carved_files(job: CarveJob, told: Progress) -> CarvedFiles:
    """Return the proved files of a job. Raises CheckError with all that the proof found wrong."""
    return proved_carving(job, written_programs(job, told), told)


def written_programs(job: CarveJob, told: Progress) -> list[WrittenProgram]:
    """Return the programs of a job as text, in the order in which they are run."""
    found: list[WrittenProgram] = []
    for face in FACES:
        told(f"holes, and passes over the {face}")
        made: list[tuple[CarveProgram, Face | None]] = [(dowel_program(job, in_bed=face == "bottom"), None)]
        made += [(program, face) for program in face_programs(job, face)]
        dialect = DIALECTS[job.machine.dialect]
        for program, of in made:
            lift = air_lift_mm(job, program)
            cut, air = written_carving(program, dialect), written_carving(program, dialect, air_lift_mm=lift)
            found.append(WrittenProgram(program=program, face=of, cut=cut, air=air, lift_mm=lift))
    return found


def proved_carving(job: CarveJob, written: Sequence[WrittenProgram], told: Progress) -> CarvedFiles:
    """Return the files of programs once their text is read back, and the block cut with it in simulation.

    Raises
    ------
    CheckError
        With all that was found wrong.
    """
    told("reading the programs back")
    programs = [(each, read(each.cut), read(each.air)) for each in written]
    findings = [finding for each, cut, air in programs for finding in _unread(each, (cut, air))]
    _stop(job, findings)
    reads = [
        ReadProgram(program=each.program, motions=cut.motions, finishing_line=_finishing_line(each.cut))
        for each, cut, _ in programs
    ]
    for (each, _, air), one in zip(programs, reads, strict=True):
        findings += [*bounds(job, one), *in_the_air(one, air.motions, each.lift_mm)]
    block, bed = (one for each, one in zip(written, reads, strict=True) if each.face is None)
    findings += dowel_findings(job, block, bed, (hole_in_block_mm(job), job.gantry.dowel_in_bed_mm))
    _stop(job, findings)
    faces, sequences = [], []
    for face in FACES:
        own = [one for each, one in zip(written, reads, strict=True) if each.face == face]
        cuts = [(Cuts3D.of(one.motions), one) for one in own]
        told(f"cutting the {face} in simulation, level by level")
        sequence = followed(job, [(of, one.program.cutter) for of, one in cuts])
        findings += sequence_findings(job, f"{job.name}: {face} up", sequence)
        told(f"holding the {face} against the surface")
        proof, found = proved_face(job, face, cuts, (block, bed))
        findings += found
        faces.append(proof)
        sequences.append(sequence)
    _stop(job, findings)
    files = {
        each.program.stem: CutFiles(
            cut=each.cut,
            air=each.air,
            minutes=minutes(cut.motions, job.machine) + cut.dwell_s / 60.0,
            tabs=0 if each.face is None else len(job.held.tabs),
            findings=(),
        )
        for each, cut, _ in programs
    }
    return CarvedFiles(
        files=files,
        programs={each.program.stem: each.program for each in written},
        faces=tuple(faces),
        sequences=tuple(sequences),
        findings=tuple(findings),
    )


def _finishing_line(text: str) -> int:
    """Return the line of a file from which on it says that it finishes, 0 if it does not."""
    lines = text.split("\n")
    return next((n for n, line in enumerate(lines, 1) if line.startswith("(step") and FINISHING in line), 0)


def _stop(job: CarveJob, findings: Sequence[Finding]) -> None:
    failures = tuple(finding for finding in findings if not finding.passed)
    if failures:
        raise CheckError(f"{job.name} on the gantry", failures)


def _unread(each: WrittenProgram, programs: Sequence[Program]) -> Iterator[Finding]:
    for program, which in zip(programs, ("cut", "dry run"), strict=True):
        for problem in program.problems[:20]:
            where = f"{each.program.title}, {which}"
            yield failure("gcode-text", where, len(program.problems), 0.0, problem, unit="problems")
