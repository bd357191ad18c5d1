"""What holds of every layup: sessions within their limits, weights that scale."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from bayloft.errors import SpecError
from bayloft.laminating.laminate import batches, laminate
from bayloft.laminating.layup import FinLayup, fin_layup, fin_panel
from bayloft.lines.fin import FinLines, fin_lines
from bayloft.solid.body import Body
from bayloft.solid.fin import fin_body
from bayloft.solid.integrals import Integrals, integrals
from bayloft.spec.fins.fin import Fin
from bayloft.spec.fins.layup import Core, Layup
from bayloft.spec.loading import load_fin

SPECS = Path(__file__).parents[2] / "specs"

ROUNDING = 1e-12

LAYUPS = st.builds(
    Layup,
    cloth_g_m2=st.floats(50, 500),
    fibre_share=st.floats(0.2, 0.75),
    glass_density_kg_m3=st.floats(2300, 2700),
    resin_density_kg_m3=st.floats(1000, 1400),
    plies_per_session=st.integers(1, 50),
    pot_g=st.floats(80, 1000),
    margin_mm=st.floats(0, 100),
)


@cache
def pivot() -> tuple[Fin, FinLines, Body, Integrals]:
    fin = load_fin(SPECS / "fins" / "spoonbill-pivot.toml")
    lines = fin_lines(fin)
    body = fin_body(lines)
    return fin, lines, body, integrals(body)


def laid(layup: Layup, core: Core | None = None) -> FinLayup:
    fin, lines, body, exact = pivot()
    try:
        return fin_layup(replace(fin, layup=layup, core=core), lines, body, exact)
    except SpecError:
        assume(False)
        raise


@given(st.integers(1, 500), st.integers(1, 60))
def test_batches_are_even_and_no_fewer_would_do(plies: int, most: int) -> None:
    shared = batches(plies, most)
    assert sum(shared) == plies
    assert max(shared) <= most
    assert max(shared) - min(shared) <= 1
    assert (len(shared) - 1) * most < plies
    assert list(shared) == sorted(shared, reverse=True)


@settings(deadline=None)
@given(LAYUPS, st.none() | st.floats(1.0, 8.0))
def test_no_session_exceeds_its_limits(layup: Layup, core_mm: float | None) -> None:
    core = None if core_mm is None else Core(material="cork", density_kg_m3=150, thickness_mm=core_mm, skin_plies=None)
    found = laid(layup, core)
    panel = found.panel
    assert all(1 <= session.plies <= layup.plies_per_session for session in panel.sessions)
    assert all(session.resin_g <= layup.pot_g * (1 + 1e-12) for session in panel.sessions)
    assert sum(session.plies for session in panel.sessions) == panel.plies
    assert sum(session.resin_g for session in panel.sessions) == pytest.approx(found.resin_g, rel=1e-9)
    assert sum(session.cloth_g for session in panel.sessions) == pytest.approx(found.cloth_g, rel=1e-9)
    assert 0.0 <= panel.ground_mm < (1 if core is None else 2) * panel.laminate.ply_mm * (1 + 1e-9)
    assert panel.thickness_mm - panel.ground_mm == pytest.approx(pivot()[0].thickness_mm, abs=1e-5)


@given(LAYUPS, st.floats(1.01, 3.0))
def test_ply_thickness_follows_the_cloth_and_weights_the_densities(layup: Layup, k: float) -> None:
    of, heavier = laminate(layup), laminate(replace(layup, cloth_g_m2=k * layup.cloth_g_m2))
    assert heavier.ply_mm == pytest.approx(k * of.ply_mm, rel=1e-12)
    assert heavier.density_kg_m3 == pytest.approx(of.density_kg_m3, rel=1e-12)
    denser = laminate(
        replace(
            layup,
            glass_density_kg_m3=k * layup.glass_density_kg_m3,
            resin_density_kg_m3=k * layup.resin_density_kg_m3,
        )
    )
    assert denser.ply_mm == pytest.approx(of.ply_mm / k, rel=1e-12)
    assert denser.density_kg_m3 == pytest.approx(k * of.density_kg_m3, rel=1e-12)
    assert layup.resin_density_kg_m3 < of.density_kg_m3 < layup.glass_density_kg_m3


@settings(deadline=None)
@given(LAYUPS)
def test_the_fin_weighs_less_than_its_panel_and_more_glass_weighs_more(layup: Layup) -> None:
    found = laid(layup)
    assert 0.0 < found.finished_g < found.panel_g
    assert found.waste_g == pytest.approx(found.panel_g - found.finished_g, rel=1e-12)
    richer = replace(layup, fibre_share=min(0.75, layup.fibre_share * 1.2))
    # Where the share stays the same but for its last bit, so does the weight but for its own.
    assert laid(richer).finished_g >= found.finished_g * (1 - ROUNDING)


@settings(deadline=None)
@given(LAYUPS, st.floats(0.0, 50.0))
def test_a_wider_margin_takes_more_of_everything_but_the_fin(layup: Layup, more_mm: float) -> None:
    wider = laid(replace(layup, margin_mm=layup.margin_mm + more_mm, pot_g=5000.0))
    found = laid(replace(layup, pot_g=5000.0))
    assert wider.panel.plies == found.panel.plies
    assert wider.panel_g >= found.panel_g
    assert wider.finished_g == found.finished_g
    # Sizes are in whole millimetres upward.
    for wide, narrow in zip(wider.panel.size_mm, found.panel.size_mm, strict=True):
        assert abs(wide - narrow - 2 * more_mm) < 1.001


def test_the_panel_does_not_depend_on_the_limits() -> None:
    fin, lines, _, _ = pivot()
    one = fin_panel(replace(fin, layup=replace(fin.layup, plies_per_session=1)), lines)
    assert len(one.sessions) == one.plies
    assert replace(one, sessions=()) == replace(fin_panel(fin, lines), sessions=())
