"""Whether a lofted board is fair where an eye would look: its tips, its joints, the lines along it, its sections."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from bayloft.arithmetic import lengths
from bayloft.findings import Finding, Severity, judged
from bayloft.lines.audit import HARD_EDGE
from bayloft.lines.board import BoardLines
from bayloft.lines.section_places import APEX, CHINE, DECK_CHINE, EDGE, channel_joints
from bayloft.solid.body import Body
from bayloft.solid.measure import FIRST_AND_SECOND, station_held
from bayloft.solid.surface import Surface
from bayloft.tolerances import (
    HOLLOW_MM,
    JOINT_CURVATURE_RATIO,
    JOINT_TURN_DEG,
    POLE_NORMALS_DEG,
    TIP_CREASE_DEG,
    TIP_DIP_MM,
    WAVE_MM,
)

Array = NDArray[np.float64]

TIP_REACH_MM, TIP_REACH_SHARE, TREND_REACHES = 60.0, 0.1, 10.0 / 3.0
"""mm, and share of a small board's length, from a tip over which its rail line is watched; how many of these reaches
from the tip its trend is taken up to."""
TIP_PLACES = 401

RING_MM, WIDEST_RING_U = 1.0, 0.02
"""mm from a tip at which a crease across the stringer is looked for, and the difference in u that it may take."""

JOINT_PLACES, JOINT_FROM_TIP_MM = 161, 8.0
"""Places in u at which joints are looked at, and mm from a tip within which they are not: there the net's own rounding
is a part of all curvatures."""
STRIP_MM = 1.0
"""Width of the strip between the bottom edge and the line from the corner of a tail below which nothing can be seen of
how it bends: there the edge's own bend is on either side."""
BESIDE = 1e-9
"""Difference in v from a joint to a place beside it."""
FLAT_PER_MM = 1e-4
"""Curvature in 1/mm below which ratios of curvatures mean nothing: a radius of 10 m."""
SOFTNESS_PLACES = 401
"""Places along the board at which the softness of its bottom edge is asked for."""

LINE_PLACES, LINE_FROM_END_MM = 801, 5.0
"""Places along a line, and mm from the board's ends within which it turns into the tip."""

SECTIONS, SECTION_PLACES = 61, (0.25, 0.75)
"""Sections over the board that are looked at, and the places in each span in v."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stretches:
    """Stretches in which curves bend the wrong way: the row of the curve, first and last place, sag in mm."""

    row: NDArray[np.int64]
    first: NDArray[np.int64]
    last: NDArray[np.int64]
    sag_mm: Array


def looks(lines: BoardLines, body: Body) -> tuple[Finding, ...]:
    """Return what is seen of tips, joints, lines and sections. A failure where the surface itself is at fault, which no
    numbers should bring about; a warning where the numbers make it so.
    """
    ends = {"nose": 1.0} | ({"tail": 0.0} if body.end == "closed" else {})
    found = [finding for name, end in ends.items() for finding in _tip(body.port, name, end, lines.length_mm)]
    return (*found, *_joints(lines, body), *_waves(lines, body), *_hollows(lines, body))


def _inside(end: float, steps: Array | float) -> Array:
    """Return parameters u so many steps inside an end."""
    return np.abs(end - np.asarray(steps, dtype=np.float64))


def _tip(surface: Surface, name: str, end: float, length_mm: float) -> list[Finding]:
    dip, fall = rail_dip(surface, end, length_mm)
    itself = fall > TIP_DIP_MM >= dip
    text = f"dive of the rail line at the {name}"
    text = f"the rail line itself falls {fall:.1f} mm to the {name}" if itself else text
    crease, what = tip_crease(surface, end)
    lean = pole_lean(surface, end)
    where = f"{name} tip"
    return [
        judged("tip-dip", where, dip, TIP_DIP_MM, "mm", text, good=dip <= TIP_DIP_MM),
        judged("tip-crease", where, crease, TIP_CREASE_DEG, "deg", what, good=crease <= TIP_CREASE_DEG),
        judged(
            "pole-normals",
            where,
            lean,
            POLE_NORMALS_DEG,
            "deg",
            "lean of the surface's normals round the tip from their mean",
            good=lean <= POLE_NORMALS_DEG,
        ),
    ]


def rail_dip(surface: Surface, end: float, length_mm: float) -> tuple[float, float]:
    """Return how far, mm, the rail line dives near a closed end: as far as it falls both towards the tip and below its
    trend, a parabola through it further inside; and how far it falls at all.
    """
    reach = min(TIP_REACH_MM, TIP_REACH_SHARE * length_mm)
    points = surface.at(_inside(end, np.linspace(0.0, 0.5, TIP_PLACES)), APEX)
    from_tip, height = np.abs(points[:, 0] - points[0, 0]), points[:, 2]
    half = (TREND_REACHES - 1.0) / 2.0
    a, b, c = np.interp(reach * (1.0 + half * np.arange(3.0)), from_tip, height)
    t = (from_tip / reach - 1.0) / half
    trend = a * (t - 1.0) * (t - 2.0) / 2.0 - b * t * (t - 2.0) + c * t * (t - 1.0) / 2.0
    near = from_tip <= reach
    height, trend = height[near], trend[near]
    fallen = np.maximum.accumulate(height[::-1])[::-1] - height
    return max(float(np.minimum(fallen, trend - height).max()), 0.0), float(fallen.max())


def tip_crease(surface: Surface, end: float) -> tuple[float, str]:
    """Return the sharpest fold across the stringer at a closed end, degrees, and where it is: of the rail line at the
    tip, in plan and in elevation, or of deck and bottom RING_MM from it.
    """
    v = np.array([0.0, APEX, 1.0])
    away = surface.at(end, v, 1, 0)
    x, y, z = np.abs(away[1])
    folds = {"the rail line in plan": np.arctan2(x, y), "the rail line in elevation": np.arctan2(z, y)}
    u = _inside(end, np.minimum(RING_MM / lengths(away), WIDEST_RING_U))
    normal = np.cross(surface.at(u, v, 0, 1), surface.at(u, v, 1, 0))
    lean = np.arcsin(np.abs(normal[:, 1]) / lengths(normal))
    folds |= {"the bottom": lean[0], "the deck": lean[2]}
    sharpest = max(folds, key=lambda what: float(folds[what]))
    return 2.0 * float(np.degrees(folds[sharpest])), f"fold of {sharpest} across the stringer"


def pole_lean(surface: Surface, end: float) -> float:
    """Return by how many degrees the normals round a closed end, port and starboard, lean at most from their mean."""
    v = surface.breaks[1]
    # Next to a pole all of S_v is a multiple of S_uv.
    normals = np.cross(surface.at(end, v, 1, 1), surface.at(end, v, 1, 0))
    normals = normals / lengths(normals)[:, None]
    mean = normals.sum(axis=0) * [1.0, 0.0, 1.0]
    return float(np.degrees(2.0 * np.arcsin(np.minimum(lengths(normals - mean / lengths(mean)) / 2.0, 1.0)).max()))


def edge_softness(lines: BoardLines, x_mm: Array) -> Array:
    """Return the softness of the bottom edge at stations (n,), read off a table of it: no root is asked for."""
    u = np.linspace(0.0, 1.0, SOFTNESS_PLACES)
    return np.interp(x_mm, lines.outline.station(u), lines.sections.numbers(u).edge_softness)


def _joints(lines: BoardLines, body: Body) -> list[Finding]:
    surface = body.port
    u = np.linspace(0.0, 1.0, JOINT_PLACES + 2)[1:-1]
    tips = surface.at([1.0, 0.0], APEX)[: 2 if body.end == "closed" else 1]
    channels = channel_joints(lines.sections.channels)
    found = []
    for joint in surface.joints[1:-1]:
        # Where a chine or a channel begins the section turns because it is asked to.
        if np.abs(joint - np.array([CHINE, DECK_CHINE, *channels])).min() < BESIDE:
            continue
        at_edge, at_apex = abs(joint - EDGE) < BESIDE, abs(joint - APEX) < BESIDE
        points = surface.at(u, joint)
        looked_at = np.all([lengths(points - tip) > JOINT_FROM_TIP_MM for tip in tips], axis=0)
        if not at_edge and not at_apex:
            looked_at &= lengths(points - surface.at(u, EDGE)) > STRIP_MM
        if at_edge:
            looked_at &= edge_softness(lines, points[:, 0]) > HARD_EDGE
        if not looked_at.any():
            continue
        ratios, turns = across_joint(surface, u[looked_at], float(joint))
        where = "bottom edge where it is round" if at_edge else "widest point of the rail"
        where = where if at_edge or at_apex else "line from the corner of the tail"
        for code, values, limit, unit, what in (
            ("joint-curvature", ratios, JOINT_CURVATURE_RATIO, "", "ratio of the section's curvature to both sides"),
            ("joint-turn", turns, JOINT_TURN_DEG, "deg", "turn of the surface"),
        ):
            worst = int(np.argmax(values))
            text = f"{what} of the {where}, {points[looked_at][worst, 0]:.0f} mm from the tail"
            bad: Severity = "warning" if at_edge else "failure"
            severity: Severity = "note" if values[worst] <= limit else bad
            found.append(_finding(code, severity, where, float(values[worst]), limit, unit, text))
    return found


def across_joint(surface: Surface, u: Array, joint: float) -> tuple[Array, Array]:
    """Return, at places u (n,) of a joint, the ratio of the surface's curvatures square to it on both sides, 1 or more,
    and by how many degrees it turns.
    """
    beside = [joint - BESIDE, joint + BESIDE]
    p = {order: surface.at(u[:, None], beside, *order) for order in FIRST_AND_SECOND}
    along, across = p[1, 0], p[0, 1]
    normal = np.cross(across, along)
    normal = normal / lengths(normal)[..., None]
    skew = -(along * across).sum(axis=-1, keepdims=True) / (along * along).sum(axis=-1, keepdims=True)
    square = across + skew * along
    bend = p[0, 2] + 2.0 * skew * p[1, 1] + skew * skew * p[2, 0]
    low, high = ((bend * normal).sum(axis=-1) / (square * square).sum(axis=-1)).T
    ratio = 1.0 + np.abs(high - low) / (np.minimum(np.abs(low), np.abs(high)) + FLAT_PER_MM)
    turn = 2.0 * np.arcsin(np.minimum(lengths(normal[:, 1] - normal[:, 0]) / 2.0, 1.0))
    return np.asarray(ratio, dtype=np.float64), np.degrees(turn)


def stretches(turns: Array, sizes: Array, wrong: NDArray[np.bool_]) -> Stretches:
    """Return the stretches of curves (rows) in which the places `wrong` follow one another; `turns` in radians and
    `sizes` in mm of the curve at each place. A stretch that turns evenly sags by an eighth of their product.
    """
    # A place more at the end of each row keeps the rows apart.
    padded = np.pad(wrong, ((0, 0), (0, 1))).ravel()
    change = np.diff(padded.astype(np.int64), prepend=0)
    first, stop = np.flatnonzero(change > 0), np.flatnonzero(change < 0)
    columns = wrong.shape[1] + 1
    if len(first) == 0:
        return Stretches(row=first, first=first, last=first, sag_mm=np.zeros(0))
    ends = np.column_stack([first, stop]).ravel()
    turn, size = (np.add.reduceat(np.pad(a, ((0, 0), (0, 1))).ravel(), ends)[::2] for a in (turns, sizes))
    return Stretches(
        row=first // columns, first=first % columns, last=(stop - 1) % columns, sag_mm=np.abs(turn) * size / 8.0
    )


def _waves(lines: BoardLines, body: Body) -> list[Finding]:
    """Return what is seen of the rail line in profile and, where it is one, of the bottom edge in plan and profile. The
    rail line in plan is the outline, which the audit of the lines looks at.
    """
    t = np.linspace(0.0, np.pi, LINE_PLACES + 2)[1:-1]
    u, step = (1.0 - np.cos(t)) / 2.0, np.sin(t) / 2.0 * (t[1] - t[0])
    place, first, second = (body.port.at(u, [[APEX], [EDGE]], order) for order in (0, 1, 2))
    seen = np.minimum(place[..., 0], lines.length_mm - place[..., 0]) > LINE_FROM_END_MM
    seen[1] &= edge_softness(lines, place[1, :, 0]) <= HARD_EDGE
    found = []
    for line, row, view, axis in (
        ("rail line", 0, "profile", 2),
        ("bottom edge", 1, "plan", 1),
        ("bottom edge", 1, "profile", 2),
    ):
        if not seen[row].any():
            continue
        dx, dy, ddx, ddy = first[row, :, 0], first[row, :, axis], second[row, :, 0], second[row, :, axis]
        square = dx * dx + dy * dy
        turns = np.where(seen[row], (dx * ddy - dy * ddx) / square * step, 0.0)
        wrong = seen[row] & (turns * np.sign(turns.sum()) < 0.0)
        if view == "plan":
            # Where the outline itself goes hollow, so does the edge.
            wrong &= lines.outline.curvature(u) <= 0.0
        against = stretches(turns[None], (np.sqrt(square) * step)[None], wrong[None])
        told = against.sag_mm > WAVE_MM
        deepest = float(against.sag_mm.max(initial=0.0))
        text = f"the {line} bends one way in {view}"
        if told.any():
            x = place[row, :, 0]
            ends = np.stack([x[against.first], x[against.last]], axis=1)[told]
            between = ", ".join(f"{first:.0f} and {last:.0f}" for first, last in ends)
            text = f"the {line} bends against itself in {view}, by {deepest:.1f} mm, between {between} mm from the tail"
        severity: Severity = "warning" if told.any() else "note"
        found.append(_finding("curvature-signs", severity, f"{line} in {view}", deepest, WAVE_MM, "mm", text))
    return found


def _hollows(lines: BoardLines, body: Body) -> list[Finding]:
    """Return what is seen of sections: the deck, unless it was asked to be concave, and the underside outside the edge
    should bulge everywhere.
    """
    surface = body.port
    u = np.linspace(0.0, 1.0, SECTIONS + 2)[1:-1]
    breaks = surface.breaks[1]
    spans = np.diff(breaks)
    v = (breaks[:-1, None] + spans[:, None] * np.array(SECTION_PLACES)).ravel()
    step = np.repeat(spans / len(SECTION_PLACES), len(SECTION_PLACES))
    slope, bend = station_held({order: surface.grid(u, v, *order) for order in FIRST_AND_SECOND})
    square = (slope * slope).sum(axis=-1)
    turns = (slope[..., 0] * bend[..., 1] - slope[..., 1] * bend[..., 0]) / square * step
    sizes = np.sqrt(square) * step
    x = surface.at(u, APEX)[:, 0]
    concave = lines.sections.shares["dome"].at(x) < 0.0
    turns = np.where(concave[:, None] & (v > APEX), np.abs(turns), turns)
    found = []
    for face, here in (("deck", v > APEX), ("underside of the rail", (v > EDGE) & (v < APEX))):
        hollow = stretches(turns[:, here], sizes[:, here], turns[:, here] < 0.0)
        told = hollow.sag_mm > HOLLOW_MM
        stations = np.unique(x[hollow.row[told]])
        text = f"every section looked at bulges on the {face}"
        deepest = float(hollow.sag_mm.max(initial=0.0))
        if told.any():
            deepest_x = x[hollow.row[np.argmax(hollow.sag_mm)]]
            text = f"the {face} is hollow in {len(stations)} of {SECTIONS} sections, {_span(stations)}"
            text += f": by {deepest:.1f} mm" + (f" {deepest_x:.0f} mm from the tail" if len(stations) > 1 else "")
        severity: Severity = "warning" if told.any() else "note"
        found.append(_finding("hollow-section", severity, face, deepest, HOLLOW_MM, "mm", text))
    return found


def _span(stations: Array) -> str:
    if len(stations) == 1:
        return f"{stations[0]:.0f} mm from the tail"
    return f"between {stations[0]:.0f} and {stations[-1]:.0f} mm from the tail"


def _finding(code: str, severity: Severity, where: str, measured: float, limit: float, unit: str, text: str) -> Finding:
    return Finding(code=code, severity=severity, where=where, measured=measured, limit=limit, unit=unit, text=text)
