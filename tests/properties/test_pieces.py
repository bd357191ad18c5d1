"""Parts cut in pieces of any length: together, with the gap of their joints, they are the part."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import LineString, Polygon, unary_union

from bayloft.cutting.joining.pieces import NoPieceError, pieced
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT
from bayloft.drawing.templates.part_set import part_set
from bayloft.export.preflight import cutting_problems, drawing_problems
from bayloft.spec.shops.shop import Cutting, JointKind

from ..demo import CUTTING, draft, told

SPECS = Path(__file__).parents[2] / "specs"

FLAT_MM = 1e-4
"""Flattening of the contours compared here."""

MET_MM = 0.01
"""How far the pieces together may leave the part: the promise."""


@cache
def long_parts(name: str) -> tuple[Part, ...]:
    return part_set(told(draft(name), fins=()), [])[:4]


def cutting(joint: JointKind, fit_mm: float) -> Cutting:
    return replace(CUTTING, joint=joint, fit_mm=fit_mm)


def polygon(part: Part) -> Polygon:
    return Polygon(part.outline.flattened(FLAT_MM))


@pytest.mark.parametrize("joint", ["dovetail", "half-lap", "splice"])
@given(
    name=st.sampled_from(["whimbrel", "turnstone", "spoonbill"]),
    which=st.integers(0, 3),
    share=st.floats(0.3, 0.95),
    fit=st.sampled_from([0.0, 0.1, 0.25]),
)
@settings(max_examples=10)
def test_pieces_together_are_the_part(joint: JointKind, name: str, which: int, share: float, fit: float) -> None:
    part = long_parts(name)[which]
    left, _, right, _ = part.outline.bounds
    length = share * (right - left)
    try:
        found = pieced(part, length, 700.0, cutting(joint, fit))
    except NoPieceError:
        assume(False)
        return
    pieces = [each for each in found if "splice plate" not in each.title]
    assert len(pieces) >= 2
    shapes, whole = [polygon(piece) for piece in pieces], polygon(part)
    assert all(shape.is_valid for shape in shapes)
    assert all(shape.bounds[2] - shape.bounds[0] <= length for shape in shapes)
    together = unary_union(shapes)
    # Nothing beyond the part, and what is missing lies in the gap of a joint, which is no wider than the fit.
    assert together.difference(whole.buffer(MET_MM)).area == 0.0
    missing = whole.buffer(-MET_MM).difference(together)
    assert missing.buffer(-fit / 2 - MET_MM).area == 0.0
    # The part's own edge is there, all along, but for the gap.
    lost = LineString(whole.exterior.coords).difference(together.buffer(MET_MM))
    assert lost.length == pytest.approx(0.0, abs=1e-6)
    for one, other in pairwise(shapes):
        shared = one.intersection(other)
        if joint == "half-lap":
            low, _, high, _ = shared.bounds
            assert high - low == pytest.approx(80.0 - 2 * fit, abs=1e-6)
        else:
            assert shared.area < 1e-3
    for piece in found:
        cuts = [("CUT", contour) for layer, contour in piece.drawing.contours if layer is CUT]
        assert not list(cutting_problems(piece.drawing, cuts))
        assert not list(drawing_problems(piece.drawing))
