"""What a cutter can reach: inside corners that it leaves standing, and shapes that it cannot cut at all."""

from __future__ import annotations

import cmath
from collections.abc import Iterator, Sequence
from math import cos, degrees, pi
from typing import TYPE_CHECKING

import numpy as np

from bayloft.drawing.part import Part
from bayloft.findings import Finding, Severity
from bayloft.plane.contour import Contour
from bayloft.plane.segments import Segment
from bayloft.plane.track import segments_of
from bayloft.spec.shops.shop import Cutter, Cutting, Machine, Stock
from bayloft.tolerances import CUT_TRUE_MM, DRILLED_MM, SWEEP_FLATTENING_MM

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon

_QUADRANT = 64
"""Straight lines in a quarter of a circle: they leave one of 12 mm radius by less than 0.001 mm."""

_CORNER_DEG = 20.0
"""Turn of a contour that makes a corner."""

_CURVED_SHARE = 1.5
"""How much more than in a corner of straight walls may be left in one of curved walls; more is a gap too narrow."""

_NEAR_MM = 0.1
"""mm within which a corner or arc belongs to what is left standing at it."""


def polygon(contour: Contour) -> Polygon:
    """Return the ground within a closed contour."""
    from shapely import Polygon  # noqa: PLC0415

    return Polygon(contour.flattened(SWEEP_FLATTENING_MM))


def ground_of(part: Part) -> Polygon:
    """Return the ground of a part, without its openings and holes."""
    from shapely import union_all  # noqa: PLC0415

    return polygon(part.outline).difference(union_all([polygon(inside) for inside in (*part.openings, *part.holes)]))


def closed_by(ground: Polygon | MultiPolygon, cutter_mm: float) -> Polygon | MultiPolygon:
    """Return the ground that stays, at the least, when a cutter of this diameter goes round outside of it."""
    radius = cutter_mm / 2
    return ground.buffer(radius, quad_segs=_QUADRANT).buffer(-radius, quad_segs=_QUADRANT).union(ground)


def opened_by(ground: Polygon | MultiPolygon, cutter_mm: float) -> Polygon | MultiPolygon:
    """Return the ground that a cutter of this diameter can clear without leaving it; empty where it does not fit."""
    radius = cutter_mm / 2
    return ground.buffer(-radius, quad_segs=_QUADRANT).buffer(radius, quad_segs=_QUADRANT).intersection(ground)


def unfit(stock: Stock, cutter: Cutter, machine: Machine, cutting: Cutting) -> Iterator[Finding]:
    """Yield what keeps a cutter from going through this stock, and a feed that the machine holds back."""
    depth = stock.thickness_mm + cutting.below_mm
    if cutter.depth_mm < depth:
        text = f"the cutter reaches {cutter.depth_mm:g} mm deep; through the stock and below takes {depth:g} mm"
        yield _finding("cutter-short", "failure", cutter.name, cutter.depth_mm, depth, text)
    if cutting.tabs and cutting.tab_height_mm >= stock.thickness_mm:
        text = f"tabs of {cutting.tab_height_mm:g} mm height in stock of {stock.thickness_mm:g} mm would not be cut"
        yield _finding("tab-high", "failure", stock.name, cutting.tab_height_mm, stock.thickness_mm, text)
    if not cutting.tabs:
        text = "no tabs are asked for: parts come loose under the turning cutter unless something else holds them"
        yield _finding("no-tabs", "warning", stock.name, 0.0, 1.0, text, unit="tabs")
    asked, greatest = cutter.feed_mm_min, machine.greatest_feed_mm_min
    if asked > greatest:
        chip = greatest / (cutter.flutes * cutter.spindle_rpm)
        turns = greatest / (cutter.flutes * cutter.chip_load_mm)
        text = (
            f"the chip load asks for {asked:.0f} mm/min, more than the machine's greatest feed;"
            f" at {greatest:.0f} mm/min it falls to {chip:.3f} mm; {turns:.0f} turns per minute would keep it"
        )
        yield _finding("feed-held-back", "warning", cutter.name, asked, greatest, text, unit="mm/min")


def unreached(part: Part, cutter_mm: float) -> Iterator[Finding]:
    """Yield what a cutter of this diameter leaves standing on a part beyond `CUT_TRUE_MM`.

    In a sharp inside corner every cutter leaves something: a warning. An inside radius smaller than the cutter's, a bay
    or an opening into which it does not go, and a hole smaller than it: failures.
    """
    outline = polygon(part.outline)
    stays = closed_by(outline, cutter_mm)
    yield from _left(part, part.outline, stays.difference(outline), stays, cutter_mm)
    for contour in part.openings:
        ground = polygon(contour)
        cleared = opened_by(ground, cutter_mm)
        if cleared.is_empty:
            text = f"a cutter of {cutter_mm:g} mm does not go into an opening {_place(part, *contour.points[0])}"
            yield _finding("opening-narrow", "failure", part.title, cutter_mm, 0.0, text)
            continue
        yield from _left(part, contour, ground.difference(cleared), cleared, cutter_mm)
    for hole in part.holes:
        diameter, (x, y) = circle(hole)
        if diameter < cutter_mm - DRILLED_MM:
            text = f"a hole {_place(part, x, y)} is smaller than the cutter; drill it with one of {diameter:.3g} mm"
            yield _finding("hole-small", "failure", part.title, cutter_mm, diameter, text)


def circle(contour: Contour) -> tuple[float, tuple[float, float]]:
    """Return a drilled contour's diameter and centre in mm. Raises ValueError for a contour that is no circle."""
    left, bottom, right, top = contour.bounds
    diameter = right - left
    round_mm2 = pi * diameter**2 / 4
    if not contour.closed or abs(top - bottom - diameter) > 1e-6 or abs(abs(contour.area_mm2) / round_mm2 - 1) > 1e-6:
        raise ValueError(f"a drilled contour is a circle, and the one at ({left:.3f}, {bottom:.3f}) is none")
    return diameter, ((left + right) / 2, (bottom + top) / 2)


def _left(
    part: Part, contour: Contour, left: Polygon | MultiPolygon, cut_at: Polygon | MultiPolygon, cutter_mm: float
) -> Iterator[Finding]:
    """Yield a finding for all that is left standing at a contour."""
    from shapely import distance, get_coordinates, points  # noqa: PLC0415

    segments = segments_of(contour)
    for patch in getattr(left, "geoms", [left]):
        if patch.is_empty:
            continue
        places = get_coordinates(patch)
        depths = distance(points(places), cut_at.boundary)
        deepest = int(np.argmax(depths))
        left_mm = float(depths[deepest])
        if left_mm <= CUT_TRUE_MM:
            continue
        x, y = places[deepest].tolist()
        where = _place(part, x, y)
        radius = _least_radius(segments, patch)
        if left_mm <= _CURVED_SHARE * _in_corner_mm(segments, complex(x, y), cutter_mm) + CUT_TRUE_MM:
            text = (
                f"a cutter of {cutter_mm:g} mm leaves {left_mm:.2f} mm in the inside corner {where}: finish it by hand"
            )
            yield _finding("corner-left", "warning", part.title, left_mm, CUT_TRUE_MM, text)
        elif radius < cutter_mm / 2:
            text = (
                f"the inside radius of {radius:.2f} mm {where} is less than the cutter's {cutter_mm / 2:g} mm, which"
                f" would leave {left_mm:.2f} mm; take a cutter of at most {2 * radius:.2f} mm"
            )
            yield _finding("radius-small", "failure", part.title, left_mm, CUT_TRUE_MM, text)
        else:
            text = f"a cutter of {cutter_mm:g} mm does not go into the gap {where}, and would leave {left_mm:.2f} mm"
            yield _finding("gap-narrow", "failure", part.title, left_mm, CUT_TRUE_MM, text)


def _in_corner_mm(segments: Sequence[Segment], place: complex, cutter_mm: float) -> float:
    """Return what a cutter leaves in the corner of straight walls at a place; 0 where there is no corner."""
    for before, after in zip(segments, [*segments[1:], segments[0]], strict=True):
        turn = abs(cmath.phase(after.headings[0] / before.headings[1]))
        if abs(before.end - place) < _NEAR_MM and degrees(turn) > _CORNER_DEG:
            return cutter_mm / 2 * (1 / cos(turn / 2) - 1)
    return 0.0


def _least_radius(segments: Sequence[Segment], patch: Polygon) -> float:
    """Return the least radius of the arcs at a patch in mm; infinite without arcs."""
    from shapely import Point  # noqa: PLC0415

    near = patch.buffer(_NEAR_MM)
    middles = [(segment, segment.at(0.5)) for segment in segments if segment.bulge]
    return min(
        (segment.radius for segment, at in middles if near.covers(Point(at.real, at.imag))), default=float("inf")
    )


def _place(part: Part, x: float, y: float) -> str:
    left, bottom, _, _ = part.outline.bounds
    return (
        f"at {x:.1f}, {y:.1f} mm on the sheet ({x - left:.1f} mm from the part's left and {y - bottom:.1f} mm from its"
        " lower edge as it lies there)"
    )


def _finding(
    code: str, severity: Severity, where: str, measured: float, limit: float, text: str, unit: str = "mm"
) -> Finding:
    return Finding(code=code, severity=severity, where=where, measured=measured, limit=limit, unit=unit, text=text)
