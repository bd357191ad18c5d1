"""A solid with its allowance, against Steiner's formula and against distances.

Steiner's formula for the volume of all that is within d of a body (J. Steiner, 1840; for smooth bodies the tube formula
of H. Weyl, 1939; both from memory): V + A d + M d^2 + 4/3 pi d^3, M the integral of mean curvature, creases included.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.integrate import dblquad

from bayloft.solid.body import Body
from bayloft.solid.closest import Nearest
from bayloft.solid.integrals import integrals
from bayloft.solid.mesh import Mesh
from bayloft.solid.meshing import grid_for
from bayloft.solid.offsetting import Allowance, OffsetError, OffsetRows, sound, with_allowance

from ..demo import draft
from .test_bodies import spindle

Array = NDArray[np.float64]

BOARDS = ("avocet", "dunlin", "fulmar", "sanderling", "shearwater", "spoonbill", "turnstone", "whimbrel")
"""Every kind of end: round, thumb, squash, diamond, swallow, square with and without arcs; channels over a tail."""

TOLERANCE_MM = 0.03


def extrapolated_mm3(body: Body, mm: float) -> float:
    """Return the volume with an even allowance, extrapolated from two meshes (Richardson)."""
    grid = grid_for(body, 0.02)
    coarse, fine = (
        OffsetRows(body, each, Allowance.even(mm), tolerance).closed()[0].volume_mm3
        for each, tolerance in ((grid, 0.02), (grid.halved(), 0.005))
    )
    return (4.0 * fine - coarse) / 3.0


@pytest.mark.parametrize("name", ["avocet", "dunlin", "fulmar", "shearwater", "spoonbill", "whimbrel"])
def test_volume_grows_as_steiner_says(name: str) -> None:
    """With an M that is the same for every allowance: within 1e-6 of the volume."""
    body = draft(name).body
    exact = integrals(body)
    found = [
        (extrapolated_mm3(body, d) - exact.volume_mm3 - exact.area_mm2 * d - 4.0 / 3.0 * np.pi * d**3) / d**2
        for d in (1.0, 2.0, 4.0)
    ]
    assert abs(found[1] - found[0]) < 1e-6 * exact.volume_mm3
    assert abs(found[2] - found[1]) * 4.0 < 1e-6 * exact.volume_mm3
    # A disc of the plan's area has pi/2 times half its perimeter: a board is no far cry from one.
    length = draft(name).board.length_mm
    assert 2.0 * length < found[0] < 6.0 * length


def test_a_sphere_grows_into_a_sphere() -> None:
    body = spindle((150.0, 150.0, 150.0))
    for d in (1.0, 25.0):
        assert extrapolated_mm3(body, d) == pytest.approx(4.0 / 3.0 * np.pi * (150.0 + d) ** 3, rel=1e-6)


def test_an_ellipsoid_s_mean_curvature_is_the_integral_of_its_support() -> None:
    """M of a convex body is the integral of its support function over all directions."""
    axes = (300.0, 200.0, 100.0)
    body = spindle(axes)
    exact = integrals(body)

    def support(height: float, turn: float) -> float:
        flat = np.sqrt(1.0 - height * height)
        return float(np.hypot(np.hypot(axes[0] * flat * np.cos(turn), axes[1] * flat * np.sin(turn)), axes[2] * height))

    mean = dblquad(support, 0.0, 2.0 * np.pi, -1.0, 1.0, epsrel=1e-10)[0]
    for d in (1.0, 10.0):
        wanted = exact.volume_mm3 + exact.area_mm2 * d + mean * d * d + 4.0 / 3.0 * np.pi * d**3
        assert extrapolated_mm3(body, d) == pytest.approx(wanted, rel=1e-6)


@pytest.mark.parametrize("name", BOARDS)
@pytest.mark.parametrize("mm", [0.5, 3.0])
def test_every_end_closes_and_every_place_is_as_far_off_as_asked(name: str, mm: float) -> None:
    body = draft(name).body
    made = with_allowance(body, Allowance.even(mm), TOLERANCE_MM)
    assert made.mesh.unpaired_edges() == 0
    assert sound(made.mesh)
    # Beside a channel's foot, a crease that is hollow, one facet may turn over.
    assert made.folded <= (2 if name == "sanderling" else 0)
    some = made.mesh.vertices[:: max(len(made.mesh.vertices) // 1500, 1)]
    away = np.abs(Nearest(body).feet(some).depth_mm)
    assert float(away.min()) > mm - 2.0 * TOLERANCE_MM
    assert float(np.quantile(away, 0.99)) < mm + 1e-3


def test_an_egg_leaves_more_on_the_deck_than_on_the_bottom() -> None:
    body = draft("whimbrel").body
    plain = with_allowance(body, Allowance.even(1e-3), 0.02).mesh
    made = with_allowance(body, Allowance(deck_mm=3.0, bottom_mm=1.0, rail_mm=1.5), 0.02)
    (low, high), (was_low, was_high) = (
        (mesh.vertices.min(axis=0), mesh.vertices.max(axis=0)) for mesh in (made.mesh, plain)
    )
    assert high - was_high == pytest.approx([1.5, 1.5, 3.0], abs=0.02)
    assert was_low - low == pytest.approx([1.5, 1.5, 1.0], abs=0.02)
    assert made.folded == 0
    assert sound(made.mesh)
    # Square to a face it is what the egg's support says, from one half to the other without a step.
    tilt = np.linspace(-np.pi / 2, np.pi / 2, 181)
    normals = np.column_stack([np.cos(tilt), np.zeros_like(tilt), np.sin(tilt)])
    square = made.allowance.square_mm(normals)
    assert square == pytest.approx(np.hypot(1.5 * np.cos(tilt), np.where(tilt > 0.0, 3.0, 1.0) * np.sin(tilt)))


def scaled(body: Body, factor: float) -> Body:
    return replace(body, port=replace(body.port, net=body.port.net * factor))


def test_the_offset_of_a_larger_board_is_the_larger_offset() -> None:
    body = draft("avocet").body

    def of(own: Body, mm: float, tolerance: float) -> Mesh:
        return with_allowance(own, Allowance.even(mm), tolerance).mesh

    small, large = of(body, 1.0, 0.03), of(scaled(body, 2.0), 2.0, 0.06)
    assert large.volume_mm3 == pytest.approx(8.0 * small.volume_mm3, rel=2e-4)
    assert large.vertices.max(axis=0) == pytest.approx(2.0 * small.vertices.max(axis=0), abs=1e-3)


def test_a_hollow_tighter_than_the_allowance_is_refused() -> None:
    """A bottom with waves 120 mm long and 16 mm high in its middle is hollow with a radius of 46 mm."""
    body = draft("whimbrel").body
    net = body.port.net.copy()
    x, across = net[:, :30, 0], np.cos(np.linspace(0.0, np.pi / 2.0, 30)) ** 2
    net[:, :30, 2] += 8.0 * np.sin(x * 2.0 * np.pi / 120.0) * np.exp(-(((x - 1100.0) / 300.0) ** 4)) * across
    waved = replace(body, port=replace(body.port, net=net))
    assert with_allowance(waved, Allowance.even(5.0), 0.1).short_mm < 0.2
    with pytest.raises(OffsetError, match="too near to the surface in a hollow"):
        with_allowance(waved, Allowance.even(100.0), 0.1)
