"""Half-sections and gradations of random numbers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from bayloft.lines.gradation import graded, graded_level
from bayloft.lines.section import SectionNumbers, Traits, bottom_rise, over, under
from bayloft.lines.section_lines import edge_radius, softness_of_radius
from bayloft.lines.section_places import APEX, CHINE, EDGE, places, rail_line_heights
from bayloft.tolerances import SEPARATE_STATIONS_MM

Array = NDArray[np.float64]


@st.composite
def sections(draw: st.DrawFn, **fixed: float) -> SectionNumbers:
    """One section of numbers that go together, all told in shares of its depth; those fixed are shares too."""
    half_width, depth, apex = draw(st.floats(100, 300)), draw(st.floats(25, 90)), draw(st.floats(0.25, 0.55))
    inset = half_width / (2.0 * np.sqrt(1.0 + draw(st.floats(0, 1))))
    shares = {
        "radius": draw(st.floats(0.09, 0.27)),
        "dome": (1.0 - apex) * draw(st.floats(-0.2, 0.5)),
        "deck_chine": draw(st.sampled_from([0.0, 0.1])),
        "deck_chine_width": 0.2,
        "tuck": draw(st.floats(0.1, 0.3)) * min(1.0, inset / depth),
        "roll": apex * draw(st.floats(0, 0.25)),
        "vee": apex * draw(st.floats(0, 0.25)),
        "concave": draw(st.floats(0, 0.12)),
        "double_concave": draw(st.floats(0, 0.06)),
        "chine": draw(st.sampled_from([0.0, 0.04])),
        "chine_width": 0.2 * min(1.0, inset / depth),
    }
    values = {
        "half_width": half_width,
        "inset": inset,
        "depth": depth,
        "apex": apex,
        "shoulder": draw(st.floats(0.35, 1)),
        "edge": draw(st.sampled_from([0.0, 0.02, 0.3, 0.6])),
        "deck_flat": draw(st.sampled_from([0.0, 0.5])),
        "roll_flat": draw(st.sampled_from([0.0, 0.4])),
        "concave_width": draw(st.sampled_from([1.0, 0.5])),
        **{name: share * depth for name, share in (shares | fixed).items() if name in shares},
        **{name: share for name, share in fixed.items() if name not in shares},
    }
    traits = Traits(creased=values["edge"] == 0.0, chined=values["chine"] > 0.0, deck_chined=values["deck_chine"] > 0.0)
    return SectionNumbers(x_mm=np.zeros(1), traits=traits, **{key: np.array([value]) for key, value in values.items()})


def curve(n: SectionNumbers, v: Array) -> Array:
    """Points (n, 2) of a section, the rail line at height 0."""
    return np.column_stack(rail_line_heights(n, v))


@given(sections())
def test_a_section_passes_through_its_numbers(n: SectionNumbers) -> None:
    bottom, edge, apex, deck = curve(n, np.array([0.0, EDGE, APEX, 1.0]))
    assert bottom[0] == deck[0] == 0.0
    assert apex[0] == n.half_width[0]
    assert abs(apex[1]) < 1e-12
    # The apex is the widest place, the bottom edge lies as far in as the tuck says, up to where tucks are limited.
    v = np.linspace(0.0, 1.0, 501)
    across, inset = places(n, v)
    assert across.max() <= n.half_width[0]
    assert abs(np.interp(EDGE, v, inset) - n.edge_share[0] * n.inset[0]) < 0.02 * n.inset[0]
    assert abs(edge[0] - n.half_width[0] * np.sqrt(1.0 - n.edge_share[0])) < 1e-9 * n.half_width[0]


@given(sections())
def test_a_section_goes_out_over_the_bottom_and_in_over_the_deck(n: SectionNumbers) -> None:
    """It never turns back on its way, and so does not cross itself."""
    v = np.linspace(0.0, 1.0, 401)
    points = curve(n, v)
    below = v <= APEX
    assert np.diff(points[below, 0]).min() > 0.0
    assert np.diff(points[~below, 0]).max() < 0.0
    assert shapely.LineString(points).is_simple


@given(sections())
def test_the_rail_has_its_radius_on_both_sides_of_its_widest_point(n: SectionNumbers) -> None:
    """Near the apex z = +-sqrt(2 R q), whatever deck and bottom are; so one curvature runs through it."""
    q = 1e-7 * n.radius
    rail, deck = under(n, q), over(n, q)
    assert abs(rail[0] ** 2 / (2.0 * q[0]) / n.radius[0] - 1.0) < 1e-2
    assert abs(deck[0] ** 2 / (2.0 * q[0]) / n.radius[0] - 1.0) < 1e-2
    smaller = under(n, q / 100.0)[0] ** 2 / (2.0 * q[0] / 100.0)
    assert abs(smaller / n.radius[0] - 1.0) < 2e-3


@given(sections(edge=0.0, chine=0.0))
def test_inside_a_crease_the_bottom_is_its_own(n: SectionNumbers) -> None:
    """Roll, vee and hollows as told, exactly, from the stringer to the tuck; and there it turns upward at once."""
    q = n.tuck + np.linspace(1e-6, 1.0, 50) * (n.inset - n.tuck)
    if n.edge_softness[0] < 1e-6:
        assert np.abs(under(n, q) - (n.apex_mm - bottom_rise(n, q))).max() < 1e-6
        step = 1e-4 * n.tuck
        assert under(n, n.tuck - step)[0] < n.apex_mm[0] - bottom_rise(n, n.tuck - step)[0]


@given(sections(chine=0.0, deck_chine=0.0))
def test_a_section_is_smooth_but_for_its_edge(n: SectionNumbers) -> None:
    """Level across the stringer but for a vee, and no corner but a hard edge."""
    v = np.unique(
        np.concatenate([np.linspace(0.0, EDGE, 400), np.linspace(EDGE, APEX, 400), np.linspace(APEX, 1.0, 400)])
    )
    step = np.diff(curve(n, v), axis=0)
    turn = np.degrees(np.abs(np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0])))))
    soft = n.edge_softness[0] > 0.1
    away = (np.abs(v[1:-1] - EDGE) > 0.02) | soft
    assert turn[away].max() < 6.0
    across = np.array([1e-4, 2e-4]) * n.half_width[0]
    inset = n.inset[0] * (1.0 - (across / n.half_width[0]) ** 2)
    slope = np.diff(over(n, inset))[0] / np.diff(across)[0]
    assert abs(slope) < 1e-2


@settings(max_examples=50)
@given(sections(edge=0.3, chine=0.0), st.floats(0.5, 3.0))
def test_an_edge_gets_the_radius_that_is_asked(n: SectionNumbers, radius_mm: float) -> None:
    softness = softness_of_radius(n, np.array([radius_mm]))
    found = edge_radius(replace(n, edge=softness))
    there_are = [float(edge_radius(replace(n, edge=np.array([edge])))[0]) for edge in np.linspace(1e-3, 0.4, 40)]
    # As long as the edge does not fade, near a tip, and the tuck has room for it.
    if n.inset[0] > 2.85 * n.tuck[0] and 1.05 * there_are[0] < radius_mm < 0.98 * max(there_are):
        assert abs(found[0] / radius_mm - 1.0) < 1e-2


@given(sections(chine=0.08, edge=0.02))
def test_a_chine_ends_where_its_width_says(n: SectionNumbers) -> None:
    """At its inner end the bottom comes up from flat, and at the tuck it has risen by the chine's height."""
    plain = SectionNumbers(**{**{f: getattr(n, f) for f in n.__slots__}, "chine": np.zeros(1)})
    taken = n.tuck + n.chine_width
    if taken[0] < 0.35 * n.inset[0]:
        extra = bottom_rise(n, n.tuck) - bottom_rise(plain, n.tuck)
        assert abs(extra[0] / n.chine[0] - 1.0) < 1e-3
        inner = bottom_rise(n, 1.2 * taken) - bottom_rise(plain, 1.2 * taken)
        assert inner[0] < 0.1 * n.chine[0]
        # The surface has a joint there.
        _, inset = places(n, np.array([CHINE]))
        assert abs(inset[0] - taken[0]) < 1e-9 * n.inset[0]


@st.composite
def stations_and_values(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    count = draw(st.integers(2, 6))
    gaps = draw(st.lists(st.floats(25, 800), min_size=count, max_size=count))
    values = draw(st.lists(st.floats(0, 40), min_size=count, max_size=count))
    return np.cumsum(gaps).tolist(), [round(value, 6) for value in values]


@settings(max_examples=200)
@given(stations_and_values())
def test_a_level_gradation_never_leaves_the_range_of_its_neighbours(numbers: tuple[list[float], list[float]]) -> None:
    at, values = numbers
    line = graded_level(at, values)
    size = max(values) or 1.0
    assert np.abs(line.at(at) - values).max() <= 1e-8 * size
    for i in range(len(at) - 1):
        between = line.at(np.linspace(at[i], at[i + 1], 101))
        assert between.min() >= min(values[i : i + 2]) - 1e-6 * size
        assert between.max() <= max(values[i : i + 2]) + 1e-6 * size
    beyond = line.at([at[0] - 300.0, at[-1] + 300.0])
    assert np.abs(beyond - [values[0], values[-1]]).max() <= 1e-8 * size
    if line.spline is not None:
        # It becomes constant beyond the ends with two continuous derivatives.
        for order in (1, 2):
            ends = line.spline(np.array([at[0], at[-1]]), order)
            assert np.abs(ends).max() * min(np.diff(at)) ** order <= 1e-5 * size


# A number is at the very end of a board, or as far from it as two stations are apart at least.
@settings(max_examples=200)
@given(stations_and_values(), st.one_of(st.just(0.0), st.floats(SEPARATE_STATIONS_MM, 900.0)))
def test_a_fair_gradation_passes_and_stays_near_the_range_of_its_neighbours(
    numbers: tuple[list[float], list[float]], after_mm: float
) -> None:
    at, values = numbers
    line = graded(at, values, at[-1] + after_mm)
    size = max(values) or 1.0
    assert np.abs(line.at(at) - values).max() <= 1e-6 * size
    for i in range(len(at) - 1):
        between = line.at(np.linspace(at[i], at[i + 1], 101))
        assert between.min() >= min(values[i : i + 2]) - 0.25 * size
        assert between.max() <= max(values[i : i + 2]) + 0.25 * size
    assert line.at(np.linspace(0.0, at[-1] + after_mm, 401)).min() >= -0.05 * size
