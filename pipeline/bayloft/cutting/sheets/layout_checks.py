"""A finished layout measured again, from its contours alone and by other means than it was made with."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np
from shapely import LineString, Polygon, STRtree, distance

from bayloft.cutting.sheets.layout import TOOL_LAYERS, CutSheet, Layout, Placed, edge_mm
from bayloft.drawing.part import Part
from bayloft.drawing.strokes import struck
from bayloft.findings import Finding, judged
from bayloft.tolerances import FLATTENING_MM, LAYOUT_MM

SAME_AREA_MM2 = 1e-3
"""mm2 by which turning and moving may change a part's area: rounding at 10 m."""


def layout_findings(layout: Layout, parts: Sequence[Part]) -> tuple[Finding, ...]:
    """Return what was measured of a layout: on each sheet the least gap between two parts, how far they overlap, how
    near they come to its edge, and whether a tool leaves a part's outline; over all sheets, whether each part is there
    as often as asked and in its own shape. What is not kept is a failure.
    """
    found = [finding for sheet in layout.sheets for finding in _sheet_findings(sheet, layout)]
    return (*found, *_copies(layout, parts))


def _sheet_findings(sheet: CutSheet, layout: Layout) -> Iterator[Finding]:
    where = f"sheet {sheet.number}"
    shapes = [Polygon(placed.part.outline.flattened(FLATTENING_MM)) for placed in sheet.placed]
    near = STRtree(shapes).query(shapes, predicate="dwithin", distance=2 * layout.gap_mm)
    pairs = [(int(one), int(other)) for one, other in near.T if one < other]
    gaps = [float(distance(shapes[one], shapes[other])) for one, other in pairs]
    overlaps = [float((shapes[one] & shapes[other]).area) for one, other in pairs]
    yield _finding(
        "sheet-overlap",
        where,
        max(overlaps, default=0.0),
        0.0,
        "mm2",
        passed=max(overlaps, default=0.0) == 0.0,
        text="no part lies on another",
        failing=f"{_pair(sheet, pairs, overlaps.index(max(overlaps)))} lie on one another" if overlaps else "",
    )
    least = min(gaps, default=float("inf"))
    if gaps:
        yield _finding(
            "sheet-gap",
            where,
            least,
            layout.gap_mm,
            "mm",
            passed=least >= layout.gap_mm - LAYOUT_MM,
            text="the gap between parts is kept",
            failing=f"{_pair(sheet, pairs, gaps.index(least))} lie too near",
        )
    edge = edge_mm(sheet.stock, layout.cutter)
    nearest, name = min((_from_edge(placed, sheet), _name(placed)) for placed in sheet.placed)
    yield _finding(
        "sheet-margin",
        where,
        nearest,
        edge,
        "mm",
        passed=nearest >= edge - LAYOUT_MM,
        text="parts and cutter stay off the margin",
        failing=f"{name} comes too near the edge of the sheet",
    )
    beyond, name = max(
        (_beyond(placed, shape), _name(placed)) for placed, shape in zip(sheet.placed, shapes, strict=True)
    )
    yield _finding(
        "sheet-tool",
        where,
        beyond,
        0.0,
        "mm",
        passed=beyond <= LAYOUT_MM,
        text="holes and scribed lines lie on their parts",
        failing=f"a hole or a scribed line of {name} lies beyond its outline",
    )


def _copies(layout: Layout, parts: Sequence[Part]) -> Iterator[Finding]:
    placed = [each for sheet in layout.sheets for each in sheet.placed]
    there = Counter((each.given.number, each.given.title, each.mirrored) for each in placed)
    asked = Counter[tuple[int, str, bool]]()
    for part in parts:
        asked[part.number, part.title, False] += part.count - part.mirrored
        asked[part.number, part.title, True] += part.mirrored
    wrong = dict.fromkeys(f"part {key[0]}, {key[1]}" for key in sorted(there | asked) if there[key] != asked[key])
    yield _finding(
        "layout-copies",
        "all sheets",
        len(placed),
        sum(part.count for part in parts),
        "parts",
        passed=not wrong,
        text="every part is there as often as asked",
        failing=f"not there as often as asked: {'; '.join(wrong)}",
    )
    changes = [abs(abs(each.part.outline.area_mm2) - abs(each.given.outline.area_mm2)) for each in placed]
    yield _finding(
        "layout-shape",
        "all sheets",
        max(changes, default=0.0),
        SAME_AREA_MM2,
        "mm2",
        passed=max(changes, default=0.0) <= SAME_AREA_MM2,
        text="every part has its own shape",
        failing="a part was changed as it was laid down",
    )


def _from_edge(placed: Placed, sheet: CutSheet) -> float:
    left, bottom, right, top = placed.part.outline.bounds
    return min(left, bottom, sheet.stock.length_mm - right, sheet.stock.width_mm - top)


def _beyond(placed: Placed, shape: Polygon) -> float:
    """Return how far what a tool follows leaves the outline of a part, in mm."""
    lines = [
        LineString(line.flattened(FLATTENING_MM))
        for layer, line in struck(placed.part.drawing).contours
        if layer in TOOL_LAYERS
    ]
    outside = [line.difference(shape) for line in lines]
    points = np.concatenate([np.empty((0, 2)), *(np.asarray(part.coords) for line in outside for part in _lines(line))])
    return max((float(distance(LineString([point, point]), shape)) for point in points), default=0.0)


def _lines(shape: LineString) -> Sequence[LineString]:
    return [part for part in getattr(shape, "geoms", [shape]) if not part.is_empty]


def _name(placed: Placed) -> str:
    return f"part {placed.given.number}, {placed.given.title}"


def _pair(sheet: CutSheet, pairs: Sequence[tuple[int, int]], which: int) -> str:
    one, other = pairs[which]
    return f"{_name(sheet.placed[one])} and {_name(sheet.placed[other])}"


def _finding(
    code: str, where: str, measured: float, limit: float, unit: str, *, passed: bool, text: str, failing: str
) -> Finding:
    return judged(code, where, measured, limit, unit, text if passed else failing, good=passed)
