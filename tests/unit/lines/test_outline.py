"""From a station to the outline's parameter and back."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import brentq

from bayloft.lines.outline import OutlineNumbers, fair_outline
from bayloft.lines.readings import Measured


def numbers(*, tail_cut_off: bool) -> OutlineNumbers:
    return OutlineNumbers(
        length_mm=2235.0,
        half_widths=(Measured(304.8, 187.0), Measured(1930.2, 212.0), Measured(1180.0, 270.0)),
        wide_x_mm=1180.0,
        tail_cut_off=tail_cut_off,
        tail_radius_mm=None,
        nose_radius_mm=None,
        hollow=frozenset(),
    )


@pytest.mark.parametrize("tail_cut_off", [False, True])
def test_parameter_is_the_root_of_the_station(tail_cut_off: bool) -> None:
    """Against scipy's Brent; towards a closed end, where the station stands still, by the station it leads back to."""
    outline = fair_outline(numbers(tail_cut_off=tail_cut_off))
    x = np.linspace(0.0, outline.length_mm, 301)
    u = outline.parameter(x)
    expected = [brentq(lambda u, at=at: outline.station(u) - at, 0.0, 1.0, xtol=1e-15) for at in x[1:-1]]
    assert u[1:-1] == pytest.approx(np.array(expected), abs=1e-13)
    near = np.concatenate([x, *(end + sign * np.logspace(-9, 1, 11) for end, sign in ((0.0, 1), (x[-1], -1)))])
    assert outline.station(outline.parameter(near)) == pytest.approx(near, abs=1e-11)
    assert (u[0], u[-1]) == (0.0, 1.0)
    assert bool((np.diff(u) > 0.0).all())
