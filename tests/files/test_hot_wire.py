"""The paths of a hot wire: how far they run from the board, judged on the meshed solid; pairs that are one another's
image; what a reader of DXF finds.
"""

from __future__ import annotations

from io import StringIO

import ezdxf
import numpy as np
import pytest
import shapely

from bayloft.drawing.sheet import CUT
from bayloft.drawing.templates.hot_wire import hot_wire_paths, silhouette
from bayloft.export import dxf
from bayloft.spec.bench.hot_wire import HotWire

from ..demo import draft, lofted_board

WIRE = HotWire(kerf_mm=2.0, left_on_mm=3.0, lead_mm=50.0)
VIEWS = {"outline-from-deck": (0, 1), "profile-from-starboard": (0, 2)}


@pytest.mark.parametrize("name", ["whimbrel", "turnstone", "sanderling"])
def test_the_wire_leaves_what_is_asked_and_never_less(name: str) -> None:
    """Against the board's mesh, seen along the wire: all of it lies within, kerf and allowance away."""
    mesh = lofted_board(name).checked.mesh
    paths = hot_wire_paths(draft(name), WIRE)
    for view, axes in VIEWS.items():
        (path,) = [contour for layer, contour in paths[view].contours if layer == CUT]
        ring = shapely.LinearRing(path.flattened(0.001))
        assert shapely.Polygon(ring).is_valid
        inside = mesh.vertices[:, axes]
        assert shapely.Polygon(ring).contains(shapely.MultiPoint(inside))
        away = shapely.distance(shapely.points(inside), ring)
        assert away.min() == pytest.approx(WIRE.off_mm, abs=0.05)
        # And nowhere more but in corners: each place of the path has the shadow of a facet that near.
        shadow = shapely.union_all(shapely.polygons(mesh.vertices[:, axes][mesh.triangles]), grid_size=1e-4)
        far = shapely.distance(shapely.points(shapely.get_coordinates(ring.segmentize(20.0))), shadow)
        assert np.quantile(far, 0.97) < WIRE.off_mm + 0.3


def test_a_silhouette_is_the_highest_and_lowest_of_every_section() -> None:
    """Not the stringer's: under Dunlin's concave the rails hang lower."""
    shaped = lofted_board("dunlin")
    outline = shapely.Polygon(silhouette(shaped.body, shaped.board.length_mm))
    seen = shaped.checked.mesh.vertices[:, [0, 2]]
    assert shapely.distance(shapely.points(seen), outline).max() < 0.01
    low, high = seen[:, 1].min(), seen[:, 1].max()
    assert outline.bounds[1::2] == pytest.approx((low, high), abs=0.02)


def test_a_pair_is_one_shape_seen_from_both_ends_of_the_wire() -> None:
    paths = hot_wire_paths(draft("turnstone"), WIRE)
    assert sorted(paths) == [
        "outline-from-bottom", "outline-from-deck", "profile-from-port", "profile-from-starboard",
    ]  # fmt: skip
    for one, other in (("outline-from-deck", "outline-from-bottom"), ("profile-from-starboard", "profile-from-port")):
        first, second = (
            {(round(abs(x), 6), round(y, 6)) for x, y in contour.points.tolist()}
            for contour in (paths[one].contours[0][1], paths[other].contours[0][1])
        )
        assert first == second
        # Seen from there, the nose is on the other side; both say their numbers at the same places.
        assert paths[one].contours[0][1].bounds[2] > 1700.0
        assert paths[other].contours[0][1].bounds[0] < -1700.0
        told = [
            {
                label.text: (round(abs(label.x_mm), 6), label.y_mm)
                for label in paths[name].labels
                if label.text.isdigit()
            }
            for name in (one, other)
        ]
        assert told[0] == told[1]
        assert len(told[0]) >= 9


def test_a_reader_of_dxf_finds_millimetres_and_one_closed_way() -> None:
    for name, drawing in hot_wire_paths(draft("whimbrel"), WIRE).items():
        document = ezdxf.read(StringIO(dxf.content(drawing).decode()))
        assert document.header["$INSUNITS"] == 4
        (path,) = document.modelspace().query('LWPOLYLINE[layer=="CUT"]')
        assert path.closed, name
        said = " ".join(text.dxf.text for text in document.modelspace().query("TEXT"))
        assert "middle of the wire" in said
        assert "fumes" in said
