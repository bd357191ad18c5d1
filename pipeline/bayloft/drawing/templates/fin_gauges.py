"""Gauges and jigs of one fin in one place: foil gauges, a cant gauge, and the jigs for its place on the bottom."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

from bayloft.arithmetic import product
from bayloft.drawing.curves.bearing import RELIEF_MM, bearing, land_mm, reach_mm
from bayloft.drawing.curves.figures import measure_code
from bayloft.drawing.inscription import lettered
from bayloft.drawing.marks import check_line, texts
from bayloft.drawing.scribing import Head
from bayloft.drawing.sheet import CUT, Drawing
from bayloft.drawing.templates.fin_jigs import BESIDE_MM, CAPS_MM, TEXT_ROOM_MM, fin_jigs
from bayloft.drawing.title_block import dated
from bayloft.lines.board import BoardLines
from bayloft.lines.fin import FinLines
from bayloft.lines.section import rail_from
from bayloft.plane.biarcs import fitted, graph
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft, FinDraft
from bayloft.solid.faces import met
from bayloft.solid.standing import Cut, Stand, upright_axes
from bayloft.solid.surface import Surface
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import both

Array = NDArray[np.float64]

HEIGHT_SHARES = (0.25, 0.5, 0.75)
"""Shares of the depth at which the foil is gauged (common practice, no source)."""

FOOT_MM, BACK_MM = 14.0, 44.0
"""How far a foil gauge reaches beyond leading and trailing edge, and its stuff over the notch: three scribed lines of
7 mm have room, and fingers (the lines measured; the rest common practice, no source)."""

NOSE_SHARE = 0.02
"""Share of the chord behind the leading edge at which the gauge of a hollow face begins to follow it (no source)."""

CANT_FOOT_MM, CANT_HEIGHT_MM = 70.0, 80.0
"""Foot of a cant gauge, and its height where the fin is tall enough (common practice, no source)."""

LEAST_FOOT_MM = 30.0
"""mm. On a shorter foot a gauge tips (no source)."""

TOE_MM = 12.0
"""Left upright at the end of a cant gauge's foot (no source)."""

OFF_EDGE_MM = 4.0
"""Left between a gauge's foot and the stringer or the rail's tuck (no source)."""

SAMPLES = 17
BETWEEN_MM = 10.0


def fin_gauges(draft: Draft, fin: FinDraft, cut: Cut, day: date | None = None) -> Drawing:
    """Return the gauges and jigs of a fin at full size, one under the other, each a plate on CUT with its texts.

    Foil gauges: the faces at quarter, half and three quarters of the depth; the plate's foot lies on the plane that the
    fin stands in, so that one serves both faces of a double foil; a plane face has none. Cant gauge: stands on the
    bottom square to the base, where there is room for it. Jigs: see fin_jigs.py. Curves within ARC_FIT_MM. SCRIBE: on
    each, what it is.
    """
    board, body = draft.board, draft.body
    stand = cut.stands[0]
    fins = " and ".join(str(each.number) for each in cut.stands)
    title = dated(f"{board.name}: {stand.placement.fin.name} (fin {fins})", day)
    head = Head(kind=stand.placement.fin.name, board=board.name, day=day)
    port, starboard = fin.body.port, fin.body.starboard
    faces = [(port, "either face" if starboard is None else "outer face", 1.0)]
    if starboard is not None and not fin.lines.foil.flat_inside:
        faces.append((starboard, "inner face", -1.0))
    plates = []
    for face, which, sense in faces:
        for share in HEIGHT_SHARES:
            up = f"{measure_code(board, share * stand.placement.fin.depth_mm)} up"
            face_of = which.removesuffix(" face")
            kind, brief = f"{head.kind} {face_of} foil gauge", f"{head.kind} {face_of} foil"
            foil = replace(head, kind=kind, brief=brief, station=up)
            plates.append(lettered(_foil_gauge(title, stand, fin.lines, face, share, which, sense), foil))
    cant = f"{stand.placement.cant_deg:.3g} deg" if stand.placement.cant_deg else "square"
    cant_head = replace(head, kind=f"{head.kind} cant gauge", brief=f"{head.kind} cant", station=cant)
    plates += [lettered(gauge, cant_head) for gauge in _cant_gauge(title, stand, fin.lines, draft)]
    plates += [jig for each in cut.stands for jig in fin_jigs(title, each, fin.lines, body, head)]
    drawing, top = Drawing(name=f"{cut.slug}-gauges"), 0.0
    for plate in plates:
        left, low, _, high = plate.bounds
        drawing = drawing.joined(plate.moved(-left, top - high))
        top -= high - low + BETWEEN_MM
    return drawing.joined(check_line(0.0, top - 2.0))


def _foil_gauge(
    title: str, stand: Stand, lines: FinLines, side: Surface, share: float, which: str, sense: float
) -> Drawing:
    """Return a plate with a face as a notch, or a tongue where it is hollow, leading edge to the right, its foot at
    y = 0; sense: 1 for the outer, -1 for the inner face.
    """
    spec = stand.placement.fin
    height = share * spec.depth_mm
    u = float(lines.parameter(height))
    corner = float(side.joints[-2])

    def face(back: Array) -> tuple[Array, Array]:
        # At the trailing corner the face's own slope is the one from its side.
        v = np.minimum(corner - back, np.nextafter(corner, 0.0))
        points, tangents = (side.grid([u], v, dv=order)[0, :, :2] * [1.0, sense] for order in (0, 1))
        return points, -tangents

    # A hollow begins behind a nose so slightly eased (foil.py) that a straight line to the edge is as good.
    hollowed = sense < 0.0 and lines.foil.hollow_mm > 0.0
    notch = fitted([(face, 0.0, corner * (1.0 - np.sqrt(NOSE_SHARE) if hollowed else 1.0))], ARC_FIT_MM)
    rear, front = float(notch.points[0, 0]), float(side.grid([u], [0.0])[0, 0, 0])
    nose = [[front, 0.0]] if hollowed else []
    high = notch.bounds[3] + BACK_MM
    step = [[rear, 0.0]] if abs(float(notch.points[0, 1])) > ARC_FIT_MM else []
    foot = Contour.straight([[rear - FOOT_MM, 0.0], *step, notch.points[0]], closed=False)
    back = [notch.points[-1], *nose, [front + FOOT_MM, 0.0], [front + FOOT_MM, high], [rear - FOOT_MM, high]]
    plate = Contour.joined(foot, notch, Contour.straight(back, closed=False), closed=True)
    said = [title, "foil gauge, female", f"{both(height)} above the base", f"{which}, leading edge to the right"]
    labels = texts(said, front + FOOT_MM + BESIDE_MM, high, TEXT_ROOM_MM, CAPS_MM)
    return Drawing(name="foil", contours=((CUT, plate),), labels=tuple(labels))


def _foot_room_mm(starts: Array, level: Array, lines: BoardLines, *, pair: bool) -> float:
    """Return how long a foot may be that starts at a place on the bottom and runs level inward, up to CANT_FOOT_MM:
    clear of the wall, of the rail and, for a pair, of the stringer.
    """
    lengths = np.linspace(0.0, CANT_FOOT_MM, 8 * SAMPLES)
    x, y = (starts - lengths[:, None] * level)[:, :2].T
    numbers = lines.section_numbers(x)
    clear = np.abs(y) < numbers.half_width - rail_from(numbers) - OFF_EDGE_MM
    if lines.wall is not None:
        clear &= x > lines.wall.station(np.abs(y)) + OFF_EDGE_MM
    if pair:
        clear &= y > OFF_EDGE_MM
    return float(lengths[-1] if clear.all() else lengths[int(np.argmin(clear))])


def _cant_gauge(title: str, stand: Stand, fin_lines: FinLines, draft: Draft) -> list[Drawing]:
    """Return a plate in the plane square to the base's chord: its foot on the bottom, on the stringer's side of the
    fin, its edge along the fin's inner side, on the land beside a hollow. None where its foot has no room.
    """
    placement, upright = stand.placement, upright_axes(stand.axes)
    fin = placement.fin
    tall = reach_mm(fin_lines, CANT_HEIGHT_MM)
    # On the base, where its place can be measured.
    at = max(land_mm(fin_lines, 1.0 - fin.greatest_at, np.linspace(RELIEF_MM, tall, SAMPLES)), 0.0)
    edge_line = bearing(stand, fin_lines, draft.body, stand.axes[0], (at, tall), tall)
    place = stand.rear_mm + at * stand.axes[0]
    start, away = product(upright[1:], edge_line.foot_mm - place), product(upright[1:], edge_line.away)
    room = _foot_room_mm(place + product(start, upright[1:]), upright[1], draft.lines, pair=len(stand.sides) > 1)
    if room < LEAST_FOOT_MM:
        return []
    across = np.linspace(start[0], start[0] - room, SAMPLES)
    bottom = met(draft.body, stand.rear_mm, upright, at, across)
    foot = CubicHermiteSpline(-across, bottom.height_mm, -bottom.across)
    inner, outer = -float(across[0]) + RELIEF_MM, -float(across[-1])
    # On paper towards the stringer is to the right, and away from the board is up.
    edge = [(start + (RELIEF_MM + share * (tall - RELIEF_MM)) * away) * [-1.0, 1.0] for share in (1.0, 0.0)]
    sole = fitted([graph(foot, inner, outer)], ARC_FIT_MM)
    end = sole.points[-1] + [0.0, TOE_MM]
    plate = Contour.joined(
        sole,
        Contour.straight([sole.points[-1], end, *edge], closed=False),
        closed=True,
    )
    side = "on the stringer's side; turn over for the other fin" if len(stand.sides) > 1 else "on either side"
    said = [
        title,
        "cant gauge, stands on the bottom, up as drawn",
        f"{both(at)} ahead of the rear end",
        side,
        "lean the fin, its base on its mark, until it touches",
    ]
    labels = texts(said, plate.bounds[2] + BESIDE_MM, plate.bounds[1] + 8.0 * CAPS_MM, TEXT_ROOM_MM, CAPS_MM)
    return [Drawing(name="cant", contours=((CUT, plate),), labels=tuple(labels))]
