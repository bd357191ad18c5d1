"""A board with its fins is one closed solid wherever the fins stand."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from random import Random

import numpy as np
import pytest

from bayloft.solid.assembly import assembled
from bayloft.solid.checks import checked_assembly
from bayloft.solid.loft import LoftedBoard, lofted
from bayloft.solid.mesh import Mesh, single_precision, solid_of
from bayloft.solid.standing import base_foil, standing
from bayloft.spec.loading import load_board
from bayloft.tolerances import CHORD_MM

BOARDS = Path(__file__).parents[2] / "specs" / "boards"
PLACES = 12


@pytest.fixture(scope="module", params=["avocet", "dunlin", "turnstone"])
def board(request: pytest.FixtureRequest) -> LoftedBoard:
    return lofted(load_board(BOARDS / f"{request.param}.toml"), CHORD_MM)


def test_fins_anywhere_make_one_solid(board: LoftedBoard) -> None:
    """Somewhere near their places, with any toe and cant: closed, as an STL holds it, and of the right volume."""
    some = Random(board.board.slug)
    meshes = {fin.draft.fin.slug: fin.checked.mesh for fin in board.fins}
    foils = {fin.fin.slug: base_foil(fin.body) for fin in board.draft.fins}
    for _ in range(PLACES):
        placements = tuple(
            replace(
                placement,
                from_tail_mm=placement.from_tail_mm + some.uniform(0.0, 40.0),
                toe_deg=some.uniform(-4.0, 4.0) if placement.off_stringer_mm else 0.0,
                cant_deg=some.uniform(0.0, 12.0) if placement.off_stringer_mm else 0.0,
            )
            for placement in board.board.fins
        )
        stands = standing(placements, foils, board.body)
        assembly = assembled(board.checked.solid, stands, meshes)
        findings = checked_assembly(assembly, board.checked.volume_mm3, board.board.name)
        assert [finding for finding in findings if not finding.passed] == []
        for mesh in (assembly.whole, *(mesh for _, mesh in assembly.cut_fins)):
            assert np.array_equal(mesh.vertices, mesh.vertices.astype(np.float32))
            assert solid_of(mesh).status().name == "NoError"


def test_what_single_precision_makes_one_is_made_one() -> None:
    """A tetrahedron with a corner cut off by a millionth of a millimetre is a tetrahedron in an STL, and closed."""
    top = np.array([0.0, 0.0, 1000.0])
    near = top + 1e-6 * np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [-1.0, -1.0, 0.0]])
    base = np.array([[1000.0, 0.0, 0.0], [0.0, 1000.0, 0.0], [-1000.0, -1000.0, 0.0]])
    sides = [[3, 4, 0], [4, 1, 0], [4, 5, 1], [5, 2, 1], [5, 3, 2], [3, 0, 2]]
    cut = Mesh(vertices=np.concatenate([near, base]), triangles=np.array([[0, 1, 2], [3, 5, 4], *sides]))
    assert cut.unpaired_edges() == 0
    held = single_precision(cut)
    assert (len(held.vertices), len(held.triangles), held.unpaired_edges()) == (6, 8, 0)
    shifted = single_precision(replace(cut, vertices=cut.vertices + np.array([2000.0, 2000.0, 0.0])))
    assert (len(shifted.vertices), len(shifted.triangles), shifted.unpaired_edges()) == (4, 4, 0)
