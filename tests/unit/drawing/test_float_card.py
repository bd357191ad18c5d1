"""The float card, and what is told of a board afloat."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pypdf
import pytest

from bayloft.drawing.sheets.float_card import float_cards
from bayloft.drawing.sheets.float_views import waterplane
from bayloft.export import pdf
from bayloft.floating.float_words import verdict
from bayloft.floating.floats import BoardFloats, FloatLie, board_floats
from bayloft.record.float_entry import float_entry
from bayloft.solid.draft import Draft
from bayloft.solid.measure import thickness
from bayloft.spec.bench.floating import FloatAsked

from ...demo import draft, told
from .test_cards import crowded, outside

KNEELING = FloatAsked(
    load_kg=40.0,
    x_mm=1350.0,
    above_deck_mm=200.0,
    board_kg=0.0,
    balance_x_mm=None,
    water="fresh",
    temperature_c=15.0,
    salinity_g_kg=0.0,
)


@cache
def asked(name: str, load_kg: float, share: float, *, metric: bool = False, up: float = 100.0) -> Draft:
    own = replace(KNEELING, load_kg=load_kg, x_mm=share * draft(name).board.length_mm, above_deck_mm=up)
    return told(draft(name), glass=None, afloat=own, metric=metric)


def floated(drawn: Draft) -> BoardFloats:
    floats = board_floats(drawn)
    assert floats is not None
    return floats


def lying(drawn: Draft) -> FloatLie:
    lie = floated(drawn).own.lie
    assert lie is not None
    return lie


CASES = [
    ("spoonbill", 40.0, 0.47, 200.0),
    ("spoonbill", 68.0, 0.475, 0.0),
    ("whimbrel", 30.0, 0.46, 100.0),
    ("turnstone", 20.0, 0.48, 60.0),
    ("fulmar", 45.0, 0.47, 60.0),
    ("avocet", 20.0, 0.47, 60.0),
    ("whimbrel", 44.0, 0.2, 100.0),
    ("avocet", 90.0, 0.5, 100.0),
]


@pytest.mark.parametrize(
    ("name", "load", "share", "up", "metric"), [(*each, i % 2 == 0) for i, each in enumerate(CASES)]
)
def test_nothing_lies_on_anything_else(name: str, load: float, share: float, up: float, metric: bool) -> None:
    drawn = asked(name, load, share, metric=metric, up=up)
    pages = float_cards(drawn, floated(drawn), "0123456789")
    for page in pages:
        assert crowded(page) == []
        assert outside(page) == []
    assert len(pages) <= 2


@pytest.mark.parametrize(("name", "load", "share", "up"), CASES[:6])
def test_draft_and_freeboard_are_the_thickness(name: str, load: float, share: float, up: float) -> None:
    """At the centre, upright in the board: seen square to the water, by the cosine of the trim."""
    drawn = asked(name, load, share, up=up)
    lie = lying(drawn)
    thick = float(thickness(drawn.body, [drawn.board.length_mm / 2.0])[0])
    expected = thick * math.cos(math.radians(lie.trim_deg))
    assert lie.drafts_mm[1] + lie.freeboards_mm[1] == pytest.approx(expected, abs=1e-6)
    assert lie.below.volume_mm3 * floated(drawn).density_kg_m3 * 1e-9 == pytest.approx(load, rel=1e-8)
    # The waterplane that is drawn, from lines through points, has the area of the integral.
    drawn_mm2 = 2.0 * sum(abs(piece.area_mm2) for piece in waterplane(drawn, lie))
    assert drawn_mm2 == pytest.approx(lie.below.face_mm2, rel=2e-4)


def test_a_nose_that_is_told_up_is_up() -> None:
    """A load moved aft lifts the nose: higher over the water, the tail deeper."""
    middle, aft = (lying(asked("spoonbill", 40.0, share)) for share in (0.47, 0.42))
    assert aft.trim_deg > middle.trim_deg + 0.3
    assert aft.freeboards_mm[2] > middle.freeboards_mm[2] + 10.0
    assert aft.drafts_mm[0] > middle.drafts_mm[0] + 10.0


def test_more_load_and_a_load_moved_do_what_is_told() -> None:
    drawn = asked("spoonbill", 40.0, 0.47)
    lie, heavier = lying(drawn), lying(asked("spoonbill", 40.1, 0.47))
    length = drawn.board.length_mm
    at = lie.below.face_x_mm
    sunk = heavier.plane.height_mm - lie.plane.height_mm + (heavier.plane.slope - lie.plane.slope) * at
    assert sunk / 0.1 == pytest.approx(lie.sinks_mm_kg, rel=0.01)
    moved = lying(asked("spoonbill", 40.0, 0.47 + 1.0 / length))
    assert math.radians(lie.trim_deg - moved.trim_deg) * length == pytest.approx(lie.trims_mm_mm, rel=0.01)


def test_the_board_s_own_weight_counts_where_it_balances() -> None:
    board = draft("spoonbill").board
    assert board.afloat is not None
    floats = floated(draft("spoonbill"))
    assert floats.own.rest.mass_kg == pytest.approx(60.5)
    whole = floats.density_kg_m3 * 77.2567036672601e-3
    assert floats.carries_kg == pytest.approx(whole - 8.5, rel=1e-6)
    aft = told(draft("spoonbill"), glass=None, afloat=replace(board.afloat, balance_x_mm=1200.0))
    assert lying(aft).trim_deg > lying(draft("spoonbill")).trim_deg


def test_a_deck_under_water_is_told_with_its_stretch() -> None:
    drawn = asked("spoonbill", 68.0, 0.475, up=0.0)
    lie = lying(drawn)
    ((start, end),) = lie.stretches_mm
    assert lie.freeboards_mm[1] < 0.0
    assert start < drawn.board.length_mm / 2.0 < end
    assert 0.2 < lie.deck_share < 1.0
    assert "water stands over the deck at the stringer" in verdict(floated(drawn), metric=False)


def test_what_does_not_float_is_said(tmp_path: Path) -> None:
    floats = floated(asked("avocet", 90.0, 0.5))
    most = floats.carries_kg
    assert (
        verdict(floats, metric=False)
        == f"it sinks under 90 kg: the board carries at most {math.floor(most * 10) / 10} kg"
    )
    assert "goes down by the tail" in verdict(floated(asked("whimbrel", 44.0, 0.2)), metric=False)
    pages = float_cards(asked("avocet", 90.0, 0.5), floats, "0123456789")
    assert len(pages) == 1
    pdf.write(pages, tmp_path / "card.pdf", title="card")
    assert "It sinks." in pypdf.PdfReader(tmp_path / "card.pdf").pages[0].extract_text()


def test_the_report_tells_the_loads_in_order() -> None:
    said = float_entry(draft("spoonbill"))
    assert said is not None
    assert [each["load_kg"] for each in said["loads"]] == pytest.approx([41.6, 52.0, 62.4])
    depths = [each["draft_mm"]["centre"] for each in said["loads"]]
    assert depths == sorted(depths)
    own = said["loads"][1]
    assert own["under_water_mm3"] == pytest.approx(60.5 / said["density_kg_m3"] * 1e9, rel=1e-5)
    assert own["waterline_mm"]["length"] == pytest.approx(
        own["waterline_mm"]["to"] - own["waterline_mm"]["from"], rel=1e-3
    )
    assert float_entry(draft("whimbrel")) is None


def test_the_waterplane_of_a_flooded_middle_is_in_two_pieces() -> None:
    """Water over the middle of the deck leaves a waterplane fore and aft of it."""
    drawn = asked("spoonbill", 68.0, 0.475, up=0.0)
    pieces = waterplane(drawn, lying(drawn))
    reach = sorted((float(np.min(each.points[:, 0])), float(np.max(each.points[:, 0]))) for each in pieces)
    assert len(reach) == 2
    assert reach[0][1] < reach[1][0]
