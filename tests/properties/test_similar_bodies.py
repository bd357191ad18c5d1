"""What must not change, or change in proportion, when a body is moved, enlarged, mirrored or meshed finer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.optimize import brentq

from bayloft.lines.drafting import board_lines
from bayloft.lines.fin import fin_lines
from bayloft.lines.section_places import APEX
from bayloft.solid.board import board_body
from bayloft.solid.body import Body
from bayloft.solid.fin import fin_body
from bayloft.solid.integrals import Integrals, integrals, section_areas
from bayloft.solid.meshing import chord_deviation, grid_for, meshed
from bayloft.solid.surface import Surface
from bayloft.spec.boards.board import Board, Nose, Tail
from bayloft.spec.fins.fin import Fin
from bayloft.spec.text.given import Given
from bayloft.spec.text.source import Source

from ..made_sections import line, made_sections

Array = NDArray[np.float64]

SOURCE = Source(file="similar.toml", values={}, lines={})
TAILS = {
    "round": Tail(kind="round", tip_radius_mm=80.0),
    "squash": Tail(kind="squash", block_mm=150.0, depth_mm=18.0, corner_radius_mm=14.0),
    "swallow": Tail(kind="swallow", block_mm=200.0, depth_mm=90.0),
}
EXACT = 1e-9
"""Relative: areas are adaptive to 1e-9, volumes and moments exact to rounding."""


def numbers(*at: tuple[float, float]) -> tuple[Given, ...]:
    return tuple(Given(x_mm=x, value=value, path=()) for x, value in at)


def board(tail: str) -> Board:
    length = 2235.0
    return Board(
        name="Whimbrel",
        slug="whimbrel",
        length_mm=length,
        widths=numbers((304.8, 372.0), (length - 304.8, 420.0)),
        wide_point=Given(x_mm=1180.0, value=540.0, path=()),
        hollow=frozenset(),
        nose=Nose(kind="round", tip_radius_mm=None),
        tail=TAILS[tail],
        heights=numbers((0.0, 58.0), (length, 120.0)),
        lowest_x_mm=None,
        thicknesses=numbers((304.8, 46.0), (length - 304.8, 43.0)),
        thickest=Given(x_mm=1150.0, value=73.0, path=()),
        nose_tip_mm=None,
        tail_end_mm=None,
        sections=made_sections(
            length,
            apex=line("apex", (400.0, 0.3), (1800.0, 0.42), form="share"),
            tuck=line("tuck", (400.0, 9.0), (1800.0, 20.0)),
            edge=line("edge", (400.0, 0.0), (900.0, 0.3), form="share"),
            dome=line("dome", (1000.0, 6.0), table="deck"),
            roll=line("roll", (500.0, 0.0), (1300.0, 7.0), table="bottom"),
            vee=line("vee", (300.0, 5.0), (900.0, 0.0), table="bottom"),
        ),
        drops=(),
        fins=(),
        assumed=(),
        source=SOURCE,
    )


FIN = Fin(
    name="Flex",
    slug="flex",
    base_mm=170.0,
    depth_mm=220.0,
    rake_mm=90.0,
    leading_fullness=0.12,
    trailing_hollow=0.08,
    tip_radius_mm=13.0,
    foil="flat",
    thickness_mm=9.5,
    tip_thickness_mm=3.2,
    trailing_edge_mm=1.0,
    tab=None,
    assumed=(),
    source=SOURCE,
)

BODIES = {**{tail: board_body(board_lines(board(tail))) for tail in TAILS}, "fin": fin_body(fin_lines(FIN))}
each_body = pytest.mark.parametrize("name", BODIES)


def changed(body: Body, factor: Array | float = 1.0, shift: Array | float = 0.0) -> Body:
    def moved(surface: Surface) -> Surface:
        return replace(surface, net=surface.net * factor + shift)

    return replace(body, port=moved(body.port), starboard=None if body.starboard is None else moved(body.starboard))


def mirrored(surface: Surface) -> Surface:
    return replace(surface, net=surface.net * np.array([1.0, -1.0, 1.0]))


def assert_alike(found: Integrals, expected: Integrals, scale: float = 1.0) -> None:
    assert found.volume_mm3 == pytest.approx(expected.volume_mm3 * scale**3, rel=EXACT)
    assert found.area_mm2 == pytest.approx(expected.area_mm2 * scale**2, rel=10 * EXACT)
    assert found.plan_area_mm2 == pytest.approx(expected.plan_area_mm2 * scale**2, rel=EXACT)
    moments = pytest.approx(np.array(expected.second_moments_mm5) * scale**5, rel=10 * EXACT)
    assert np.array(found.second_moments_mm5) == moments


@each_body
@pytest.mark.parametrize("scale", [0.37, 2.5])
def test_scaling_by_k_scales_areas_by_its_square_and_volumes_by_its_cube(name: str, scale: float) -> None:
    body, large = BODIES[name], changed(BODIES[name], scale)
    assert_alike(integrals(large), integrals(body), scale)
    # The same grid does for k times the tolerance, and its mesh is the same mesh, k times as large.
    grid = grid_for(body, 0.2)
    assert chord_deviation(large, grid) == pytest.approx(scale * chord_deviation(body, grid), rel=1e-6)
    mesh, grown = (meshed(each, grid) for each in (body, large))
    assert grown.volume_mm3 == pytest.approx(mesh.volume_mm3 * scale**3, rel=EXACT)
    assert grown.area_mm2 == pytest.approx(mesh.area_mm2 * scale**2, rel=EXACT)


@pytest.mark.parametrize("name", TAILS)
def test_a_mirror_image_is_the_other_side(name: str) -> None:
    """A starboard side given as the port's image makes the same body as none given, and the same mesh."""
    body = BODIES[name]
    both = replace(body, starboard=mirrored(body.port))
    found, expected = integrals(both), integrals(body)
    assert_alike(found, expected)
    assert found.centroid_mm == pytest.approx(expected.centroid_mm, abs=1e-9)
    grid = grid_for(body, 0.2)
    assert np.array_equal(meshed(both, grid).vertices, meshed(body, grid).vertices)
    assert np.array_equal(meshed(both, grid).triangles, meshed(body, grid).triangles)


@pytest.mark.parametrize("name", TAILS)
def test_moving_a_body_moves_its_centroid_and_nothing_else(name: str) -> None:
    body = BODIES[name]
    shift = np.array([150.0, 0.0, -40.0])
    found, expected = integrals(changed(body, shift=shift)), integrals(body)
    assert_alike(found, expected)
    # A wall is upright to 1e-4 mm, and lifting the body by 40 mm weighs that.
    assert found.centroid_mm == pytest.approx(np.array(expected.centroid_mm) + shift, abs=1e-6)
    assert found.product_xz_mm5 == pytest.approx(expected.product_xz_mm5, rel=1e-6)


@each_body
def test_a_finer_mesh_changes_nothing_but_the_error(name: str) -> None:
    """Tolerance halved: closed as before, within the tolerance, and the missing volume about half (order two in the
    step, and the step goes with the root of the tolerance). A fin is so small that at a coarse tolerance the least
    number of steps decides.
    """
    body = BODIES[name]
    volume = integrals(body).volume_mm3
    short = []
    for tolerance in (0.02, 0.01, 0.005) if name == "fin" else (0.08, 0.04, 0.02):
        grid = grid_for(body, tolerance)
        mesh = meshed(body, grid)
        assert mesh.unpaired_edges() == 0
        assert chord_deviation(body, grid) <= tolerance
        short.append(volume - mesh.volume_mm3)
    assert min(short) > 0.0
    assert np.array(short[:-1]) / short[1:] == pytest.approx(2.0, abs=0.4)


@pytest.mark.parametrize("name", TAILS)
def test_section_areas_add_up_to_the_volume(name: str) -> None:
    """The area curve by Gauss's rule between the stations of the surface's own knots, in u, where it is smooth to the
    tips; aft of a squash tail's corner its ends are roots, and cost the sixth digit.
    """
    body = BODIES[name]
    notch, corner = (float(body.port.at(0.0, v)[0]) for v in (0.0, APEX))
    along = lambda u: body.port.at(u, APEX)[..., 0]  # noqa: E731
    extra = [brentq(lambda u: float(along(u)) - notch, 0.0, 1.0, xtol=1e-15)] if notch > corner else []
    breaks = np.unique([*body.port.breaks[0], *extra])
    nodes, weights = np.polynomial.legendre.leggauss(3)
    half = np.diff(breaks) / 2
    u = (breaks[:-1] + half)[:, None] + half[:, None] * nodes
    speed = body.port.at(u, APEX, du=1)[..., 0]
    total = float((section_areas(body, along(u).ravel()).reshape(u.shape) * speed * weights * half[:, None]).sum())
    if corner > 0.0:
        nodes, weights = np.polynomial.legendre.leggauss(40)
        total += corner / 2 * float(weights @ section_areas(body, corner * (nodes + 1) / 2))
    assert total == pytest.approx(integrals(body).volume_mm3, rel=1e-6 if corner > 0.0 else 1e-8)
