"""Every check on a mesh must be able to fail: each is shown the fault it is there for."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest

from bayloft.lines.drafting import board_lines
from bayloft.solid import checks
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.checks import checked_assembly, checked_mesh
from bayloft.solid.dimensions import dimensions, number_findings
from bayloft.solid.integrals import Integrals, integrals
from bayloft.solid.loft import LoftedBoard, lofted
from bayloft.solid.mesh import Mesh
from bayloft.solid.meshing import meshed
from bayloft.spec.loading import load_board

SPEC = Path(__file__).parents[3] / "specs" / "boards" / "whimbrel.toml"
TOLERANCE_MM = 0.2


@pytest.fixture(scope="module")
def body() -> Body:
    return board_body(board_lines(load_board(SPEC)))


@pytest.fixture(scope="module")
def exact(body: Body) -> Integrals:
    return integrals(body)


def failures(body: Body, exact: Integrals) -> set[str]:
    checked = checked_mesh(body, exact, TOLERANCE_MM, "board")
    return {finding.code for finding in checked.findings if not finding.passed}


def test_a_sound_board_passes(body: Body, exact: Integrals) -> None:
    checked = checked_mesh(body, exact, TOLERANCE_MM, "board")
    assert all(finding.passed for finding in checked.findings)
    assert len({finding.code for finding in checked.findings}) == 9
    assert checked.tolerance_mm == TOLERANCE_MM
    assert checked.volume_mm3 < checked.halved_volume_mm3 < exact.volume_mm3
    assert checked.order == pytest.approx(2.0, abs=0.02)


def holed(mesh: Mesh) -> Mesh:
    return replace(mesh, triangles=mesh.triangles[:-1])


def inside_out(mesh: Mesh) -> Mesh:
    return replace(mesh, triangles=mesh.triangles[:, ::-1])


def pinched(mesh: Mesh) -> Mesh:
    vertices = mesh.vertices.copy()
    a, b, _ = mesh.triangles[len(mesh.triangles) // 3]
    # Along the board: where a height is nearly nought, single precision would tell them apart.
    vertices[a] = vertices[b] + [1e-7, 0.0, 0.0]
    return replace(mesh, vertices=vertices)


def dented(mesh: Mesh) -> Mesh:
    """A third of the board, from the nose, narrowed by a hundredth."""
    vertices = mesh.vertices.copy()
    vertices[vertices[:, 0] > 1500.0] *= [1.0, 0.99, 1.0]
    return replace(mesh, vertices=vertices)


@pytest.mark.parametrize(
    ("fault", "codes"),
    [
        (holed, {"mesh-closed", "mesh-manifold"}),
        (inside_out, {"mesh-outward", "mesh-volume"}),
        (pinched, {"mesh-facets"}),
        (dented, {"mesh-extrapolated", "mesh-order"}),
    ],
)
def test_a_faulty_mesh_is_caught(
    body: Body, exact: Integrals, monkeypatch: pytest.MonkeyPatch, fault: Callable[[Mesh], Mesh], codes: set[str]
) -> None:
    monkeypatch.setattr(checks, "meshed", lambda body, grid: fault(meshed(body, grid)))
    assert failures(body, exact) >= codes


@pytest.mark.parametrize(
    ("factor", "codes"),
    [
        (1.05, {"mesh-volume", "mesh-order", "mesh-extrapolated"}),
        (0.97, {"mesh-volume", "mesh-inscribed", "mesh-order", "mesh-extrapolated"}),
        (1.0 + 3e-5, {"mesh-extrapolated"}),
    ],
)
def test_a_volume_that_is_not_the_integrals_is_caught(
    body: Body, exact: Integrals, factor: float, codes: set[str]
) -> None:
    assert failures(body, replace(exact, volume_mm3=exact.volume_mm3 * factor)) >= codes


def test_a_mesh_that_leaves_the_surface_is_caught(
    body: Body, exact: Integrals, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(checks, "chord_deviation", lambda *_: 1.01 * TOLERANCE_MM)
    assert failures(body, exact) == {"chord-deviation"}


def test_numbers_of_another_board_are_caught(body: Body) -> None:
    """A board asked for 0.5 mm wider than the one lofted."""
    board = load_board(SPEC)
    lines = board_lines(board)
    assert all(finding.passed for finding in number_findings(dimensions(board, lines, body)))
    wider = replace(board, widths=tuple(replace(number, value=number.value + 0.5) for number in board.widths))
    failed = [finding for finding in number_findings(dimensions(wider, lines, body)) if not finding.passed]
    assert {finding.code for finding in failed} == {"given-number"}
    assert len(failed) == len(board.widths)
    assert [finding.measured for finding in failed] == pytest.approx([0.5] * len(failed), abs=1e-4)


@pytest.mark.parametrize(
    ("length", "nose", "tail", "wide", "ahead"),
    [(3093.356, 348.011, 312.684, 500.904, 125.117), (3098.159, 338.246, 301.113, 498.795, 128.712)],
)
def test_an_outline_that_is_nearly_straight_where_it_is_widest_passes(
    length: float, nose: float, tail: float, wide: float, ahead: float, tmp_path: Path
) -> None:
    """Where its radius is a hundred metres or more, the widest place is a stretch, and no station tells it."""
    shutil.copytree(SPEC.parents[1], tmp_path / "specs")
    place = tmp_path / "specs" / "boards" / "fulmar.toml"
    text = place.read_text(encoding="utf-8")
    for old, new in (
        ('"10 ft 2 in"', f'"{length} mm"'),
        ("nose_width = 12.25", f'nose_width = "{nose} mm"'),
        ('tail_width = "11 3/8 in"', f'tail_width = "{tail} mm"'),
        ("{ width = 20.5, ahead_of_centre = 6 }", f'{{ width = "{wide} mm", ahead_of_centre = "{ahead} mm" }}'),
    ):
        assert old in text
        text = text.replace(old, new)
    place.write_text(text, encoding="utf-8")
    board = load_board(place)
    lines = board_lines(board)
    assert abs(float(lines.outline.curvature(lines.outline.wide_u))) < 2e-5
    lofted_board = board_body(lines)
    assert all(finding.passed for finding in number_findings(dimensions(board, lines, lofted_board)))
    moved = replace(board, wide_point=replace(board.wide_point, x_mm=board.wide_point.x_mm + 2.0))
    failed = [finding for finding in number_findings(dimensions(moved, lines, lofted_board)) if not finding.passed]
    assert [finding.where for finding in failed] == ["outline.wide_point.width (station of the wide point)"]
    # Less what of the stretch lies on that side.
    assert 1.0 < failed[0].measured < 2.05


def test_an_area_curve_of_another_volume_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("bayloft.solid.loft.AREA_CURVE_RELATIVE", 1e-12)
    board = lofted(replace(load_board(SPEC), fins=()), 0.5)
    assert {finding.code for finding in board.failures} == {"area-curve"}


@pytest.fixture(scope="module")
def turnstone() -> LoftedBoard:
    return lofted(load_board(SPEC.with_name("turnstone.toml")), 1.0)


@pytest.mark.parametrize(("factor", "codes"), [(1.0, set()), (1.001, {"assembly-volume"})])
def test_an_assembly_of_another_volume_is_caught(factor: float, codes: set[str], turnstone: LoftedBoard) -> None:
    whole = turnstone.with_fins
    assert whole is not None
    found = checked_assembly(whole, turnstone.checked.volume_mm3 * factor, "x")
    assert {finding.code for finding in found if not finding.passed} == codes
    opened = replace(whole, whole=holed(whole.whole))
    found = checked_assembly(opened, turnstone.checked.volume_mm3, "x")
    assert "mesh-closed" in {finding.code for finding in found if not finding.passed}
