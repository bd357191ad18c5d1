"""A new stringer's template, its plank at full size and its card, read by other readers than their writers."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import pyogrio
import pypdf
import pytest
import shapely

from bayloft.drawing.inscription import Tag
from bayloft.drawing.sheet import Drawing
from bayloft.drawing.sheets.stringer_card import stringer_cards
from bayloft.drawing.templates.new_stringer import new_stringers, plank_layout
from bayloft.export import dxf, pdf
from bayloft.foam.blocks import block_for, on_rack
from bayloft.foam.stringers import CutStringer, cut_stringer
from bayloft.solid.draft import Draft
from bayloft.solid.measure import rocker
from bayloft.spec.blank_loading import load_blank
from bayloft.spec.blanks.blank import Blank
from bayloft.spec.loading import load_board
from bayloft.spec.plank_loading import load_plank
from bayloft.tape import figure, fine

from ..demo import SPECS, draft
from ..unit.drawing.test_cards import crowded, outside

TAG = Tag(board="Spoonbill", number=7)


@cache
def asked(name: str, plank: str | None, **changes: object) -> tuple[Draft, CutStringer]:
    own, stringer = draft(name), load_board(SPECS / "boards" / "spoonbill.toml").stringer
    assert stringer is not None
    path = None if plank is None else SPECS / "planks" / f"{plank}.toml"
    own = replace(own, board=replace(own.board, stringer=replace(stringer, plank=path, **changes)))
    found = cut_stringer(own)
    assert found is not None
    return own, found


def read(drawing: Drawing, path: Path) -> dict[str, list[shapely.Geometry]]:
    """Return what GDAL reads of a drawing's DXF, by layer; arcs of many metres' radius in short lines."""
    pyogrio.set_gdal_config_options({"OGR_ARC_STEPSIZE": "0.01"})
    dxf.write(drawing, path)
    meta, _, shapes, fields = pyogrio.raw.read(path)
    columns = dict(zip(meta["fields"], fields, strict=True))
    layers: dict[str, list[shapely.Geometry]] = {}
    for layer, shape in zip(columns["Layer"], shapely.from_wkb(shapes), strict=True):
        layers.setdefault(str(layer), []).append(shape)
    return layers


def test_the_plank_and_what_is_cut_from_it_stand_in_the_file_at_full_size(tmp_path: Path) -> None:
    own, cut = asked("spoonbill", "greenhouse-bench")
    layout = plank_layout(own, cut, TAG)
    assert layout is not None
    layers, plank = read(layout, tmp_path / "layout.dxf"), load_plank(SPECS / "planks" / "greenhouse-bench.toml")
    (piece,) = (shapely.Polygon(shapely.get_coordinates(each)) for each in layers["CUT"])
    stock = sorted((shapely.Polygon(shapely.get_coordinates(each)) for each in layers["STOCK"]), key=lambda s: -s.area)
    assert len(stock) == 1 + len(plank.knots)
    assert stock[0].area == pytest.approx(plank.area_mm2, rel=1e-4)
    assert stock[0].contains(piece)
    assert piece.area == pytest.approx(cut.profile.area_mm2, rel=1e-3)
    assert min(piece.distance(knot) for knot in stock[1:]) >= plank.clearance_mm


def test_pieces_of_a_scarfed_stringer_lie_apart(tmp_path: Path) -> None:
    own, cut = asked("dunlin", "garden-gate")
    layout = plank_layout(own, cut, TAG)
    assert layout is not None
    one, other = (shapely.Polygon(shapely.get_coordinates(each)) for each in read(layout, tmp_path / "l.dxf")["CUT"])
    assert one.distance(other) >= cut.stringer.kerf_mm - 0.05
    # The strokes across are as far inside of the ends as the scarf is long.
    assert cut.stringer.bevel_mm == pytest.approx(152.4)


def test_the_template_has_its_allowance_and_a_level_line(tmp_path: Path) -> None:
    own, cut = asked("spoonbill", "greenhouse-bench")
    (part,) = new_stringers(own, TAG)
    layers = read(part.drawing, tmp_path / "new.dxf")
    outline = shapely.Polygon(shapely.get_coordinates(max(layers["CUT"], key=lambda each: each.length)))
    assert outline.area == pytest.approx(cut.profile.area_mm2, rel=1e-3)
    lines = [shapely.get_coordinates(each) for each in layers["SCRIBE"] if each.geom_type == "LineString"]
    strokes = [line for line in lines if len(line) == 2 and np.ptp(line[:, 0]) == pytest.approx(60.0)]
    assert len(strokes) == 2
    level = np.vstack(strokes)
    assert np.ptp(level[:, 0]) > 1000.0
    assert np.ptp(level[:, 1]) == pytest.approx(0.0, abs=1e-6)
    assert level[0, 1] % 10.0 == pytest.approx(0.0, abs=1e-6)
    assert outline.contains(shapely.LineString([level.min(axis=0), level.max(axis=0)]).buffer(6.0, cap_style="flat"))
    ticks = {
        round(float(line[0, 0]), 3) for line in lines if len(line) == 2 and np.ptp(line[:, 1]) == pytest.approx(14.0)
    }
    assert ticks == {round(own.lines.lowest_x_mm, 3), round(own.board.wide_point.x_mm, 3)}
    assert float(rocker(own.body, own.lines.lowest_x_mm)[0]) == pytest.approx(0.0, abs=1e-3)


def words(name: str, plank: str | None, path: Path, blank: Blank | None = None, **changes: object) -> str:
    own, cut = asked(name, plank, **changes)
    pdf.write(stringer_cards(own, cut, blank, "42cf39aa"), path, title="card")
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


def test_a_card_begins_with_the_verdict(tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    said = words("spoonbill", "greenhouse-bench", path)
    assert "Comes out of Greenhouse bench, turned 0.6°." in said
    # 12.7 / 2 + .3 - 3.175 = 3.475 mm is 0.1368 in, to 1/32 1/8; half of the old stringer is taken off by the maker.
    assert 'each half then stands 1/8" further out than before, less half the old' in said
    assert "air left in it blows through the glass" in said
    for part in ("840 g", "1:5.3", '7 1/2"', "4.2 ft²"):
        assert part in said
    said = words("dunlin", "garden-gate", path, spread_g_m2=300.0, pigment_share=0.03, through=True)
    assert "Comes out of Garden gate in 2 pieces." in said
    # 12.7 / 2 + .3 - 3.175 / 2.
    assert "5.1 mm further out" in said
    for part in ("114 mm", "1888 mm", "152.4 mm", "59 g", "2 g", "0.20 m²"):
        assert part in said


def test_what_does_not_come_out_is_told_with_what_would_do(tmp_path: Path) -> None:
    path = tmp_path / "card.pdf"
    said = words("dunlin", "bed-slat", path)
    assert "Does not come out of Bed slat." in said
    assert "It is 8 mm thick, a strip 12.7 mm. In [stringer], strips = 2 would do." in said
    assert asked("dunlin", "bed-slat", strips=2)[1].comes_out
    said = words("avocet", None, path)
    assert "Needs a plank of 4 3/8" in said
    said = words("fulmar", "garden-gate", path)
    assert "Garden gate" in said
    assert "would do" in said


def test_the_card_rips_a_block_as_the_fit_reckons_with(tmp_path: Path) -> None:
    """A block without an old stringer is ripped once; one with, twice beside it."""
    path, attic = tmp_path / "card.pdf", load_blank(SPECS / "blanks" / "attic-green.toml")
    for old, told in ((None, "once, down the middle"), (attic.stringer, "twice, beside the old stringer")):
        own, _ = asked("spoonbill", "greenhouse-bench")
        blank = replace(attic, stringer=old)
        assert own.board.stringer is not None
        block = block_for(own.board, own.lines, on_rack(blank))
        assert block.regluing is not None
        said = words("spoonbill", "greenhouse-bench", path, blank)
        stands = fine(abs(block.regluing.out_mm), metric=False)
        assert f'Rip the block {told}, kerf 1/8": each half then stands {stands} further out than before.' in said


def test_a_piece_is_laid_by_four_sizes_that_are_those_of_the_layout(tmp_path: Path) -> None:
    for name, bench in (("spoonbill", "greenhouse-bench"), ("dunlin", "garden-gate")):
        own, cut = asked(name, bench)
        layout = plank_layout(own, cut, TAG)
        assert layout is not None
        assert cut.plank is not None
        layers = read(layout, tmp_path / f"{name}.dxf")
        outlines = [shapely.Polygon(shapely.get_coordinates(each)) for each in layers["CUT"]]
        for piece, outline in zip(cut.pieces, outlines, strict=True):
            ends = piece.ends_on(cut.plank)
            assert ends is not None
            spots = [
                shapely.Point(end.from_end_mm, end.from_edge_mm + cut.plank.near_mm(end.from_end_mm)) for end in ends
            ]
            assert max(outline.exterior.distance(spot) for spot in spots) < 0.05
            # They are its ends: as far apart as it is long, all but what a bottom's slope makes of it.
            assert spots[0].distance(spots[1]) == pytest.approx(piece.to_mm - piece.from_mm, rel=2e-2)
        said = words(name, bench, tmp_path / "card.pdf")
        assert "tail end" in said
        assert figure(ends[0].from_edge_mm, metric=own.board.metric).split()[0] in said


def test_nothing_on_the_card_runs_out_of_its_page_or_into_another_word() -> None:
    """Also where everything is told: glue, pigment, scarfs, and a plank that is too short."""
    for name, bench in (("spoonbill", "greenhouse-bench"), ("fulmar", "garden-gate"), ("dunlin", "garden-gate")):
        own, cut = asked(name, bench, spread_g_m2=300.0, pigment_share=0.03, density_kg_m3=380.0)
        for page in stringer_cards(own, cut, None, "42cf39aa", date(2026, 5, 1)):
            assert crowded(page) == []
            assert outside(page) == []


@pytest.mark.parametrize("name", ["avocet", "dunlin", "fulmar", "spoonbill", "turnstone", "whimbrel"])
def test_every_demo_board_has_a_card_and_a_template(name: str) -> None:
    own, cut = asked(name, "greenhouse-bench")
    assert len(stringer_cards(own, cut, None, "")) >= 2
    assert len(new_stringers(own, TAG)) == 1
