"""The picture of a board against its own mesh: what is seen, and that nothing hides it."""

from __future__ import annotations

import itertools
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely import Polygon, polygons, union_all

from bayloft.drawing.sheets.picture import eyes, picture
from bayloft.drawing.sheets.tones import LIGHTS, Face, eye, toned
from bayloft.solid.draft import drafted
from bayloft.solid.meshing import grid_for, meshed
from bayloft.spec.boards.channel import Channel

from ...demo import board, draft

BOARDS = Path(__file__).parents[3] / "specs" / "boards"


def ball() -> Face:
    """A ball of radius 100 mm, poles at both ends of x."""
    u, v = np.linspace(0.0, np.pi, 61)[:, None], np.linspace(-np.pi, np.pi, 121)
    normals = np.stack(np.broadcast_arrays(-np.cos(u), np.sin(u) * np.cos(v), np.sin(u) * np.sin(v)), axis=-1)
    return Face(points=100.0 * normals, normals=normals)


def test_half_of_a_ball_is_seen_as_a_disc() -> None:
    drawn = toned(ball(), eye((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), 10.0), "BALL")
    edge = [contour for layer, contour in drawn.contours if layer.name == "BALL-EDGE"]
    assert len(edge) == 1
    assert edge[0].area_mm2 == pytest.approx(np.pi * 100.0, rel=3e-3)
    assert edge[0].bounds == pytest.approx((-10.0, -10.0, 10.0, 10.0), abs=0.02)


def test_tones_lie_within_one_another_and_the_lightest_faces_the_light() -> None:
    drawn = toned(ball(), eye((0.0, 1.0, 0.0), (0.0, 0.0, 1.0), 10.0), "BALL")
    discs = [Polygon(contour.points) for layer, contour in drawn.contours if layer.fill]
    assert len(LIGHTS) / 2 < len(discs) <= len(LIGHTS)
    assert all(inner.within(outer.buffer(0.1)) for outer, inner in itertools.pairwise(discs))
    lightest = discs[-1].centroid
    assert lightest.x < -3.0
    assert lightest.y > 3.0


@pytest.mark.parametrize("name", ["dunlin", "turnstone", "whimbrel"])
def test_a_board_is_seen_whole(name: str) -> None:
    shape = draft(name)
    drawn = picture(shape, [])
    page = (0.0, 0.0, *(drawn.page_mm or (0.0, 0.0)))
    assert all(a > b for a, b in zip(drawn.bounds[:2], page[:2], strict=True))
    assert all(a < b for a, b in zip(drawn.bounds[2:], page[2:], strict=True))
    mesh = meshed(shape.body, grid_for(shape.body, 1.0))
    for view, seen_by in zip(("DECK", "BOTTOM"), eyes(shape), strict=True):
        edges = [contour for layer, contour in drawn.contours if layer.name.startswith(view) and "EDGE" in layer.name]
        shapes = [Polygon(edge.points).buffer(0.0) for edge in edges]
        # What is seen of one face covers nothing of itself.
        assert [shape.area for shape in shapes] == pytest.approx([abs(edge.area_mm2) for edge in edges], rel=1e-4)
        seen = union_all(shapes)
        whole = union_all(polygons(seen_by.seen(mesh.vertices[mesh.triangles])), grid_size=1e-6)
        assert seen.area == pytest.approx(whole.area, rel=2e-3)


def test_channels_are_not_seen_through_the_deck() -> None:
    channel = Channel(
        off_mm=30.0, width_mm=32.0, depth_mm=8.0, from_mm=80.0, to_mm=600.0, fade_mm=100.0, path=("channels", 0)
    )
    drawn = picture(drafted(replace(board("dunlin"), channels=(channel,), fins=())), [])
    edges = [layer.name.rsplit("-", 2)[0] for layer, _ in drawn.contours if "EDGE" in layer.name]
    # Of a cut-off tail from above the wall is seen as well; from below, one side of each channel turns away.
    assert edges.count("DECK") == 2, edges
    assert edges.count("BOTTOM") > 2
