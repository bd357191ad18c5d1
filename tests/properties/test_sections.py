"""Half-sections and gradations of random numbers."""

from __future__ import annotations

import numpy as np
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from bayloft.lines.gradation import graded
from bayloft.lines.section import APEX, EDGE, SEGMENTS, SectionNumbers, control_points, points

Array = NDArray[np.float64]


@st.composite
def sections(draw: st.DrawFn, edge: float | None = None) -> SectionNumbers:
    """One section whose numbers pass the checks on crossings."""
    half_width, thickness = draw(st.floats(60, 300)), draw(st.floats(15, 90))
    share = draw(st.floats(0.2, 0.6))
    lift = share * thickness
    values = {
        "half_width": half_width,
        "thickness": thickness,
        "apex": share * thickness,
        "tuck": half_width * draw(st.floats(0.01, 0.28)),
        "edge": draw(st.floats(0, 1)) if edge is None else edge,
        "fullness": draw(st.floats(0, 1)),
        "crown": (1 - share) * thickness * draw(st.floats(0, 0.6)),
        "roll": lift * draw(st.floats(0, 0.35)),
        "vee": lift * draw(st.floats(0, 0.35)),
        "concave": thickness * draw(st.floats(0, 0.2)),
        "double_concave": thickness * draw(st.floats(0, 0.2)),
    }
    numbers = SectionNumbers(**{key: np.array([value]) for key, value in values.items()})
    # What fairing refuses: a bottom so steep that its tangent aims over the apex.
    assume(control_points(numbers)[0, 8, 1] < 0.98 * numbers.apex[0])
    return numbers


def handles(control: Array, joint: int) -> tuple[Array, Array]:
    """Unit directions arriving at and leaving a joint; a handle of no length stands for its neighbour."""
    arriving, leaving = control[3 * joint] - control[3 * joint - 1], control[3 * joint + 1] - control[3 * joint]
    if np.linalg.norm(leaving) < 1e-9:
        leaving = control[3 * joint + 2] - control[3 * joint]
    return arriving / np.linalg.norm(arriving), leaving / np.linalg.norm(leaving)


@given(sections())
def test_a_section_passes_through_its_numbers(numbers: SectionNumbers) -> None:
    control = control_points(numbers)
    bottom, apex, deck = (points(control, np.array([v]))[0] for v in (0.0, APEX, 1.0))
    assert bottom.tolist() == [0.0, 0.0]
    assert apex[0] == numbers.half_width[0]
    assert abs(apex[1] - numbers.apex[0]) < 1e-12
    assert deck.tolist() == [0.0, numbers.thickness[0]]
    # The apex is the widest place, with an upright tangent.
    assert points(np.repeat(control, 501, axis=0), np.linspace(0.0, 1.0, 501))[:, 0].max() <= numbers.half_width[0]
    arriving, leaving = handles(control[0], 3)
    assert abs(arriving[0]) < 1e-12
    assert abs(leaving[0]) < 1e-12


@given(sections())
def test_a_section_is_smooth_but_for_its_edge(numbers: SectionNumbers) -> None:
    control = control_points(numbers)[0]
    for joint in range(1, SEGMENTS):
        if joint == round(EDGE * SEGMENTS) and numbers.edge[0] > 0.999:
            continue
        arriving, leaving = handles(control, joint)
        assert abs(arriving[0] * leaving[1] - arriving[1] * leaving[0]) < 1e-7
        assert arriving @ leaving > 0.0
    # Level across the stringer, unless a vee or a double concave makes a ridge there.
    deck = control[-1] - control[-2]
    assert abs(deck[1]) < 1e-12
    slope = (numbers.vee + 4 * numbers.double_concave) / (numbers.half_width - numbers.tuck)
    first = control[1] - control[0]
    assert abs(first[1] / first[0] - slope[0]) < 1e-9


@given(sections(edge=1.0))
def test_a_hard_edge_is_left_upward_at_the_tuck(numbers: SectionNumbers) -> None:
    control = control_points(numbers)[0]
    _, leaving = handles(control, round(EDGE * SEGMENTS))
    assert abs(control[6, 0] - (numbers.half_width[0] - numbers.tuck[0])) < 1e-9
    assert abs(control[6, 1] - numbers.edge_height[0]) < 1e-9
    # The rail leaves towards half the height between edge and apex, above the tuck, however the bottom comes.
    rise = 0.5 * (numbers.apex[0] - numbers.edge_height[0])
    assert abs(leaving[1] * numbers.tuck[0] - leaving[0] * rise) < 1e-9 * np.hypot(rise, numbers.tuck[0])


@given(sections(edge=0.0))
def test_a_soft_edge_lies_the_tuck_inside_the_apex(numbers: SectionNumbers) -> None:
    control = control_points(numbers)[0]
    assert abs(control[6, 0] - (numbers.half_width[0] - numbers.tuck[0])) < 1e-9


@given(sections(), st.floats(0, 1))
def test_a_section_is_one_curve_over_its_joints(numbers: SectionNumbers, v: float) -> None:
    """No gap where one segment hands over to the next: the curve moves no faster than its handles are long."""
    control = control_points(numbers)
    step = 1e-9
    near = points(np.repeat(control, 2, axis=0), np.array([v, min(v + step, 1.0)]))
    longest = np.linalg.norm(np.diff(control[0], axis=0), axis=1).max()
    assert np.linalg.norm(near[1] - near[0]) <= 3 * SEGMENTS * longest * step * 1.01 + 1e-12


@st.composite
def stations_and_values(draw: st.DrawFn) -> tuple[list[float], list[float]]:
    count = draw(st.integers(2, 6))
    gaps = draw(st.lists(st.floats(25, 800), min_size=count, max_size=count))
    values = draw(st.lists(st.floats(0, 40), min_size=count, max_size=count))
    return np.cumsum(gaps).tolist(), [round(value, 6) for value in values]


@settings(max_examples=200)
@given(stations_and_values())
def test_a_gradation_never_leaves_the_range_of_its_neighbours(numbers: tuple[list[float], list[float]]) -> None:
    at, values = numbers
    line = graded(at, values)
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
