"""The paths of a hot wire round a board: round its outline, square to the flat plane, and round its profile, square to
the stringer. Each is drawn twice, as it is seen from either end of the wire.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

import numpy as np
import shapely
from numpy.typing import NDArray

from bayloft.drawing.curves.board_curves import plan_outline
from bayloft.drawing.marks import check_line
from bayloft.drawing.sheet import CUT, MARK, Drawing, Label, Layer
from bayloft.drawing.title_block import dated
from bayloft.plane.contour import Contour
from bayloft.plane.offsets import parallels
from bayloft.solid.body import Body
from bayloft.solid.draft import Draft
from bayloft.solid.measure import section, stringer_from_mm
from bayloft.spec.bench.hot_wire import HotWire
from bayloft.spec.text.stations import usual_stations
from bayloft.tape import along, fine
from bayloft.tolerances import ARC_FIT_MM

Array = NDArray[np.float64]

STATIONS, PER_SPAN = 240, 6
"""Sections of which the profile's highest and lowest places are taken, closer together towards the ends, and steps in
each of their spans."""

PATH_MM, SHARPEST = 0.01, 1.5
"""mm by which the profile's path may leave a true parallel; how far out a corner of it may lie, in its distances."""

CAPS_MM, TICK_MM, PITCH = 5.0, 12.0, 1.6

FACES = {"outline": ("the deck", "the bottom"), "profile": ("starboard", "port")}


def hot_wire_paths(draft: Draft, wire: HotWire, day: date | None = None) -> dict[str, Drawing]:
    """Return a pair of drawings each of outline and profile, by names such as "outline-from-deck": full size, x from
    the tail end along the flat plane. CUT: the path of the middle of the wire, closed, half its kerf and what is left
    on outside the board; MARK: the lead-in behind the tail, and numbered ticks that the wire passes at one time on both
    sides.

    The profile is the board as a wire square to the stringer leaves it: at each station the highest and the lowest
    place of the whole section.
    """
    board = draft.board
    half = plan_outline(draft.lines, draft.body, ARC_FIT_MM)
    outline = Contour.joined(half, half.mirrored().reversed(), closed=True)
    around = max(parallels(outline.reversed(), wire.off_mm), key=lambda path: abs(path.area_mm2))
    paths = {"outline": around, "profile": _profile_path(silhouette(draft.body, board.length_mm), wire)}
    stations = [0.0, *usual_stations(board.length_mm, metric=board.metric), board.length_mm]
    found = {}
    for kind, path in paths.items():
        marked = _marked(path, stations, wire)
        for face, turned in zip(FACES[kind], (False, True), strict=True):
            drawing = _faced(marked, turned=turned)
            lines = [dated(f"{board.name}: hot wire, {kind} seen from {face}", day), *_words(draft, wire, kind)]
            name = f"{kind}-from-{face.removeprefix('the ')}"
            found[name] = _labelled(drawing, f"{board.slug}-{name}", lines)
    return found


def silhouette(body: Body, length_mm: float) -> Array:
    """Return a board from the side as its highest and its lowest places: points (n, 2) round it, as (x, z)."""
    share = (1.0 - np.cos(np.linspace(0.0, np.pi, STATIONS))) / 2.0
    walled = body.end == "wall"
    x = length_mm * share[1:-1]
    if walled:
        x = np.concatenate([[1e-6 * length_mm], x])
        start = stringer_from_mm(body)
        if start > 0.0:
            # Where the notch ends, the section changes at once.
            x = np.unique(np.concatenate([x, [start]]))
    heights = [section(body, float(at), PER_SPAN).points[:, 1] for at in x]
    low, high = np.array([z.min() for z in heights]), np.array([z.max() for z in heights])
    tip = body.port.at(1.0, 0.0)[[0, 2]]
    ends = [] if walled else [body.port.at(0.0, 0.0)[[0, 2]]]
    if walled:
        x[0] = 0.0
    points = [*ends, *np.column_stack([x, low]), tip, *np.column_stack([x, high])[::-1]]
    return np.array(points)


def _profile_path(points: Array, wire: HotWire) -> Contour:
    """Return the path round a silhouette: lines that meet in corners, for an arc about each of many corners would be
    too short to cut.
    """
    around = shapely.Polygon(points).buffer(wire.off_mm, join_style="mitre", mitre_limit=SHARPEST)
    return Contour.straight(np.array(around.exterior.simplify(PATH_MM).coords)[-1:0:-1], closed=True)


def _marked(path: Contour, stations: Sequence[float], wire: HotWire) -> Drawing:
    """Return a path with its lead-in, and ticks across it at stations, numbered round from the tail."""
    points = path.flattened(ARC_FIT_MM)
    low, high = points.min(axis=0), points.max(axis=0)
    rear = points[int(np.argmin(points[:, 0]))]
    contours: list[tuple[Layer, Contour]] = [(CUT, path)]
    contours.append((MARK, Contour.straight([rear - [wire.lead_mm, 0.0], rear - [1.0, 0.0]], closed=False)))
    labels = [_number("0", rear[0] - wire.lead_mm / 2.0, rear[1] + 2.0)]
    inside = [x for x in stations if low[0] < x < high[0]]
    for n, x in enumerate(inside, 1):
        _, upper = _crossed(points, x)
        contours.append((MARK, Contour.straight([(x, upper + 1.0), (x, upper + TICK_MM)], closed=False)))
        labels.append(_number(str(n), x, upper + TICK_MM + 1.5))
    for n, x in enumerate(reversed(inside), len(inside) + 1):
        lower, _ = _crossed(points, x)
        contours.append((MARK, Contour.straight([(x, lower - TICK_MM), (x, lower - 1.0)], closed=False)))
        labels.append(_number(str(n), x, lower - TICK_MM - 1.5 - CAPS_MM))
    return Drawing(name="path", contours=tuple(contours), labels=tuple(labels))


def _number(text: str, x: float, y: float) -> Label:
    return Label(text=text, x_mm=float(x), y_mm=float(y), height_mm=CAPS_MM, anchor="middle")


def _crossed(points: Array, x_mm: float) -> tuple[float, float]:
    """Return the lowest and the highest place at which a closed line of points passes a station."""
    after = np.roll(points, -1, axis=0)
    over = (points[:, 0] <= x_mm) != (after[:, 0] <= x_mm)
    share = (x_mm - points[over, 0]) / (after[over, 0] - points[over, 0])
    y = points[over, 1] + share * (after[over, 1] - points[over, 1])
    return float(y.min()), float(y.max())


def _faced(drawing: Drawing, *, turned: bool) -> Drawing:
    """Return a drawing, or what is seen of it from behind: its image in the y axis, its texts still to be read."""
    if not turned:
        return drawing
    contours = tuple(
        (layer, Contour(points=line.points * [-1.0, 1.0], bulges=-line.bulges, closed=line.closed).reversed())
        for layer, line in drawing.contours
    )
    labels = tuple(_number(label.text, -label.x_mm, label.y_mm) for label in drawing.labels)
    return Drawing(name=drawing.name, contours=contours, labels=labels)


def _words(draft: Draft, wire: HotWire, kind: str) -> list[str]:
    metric = draft.board.metric
    left, kerf = fine(wire.left_on_mm, metric=metric), fine(wire.kerf_mm, metric=metric)
    where = "the flat plane" if kind == "outline" else "the stringer"
    return [
        f"board {along(draft.board.length_mm, metric=metric)}; the line is the middle of the wire, square to {where}",
        f"kerf {kerf}, {left} left on all round; both ends of the wire pass a number at one time",
        "hot foam gives off fumes: outdoors or with air drawn off, and by the foam's data sheet",
    ]


def _labelled(drawing: Drawing, name: str, lines: Sequence[str]) -> Drawing:
    left, low, _, _ = drawing.bounds
    top = low - 2.0 * CAPS_MM
    labels = tuple(
        Label(text=text, x_mm=left, y_mm=top - CAPS_MM * (1.0 + PITCH * n), height_mm=CAPS_MM)
        for n, text in enumerate(lines)
    )
    written = Drawing(name=name, contours=drawing.contours, labels=(*drawing.labels, *labels))
    return written.joined(check_line(left, labels[-1].y_mm - 2.0 * CAPS_MM))
