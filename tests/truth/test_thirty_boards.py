"""Trial boards of every kind, from their specs to meshes: each number met, the surface on its sections, the mesh sound.

What a spec asks is read from the table of trials itself, in inches, and looked for on the surface by bisection alone.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np
import pytest
from numpy.typing import NDArray

from bayloft.errors import SpecError
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.section_places import APEX
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.checks import CheckedMesh, checked_mesh
from bayloft.solid.dimensions import dimensions
from bayloft.solid.integrals import Integrals, integrals
from bayloft.solid.surface import Surface
from bayloft.spec.boards.board import Board
from bayloft.spec.loading import load_board
from bayloft.tolerances import CHORD_MM

from .trial_boards import REFUSED, TRIALS, VOLUMES, Trial, toml

Array = NDArray[np.float64]

MET_MM = 0.01
"""mm: a tenth of what a steel rule can show."""
INCH, FOOT = 25.4, 304.8
PLACES = 4000
"""Random places of a surface at which it is held against its sections."""
FINEST = 1e-6
"""Relative, of a volume extrapolated from a mesh and its halving (Richardson)."""

ALL: dict[str, Trial] = TRIALS | {name: trial for name, (trial, _) in VOLUMES.items()}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Lofted:
    board: Board
    lines: BoardLines
    body: Body
    exact: Integrals
    checked: CheckedMesh


@cache
def lofted(name: str) -> Lofted:
    with TemporaryDirectory() as folder:
        spec = Path(folder) / "trial.toml"
        spec.write_text(toml(name, ALL[name]), encoding="utf-8")
        board = load_board(spec)
    lines = board_lines(board)
    body = board_body(lines)
    exact = integrals(body)
    return Lofted(board=board, lines=lines, body=body, exact=exact, checked=checked_mesh(body, exact, CHORD_MM, name))


def bisected(beyond: Callable[[float], float]) -> float:
    """The parameter in 0 to 1 where a growing function passes 0."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if beyond(middle) < 0.0 else (low, middle)
    return (low + high) / 2


def at_station(surface: Surface, x_mm: float, v: float) -> Array:
    u = bisected(lambda u: float(surface.at(u, v)[0]) - x_mm)
    return surface.at(u, v)


@pytest.mark.parametrize("name", ALL)
def test_the_typed_numbers_are_on_the_surface(name: str) -> None:
    """Length, three widths, two or three thicknesses, heights at both ends, as the table has them."""
    trial, board = ALL[name], lofted(name)
    surface, length = board.body.port, board.board.length_mm
    places = (length - FOOT, FOOT, length / 2 + trial.ahead[0] * INCH)
    for x, width in zip(places, trial.widths, strict=True):
        assert 2.0 * at_station(surface, x, APEX)[1] == pytest.approx(width * INCH, abs=MET_MM)
    places = (length - FOOT, FOOT, length / 2 + trial.ahead[1] * INCH)
    for x, thickness in zip(places, trial.thickness, strict=True):
        deck, bottom = at_station(surface, x, 1.0), at_station(surface, x, 0.0)
        assert deck[2] - bottom[2] == pytest.approx(thickness * INCH, abs=MET_MM)
    # Nowhere wider or thicker than at its widest and thickest.
    stations = np.linspace(FOOT, length - FOOT, 41)
    widths = [2.0 * at_station(surface, x, APEX)[1] for x in stations]
    assert max(widths) <= trial.widths[2] * INCH + MET_MM
    thick = [at_station(surface, x, 1.0)[2] - at_station(surface, x, 0.0)[2] for x in stations]
    assert max(thick) <= trial.thickness[2] * INCH + MET_MM
    # The board stands on its lowest place, and its bottom line, carried on under the tips, has the heights given.
    assert min(at_station(surface, x, 0.0)[2] for x in stations) == pytest.approx(0.0, abs=0.1)
    nose, tail = board.lines.rocker.at([length, 0.0])
    assert (nose, tail) == (
        pytest.approx(trial.rocker[0] * INCH, abs=MET_MM),
        pytest.approx(trial.rocker[1] * INCH, abs=MET_MM),
    )


@pytest.mark.parametrize("name", ALL)
def test_every_number_of_the_spec_is_met(name: str) -> None:
    """All that the board's own measuring finds, rails, edges, drops and shapes of deck and bottom among it."""
    board = lofted(name)
    for number in dimensions(board.board, board.lines, board.body):
        limit = number.limit_mm if number.what.startswith("radius") else MET_MM
        assert abs(number.error_mm) <= limit, (number.path, number.what, number.asked_mm, number.lofted_mm)


@pytest.mark.parametrize("name", ALL)
def test_the_surface_follows_its_sections(name: str) -> None:
    """At random places, hardly one of them a site. Where sections fan out to a wall, the surface is held against the
    section of the station where it is.
    """
    board = lofted(name)
    random = np.random.default_rng(8)
    u, v = random.uniform(0.0, 1.0, (2, PLACES))
    found = board.body.port.at(u, v)
    fanned = (u < 0.5) & (board.lines.wall is not None)
    stations = np.clip(found[:, 0], 0.0, board.lines.length_mm)
    expected = board.lines.points(np.where(fanned, board.lines.outline.parameter(stations), u), v)
    off = np.linalg.norm(found - expected, axis=-1)
    worst = int(off.argmax())
    assert off[worst] <= MET_MM, (off[worst], found[worst], v[worst])


@pytest.mark.parametrize("name", ALL)
def test_the_mesh_is_sound(name: str) -> None:
    """Closed, inscribed, within its chord tolerance; the volume's error falls with the square of the spacing, and what
    is extrapolated is the integral.
    """
    checked, exact = lofted(name).checked, lofted(name).exact
    assert [finding.code for finding in checked.findings if not finding.passed] == []
    assert checked.deviation_mm <= CHORD_MM
    assert checked.order == pytest.approx(2.0, abs=0.1)
    assert checked.extrapolated_volume_mm3 == pytest.approx(exact.volume_mm3, rel=FINEST)
    assert checked.mesh.unpaired_edges() == 0


@pytest.mark.parametrize("name", TRIALS)
def test_no_section_crosses_itself(name: str) -> None:
    """At thirty stations: the deck above the bottom, and no place further off the stringer than the rail."""
    board = lofted(name)
    surface = board.body.port
    for u in np.linspace(0.02, 0.995, 30):
        half = surface.grid([u], np.linspace(0.0, 1.0, 401))[0]
        v = np.linspace(0.0, 1.0, 401)
        widest = int(half[:, 1].argmax())
        assert v[widest] == pytest.approx(APEX, abs=0.01)
        # Off the stringer from the bottom's middle to the rail, and back.
        assert (np.diff(half[: widest + 1, 1]) > -1e-9).all()
        assert (np.diff(half[widest:, 1]) < 1e-9).all()
        across = np.linspace(0.0, half[widest, 1], 50)[:-1]
        low = np.interp(across, half[: widest + 1, 1], half[: widest + 1, 2])
        high = np.interp(across, half[widest:, 1][::-1], half[widest:, 2][::-1])
        assert (high > low).all()


@pytest.mark.parametrize("name", VOLUMES)
def test_three_widths_and_a_thickness_have_the_usual_volume(name: str) -> None:
    """Given only these numbers. Common practice, no source."""
    least, most = VOLUMES[name][1]
    assert least <= lofted(name).exact.volume_mm3 / 1e6 <= most


@pytest.mark.parametrize("what", REFUSED)
def test_what_cannot_be_is_told_and_what_is_tried_instead_will_do(what: str, tmp_path: Path) -> None:
    """A board of the table with one number changed: the fault names its key; with the number that its message allows or
    suggests the board lofts.
    """
    name, old, typed, key, instead = REFUSED[what]
    spec = tmp_path / "trial.toml"
    spec.write_text(toml(name, TRIALS[name]).replace(old, typed), encoding="utf-8")
    with pytest.raises(SpecError) as raised:
        board_lines(load_board(spec))
    assert [fault.path for fault in raised.value.faults] == [key]
    spec.write_text(toml(name, TRIALS[name]).replace(old, instead), encoding="utf-8")
    assert board_lines(load_board(spec)).length_mm > 0.0
