"""Parts of the demo boards as a router's work: half-outlines and stringer profiles in lengths that fit, rail gauges,
fin templates. Straight-lined, but true to a tenth of a millimetre: sheets ask for no more.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
from shapely import Polygon, box

from bayloft.drawing.curves.board_curves import plan_outline, side_view, whole_section
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, Drawing
from bayloft.drawing.templates.fin_template import fin_outline
from bayloft.plane.contour import Contour

from ...demo import draft

SPECS = Path(__file__).parents[3] / "specs"
LONGEST_MM = 1300.0
RIM_MM = 40.0


def part(outline: Contour | Polygon, number: int, title: str, **more: object) -> Part:
    """Return a part that is nothing but its outline."""
    if isinstance(outline, Polygon):
        outline = Contour.straight(np.asarray(outline.normalize().exterior.coords)[:-1], closed=True)
    return Part(drawing=Drawing(name=title, contours=((CUT, outline),)), title=title, number=number, **more)


@cache
def demo_parts(board: str) -> tuple[Part, ...]:
    """Return the parts of a demo board."""
    drawn = draft(board)
    lines, body = drawn.lines, drawn.body
    half = Polygon(np.vstack([plan_outline(lines, body, 0.05).flattened(0.05)]))
    stringer = Polygon(side_view(lines, body).flattened(0.05))
    found: list[tuple[str, Polygon | Contour, bool]] = []
    for title, whole in (("half outline", half), ("stringer", stringer)):
        found += [(f"{title} {i}", piece, True) for i, piece in enumerate(_lengths(whole), 1)]
    for x in np.linspace(0.15, 0.85, 6) * lines.length_mm:
        section = Polygon(np.vstack([side.flattened(0.05) for side in whole_section(body, float(x))]))
        found.append((f"rail gauge {x:.0f}", _gauge(section), False))
    found += [(fin.fin.name, fin_outline(fin), False) for fin in drawn.fins]
    return tuple(
        part(outline, number, title, along_grain=along) for number, (title, outline, along) in enumerate(found, 1)
    )


def _lengths(whole: Polygon) -> list[Polygon]:
    left, low, right, high = whole.buffer(0).bounds
    count = int(np.ceil((right - left) / LONGEST_MM))
    cuts = np.linspace(left, right, count + 1)
    return [_largest(whole.buffer(0) & box(a, low, b, high)) for a, b in pairwise(cuts)]


def _gauge(section: Polygon) -> Polygon:
    section = section.buffer(0)
    _, low, right, high = section.bounds
    return _largest(box(right / 2, low - RIM_MM, right + RIM_MM, high + RIM_MM) - section)


def _largest(shape: Polygon) -> Polygon:
    return max(getattr(shape, "geoms", [shape]), key=lambda each: each.area).simplify(0.05)
