"""The fin template: a fin from the side at full size, with its base line, rake and ply lines."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import NDArray
from shapely import LineString, box, difference, get_coordinates, get_parts, union_all

from bayloft.drawing.curves.level_lines import LevelLine
from bayloft.drawing.curves.ply_lines import ply_lines
from bayloft.drawing.curves.thickness_lines import thickness_levels, thickness_lines
from bayloft.drawing.dimensions import PART_LAYERS, horizontal, upright
from bayloft.drawing.inscription import headed, named
from bayloft.drawing.labels import Box, bounds, dotted, free_place, text_width_mm, widened
from bayloft.drawing.marks import CHECK_MM, TICK_MM, check_strokes
from bayloft.drawing.room import Room
from bayloft.drawing.scribing import Head
from bayloft.drawing.sheet import CENTRE, CUT, MARK, PLY, PLY_INSIDE, THICKNESS, Drawing, Label, Layer
from bayloft.laminating.layup import Panel, fin_panel, ply_planes_mm
from bayloft.lines.fin import FinLines
from bayloft.plane.biarcs import fitted, graph
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.draft import FinDraft
from bayloft.solid.standing import Cut
from bayloft.spec.fins.fin import Fin
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import both

Array = NDArray[np.float64]

CAPS_MM = 3.5
SMALL_CAPS_MM = 2.0
NAME_CAPS_MM = 5.0

NUMBERED = 5
"""Every so many ply lines have their number: that of the line, counted from the edges up."""

ANGLE_RADIUS_SHARE = 0.3
"""Radius of the arc that shows the rake, as a share of the depth."""

LEAST_RAKE_MM = 1.0
"""Rake below which the rake line and the square at the middle of the base are one line, and no angle is drawn."""

LEAST_BEVEL_DEG = 0.2
"""Bevel across the base that is told."""

_APART_MM = 10.0
"""Between the rows of dimensions, texts and check line round the fin."""

_ROW_MM = 6.5
_SPARE_MM, _HEAD_SPARE_MM = 0.8, 3.0
"""Between a text and a line, and between one and the strokes of the head."""


def fin_template(draft: FinDraft, cut: Cut | None = None, head: Head | None = None) -> Drawing:
    """Return the template of a fin at full size: x forward from the rear end of the base, y the height above the base.

    CUT: one closed contour, counter-clockwise, with the tab below the base where there is one; its edges within
    ARC_FIT_MM of the surface's. MARK: base line, rake, dimensions, a check line of 100 mm; CENTRE: the square at the
    middle of the base; PLY and PLY_INSIDE: the ply lines of the outer face and of an inside one that is neither flat
    nor alike, or THICKNESS: with a core, whose skins are not ground through, level curves of the whole thickness; TEXT:
    what they are; SCRIBE: the head, if given, at which other straight marks are interrupted. For a place where the
    bottom leaves a straight base by more than BASE_STRAIGHT_MM, the base is cut to it in the fin's middle plane.

    Raises SpecError where the fin cannot be laid up.
    """
    fin, lines, body = draft.fin, draft.lines, draft.body
    panel = fin_panel(fin, lines)
    levels = [] if fin.core is None else thickness_levels(fin)
    curves = ply_lines(body, ply_planes_mm(panel, body)) if fin.core is None else thickness_lines(body, levels)
    numbered = [(f"{curve.level_mm:g}", curve) for curve in curves]
    if fin.core is None:
        numbered = [(f"{i}", curve) for i, curve in enumerate(curves, 1) if i % NUMBERED == 0]
    layer = PLY if fin.core is None else THICKNESS
    outline = fin_outline(draft, cut)
    # What is drawn first lies under the rest: near the leading edge level lines crowd.
    inside = () if body.starboard is None else ply_lines(body, ply_planes_mm(panel, body), "inside")
    under = [(PLY_INSIDE, line) for curve in inside for line in curve.contours]
    under += [(layer, line) for curve in curves for line in curve.contours]
    marks = _marks(fin, cut)
    said = _head(head, outline, marks)
    taken = [widened(bounds(label), _HEAD_SPARE_MM) for label in said]
    marks = [
        (layer, part) for layer, line in marks for part in (_interrupted(line, taken) if _yields(line) else [line])
    ]
    drawn = [outline, *(line for _, line in (*under, *marks))]
    labels = [*said, *_inside_labels(fin, lines, numbered, drawn, taken)]
    slug = cut.slug if cut else fin.slug
    part = Drawing(name=f"{slug}-template", contours=(*under, (CUT, outline), *marks), labels=tuple(labels))
    told = _thickness_notes(levels) if fin.core is not None else _ply_notes(panel, body, dashed=bool(inside))
    return part.joined(*_dimensions(fin, outline), _notes(fin, outline, [*_told(head), *told], cut))


def _head(head: Head | None, outline: Contour, marks: Sequence[tuple[Layer, Contour]]) -> tuple[Label, ...]:
    """Return a head as it is scribed into the fin."""
    if head is None:
        return ()
    left, bottom, right, top = outline.bounds
    staying = [(layer, line) for layer, line in marks if not _yields(line)]
    room = Room.of(Drawing(name="fin", contours=((CUT, outline), *staying)))
    return headed(room, head, ((left + right) / 2, (bottom + top) / 2)).labels


def _told(head: Head | None) -> list[str]:
    return [] if head is None else [named(head.board, head.kind, head.day)]


def _yields(line: Contour) -> bool:
    """Whether a mark gives way to the head: rake line and square run through the middle of every fin and would leave
    no room; the base line stays.
    """
    return len(line.points) == 2 and not line.bulges.any() and line.points[0, 1] != line.points[1, 1]


def _interrupted(line: Contour, boxes: Sequence[Box]) -> list[Contour]:
    """Return what is left of a straight line outside of boxes."""
    left = difference(LineString(line.points), union_all([box(*each) for each in boxes]))
    parts = [get_coordinates(part) for part in get_parts(left)]
    return [Contour.straight(points, closed=False) for points in parts if len(points) > 1]


def _ply_notes(panel: Panel, body: Body, *, dashed: bool) -> list[str]:
    faces = "both faces alike" if body.starboard is None else "outer face"
    middle = "the edges are between two plies" if panel.plies % 2 == 0 else "the edges are inside the middle ply"
    return [
        f"ply lines every {panel.laminate.ply_mm:.3f} mm, {faces}, every {NUMBERED}th numbered from the edges up",
        f"{panel.plies} plies" + (f"; {middle}" if body.starboard is None else ", counted from the inside face"),
        *(["dashed: ply lines of the inside face"] if dashed else []),
    ]


def _thickness_notes(levels: list[float]) -> list[str]:
    if not levels:
        return []
    step = levels[1] - levels[0] if len(levels) > 1 else 1.0
    return [f"lines of equal thickness every {step:g} mm, numbered in mm"]


def fin_outline(draft: FinDraft, cut: Cut | None = None) -> Contour:
    """Return the outline of a fin with its tab, one closed contour, counter-clockwise from the rear end of the base,
    which is cut to the bottom of a place where that is not straight.
    """
    port = draft.body.port

    def leading(u: Array) -> tuple[Array, Array]:
        points, tangents = (port.grid(u, [0.0], du=order)[:, 0, [0, 2]] for order in (0, 1))
        return points, tangents

    def trailing(down: Array) -> tuple[Array, Array]:
        points, tangents = (port.grid(1.0 - down, [1.0], du=order)[:, 0, [0, 2]] for order in (0, 1))
        return points, -tangents

    edges = fitted([(leading, 0.0, 1.0)], ARC_FIT_MM), fitted([(trailing, 0.0, 1.0)], ARC_FIT_MM)
    return Contour.joined(*_base(draft.fin, cut), *edges, closed=True)


def _base(fin: Fin, cut: Cut | None) -> list[Contour]:
    """Return the lower edge from rear to front, round the tab where there is one."""
    curved = cut is not None and not cut.stands[0].straight

    def along(start: float, stop: float) -> list[Contour]:
        # A tab that ends with the base leaves no step there.
        if stop - start <= ARC_FIT_MM:
            return []
        if cut is None or not curved:
            return [Contour.straight([[start, 0.0], [stop, 0.0]], closed=False)]
        return [fitted([graph(cut.stands[0].base, start, stop)], ARC_FIT_MM)]

    if fin.tab is None:
        return along(0.0, fin.base_mm)
    rear, front = fin.tab.from_rear_mm, fin.tab.from_rear_mm + fin.tab.length_mm
    before, after = along(0.0, rear), along(front, fin.base_mm)
    start = before[-1].points[-1] if before else np.array([0.0, 0.0])
    stop = after[0].points[0] if after else np.array([fin.base_mm, 0.0])
    low = -fin.tab.height_mm
    tab = Contour.straight([start, [start[0], low], [stop[0], low], stop], closed=False)
    return [*before, tab, *after]


def _tip(fin: Fin) -> tuple[float, float]:
    return fin.base_mm / 2 - fin.rake_mm, fin.depth_mm


def _rake_deg(fin: Fin) -> float:
    return float(np.degrees(np.arctan2(fin.rake_mm, fin.depth_mm)))


def _angle(fin: Fin) -> str:
    return f"{_rake_deg(fin):.1f}°"


def _marks(fin: Fin, cut: Cut | None) -> list[tuple[Layer, Contour]]:
    """Return base line (where a tab hides it or the base is a curve), the square at the middle of the base, rake line
    and its angle.
    """
    middle = fin.base_mm / 2
    marks: list[tuple[Layer, Contour]] = []
    if fin.tab is not None or (cut and not cut.stands[0].straight):
        marks.append((MARK, Contour.straight([[0.0, 0.0], [fin.base_mm, 0.0]], closed=False)))
    marks.append((MARK, Contour.straight([[middle, 0.0], _tip(fin)], closed=False)))
    if abs(fin.rake_mm) > LEAST_RAKE_MM:
        radius, rake = ANGLE_RADIUS_SHARE * fin.depth_mm, np.radians(_rake_deg(fin))
        ends = [[middle, radius], [middle - radius * np.sin(rake), radius * np.cos(rake)]]
        arc = Contour(points=np.array(ends), bulges=np.array([np.tan(rake / 4), 0.0]), closed=False)
        marks += [(CENTRE, Contour.straight([[middle, 0.0], [middle, fin.depth_mm]], closed=False)), (MARK, arc)]
    return marks


def _inside_labels(
    fin: Fin, lines: FinLines, numbered: Iterable[tuple[str, LevelLine]], drawn: list[Contour], taken: list[Box]
) -> list[Label]:
    """Return a label for the rake's angle and for each numbered line, where no line crosses them, clear of `taken`."""
    dots = np.concatenate([dotted(line, 1.0) for line in drawn])
    taken = taken + [(x - _SPARE_MM, y - _SPARE_MM, x + _SPARE_MM, y + _SPARE_MM) for x, y in dots.tolist()]

    def on_fin(boxes: Array) -> NDArray[np.bool_]:
        x, u = (boxes[:, 0] + boxes[:, 2]) / 2, lines.parameter(np.clip(boxes[:, 1::2], 0.0, fin.depth_mm))
        behind, ahead = lines.trailing(u).max(axis=1), lines.leading(u).min(axis=1)
        return np.asarray((behind < x) & (x < ahead) & (boxes[:, 1] > _SPARE_MM), dtype=np.bool_)

    labels: list[Label] = []

    def put(text: str, height: float, middles: Array) -> None:
        size = text_width_mm(text, height), 1.35 * height
        place = free_place(size, middles - np.array(size) / 2, taken, on_fin)
        if place is not None:
            labels.append(Label(text=text, x_mm=place[0], y_mm=place[1] + 0.35 * height, height_mm=height))
            taken.append(bounds(labels[-1]))

    if abs(fin.rake_mm) > LEAST_RAKE_MM:
        around = np.radians(90.0 + _rake_deg(fin) / 2)
        reach = np.linspace(0.7, 1.3, 25)[:, None] * ANGLE_RADIUS_SHARE * fin.depth_mm
        put(_angle(fin), CAPS_MM, np.array([fin.base_mm / 2, 0.0]) + reach * [np.cos(around), np.sin(around)])
    for text, curve in numbered:
        dots = np.concatenate([dotted(line, 1.0) for line in curve.contours])
        from_top = np.hypot(*(dots - dots[np.argmax(dots[:, 1])]).T).argsort(kind="stable")
        up, aside = 0.7 * SMALL_CAPS_MM + _SPARE_MM, text_width_mm(text, SMALL_CAPS_MM) / 2 + 1.5 * _SPARE_MM
        beside = np.array([[0.0, up], [0.0, -up], [-aside, 0.0], [aside, 0.0]])
        # Beside a line that slants everywhere there is room at a corner only.
        corners = np.array([[-aside, up], [aside, up], [-aside, -up], [aside, -up]])
        places = [(dots[from_top[::3], None] + around).reshape(-1, 2) for around in (beside, corners)]
        put(text, SMALL_CAPS_MM, np.concatenate(places))
    return labels


def _dimensions(fin: Fin, outline: Contour) -> list[Drawing]:
    """Return base, depth and rake as dimensions round the fin."""
    _, bottom, right, top = outline.bounds
    tip_x, middle = _tip(fin)[0], fin.base_mm / 2
    base = horizontal(
        (0.0, fin.base_mm),
        bottom - _APART_MM,
        f"base {both(fin.base_mm)}",
        from_y_mm=(0.0, 0.0),
        height_mm=CAPS_MM,
        layers=PART_LAYERS,
    )
    x = right + _APART_MM
    depth = upright(x, (0.0, fin.depth_mm), from_x_mm=(fin.base_mm, tip_x), layers=PART_LAYERS)
    text = Label(text=f"depth {both(fin.depth_mm)}", x_mm=x + 2.0, y_mm=fin.depth_mm / 2, height_mm=CAPS_MM)
    row = base.labels[0].y_mm
    aft = Label(text="aft", x_mm=-TICK_MM, y_mm=row, height_mm=CAPS_MM, anchor="end")
    forward = Label(text="forward", x_mm=fin.base_mm + TICK_MM, y_mm=row, height_mm=CAPS_MM)
    found = [base, depth, Drawing(name="words", labels=(text, aft, forward))]
    if abs(fin.rake_mm) > LEAST_RAKE_MM:
        found.append(
            horizontal(
                (min(middle, tip_x), max(middle, tip_x)),
                top + _APART_MM,
                f"rake {both(fin.rake_mm)}, {_angle(fin)}",
                from_y_mm=(top, top),
                height_mm=CAPS_MM,
                layers=PART_LAYERS,
            )
        )
    return found


def _foil_text(fin: Fin) -> str:
    if fin.section is not None:
        return f"foil from a file: {fin.section.name}"
    inside = {
        "double": "both faces curved",
        "flat": "inside face flat",
        "hollow": f"inside face hollowed {fin.hollow_mm:.1f} mm at the base",
    }
    return f"{fin.foil} foil, {inside[fin.foil]}"


def _notes(fin: Fin, outline: Contour, told: Sequence[str], cut: Cut | None) -> Drawing:
    """Return the lines of text and the check line below the fin."""
    texts = [
        _foil_text(fin),
        *([] if fin.section else [f"thickest {fin.greatest_at:.0%} of the chord from the leading edge"]),
        f"{fin.thickness_mm:.1f} mm thick at the base, {fin.tip_thickness_mm:.1f} mm at the tip",
        f"trailing edge {fin.trailing_edge_mm:.1f} mm",
        *told,
    ]
    if fin.tab is not None:
        tab = fin.tab
        texts.append(f"tab {both(tab.length_mm)} long, {both(tab.height_mm)} high")
        texts.append(f"tab {both(tab.from_rear_mm)} ahead of the rear end of the base")
    texts += _place_texts(fin, cut) if cut else []
    y = outline.bounds[1] - 2 * _APART_MM
    labels = [Label(text=fin.name, x_mm=0.0, y_mm=y, height_mm=NAME_CAPS_MM, bold=True)]
    y -= 1.5 * _ROW_MM
    for text in texts:
        labels.append(Label(text=text, x_mm=0.0, y_mm=y, height_mm=CAPS_MM))
        y -= _ROW_MM
    y -= _APART_MM - _ROW_MM + TICK_MM
    labels.append(Label(text=f"{CHECK_MM:.0f} mm", x_mm=CHECK_MM / 2, y_mm=y + 1.5, height_mm=CAPS_MM, anchor="middle"))
    contours = tuple((MARK, stroke) for stroke in check_strokes(0.0, y))
    return Drawing(name="notes", contours=contours, labels=tuple(labels))


def _count_texts(cut: Cut) -> list[str]:
    """Return how many fins are made by the template where it is more than one, and which of them turned over."""
    pairs = sum(len(stand.sides) == 2 for stand in cut.stands)
    singles = len(cut.stands) - pairs
    if not pairs:
        return [f"make {singles}, all as drawn"] if singles > 1 else []
    each = "one" if pairs == 1 else f"{pairs}"
    extra = f", {singles} for the stringer" if singles else ""
    # Forward to the right and the base below, it is the outer face of a port fin that is seen.
    return [f"make {2 * pairs + singles}: {each} as drawn for port, {each} turned over for starboard{extra}"]


def _place_texts(fin: Fin, cut: Cut) -> list[str]:
    """Return what is to be known of the base where the fin stands."""
    texts = []
    for stand in cut.stands:
        off = (
            f"{both(stand.placement.off_stringer_mm)} off the middle of the stringer"
            if len(stand.sides) > 1
            else "on the stringer"
        )
        texts.append(f"for fin {stand.number}: {both(stand.placement.from_tail_mm)} from tail, {off}")
    texts += _count_texts(cut)
    stand = cut.stands[0]
    if stand.straight:
        texts.append("the bottom is straight under the base")
    else:
        texts.append(f"base cut to the bottom there, {stand.deviation_mm:.2f} mm off straight at most")
    if abs(stand.bevel_deg) >= LEAST_BEVEL_DEG:
        step = fin.thickness_mm * abs(float(np.tan(np.radians(stand.bevel_deg))))
        which = "shorter" if stand.bevel_deg < 0.0 else "longer"
        texts.append(f"base {abs(stand.bevel_deg):.1f}° off square: outer face {step:.1f} mm {which} than the inner")
    return texts
