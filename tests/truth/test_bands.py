"""Rail bands against closed forms and against the surface itself."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from bayloft.foam.bands import bands_at, board_bands, equal_foam, half_sole
from bayloft.foam.section_hulls import SectionHulls, outward
from bayloft.solid.measure import section
from bayloft.spec.bench.bands import Bands

from ..demo import draft

RADIUS_MM = 30.0
BOARDS = ("avocet", "dunlin", "fulmar", "sanderling", "shearwater", "spoonbill", "turnstone", "whimbrel")


def half_circle() -> SectionHulls:
    """A half circle about the origin from straight down over +y to straight up, in cubics (off by less than 1e-9)."""
    t = np.linspace(-np.pi / 2, np.pi / 2, 401)
    points = RADIUS_MM * np.column_stack([np.cos(t), np.sin(t)])
    slopes = RADIUS_MM * np.column_stack([-np.sin(t), np.cos(t)]) * (t[1] - t[0]) / 3.0
    control = np.stack(
        [points[:-1], points[:-1] + slopes[:-1], points[1:] - slopes[1:], points[1:]],
        axis=1,
    )
    v = np.linspace(0.0, 1.0, 401)
    return SectionHulls(control=control[None], ends=np.column_stack([v[:-1], v[1:]]))


@pytest.mark.parametrize("count", [1, 2, 5])
def test_equal_foam_on_a_circle_is_equal_turns(count: int) -> None:
    found = equal_foam(half_circle(), "deck", count)[0]
    turn = 90.0 / (count + 1)
    assert found == pytest.approx(turn * np.arange(1, count + 1), abs=1e-6)


@pytest.mark.parametrize("name", BOARDS)
def test_no_flat_cuts_into_the_section(name: str) -> None:
    drawn = draft(name)
    length = drawn.board.length_mm
    stations = np.linspace(160.0, length - 110.0, 7).tolist()
    bands = Bands(deck=(20.0, 45.0, 70.0), bottom=(25.0, 50.0), stations_mm=(), sole_mm=300.0)
    found = bands_at(drawn.body, bands, stations)
    for i, x in enumerate(stations):
        points = section(drawn.body, x, 40).points
        for face in found.faces:
            for k in range(face.count):
                if np.isnan(face.angles_deg[i, k]):
                    continue
                normal = outward(face.angles_deg[i, k], face.face)
                inner = np.array([face.inner_mm[i, k], face.inner_up_mm[i, k] + found.low_mm[i]])
                side = np.array([found.half_width_mm[i], face.side_mm[i, k] + found.low_mm[i]])
                assert (points @ normal).max() - inner @ normal == pytest.approx(0.0, abs=1e-3)
                assert (points @ normal).max() <= inner @ normal + 1e-5
                assert side @ normal == pytest.approx(inner @ normal, abs=1e-5)


def test_how_far_a_stiff_sole_cuts_into_a_hollow_is_that_of_a_parabola() -> None:
    """Outward by k x^2 / 2: a sole that touches at 0 has its ends k (l/2)^2 / 2 inside."""
    x = np.linspace(-600.0, 600.0, 81)
    bend = 1.0 / 20_000.0
    reach, cuts = half_sole(x, bend * x * x / 2.0, 40, (0, len(x)), 150.0)
    assert cuts == pytest.approx(bend * 150.0**2 / 2.0, rel=1e-6)
    assert reach == pytest.approx(np.sqrt(2.0 * 0.1 / bend), abs=1.5)
    # Over what bends outward a sole rocks and never cuts.
    reach, cuts = half_sole(x, -bend * x * x / 2.0, 40, (0, len(x)), 150.0)
    assert (reach, cuts) == (np.inf, 0.0)


def test_spoonbill_s_domed_deck_is_hollow_along_its_first_flat() -> None:
    shape = draft("spoonbill")
    assert shape.board.bands is not None
    found = board_bands(shape.body, shape.board.bands)
    first = found.soles[0]
    assert 0.3 < first.cuts_mm < 0.8
    longer = replace(shape.board.bands, sole_mm=2.0 * shape.board.bands.sole_mm)
    # Twice as long, four times as much, as far as the hollow is even.
    assert 2.5 < board_bands(shape.body, longer).soles[0].cuts_mm / first.cuts_mm < 4.2
