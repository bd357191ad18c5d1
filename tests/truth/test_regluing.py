"""How halves bend: arcs in closed form, volume that stays, the rocker that was asked for, the beam relation."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.interpolate import make_interp_spline

from bayloft.foam.blocks import FoamBlock, on_rack, reglued
from bayloft.foam.fitting import BoardInBlank
from bayloft.foam.regluing import BeamSection, UnbendableError, beam_sections, regluing
from bayloft.lines.board import BoardLines
from bayloft.lines.drafting import board_lines
from bayloft.lines.profile import Profile
from bayloft.solid.board import board_body
from bayloft.solid.dimensions import dimensions
from bayloft.solid.integrals import integrals, section_areas
from bayloft.solid.measure import rocker, thickness, width
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.loading import load_board

from ..unit.solid.test_closest import to_triangles

Array = NDArray[np.float64]

SPECS = Path(__file__).parents[2] / "specs"
RACK = sorted((SPECS / "blanks").glob("*.toml"))
LENGTH_MM, DEEP_MM = 2600.0, 70.0


@cache
def block(name: str) -> FoamBlock:
    return on_rack(load_blank(SPECS / "blanks" / f"{name}.toml"))


def profile(height: Callable[[Array], Array], length_mm: float) -> Profile:
    at = np.linspace(0.0, 1.0, 121)
    return Profile(spline=make_interp_spline(at, height(at * length_mm), k=5), length_mm=length_mm)


def sagged(radius_mm: float, length_mm: float) -> Callable[[Array], Array]:
    """Heights of an arc that is lowest in the middle of a length; a straight line for no radius."""

    def height(x: Array) -> Array:
        if np.isinf(radius_mm):
            return np.zeros_like(x)
        return np.asarray(radius_mm - np.sqrt(radius_mm**2 - (x - length_mm / 2.0) ** 2))

    return height


def arched(radius_mm: float) -> BoardLines:
    """A bar whose bottom is an arc, and its centroid line the arc DEEP_MM / 2 inside of it."""
    bottom = sagged(radius_mm, LENGTH_MM)
    inner = radius_mm - DEEP_MM / 2.0

    def deep(x: Array) -> Array:
        if np.isinf(radius_mm):
            return np.full_like(x, DEEP_MM)
        middle = radius_mm - np.sqrt(inner**2 - (x - LENGTH_MM / 2.0) ** 2)
        return np.asarray(2.0 * (middle - bottom(x)))

    return replace(
        block("long-plain").lines,
        length_mm=LENGTH_MM,
        rocker=profile(bottom, LENGTH_MM),
        foil=profile(deep, LENGTH_MM),
        wall=None,
    )


def halfway(lines: BoardLines) -> tuple[BeamSection, ...]:
    x = np.linspace(60.0, LENGTH_MM - 60.0, 13)
    middle = lines.rocker.at(x) + lines.foil.at(x) / 2.0
    return tuple(
        BeamSection(x_mm=a, area_mm2=1.0, centroid_mm=b, moment_mm4=1.0)
        for a, b in zip(x.tolist(), middle.tolist(), strict=True)
    )


@pytest.mark.parametrize(("was_mm", "becomes_mm"), [(np.inf, 6000.0), (9000.0, 6000.0), (6000.0, 9000.0)])
def test_arcs_become_arcs(was_mm: float, becomes_mm: float) -> None:
    lines = arched(was_mm)
    bent = regluing(lines, halfway(lines), profile(sagged(becomes_mm, 3000.0), 3000.0))
    inner, new_inner = was_mm - DEEP_MM / 2.0, becomes_mm - DEEP_MM / 2.0
    # Points of the bar by the length s along the centroid line from the middle, and how far off it.
    s, off = (each.ravel() for each in np.meshgrid(np.linspace(-1200.0, 1200.0, 25), [-35.0, 0.0, 20.0, 35.0]))
    if np.isinf(was_mm):
        x, z = LENGTH_MM / 2.0 + s, 35.0 + off
    else:
        x, z = LENGTH_MM / 2.0 + (inner - off) * np.sin(s / inner), was_mm - (inner - off) * np.cos(s / inner)
    found = bent.shape(np.column_stack([x, np.full_like(x, 100.0), z]))
    # Its tail end has not turned in its own axes: turned back until the middle is level, it is the other arc.
    turn = bent.level_rad
    level_x = np.cos(turn) * found[:, 0] + np.sin(turn) * found[:, 2]
    level_z = -np.sin(turn) * found[:, 0] + np.cos(turn) * found[:, 2]
    want_x, want_z = (new_inner - off) * np.sin(s / new_inner), -(new_inner - off) * np.cos(s / new_inner)
    assert np.ptp(level_x - want_x) < 2e-6
    assert np.ptp(level_z - want_z) < 2e-6
    # A bar that bends by 1/R squeezes and stretches its faces by t/2R (the published relation R = t / (2 eps) of the
    # reference tables, here for a change of curvature between the centroid lines).
    change = 1.0 / new_inner - (0.0 if np.isinf(was_mm) else 1.0 / inner)
    for mark in bent.marks([600.0, 1300.0, 2000.0]):
        assert mark.change_1_mm == pytest.approx(change, rel=1e-6)
        assert mark.bottom_strain == pytest.approx(DEEP_MM / 2.0 * change, rel=1e-5)
        assert mark.deck_strain == pytest.approx(-DEEP_MM / 2.0 * change, rel=1e-2)
    assert bent.hardest.radius_mm == pytest.approx(1.0 / abs(change), rel=2e-4)


@pytest.mark.parametrize("path", RACK, ids=[path.stem for path in RACK])
def test_foam_is_neither_made_nor_lost(path: Path) -> None:
    """Pappus: a section square to its centroid line sweeps its area times the line's length, however that bends."""
    own = block(path.stem)
    flat = profile(lambda x: 20.0 * (x / 2000.0 - 0.45) ** 2, 2000.0)
    bent = reglued(own, flat, out_mm=0.0, ripped_mm=0.0, kerf_mm=3.0)
    assert bent.regluing is not None
    # What is left is the centroids' own: they are of upright sections, and a bent one is square to its line.
    assert integrals(bent.body).volume_mm3 == pytest.approx(integrals(own.body).volume_mm3, rel=3e-5)
    # By a way that is no centroid: the areas of upright sections, summed.
    x = np.linspace(1.0, bent.length_mm - 1.0, 801)
    assert float(np.trapezoid(section_areas(bent.body, x), x)) == pytest.approx(
        integrals(own.body).volume_mm3, rel=2e-4
    )


def test_the_wall_stays_upright_and_the_tail_where_it_was() -> None:
    own = block("attic-green")
    bent = reglued(
        own, board_lines(load_board(SPECS / "boards" / "spoonbill.toml")).rocker, out_mm=2.0, ripped_mm=5.0, kerf_mm=3.0
    )
    wall = bent.body.port.grid([0.0], np.linspace(0.0, 1.0, 201))[0]
    corner = int(np.argmax(wall[:, 1]))
    low, high = wall[: corner + 1], wall[corner:][::-1]
    assert np.abs(np.interp(low[:, 1], high[:, 1], high[:, 0]) - low[:, 0]).max() < 1e-4
    assert wall[0, 2] == pytest.approx(float(own.body.port.at(0.0, 0.0)[2]), abs=1e-6)


def test_the_bottom_comes_to_lie_on_the_rocker_of_the_board() -> None:
    own = block("attic-green")
    lines = board_lines(load_board(SPECS / "boards" / "spoonbill.toml"))
    bent = reglued(own, lines.rocker, out_mm=0.0, ripped_mm=0.0, kerf_mm=3.0)
    assert bent.regluing is not None
    # Measured on the bent surface: its bottom, turned until it is level, is the board's rocker, end on end.
    x = np.linspace(150.0, bent.length_mm - 150.0, 60)
    z, turn = rocker(bent.body, x), bent.regluing.level_rad
    level_x, level_z = np.cos(turn) * x + np.sin(turn) * z, np.cos(turn) * z - np.sin(turn) * x
    best = np.inf
    for shift in np.linspace(-30.0, 150.0, 1801):
        gap = level_z - lines.rocker.at(np.clip(level_x - shift, 0.0, lines.length_mm))
        best = min(best, float(np.ptp(gap)))
    assert best < 0.05
    # Its marks tell the same heights as a straightedge under it would.
    marks = bent.marks(metric=False)
    assert min(mark.was_mm for mark in marks) < 0.6
    assert max(abs(mark.becomes_mm - mark.was_mm) for mark in marks) == pytest.approx(64.0, abs=2.0)
    assert marks[-1].becomes_mm > lines.rocker.at(lines.length_mm)


def test_a_block_of_the_wanted_rocker_is_left_as_it_is() -> None:
    own = block("middling")
    bent = reglued(own, own.lines.rocker, out_mm=0.0, ripped_mm=0.0, kerf_mm=3.0)
    assert bent.regluing is not None
    assert bent.regluing.hardest.most_strain < 5e-5
    assert bent.pitch_rad == pytest.approx(0.0, abs=1e-6)
    assert bent.error_mm == pytest.approx(own.error_mm, abs=1e-3)


def test_halves_move_outward_and_keep_their_thickness() -> None:
    own = block("middling")
    bent = reglued(own, own.lines.rocker, out_mm=1.25, ripped_mm=5.4, kerf_mm=3.0)
    x = np.linspace(200.0, own.length_mm - 200.0, 9)
    assert width(bent.body, x) == pytest.approx(width(own.body, x) + 2.5, abs=5e-3)
    assert thickness(bent.body, x) == pytest.approx(thickness(own.body, x), abs=5e-3)


def test_a_bent_half_may_curl_across_and_that_is_in_the_error() -> None:
    own = block("attic-green")
    bent = reglued(
        own, board_lines(load_board(SPECS / "boards" / "spoonbill.toml")).rocker, out_mm=0.0, ripped_mm=0.0, kerf_mm=3.0
    )
    assert bent.regluing is not None
    bend = 1.0 / bent.regluing.hardest.radius_mm
    half = float(width(own.body, [own.length_mm / 2.0])[0]) / 2.0
    assert 0.1 < bent.error_mm - own.error_mm < 0.25 * bend * half * half / 2.0


def test_what_a_block_is_drawn_larger_than_it_was_read_is_in_its_error(tmp_path: Path) -> None:
    """A bump in the readings that the fair line passes above: the block is less there than it is drawn."""
    text = (SPECS / "blanks" / "middling.toml").read_text("utf-8")
    plain = on_rack(load_blank(SPECS / "blanks" / "middling.toml"))
    read = [each for each in dimensions(plain.blank.shape, plain.lines, plain.body) if each.play_mm > 0.0]
    widths = [each.error_mm / 2.0 for each in read if each.what == "width"]
    thick = [each.error_mm for each in read if each.what == "thickness"]
    rock = [each.error_mm for each in read if each.what == "rocker"]
    over = plain.error_mm - plain.blank.error_mm
    assert max(*widths, 0.0) - 1e-9 <= over <= max(*thick, 0.0) + max(map(abs, rock)) + 1e-6
    assert over > 0.5
    # Read exactly, there is none.
    path = tmp_path / "exact.toml"
    path.write_text("\n".join(line for line in text.splitlines() if not line.startswith("read_to")), "utf-8")
    exact = on_rack(load_blank(path))
    assert exact.error_mm == exact.blank.error_mm == 0.8


def test_a_section_s_sums_are_those_of_the_surface() -> None:
    own = block("middling")
    found = beam_sections(own.body, own.length_mm)
    assert [each.area_mm2 for each in found] == pytest.approx(
        section_areas(own.body, [each.x_mm for each in found]).tolist(), rel=1e-4
    )
    for each in found:
        low = float(rocker(own.body, [each.x_mm])[0])
        high = low + float(thickness(own.body, [each.x_mm])[0])
        assert low < each.centroid_mm < high
        # A section is stiffer than an ellipse of its thickness and area, and less so than a rectangle.
        assert each.area_mm2 * (high - low) ** 2 / 20.0 < each.moment_mm4 < each.area_mm2 * (high - low) ** 2 / 10.0


def test_a_rocker_that_no_half_can_follow_is_refused() -> None:
    own = block("middling")
    with pytest.raises(UnbendableError, match="more sharply"):
        reglued(own, profile(lambda x: 400.0 * np.cos(x / 15.0), 1800.0), out_mm=0.0, ripped_mm=0.0, kerf_mm=3.0)


def test_a_board_stands_level_in_a_block_that_was_bent_to_its_rocker() -> None:
    board = load_board(SPECS / "boards" / "spoonbill.toml")
    lines = board_lines(board)
    bent = reglued(block("attic-green"), lines.rocker, out_mm=0.0, ripped_mm=0.0, kerf_mm=3.0)
    fit = BoardInBlank(board, board_body(lines), bent).fit()
    # Nothing turns it but what deck and bottom leave; its tail lies half of what the block is longer ahead.
    assert abs(fit.nose_up_rad) < 2e-3
    assert fit.tail_gap_mm == pytest.approx((own_length(bent) - board.length_mm) / 2.0, abs=15.0)
    # Under the bottom at the stringer there is foam of one thickness all along, but for what pitch is left.
    under = [each.upright_bottom_mm for each in fit.stations if each.upright_bottom_mm is not None]
    assert np.ptp(under) < 1e-3 * board.length_mm
    # The tight places, by brute force on a mesh of the bent block.
    mesh = meshed(bent.body, grid_for(bent.body, 0.05))
    for place in fit.tight:
        at = fit.placing.placed(np.array([[place.x_mm, place.off_mm, place.height_mm]]), fit.middle_mm)[0]
        assert to_triangles(mesh, at) == pytest.approx(place.cover_mm, abs=0.06)


def own_length(bent: FoamBlock) -> float:
    return float(np.ptp(bent.body.port.grid(np.linspace(0.0, 1.0, 400), [0.0, 0.5, 1.0])[..., 0]))
