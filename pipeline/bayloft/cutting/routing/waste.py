"""Waste: what comes loose beside the parts while they are cut out; it is tied by a tab, or else milled away first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from operator import itemgetter
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.routing.sweep import covered
from bayloft.cutting.routing.tabs import GRID_MM, HoldingTab, Mask, apart_mm, places_for_tabs, tab_at
from bayloft.cutting.routing.tasks import Task, spanned
from bayloft.plane.contour import Contour
from bayloft.plane.segments import Segment
from bayloft.plane.track import Track
from bayloft.spec.shops.shop import Cutter, Cutting, Stock
from bayloft.tolerances import HOLDING_MM, LOOSE_MM2, TAB_ANCHOR_MM

if TYPE_CHECKING:
    from shapely import MultiPolygon, Polygon
    from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]

_STRAIGHTENED_MM = 0.1
"""mm by which a line round a scrap may leave its edge: well within the cut beside it, and far fewer lines."""

_ROUND_DECIMALS = 2
"""Decimals (mm) of that line: far coarser than the last bits in which two computers differ."""

_STEP_SHARE = 0.9
"""Step between the lines round a scrap against the cutter's radius: where the middle is within a radius of one,
it needs no next one."""


def standing(stock: Stock, gone: BaseGeometry) -> tuple[list[Polygon], list[Polygon]]:
    """Return the scraps of a sheet that are left when ground is gone: those that reach its edge, and those that lie
    loose, of `LOOSE_MM2` and more. All are drawn in by half of `HOLDING_MM`: what is thinner holds nothing.
    """
    from shapely import box  # noqa: PLC0415

    size = np.array([stock.length_mm, stock.width_mm])
    left = box(0.0, 0.0, *size).difference(gone).buffer(-HOLDING_MM / 2, join_style="mitre")
    held: list[Polygon] = []
    loose: list[Polygon] = []
    for scrap in getattr(left, "geoms", [left]):
        low, high = np.array(scrap.bounds).reshape(2, 2)
        at_edge = (low < HOLDING_MM).any() or (high > size - HOLDING_MM).any()
        if at_edge or scrap.area >= LOOSE_MM2:
            (held if at_edge else loose).append(scrap)
    return held, loose


def tied(
    tasks: Sequence[Task], tabs: Sequence[HoldingTab], stock: Stock, cutter: Cutter, cutting: Cutting
) -> tuple[tuple[HoldingTab, ...], tuple[Polygon, ...]]:
    """Return the tabs of outlines and openings, with more of them until every loose scrap that has a place for one is
    tied to the rest of the sheet; and the scraps that have none.
    """
    sheet, known = _Sheet(tasks=tuple(tasks), stock=stock, cutter=cutter, cutting=cutting), [*tabs]
    while True:
        held, loose = standing(stock, sheet.gone(known))
        firm, waiting = [*held], [*loose]
        while tie := next(((scrap, tab) for scrap in waiting if (tab := sheet.tie(scrap, firm, known))), None):
            firm.append(tie[0])
            waiting.remove(tie[0])
            known.append(tie[1])
        # A tab may meet more than it was set for: only what is looked at again is known to be held.
        if len(waiting) == len(loose):
            return tuple(known), tuple(loose)


def milled_away(scrap: Polygon, part: str, cutter: Cutter) -> tuple[Task, Polygon]:
    """Return the task that leaves nothing of a scrap, to be done while it is still one with its sheet, and the
    ground on which the cutter's centre stays meanwhile: lines round it, from its middle out to its edge.
    """
    from shapely import set_precision  # noqa: PLC0415

    ground = left = set_precision(scrap.buffer(HOLDING_MM / 2).simplify(_STRAIGHTENED_MM), 10.0**-_ROUND_DECIMALS)
    rings: list[Track] = []
    radius = cutter.diameter_mm / 2
    while not left.is_empty:
        rings += _round(left)
        left = left.buffer(-radius).buffer((1 - _STEP_SHARE) * radius).simplify(_STRAIGHTENED_MM)
    return Task(kind="waste", part=part, tracks=tuple(reversed(rings))), ground


def _round(ground: Polygon | MultiPolygon) -> Iterator[Track]:
    """Yield the tracks round ground, and round what it leaves out."""
    whole = ground.normalize()
    for polygon in getattr(whole, "geoms", [whole]):
        for ring in (polygon.exterior, *polygon.interiors):
            places = np.round(np.array(ring.coords)[:-1], _ROUND_DECIMALS)
            yield Track.on(Contour.straight(places, closed=True))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheet:
    """A sheet of this stock and the outlines and openings that are cut out of it."""

    tasks: tuple[Task, ...]
    stock: Stock
    cutter: Cutter
    cutting: Cutting

    def gone(self, tabs: Sequence[HoldingTab]) -> BaseGeometry:
        """Return the ground that is cut through, but for the tabs."""
        from shapely import union_all  # noqa: PLC0415

        tasks = [spanned(task, tabs, self.cutter.diameter_mm) for task in self.tasks]
        segments = (segment for task in tasks for segment in _through(task))
        return union_all([shape for segment in segments for shape in covered(segment, self.cutter.diameter_mm / 2)])

    def tie(self, loose: Polygon, firm: Sequence[Polygon], tabs: Sequence[HoldingTab]) -> HoldingTab | None:
        """Return the tab between a loose scrap and a firm one that is nearest to the loose one's middle, clear of the
        other tabs; None where there is no place for one.
        """
        from shapely import distance, points  # noqa: PLC0415

        diameter = self.cutter.diameter_mm
        off = diameter / 2 + TAB_ANCHOR_MM
        middle, apart = np.array(loose.centroid.coords[0]), apart_mm(diameter, self.cutting)
        others = np.array([(tab.x_mm, tab.y_mm) for tab in tabs]).reshape(-1, 2)

        def held(middles: Array, across: Array) -> Mask:
            # Across a neighbour's cut that runs into this one, what stands is further off: its cutter is lifted too.
            sides = [(middles + side * off * across, middles + side * (off + diameter) * across) for side in (1, -1)]
            loosely = [_on([loose], near) for near, _ in sides]
            firmly = [_on(firm, near) | _on(firm, far) for near, far in sides]
            free = (np.hypot(*(middles[:, None] - others).T) >= apart).all(axis=0)
            between: Mask = free & ((loosely[0] & firmly[1]) | (loosely[1] & firmly[0]))
            return between

        found: list[tuple[float, Track, float, str]] = []
        for track, part in ((task.tracks[0], task.part) for task in self.tasks):
            tried = np.arange(0.0, track.length_mm, GRID_MM)
            beside = tried[distance(points(track.at(tried)), loose) < off]
            places = places_for_tabs(track, beside, diameter, self.cutting.tab_length_mm, held)
            straightest = next((some for some in places if len(some)), beside[:0])
            far = np.round(np.hypot(*(track.at(straightest) - middle).T), 6) if len(straightest) else straightest
            found += [
                (away, track, along, part) for away, along in zip(far.tolist(), straightest.tolist(), strict=True)
            ]
        if not found:
            return None
        _, track, along, part = min(found, key=itemgetter(0))
        return tab_at(track, along, part, diameter, self.cutting, self.stock)


def _on(ground: Sequence[Polygon], places: Array) -> Mask:
    """Return which of some places (n, 2) lie on any of some grounds."""
    from shapely import intersects_xy, prepare  # noqa: PLC0415

    found: Mask = np.zeros(len(places), dtype=bool)
    for scrap in ground:
        prepare(scrap)
        found |= intersects_xy(scrap, *places.T)
    return found


def _through(task: Task) -> Iterator[Segment]:
    """Yield the segments along which an outline or an opening is cut through: all but its spans."""
    (track,) = task.tracks
    if not task.spans:
        yield from track.segments
        return
    first, _ = task.spans[0]
    nexts = [*(low for low, _ in task.spans[1:]), first + track.length_mm]
    for (_, high), low in zip(task.spans, nexts, strict=True):
        yield from track.between(high, low)
