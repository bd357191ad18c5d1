"""Jigs that hold a fin in its place on this board's bottom: spreaders for a pair, a rule for a fin on the stringer."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

from bayloft.arithmetic import product
from bayloft.drawing.curves.bearing import RELIEF_MM, Bearing, bearing, land_mm, reach_mm
from bayloft.drawing.inscription import lettered
from bayloft.drawing.marks import line, texts
from bayloft.drawing.scribing import Head
from bayloft.drawing.sheet import CUT, SCRIBE, Drawing, Label
from bayloft.lines.fin import FinLines
from bayloft.plane.biarcs import fitted, graph
from bayloft.plane.contour import Contour
from bayloft.solid.body import Body
from bayloft.solid.faces import LEVEL_AXES, met
from bayloft.solid.integrals import parameter_at
from bayloft.solid.measure import stringer_from_mm
from bayloft.solid.standing import Stand, upright_axes
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import both

Array = NDArray[np.float64]

SPREAD_SHARES = (("rear", 0.2), ("front", 0.8))
"""Where the two spreaders touch a pair, as shares of the chord half-way up their ends, or on the land nearest to that:
far enough apart to hold the toe (no source)."""

TALL_MM = 42.0
"""Height of a spreader's ends: enough to hold the cant (no source)."""

REACH_MM = 350.0
BEHIND_MM, AHEAD_MM, STUFF_MM = 60.0, 30.0, 28.0
"""A rule starts at the tail end where that is nearer than the first, or else so far behind the base; how far it reaches
ahead of it, and its stuff over the bottom's highest place (no source: long enough to lie true, and to be handled)."""

LEAST_SPREAD_MM = 40.0
"""Distance off the stringer below which two fins leave no room for a plate with its texts between them (measured on
its texts)."""

EVEN_MM = 5e-3
"""mm by which a spreader's ends differ from one face to the other, per mm of its stuff: below, both faces bear alike,
within LAND_MM on 4 mm ply."""

CAPS_MM = 3.0
TEXT_ROOM_MM, BESIDE_MM = 120.0, 5.0
"""Room for texts beside a plate, which is too small to hold them, and their distance from it."""

SAMPLES = 25


def fin_jigs(title: str, stand: Stand, lines: FinLines, board: Body, head: Head) -> list[Drawing]:
    """Return the plates that find a fin's place, the board lying bottom up.

    For a pair two spreaders, which stand square across the bottom near the rear and the front of the base, on the
    stringer's mark: each end bears on the inner side of a fin, on the land beside a hollow, and so gives distance off
    the stringer, toe and cant; none where the fins stand nearer than LEAST_SPREAD_MM to the stringer, or where a notch
    parts the bottom. For a fin on the stringer one rule, which stands on the middle of the stringer flush with the tail
    end and carries both ends. SCRIBE: the marks, and `head` with what the plate is.
    """
    if len(stand.sides) == 1:
        return [lettered(_rule(title, stand, board), replace(head, kind=f"{head.kind} rule", nose=True))]
    high = reach_mm(lines, TALL_MM)
    middle, forward = (RELIEF_MM + high) / 2, np.array([1.0, 0.0, 0.0])
    whole_from = stringer_from_mm(board) + RELIEF_MM
    plates = []
    for name, share in SPREAD_SHARES:
        x = land_mm(lines, share, np.array([middle]))
        here, ahead = (bearing(stand, lines, board, forward, (at, middle), high) for at in (x, x + 1.0))
        if here.foot_mm[1] >= LEAST_SPREAD_MM and here.foot_mm[0] >= whole_from:
            plate = _spreader(title, board, name, here, _half_width(ahead) - _half_width(here))
            plates.append(lettered(plate, replace(head, kind=f"{head.kind} {name} spreader")))
    return plates


def _half_width(end: Bearing) -> float:
    """Return how far off the stringer an edge is, half-way up a spreader's ends."""
    return float(end.foot_mm[1] + TALL_MM / 2 * end.away[1])


def _spreader(title: str, board: Body, name: str, end: Bearing, wider: float) -> Drawing:
    """Return a plate in a plane square to the stringer: y to the right, away from the board up; wider: by how much it
    would have to be on either side 1 mm farther forward, which tells the face of it that bears.
    """
    corner = end.foot_mm
    y = np.linspace(0.0, float(corner[1]), SAMPLES)
    bottom = met(board, np.array([corner[0], 0.0, 0.0]), LEVEL_AXES, 0.0, y)
    foot = fitted([graph(CubicHermiteSpline(y, -bottom.height_mm, -bottom.across), 0.0, y[-1] - RELIEF_MM)], ARC_FIT_MM)
    tall = TALL_MM / -end.away[2]
    edge = [(corner + step * end.away)[1:] * [1.0, -1.0] for step in (RELIEF_MM, tall)]
    half = Contour.joined(foot, Contour.straight([foot.points[-1], *edge], closed=False), closed=False)
    plate = Contour.joined(half.mirrored().reversed().turned(180.0), half, closed=True)
    _, _, right, top = plate.bounds
    bears = "" if abs(wider) < EVEN_MM else "forward face " if wider < 0.0 else "after face "
    said = [
        title,
        f"{name} spreader",
        f"{bears}{both(float(corner[0]))} from tail",
        "stands square across the bottom, up as drawn, seen looking forward;",
        "each end bears on the inner side of a fin",
    ]
    middle = float(foot.points[0, 1])
    mark = line(SCRIBE, (0.0, middle), (0.0, middle + 12.0))
    labels = texts(said, right + BESIDE_MM, top, TEXT_ROOM_MM, CAPS_MM)
    row = middle + 4.0
    labels.append(Label(text="middle of the stringer", x_mm=2.0, y_mm=row, height_mm=CAPS_MM))
    labels.append(Label(text="starboard", x_mm=12.0 - right, y_mm=row, height_mm=CAPS_MM))
    labels.append(Label(text="port", x_mm=right - 12.0, y_mm=row, height_mm=CAPS_MM, anchor="end"))
    return Drawing(name="spreader", contours=((CUT, plate), mark), labels=tuple(labels))


def _rule(title: str, stand: Stand, board: Body) -> Drawing:
    """Return a plate in the plane of the stringer: forward along the base to the right, away from the board up."""
    fin, upright = stand.placement.fin, upright_axes(stand.axes)
    tail = stringer_from_mm(board)
    from_tail = stand.rear_mm[0] - tail <= REACH_MM
    ends = [tail if from_tail else stand.rear_mm[0] - BEHIND_MM, float(stand.front_mm[0]) + AHEAD_MM]
    start, stop = parameter_at(board.port, np.array(ends), np.zeros(2)).tolist()

    def stringer(u: Array) -> tuple[Array, Array]:
        points, tangents = (board.port.grid(u, [0.0], du=order)[:, 0] for order in (0, 1))
        if board.end == "closed":
            # At a closed tail the line stands still; where it goes on to is told by its second derivative.
            tangents[u == 0.0] = board.port.grid([0.0], [0.0], du=2)[0, 0]
        plane = upright[[0, 2]].T
        return product(points - stand.rear_mm, plane), product(tangents, plane)

    foot = fitted([(stringer, start, stop)], ARC_FIT_MM)
    left, right = foot.points[[0, -1], 0].tolist()
    high = foot.bounds[3] + STUFF_MM
    plate = Contour.joined(
        foot, Contour.straight([foot.points[-1], [right, high], [left, high]], closed=False), closed=True
    )
    contours = [(CUT, plate), *(line(SCRIBE, (x, 0.0), (x, 11.0)) for x in (0.0, fin.base_mm))]
    place = "after end flush with the tail end" if from_tail else f"after end {both(ends[0])} from tail"
    said = [
        title,
        f"rule on the middle of the stringer, up as drawn; {place}",
        "forward to the right; the fin stands beside it",
    ]
    labels = texts(said, right + BESIDE_MM, high, TEXT_ROOM_MM, CAPS_MM)
    rear = Label(text="rear end", x_mm=2.0, y_mm=6.0, height_mm=CAPS_MM)
    front = Label(text="front end", x_mm=fin.base_mm - 2.0, y_mm=6.0, height_mm=CAPS_MM, anchor="end")
    return Drawing(name="rule", contours=tuple(contours), labels=(*labels, rear, front))
