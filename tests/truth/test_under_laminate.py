"""The solid under a laminate, against Steiner's formula with a thickness below 0 and against distances."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.spatial import KDTree

from bayloft.solid.body import Body
from bayloft.solid.insetting import sharpest, under_laminate
from bayloft.solid.integrals import integrals
from bayloft.solid.offsetting import OffsetError

from ..demo import draft
from .test_allowance import extrapolated_mm3
from .test_bodies import spindle

TOLERANCE_MM = 0.02


def within_mm3(body: Body, mm: float) -> float:
    """Return the volume under a laminate, extrapolated from two meshes (Richardson)."""
    coarse, fine = (under_laminate(body, mm, tolerance).volume_mm3 for tolerance in (TOLERANCE_MM, TOLERANCE_MM / 4.0))
    return (4.0 * fine - coarse) / 3.0


def test_an_ellipsoid_bends_most_at_the_ends_of_its_longest_axis() -> None:
    """The least radius of an ellipsoid with semi-axes a > b > c is c^2 / a (any textbook of surfaces; from memory)."""
    found = sharpest(spindle((300.0, 200.0, 100.0)))
    assert found.radius_mm == pytest.approx(100.0**2 / 300.0, rel=2e-3)
    assert abs(abs(found.place_mm[0] - 300.0) - 300.0) < 2.0


def test_an_ellipsoid_shrinks_as_steiner_says() -> None:
    body = spindle((300.0, 200.0, 100.0))
    exact = integrals(body)
    outward = extrapolated_mm3(body, 4.0)
    mean = (outward - exact.volume_mm3 - exact.area_mm2 * 4.0 - 4.0 / 3.0 * np.pi * 4.0**3) / 4.0**2
    for d in (2.0, 20.0):
        wanted = exact.volume_mm3 - exact.area_mm2 * d + mean * d * d - 4.0 / 3.0 * np.pi * d**3
        assert within_mm3(body, d) == pytest.approx(wanted, rel=3e-6)


@pytest.mark.parametrize(("name", "mm"), [("whimbrel", 1.2), ("spoonbill", 1.5), ("turnstone", 0.6), ("dunlin", 0.8)])
def test_foam_under_a_laminate_is_as_far_inside_as_it_is_thick(name: str, mm: float) -> None:
    """Judged by another way than it was made: the nearest of close samples of the board's own surface and wall."""
    body = draft(name).body
    mesh = under_laminate(body, mm, TOLERANCE_MM)
    assert mesh.unpaired_edges() == 0
    # At a pole its places lie close, and so do those at the rail.
    u = np.linspace(0.0, 1.0, 3_000) ** 2
    places = body.port.grid(np.sort(np.concatenate([u, 1.0 - u])), np.linspace(0.0, 1.0, 220)).reshape(-1, 3)
    if body.end == "wall":
        v = np.linspace(0.0, body.wall_corner, 400)
        bottom = body.port.grid([0.0], v)[0]
        corner = body.wall_corner
        deck = body.port.grid([0.0], np.linspace(1.0, corner, 4_000))[0]
        high = np.interp(bottom[:, 1], deck[:, 1], deck[:, 2])
        share = np.linspace(0.0, 1.0, 60)[:, None]
        wall = [np.broadcast_to(bottom[:, k], (60, 400)) for k in (0, 1)]
        height = (1.0 - share) * bottom[:, 2] + share * high
        places = np.concatenate([places, np.stack([*wall, height], axis=-1).reshape(-1, 3)])
    tree = KDTree(places * [1.0, 1.0, 1.0])
    rng = np.random.default_rng(3)
    asked = mesh.vertices[rng.choice(len(mesh.vertices), 1_500, replace=False)] * [1.0, 1.0, 1.0]
    asked[:, 1] = np.abs(asked[:, 1])
    away, _ = tree.query(asked)
    # Samples some mm apart are never nearer than the surface, and further by their spacing at most.
    assert away.min() > mm - 0.01
    assert np.quantile(away, 0.5) < mm + 1.5


def test_what_is_sharper_than_the_laminate_is_thick_is_told() -> None:
    body = draft("turnstone").body
    with pytest.raises(OffsetError, match=r"1 mm of laminate: the least radius is 0\.68 mm, 6 mm from the tail"):
        under_laminate(body, 1.0, TOLERANCE_MM)


def test_a_crease_bears_no_laminate() -> None:
    body = draft("sanderling").body
    found = sharpest(body)
    assert found.radius_mm < 0.4
