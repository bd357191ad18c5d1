"""Female rail gauges: the section outside the board from the stringer round the rail and back, to hold against it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import brentq

from bayloft.drawing.curves.figures import place, section_stations, station_code
from bayloft.drawing.curves.section_curves import SectionCurve, section_curves
from bayloft.drawing.inscription import CAPS_MM, Note, Tag, inscribed
from bayloft.drawing.part import Part
from bayloft.drawing.sheet import CUT, Drawing, Label
from bayloft.plane.biarcs import biarcs, fitted
from bayloft.plane.contour import Contour
from bayloft.solid.draft import Draft
from bayloft.spec.boards.board import Board
from bayloft.tolerances import ARC_FIT_MM
from bayloft.units import both

Array = NDArray[np.float64]

STUFF_MM = 40.0
"""Width of the arms and of the back round the rail: stiff in 6 mm plywood, and two scribed lines of 10 mm have room on
an arm (the lines measured; the stiffness common practice, no source)."""

FOOT_MM, RAIL_MM = 25.0, 90.0
"""Length of the feet at the stringer, and how far inboard of the apex the gauge follows the rail: wider than any
stringer, and past the bands that are planed along a rail (common practice, no source)."""

CLEAR_MM, RUN_MM = 3.0, 12.0
"""How far the arms stand off the board between foot and rail, and the run in which they leave it: high places there do
not lift the gauge off its feet (no source: a hand plane leaves less; the run takes a cutter of 1/4 in)."""

LEAST_CLEAR_MM = 20.0
"""Length of arm that stands clear below which the gauge follows the whole section (no source: a shorter gap is not
worth its corners)."""

RELIEF_MM = 3.5
"""mm, a little more than half of a cutter of 1/4 in (common practice, no source). Where the rail is rounder than this,
at a hard edge, the gauge has a hole about the edge: no such cutter follows it, and what it leaves in the corner would
keep the gauge off the board."""


def rail_gauges(draft: Draft, tag: Tag) -> tuple[Part, ...]:
    """Return a gauge for each station asked for, tail first, numbers from the tag's on: y off the stringer to the
    right, z up from the bottom at the stringer, as starboard is seen looking forward.

    CUT: one closed contour, counter-clockwise; its inner edge is the section of the surface within ARC_FIT_MM, but for
    the clear stretches of the arms and the relief of a sharp edge. Both arms end at the middle of the stringer.
    """
    board, body = draft.board, draft.body
    stations = board.templates.rail_gauges_mm or tuple(section_stations(board))
    parts = []
    for i, curve in enumerate(section_curves(body, stations)):
        parts.append(_gauge(board, curve, tag.onward(i)))
    return tuple(parts)


def _gauge(board: Board, curve: SectionCurve, tag: Tag) -> Part:
    v, points = curve.sampled()
    foot = points[0]
    sharp = _sharp(v, points)
    inner = inner_edge(curve, sharp).moved(0.0, -float(foot[1]))
    low, high = points.min(axis=0) - foot, points.max(axis=0) - foot
    right, bottom, top = float(high[0]) + STUFF_MM, float(low[1]) - STUFF_MM, float(high[1]) + STUFF_MM
    back = [inner.points[0], [0.0, bottom], [right, bottom], [right, top], [0.0, top], inner.points[-1]]
    cut = Contour.joined(Contour.straight(back, closed=False), inner.reversed(), closed=True)
    where = place(board, curve.x_mm)
    middle = right / 2
    notes = [
        Note(texts=("middle of", "the stringer"), near_mm=(0.0, top), within_mm=STUFF_MM),
        Note(texts=("middle of", "the stringer"), near_mm=(0.0, bottom), within_mm=STUFF_MM),
        Note(texts=("starboard looking forward", "turn over for port"), near_mm=(middle, bottom)),
        Note(texts=(f"at {both(curve.x_mm)} from tail",), near_mm=(right, bottom)),
    ]
    if sharp:
        at = curve.at(sharp[0]) - foot
        near = float(at[0]) + RELIEF_MM + STUFF_MM / 2, float(at[1])
        notes.append(Note(texts=("edge relieved",), near_mm=near, within_mm=STUFF_MM))
    # These two have their places: on the wrong side of the board they would mislead.
    caps, aside = CAPS_MM[1], 2 * CLEAR_MM
    faces = (("deck", float(points[-1, 1] - foot[1]) + aside), ("bottom", -aside - caps))
    labels = tuple(Label(text=text, x_mm=aside, y_mm=y, height_mm=caps) for text, y in faces)
    drawing = Drawing(name=f"{board.slug}-rail-gauge-{tag.number}", contours=((CUT, cut),), labels=labels)
    title, code = f"rail gauge, {where}", station_code(board, curve.x_mm)
    part = Part(drawing=drawing, title=title, number=tag.number)
    return inscribed(part, tag.head("rail gauge", brief="gauge", station=code), notes, near_mm=(middle, top), up=True)


def _sharp(v: Array, points: Array) -> list[float]:
    """Return the parameters, ascending, at which the section is rounder than RELIEF_MM: of each such stretch the
    tightest place.
    """
    before, after = points[1:-1] - points[:-2], points[2:] - points[1:-1]
    turned = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    sides = np.hypot(*before.T) * np.hypot(*after.T) * np.hypot(*(points[2:] - points[:-2]).T)
    bend = 2.0 * turned / np.maximum(sides, 1e-30)
    tight = np.flatnonzero(bend > 1.0 / RELIEF_MM)
    groups = np.split(tight, np.flatnonzero(np.diff(tight) > 1) + 1) if len(tight) else []
    spots = [int(group[np.argmax(bend[group])]) + 1 for group in groups]
    kept: list[int] = []
    for spot in spots:
        # Two that one hole would hold are one.
        if not kept or np.hypot(*(points[spot] - points[kept[-1]])) > 2.0 * RELIEF_MM:
            kept.append(spot)
    return [float(v[spot]) for spot in kept]


def inner_edge(curve: SectionCurve, sharp: Sequence[float]) -> Contour:
    """Return the gauge's edge from the bottom to the deck at the stringer, open."""
    apex = max(curve.joints, key=lambda v: float(curve.at(v)[0]))
    rail = float(curve.at(apex)[0]) - RAIL_MM
    if rail - FOOT_MM < 2 * RUN_MM + LEAST_CLEAR_MM:
        return _followed(curve, 0.0, 1.0, sharp)
    off = FOOT_MM, FOOT_MM + RUN_MM, rail - RUN_MM, rail
    bottom, deck = ([curve.where(y, deck=deck) for y in off] for deck in (False, True))
    return Contour.joined(
        fitted(curve.stretches(0.0, bottom[0]), ARC_FIT_MM),
        *_clear(curve, bottom),
        _followed(curve, bottom[-1], deck[-1], sharp),
        *_clear(curve, deck[::-1]),
        fitted(curve.stretches(deck[0], 1.0), ARC_FIT_MM),
        closed=False,
    )


def _clear(curve: SectionCurve, v: Sequence[float]) -> list[Contour]:
    """Return the edge that leaves the board from v[0] to v[1], stands CLEAR_MM off it, and is back on it at v[3]."""
    off = fitted(curve.stretches(v[1], v[2], CLEAR_MM), ARC_FIT_MM)
    return [
        _run(curve, v[0], v[1], off.points[0], leaving=True),
        off,
        _run(curve, v[2], v[3], off.points[-1], leaving=False),
    ]


def _run(curve: SectionCurve, start: float, stop: float, beside: Array, *, leaving: bool) -> Contour:
    """Return two arcs, tangent to the board at one end and to the clear stretch at the other."""
    first, last = (curve.at(start), beside) if leaving else (beside, curve.at(stop))
    tangents = curve.tangent(start), curve.tangent(stop)
    joints, bulges = biarcs(first[None], tangents[0][None], last[None], tangents[1][None])
    return Contour(points=np.stack([first, joints[0], last]), bulges=np.append(bulges[0], 0.0), closed=False)


def _followed(curve: SectionCurve, start: float, stop: float, sharp: Sequence[float]) -> Contour:
    """Return the edge along the section between two parameters, with a hole about each sharp place."""
    parts: list[Contour] = []
    for spot in sharp:
        centre = curve.at(spot)

        def beyond(v: float, centre: Array = centre) -> float:
            return float(np.hypot(*(curve.at(v) - centre))) - RELIEF_MM

        # Where the gauge stands clear of the board, and inside the hole before, there is nothing to relieve.
        if not start < spot < stop or beyond(start) <= 0.0 or beyond(stop) <= 0.0:
            continue
        into, out = float(brentq(beyond, start, spot, xtol=1e-14)), float(brentq(beyond, spot, stop, xtol=1e-14))
        parts += [fitted(curve.stretches(start, into), ARC_FIT_MM), _hole(curve.at(into), curve.at(out), centre)]
        start = out
    return Contour.joined(*parts, fitted(curve.stretches(start, stop), ARC_FIT_MM), closed=False)


def _hole(first: Array, last: Array, centre: Array) -> Contour:
    """Return two equal arcs about a centre, counter-clockwise: outside the board, which lies to the left."""
    angles = [float(np.arctan2(*(point - centre)[::-1])) for point in (first, last)]
    sweep = float(np.mod(angles[1] - angles[0], 2 * np.pi))
    middle = centre + RELIEF_MM * np.array([np.cos(angles[0] + sweep / 2), np.sin(angles[0] + sweep / 2)])
    bulge = float(np.tan(sweep / 8))
    return Contour(points=np.stack([first, middle, last]), bulges=np.array([bulge, bulge, 0.0]), closed=False)
