"""The proof of programs that carve a board: it passes what is right, and what is broken in the text it finds."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from bayloft.cutting.carving.bounds import ReadProgram, bounds, in_the_air
from bayloft.cutting.carving.dowels import hole_in_block_mm
from bayloft.cutting.carving.proof import FaceProof, dowel_findings, proved_face, turned_back
from bayloft.cutting.carving.sequence import followed, sequence_findings
from bayloft.cutting.carving.setup import Face
from bayloft.cutting.carving.stock import Cuts3D
from bayloft.delivery.carving import _finishing_line, proved_carving
from bayloft.export.gcode import written_carving
from bayloft.export.gcode_reader import read
from bayloft.findings import Finding
from bayloft.spec.shops.dialects import DIALECTS

from ..carving import GANTRY, job, knot, knot_programs


def reading(index: int, change: Callable[[str], str] = str) -> ReadProgram:
    """Return a program of the short board as it is found in its text, changed before it is read."""
    written = knot_programs()[1][index]
    text = change(written.cut)
    found = read(text)
    assert found.problems == ()
    return ReadProgram(program=written.program, motions=found.motions, finishing_line=_finishing_line(text))


def proved(
    face: Face, change: Callable[[str], str] = str, holes: Callable[[str], str] = str
) -> tuple[FaceProof, dict[str, Finding]]:
    index = 1 if face == "deck" else 3
    one = reading(index, change)
    dowels = reading(0, holes), reading(2)
    proof, findings = proved_face(knot_programs()[0], face, [(Cuts3D.of(one.motions), one)], dowels)
    return proof, {each.code: each for each in findings if not each.passed}


def moved(axis: str, by: float, sign: float = 1.0) -> Callable[[str], str]:
    def shift(text: str) -> str:
        def word(found: re.Match[str]) -> str:
            return f"{axis}{sign * float(found[1]) + by:.4f}"

        lines = [
            line if line.startswith("(") else re.sub(rf"{axis}(-?[0-9.]+)", word, line) for line in text.split("\n")
        ]
        return "\n".join(lines)

    return shift


@pytest.fixture(scope="module", name="whole")
def _whole() -> dict[str, tuple[FaceProof, dict[str, Finding]]]:
    return {"deck": proved("deck"), "bottom": proved("bottom")}


def test_a_short_board_is_proved_as_written(whole: dict[str, tuple[FaceProof, dict[str, Finding]]]) -> None:
    for proof, failures in whole.values():
        assert failures == {}
        # What is promised: ridges of 0.4 mm within a tenth, and there they are.
        assert 0.3 < proof.cusp_mm <= 0.44
        assert proof.gouge_mm < 0.02
        assert abs(proof.off_mm) < 0.02
        assert proof.places > 15_000


def test_what_is_asked_of_the_whole_is_kept_on_the_way() -> None:
    made, programs = knot_programs()
    files = proved_carving(made, programs, lambda _doing: None)
    assert list(files.files) == ["1-block-dowels", "2-deck", "3-bed-dowels", "4-bottom"]
    for sequence in files.sequences:
        assert sequence.deepest_mm <= 15.0 * 4.0 / 3.0
        assert sequence.stick_out_mm <= 80.0
    assert files.minutes > 20.0


@pytest.mark.parametrize("change", [moved("X", 1.0), moved("Y", 0.5), moved("X", 1228.0, -1.0)])
def test_a_flip_that_is_shifted_or_end_for_end_is_found(change: Callable[[str], str]) -> None:
    _, failures = proved("bottom", change)
    assert {"cusp", "gouged"} & failures.keys()


def test_a_bottom_that_was_not_turned_over_is_found() -> None:
    thick = knot_programs()[0].thickness_mm
    _, failures = proved("bottom", moved("Z", thick - 12.0, -1.0))
    assert failures


def test_holes_beside_the_stringer_are_found() -> None:
    _, failures = proved("bottom", holes=moved("Y", 1.0))
    assert "gouged" in failures
    made = knot_programs()[0]
    deep = reading(0), reading(2, apart)
    assert [each.code for each in dowel_findings(made, *deep, (hole_in_block_mm(made), 12.0))] == ["dowels"]


def apart(text: str) -> str:
    """Put the nose's hole a mm further forward."""
    return re.sub(r"X([0-9]{3,}[.][0-9]+)", lambda found: f"X{float(found[1]) + 1.0:.4f}", text)


def test_turned_back_twice_is_where_it_was() -> None:
    made = knot_programs()[0]
    points = np.array([[100.0, 50.0, 20.0], [900.0, -30.0, 5.0]])
    once = turned_back(made, points, reading(0), reading(2))
    assert once == pytest.approx(points * [1.0, -1.0, -1.0] + [0.0, 0.0, made.thickness_mm], abs=1e-3)


def finishing_lines(text: str) -> list[int]:
    lines = text.split("\n")
    start = next(n for n, line in enumerate(lines) if line.startswith("(step") and "finishing, deck" in line)
    return [n for n in range(start + 200, len(lines) - 200) if re.fullmatch(r"G1 X\S+ Y\S+ Z\S+", lines[n])]


@pytest.mark.parametrize("by", [0.5, -0.5])
def test_one_height_half_a_mm_off_is_found(by: float) -> None:
    def change(text: str) -> str:
        lines = text.split("\n")
        at = finishing_lines(text)[900]
        lines[at] = re.sub(r"Z(\S+)", lambda found: f"Z{float(found[1]) + by:.4f}", lines[at])
        return "\n".join(lines)

    _, failures = proved("deck", change)
    assert "off-surface" in failures


def test_a_line_that_was_lost_is_found() -> None:
    def change(text: str) -> str:
        lines = text.split("\n")
        # Where the way turns most a line is missed most.
        places = finishing_lines(text)
        at = np.array([[float(v) for v in re.findall(r"[XYZ](\S+)", lines[n])] for n in places])
        apart = np.linalg.norm(at[1:-1] - (at[:-2] + at[2:]) / 2.0, axis=1)
        del lines[places[1 + int(np.argmax(apart * (np.diff(places)[:-1] == 1)))]]
        return "\n".join(lines)

    made = knot_programs()[0]
    one, dry = reading(1, change), read(knot_programs()[1][1].air)
    air = [each.code for each in in_the_air(one, dry.motions, knot_programs()[1][1].lift_mm)]
    assert air == ["air-other"]
    assert list(bounds(made, one)) == []


def test_a_level_that_was_left_out_is_found() -> None:
    def change(text: str) -> str:
        lines = text.split("\n")
        steps = [n for n, line in enumerate(lines) if line.startswith("(step")]
        return "\n".join(lines[: steps[1]] + lines[steps[2] :])

    made = knot_programs()[0]
    one = reading(1, change)
    found = followed(made, [(Cuts3D.of(one.motions), made.rougher)])
    failures = {each.code for each in sequence_findings(made, "deck", found) if not each.passed}
    assert "level-deep" in failures


def test_bounds_are_found() -> None:
    made = knot_programs()[0]
    low = reading(1, lambda text: re.sub(r"G0 X(\S+) Y(\S+)\nG1 Z", r"G0 X\1 Y\2\nG0 Z", text, count=1))
    assert {each.code for each in bounds(made, low)} >= {"rapid-low"}
    fast = reading(1, lambda text: re.sub(r"F[0-9]+", "F9000", text))
    assert {each.code for each in bounds(made, fast)} == {"feed-high"}
    deep = reading(1, moved("Z", -30.0))
    assert {each.code for each in bounds(made, deep)} >= {"too-low", "rapid-low"}
    aside = reading(1, moved("Y", 500.0))
    assert "off-block" in {each.code for each in bounds(made, aside)}


def test_the_holder_needs_a_cutter_that_stands_out_far_enough() -> None:
    made = replace(knot_programs()[0], gantry=replace(knot_programs()[0].gantry, holder_mm=90.0, stick_out_mm=45.0))
    one = reading(3)
    found = followed(made, [(Cuts3D.of(one.motions), made.rougher)])
    failures = {each.code: each for each in sequence_findings(made, "bottom", found) if not each.passed}
    assert "holder-hits" in failures
    assert "a longer cutter" in failures["holder-hits"].text
    assert found.stick_out_mm > 45.0


@pytest.mark.parametrize("dialect", sorted(DIALECTS))
def test_every_dialect_says_the_same_moves(dialect: str) -> None:
    for index in (0, 1):
        written = knot_programs()[1][index]
        program = replace(written.program, stages=written.program.stages[:2])
        plain = read(written_carving(program, DIALECTS["arcs"]))
        found = read(written_carving(program, DIALECTS[dialect]))
        assert found.problems == ()
        assert found.motions[-1].end == plain.motions[-1].end
        assert sum(m.length_mm for m in found.motions) == pytest.approx(
            sum(m.length_mm for m in plain.motions), rel=1e-3
        )


def test_two_cutters_are_two_programs_of_each_face() -> None:
    from bayloft.cutting.carving.programs import face_programs  # noqa: PLC0415

    made = job(GANTRY.replace("dowel = 16", 'dowel = 16\nroughing_cutter = "10 mm straight"'))
    programs = face_programs(made, "deck")
    assert [each.stem for each in programs] == ["2-deck-rough", "2-deck-finish"]
    assert [each.cutter.kind for each in programs] == ["flat", "ball"]
    assert knot().board.name == made.name
