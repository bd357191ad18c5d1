"""A board's control net, evaluated by another B-spline library: points, derivatives, normals and curvatures.

geomdl is written in plain Python after L. Piegl and W. Tiller, The NURBS Book (algorithms A2.1 to A3.6), and shares no
code with scipy, which evaluates here.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
import pytest
from geomdl import BSpline, operations
from numpy.typing import NDArray

from bayloft.lines.drafting import board_lines
from bayloft.solid.board import board_body
from bayloft.solid.surface import DEGREE, Surface
from bayloft.spec.loading import load_board

Array = NDArray[np.float64]

BOARDS = Path(__file__).parents[2] / "specs" / "boards"
NAMES = sorted(path.stem for path in BOARDS.glob("*.toml"))

PLACES = 150
ROUNDING, BENT = 1e-14, 1e-4
"""Relative: some ten roundings of a coordinate, which a derivative divides by the span, once for each order; and of the
greatest curvature, two second derivatives of different size at the shortest spans.
"""

ORDERS = [(0, 0), (1, 0), (0, 1), (2, 0), (1, 1), (0, 2)]


@cache
def ours(name: str) -> Surface:
    return board_body(board_lines(load_board(BOARDS / f"{name}.toml"))).port


@cache
def theirs(name: str) -> BSpline.Surface:
    surface = ours(name)
    other = BSpline.Surface(normalize_kv=False)
    other.degree_u = other.degree_v = DEGREE
    rows, columns = surface.net.shape[:2]
    other.set_ctrlpts(surface.net.reshape(-1, 3).tolist(), rows, columns)
    other.knotvector_u, other.knotvector_v = surface.knots_u.tolist(), surface.knots_v.tolist()
    return other


def places(surface: Surface) -> Array:
    """Places anywhere, some of them close to both tips and to the joints."""
    random = np.random.default_rng(12)
    u, v = random.uniform(0.0, 1.0, (2, PLACES))
    u[:20], u[20:40] = 4e-3 * (1.0 + u[:20]), 1.0 - 4e-3 * (1.0 + u[20:40])
    joints = random.choice(surface.joints, 40)
    v[40:80] = np.clip(joints + 1e-3 * np.sign(random.uniform(-1.0, 1.0, 40)), 0.0, 1.0)
    return np.stack([u, v], axis=1)


def bent(d: dict[tuple[int, int], Array]) -> tuple[Array, Array]:
    """Mean and Gaussian curvature from derivatives by Weingarten's matrix: half its trace, and its determinant."""
    normal = np.cross(d[0, 1], d[1, 0])
    normal = normal / np.linalg.norm(normal, axis=-1, keepdims=True)
    first = np.stack([np.stack([(d[a] * d[b]).sum(-1) for b in ORDERS[1:3]], -1) for a in ORDERS[1:3]], -2)
    uu, uv, vv = ((d[order] * normal).sum(-1) for order in ORDERS[3:])
    second = np.stack([np.stack([uu, uv], -1), np.stack([uv, vv], -1)], -2)
    shape = np.linalg.solve(first, second)
    return np.trace(shape, axis1=-2, axis2=-1) / 2.0, np.linalg.det(shape)


@pytest.mark.parametrize("name", NAMES)
def test_points_and_derivatives_are_another_kernels(name: str) -> None:
    surface, at = ours(name), places(ours(name))
    found = {order: surface.at(at[:, 0], at[:, 1], *order) for order in ORDERS}
    expected = [theirs(name).derivatives(u, v, 2) for u, v in at.tolist()]
    short_u, short_v = (float(np.diff(breaks).min()) for breaks in surface.breaks)
    for a, b in ORDERS:
        values = np.array([table[a][b] for table in expected])
        allowed = ROUNDING * surface.net.max() / (short_u**a * short_v**b)
        assert found[a, b] == pytest.approx(values, rel=0.0, abs=allowed)
        assert a + b == 0 or allowed < 1e-7 * np.abs(values).max()


@pytest.mark.parametrize("name", NAMES)
def test_normals_are_another_kernels(name: str) -> None:
    """S_v x S_u points out of the port side; theirs is S_u x S_v."""
    surface, at = ours(name), places(ours(name))
    out = np.cross(surface.at(*at.T, dv=1), surface.at(*at.T, du=1))
    out = out / np.linalg.norm(out, axis=-1, keepdims=True)
    expected = [operations.normal(theirs(name), [u, v], normalize=True)[1] for u, v in at.tolist()]
    assert out == pytest.approx(-np.array(expected), abs=1e-9)


@pytest.mark.parametrize("name", NAMES)
def test_curvatures_are_another_kernels(name: str) -> None:
    surface, at = ours(name), places(ours(name))
    found = bent({order: surface.at(*at.T, *order) for order in ORDERS})
    tables = [theirs(name).derivatives(u, v, 2) for u, v in at.tolist()]
    expected = bent({(a, b): np.array([table[a][b] for table in tables]) for a, b in ORDERS})
    for mine, other in zip(found, expected, strict=True):
        assert mine == pytest.approx(other, rel=0.0, abs=BENT * np.abs(other).max())
