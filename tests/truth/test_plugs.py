"""Pockets of plugs and boxes: their volumes against closed forms and against a boolean cut of the mesh, where they lie
against the surface's own normals, and what is refused.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from bayloft.build import loaded
from bayloft.drawing.sheet import CUT, MARK
from bayloft.drawing.templates.half_outline import half_outline
from bayloft.errors import SpecError
from bayloft.solid.closest import Nearest
from bayloft.solid.draft import Draft
from bayloft.solid.holding import Holding, held, with_tabs
from bayloft.solid.mesh import solid_of
from bayloft.solid.meshing import grid_for, meshed
from bayloft.solid.plugs import Pocket, pockets, with_pockets
from bayloft.spec.boards.plug import Plug

from ..demo import SPECS, changed, draft, lofted_board, told

ROUND = Plug(
    name="plug", face="deck", x_mm=203.2, off_mm=31.75, sides=("starboard",), length_mm=28.575, width_mm=28.575,
    corner_mm=14.2875, depth_mm=19.05, toe_deg=0.0, cant_deg=None, path=("plugs", 0),
)  # fmt: skip
BOX = Plug(
    name="box", face="bottom", x_mm=260.0, off_mm=100.0, sides=("port", "starboard"), length_mm=150.0, width_mm=26.0,
    corner_mm=4.0, depth_mm=15.0, toe_deg=3.0, cant_deg=5.0, path=("plugs", 1),
)  # fmt: skip
MIDDLE = Plug(
    name="middle", face="bottom", x_mm=900.0, off_mm=0.0, sides=("centre",), length_mm=200.0, width_mm=26.0,
    corner_mm=13.0, depth_mm=20.0, toe_deg=0.0, cant_deg=None, path=("plugs", 2),
)  # fmt: skip


def with_plugs(*plugs: Plug) -> Draft:
    return told(draft("turnstone"), plugs=plugs)


def sunk(*plugs: Plug) -> tuple[Pocket, ...]:
    shaped = with_plugs(*plugs)
    return pockets(shaped.board, shaped.body)


def test_a_pocket_takes_what_a_cut_of_the_mesh_takes() -> None:
    every = sunk(ROUND, BOX, MIDDLE)
    body = draft("turnstone").body
    solid = solid_of(meshed(body, grid_for(body, 0.01)))
    for pocket in every:
        taken = float((solid ^ pocket.solid(0.0)).volume())
        assert pocket.volume_mm3 == pytest.approx(taken, rel=5e-4), pocket.plug.name
    whole = with_pockets(lofted_board("turnstone").checked.mesh, every, (0.0, 0.0))
    gone = lofted_board("turnstone").checked.mesh.volume_mm3 - whole.volume_mm3
    # This mesh lies within half a millimetre of the surface.
    assert gone == pytest.approx(every[0].volume_mm3 + 2.0 * every[1].volume_mm3 + every[2].volume_mm3, rel=2e-2)
    assert whole.unpaired_edges() == 0


def test_on_a_face_that_is_all_but_flat_it_is_area_by_depth() -> None:
    plug, box, _ = sunk(ROUND, BOX, MIDDLE)
    assert plug.volume_mm3 == pytest.approx(math.pi / 4.0 * 28.575**2 * 19.05, rel=2e-4)
    area = 150.0 * 26.0 - (4.0 - math.pi) * 4.0**2
    # Along its length the bottom is rockered, and across it leans by what the cant asks.
    assert box.volume_mm3 == pytest.approx(area * 15.0, rel=0.03)
    assert box.lowest_mm < 0.0 < box.highest_mm


def test_a_pocket_is_square_to_its_face_and_on_it() -> None:
    (plug,) = sunk(ROUND)
    foot = Nearest(draft("turnstone").body).feet((plug.middle_mm + 1.0 * plug.axes[2])[None])
    assert foot.depth_mm[0] == pytest.approx(-1.0, abs=1e-6)
    assert foot.points[0] == pytest.approx(plug.middle_mm, abs=1e-4)
    assert plug.middle_mm[:2] == pytest.approx([203.2, 31.75])
    # What is left under its floor: the way to the bottom along its axis.
    rim = plug.middle_mm - plug.plug.depth_mm * plug.axes[2] + plug.outline[::8] @ plug.axes[:2]
    ways = []
    for place in rim:
        steps = np.linspace(0.0, 40.0, 801)
        inside = Nearest(draft("turnstone").body).feet(place - steps[:, None] * plug.axes[2]).depth_mm > 0.0
        ways.append(float(steps[inside].max()))
    assert plug.under_mm == pytest.approx(min(ways), abs=0.1)


def test_a_box_leans_and_turns_as_a_fin_does() -> None:
    (box,) = sunk(BOX)
    forward, out, away = box.axes
    assert np.degrees(np.arctan2(-forward[1], forward[0])) == pytest.approx(3.0, abs=0.01)
    # Tips of fins lean outward, so away from the board is out as well as down.
    assert np.degrees(np.arcsin(away[1])) == pytest.approx(5.0, abs=0.3)
    assert away[2] < 0.0
    assert abs(forward @ out) < 1e-12
    assert abs(forward @ away) < 1e-12


def test_left_on_foam_makes_no_pocket_shallower() -> None:
    every = sunk(ROUND)
    thick = with_pockets(lofted_board("turnstone").checked.mesh, every, (5.0, 5.0))
    plain = with_pockets(lofted_board("turnstone").checked.mesh, every, (0.0, 0.0))
    assert thick.volume_mm3 == pytest.approx(plain.volume_mm3, rel=1e-9)


@pytest.mark.parametrize(
    ("key", "value", "wanted"),
    [
        ("deep = 0.75", "deep = 2", "its pocket goes through the board"),
        ("off_stringer = 1.25", "off_stringer = 7.2", "off the board"),
        ("off_stringer = 1.25", "off_stringer = 6.2", "it reaches over the edge of the deck|goes through the board"),
        ("from_tail = 8", "from_tail = 4.2", "reaches into the tail's notch"),
    ],
)
def test_what_cannot_be_let_in_is_told(tmp_path: Path, key: str, value: str, wanted: str) -> None:
    text = (SPECS / "boards/turnstone.toml").read_text("utf-8")
    assert key in text
    before, after = text.split("[[plugs]]")
    spec = changed(tmp_path, "turnstone", before + "[[plugs]]" + after.replace(key, value))
    with pytest.raises(SpecError, match=wanted):
        loaded([spec])


def test_two_that_meet_are_told_and_a_mirrored_pair_as_well() -> None:
    other = Plug(
        name="vent", face="bottom", x_mm=203.2, off_mm=31.75, sides=("port", "starboard"), length_mm=20.0,
        width_mm=20.0, corner_mm=10.0, depth_mm=30.0, toe_deg=0.0, cant_deg=None, path=("plugs", 1),
    )  # fmt: skip
    with pytest.raises(SpecError, match=r"its pocket meets that of plugs\[1\], plug"):
        sunk(ROUND, other)
    assert len(sunk(ROUND, Plug(**{**_fields(other), "sides": ("port",)}))) == 2


def _fields(plug: Plug) -> dict[str, object]:
    return {name: getattr(plug, name) for name in plug.__slots__}


def test_templates_show_where_they_are() -> None:
    drawing = half_outline(with_plugs(ROUND, MIDDLE))
    rounds = [
        contour
        for layer, contour in drawing.contours
        if layer == MARK and contour.closed and contour.area_mm2 == pytest.approx(math.pi / 4.0 * 28.575**2, rel=1e-9)
    ]
    assert len(rounds) == 1
    left, low, right, high = rounds[0].bounds
    assert ((left + right) / 2.0, (low + high) / 2.0) == pytest.approx((203.2, 31.75))
    said = {label.text for label in drawing.labels}
    assert {"plug", "deck, starboard only"} <= said
    assert '8" (203.2 mm) from tail' in said
    # One on the stringer stands over the part's straight side, and is drawn as far as that.
    (half,) = [c for layer, c in drawing.contours if layer == MARK and c.bounds[:3:2] == pytest.approx((800.0, 1000.0))]
    assert half.bounds[1::2] == pytest.approx((0.0, 13.0))
    assert sum(layer == CUT and contour.closed for layer, contour in drawing.contours) == 1


def test_tabs_hold_the_board_and_have_their_holes_where_they_are_told() -> None:
    shaped = lofted_board("whimbrel")
    how = held(shaped.body, shaped.board.length_mm, Holding(dowel_mm=10.0))
    whole = with_tabs(shaped.checked.mesh, how)
    assert whole.unpaired_edges() == 0
    solid, board = solid_of(whole), solid_of(shaped.checked.mesh)
    assert len(solid.decompose()) == 1
    # Outside the tabs nothing has changed, and a dowel's hole is a cylinder of its diameter.
    assert float((board - solid).volume()) == pytest.approx(0.0, abs=5.0)
    for tab, x in zip(how.tabs, how.dowels_mm, strict=True):
        assert tab.from_mm < x < tab.to_mm
        section = solid.slice((tab.low_mm + tab.high_mm) / 2.0)
        holes = [ring for ring in section.to_polygons() if abs(_area(ring)) < 200.0]
        ring = min(holes, key=lambda each: abs(each[:, 0].mean() - x))
        assert ring.mean(axis=0) == pytest.approx([x, 0.0], abs=1e-3)
        assert abs(_area(ring)) == pytest.approx(math.pi * 25.0, rel=2e-3)
        assert np.sqrt(((ring - [x, 0.0]) ** 2).sum(axis=1)).min() > 4.9999


def _area(ring: np.ndarray) -> float:
    x, y = ring.T
    return float((x * np.roll(y, -1) - y * np.roll(x, -1)).sum() / 2.0)
