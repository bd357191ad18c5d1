"""Tabs: short lengths of a cut that are left standing at a height, so that a part stays in its sheet."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from bayloft.cutting.routing.passes import Span
from bayloft.plane.track import Track, flattened
from bayloft.spec.shops.shop import Cutting, Stock
from bayloft.tolerances import SWEEP_FLATTENING_MM, TAB_ANCHOR_MM

if TYPE_CHECKING:
    from shapely import Polygon

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]

_STRAIGHT = ((0.995, 1.0), (0.995, 0.0), (0.95, 0.0), (0.8, 0.0))
"""Chord over length of the cut at a tab, and how many cutter radii more of the cut are looked at, on either side,
tried one after the other: a tab in a straight is sawn and planed off easily, in a tight bend it would be far longer on
one side than on the other, and just short of a corner it holds the cutter up behind the corner too."""

GRID_MM = 2.0
"""Between the places tried for a tab."""

_STEP_MM = 0.5
"""Between the places at which a track is asked whether it meets a tab: a cutter that just touches one in between takes
less than 0.02 mm of it."""

_LEAST_ROOM_MM = 0.5
"""Between two tabs, for a cutter to go to and fro on its way down: a shorter way is all turning. It leaves next to
nothing more standing than the tabs' own ends."""

_ROOM_MM = 0.01
"""mm by which a cutter keeps further from a tab than it must, so that no rounding makes the tab shorter than stated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HoldingTab:
    """A length of cut that stays: its middle in mm on the sheet, the ground it covers, the height of its top above
    (below 0) the top of the stock, and the part that it holds.
    """

    x_mm: float
    y_mm: float
    ground: Polygon
    top_mm: float
    part: str


def tabs_along(
    track: Track, part: str, cutter_mm: float, cutting: Cutting, stock: Stock, *, waste_on_left: bool
) -> tuple[HoldingTab, ...]:
    """Return tabs along the closed track of a cutter of this diameter: evenly, in straights if there are any, with
    stock beyond the cut to hold on to; more than `cutting.tabs` where they would be further apart than its spacing.
    Fewer where there is no room.
    """
    from shapely import LineString, distance, points  # noqa: PLC0415

    if cutting.tabs == 0:
        return ()
    length, off = track.length_mm, cutter_mm / 2 + TAB_ANCHOR_MM
    least = max(cutting.tabs, ceil(length / cutting.tab_spacing_mm))
    own = LineString(flattened([*track.segments], 0.01))

    def held(middles: Array, across: Array) -> Mask:
        beyond = middles + across * (off if waste_on_left else -off)
        on_sheet = (beyond > 0.0).all(axis=1) & (beyond < (stock.length_mm, stock.width_mm)).all(axis=1)
        clear: Mask = on_sheet & (distance(points(beyond), own) > off - TAB_ANCHOR_MM / 2)
        return clear

    chosen: tuple[float, ...] = ()
    for places in places_for_tabs(track, np.arange(0.0, length, GRID_MM), cutter_mm, cutting.tab_length_mm, held):
        for count in range(least, 2 * least + 1):
            tried = _spread(places, length, count, apart_mm(cutter_mm, cutting))
            if len(tried) > len(chosen):
                chosen = tried
            if len(tried) == count and _furthest_apart(tried, length) <= cutting.tab_spacing_mm:
                break
        if len(chosen) >= least:
            break
    return tuple(tab_at(track, along, part, cutter_mm, cutting, stock) for along in chosen)


def apart_mm(cutter_mm: float, cutting: Cutting) -> float:
    """Return how far apart the middles of two tabs are at least."""
    return cutting.tab_length_mm + 2 * cutter_mm


def spans_along(track: Track, tabs: Sequence[HoldingTab], cutter_mm: float) -> tuple[Span, ...]:
    """Return where along a closed track a cutter of this diameter would touch the ground of a tab; tabs between which
    it has no room to go down are in one span.
    """
    from shapely import distance, points  # noqa: PLC0415

    length, reach = track.length_mm, cutter_mm / 2 + _ROOM_MM
    count = max(ceil(length / _STEP_MM), 8)
    along = np.arange(count) * length / count
    places = track.at(along)
    spans: list[Span] = []
    for tab in tabs:
        left, bottom, right, top = tab.ground.buffer(2 * reach).bounds
        near = (places > (left, bottom)).all(axis=1) & (places < (right, top)).all(axis=1)
        meets = np.zeros(count, dtype=bool)
        meets[near] = distance(points(places[near]), tab.ground) < reach
        if meets.all():
            return ((0.0, length),)
        for i in np.flatnonzero(meets & ~np.roll(meets, 1)):
            run = int(np.argmin(np.roll(meets, -i)))
            low, high = along[i], along[i] + (run - 1) * length / count
            step = length / count
            spans.append((_edge(track, tab, reach, low, low - step), _edge(track, tab, reach, high, high + step)))
    return _joined(sorted(spans), length)


def _joined(spans: Sequence[Span], length: float) -> tuple[Span, ...]:
    """Return sorted spans of a closed track with those that lie less than `_LEAST_ROOM_MM` apart made one."""
    found: list[Span] = []
    for low, high in spans:
        if found and low - found[-1][1] < _LEAST_ROOM_MM:
            found[-1] = found[-1][0], max(found[-1][1], high)
        else:
            found.append((low, high))
    while len(found) > 1 and found[0][0] + length - found[-1][1] < _LEAST_ROOM_MM:
        low, high = found.pop(0)
        found[-1] = found[-1][0], max(found[-1][1], high + length)
    if found and found[0][0] + length - found[0][1] < _LEAST_ROOM_MM:
        return ((0.0, length),)
    return tuple(found)


def _edge(track: Track, tab: HoldingTab, reach_mm: float, inside: float, outside: float) -> float:
    """Return the distance along at which a cutter begins or ends to touch a tab, found by halving."""
    from shapely import distance, points  # noqa: PLC0415

    for _ in range(12):
        middle = (inside + outside) / 2
        touches = distance(points(track.at(np.array([middle]))), tab.ground)[0] < reach_mm
        inside, outside = (middle, outside) if touches else (inside, middle)
    return outside


def places_for_tabs(
    track: Track, along: Array, cutter_mm: float, tab_mm: float, held: Callable[[Array, Array], Mask]
) -> Iterator[Array]:
    """Yield those of some distances along at which a tab may stand: in the straightest stretches, then more and more.
    `held` says of places (n, 2) in mm on the track, and of unit vectors to the left there, whether a tab has wood to
    hold on to.
    """
    radius = cutter_mm / 2
    half = tab_mm / 2 + radius
    if track.length_mm < 4 * half or not len(along):
        return
    chords = track.at(along + half) - track.at(along - half)
    lengths = np.hypot(chords[:, 0], chords[:, 1])
    across = np.column_stack([-chords[:, 1], chords[:, 0]]) / np.maximum(lengths, 1e-9)[:, None]
    kept = held(track.at(along), across)
    for limit, more in _STRAIGHT:
        reach = half + more * radius
        stretch = track.at(along + reach) - track.at(along - reach)
        yield along[kept & (np.hypot(stretch[:, 0], stretch[:, 1]) >= limit * 2 * reach)]


def _spread(places: Array, length: float, count: int, room_mm: float) -> tuple[float, ...]:
    """Return up to `count` of the places, each the nearest to its even share of the length, `room_mm` apart."""
    chosen: list[float] = []
    free = places
    for i in range(count):
        if not len(free):
            break
        # Rounded, so that of two places equally near the first is taken on any machine.
        far = np.round(_apart(free, (i + 0.5) * length / count, length), 6)
        chosen.append(float(free[np.argmin(far)]))
        free = free[_apart(free, chosen[-1], length) >= room_mm]
    return tuple(sorted(chosen))


def _apart(along: Array, other: float, length: float) -> Array:
    """Return how far places along a closed track, as distances (n,), are from another, the shorter way round."""
    gaps: Array = np.mod(np.abs(along - other), length)
    return np.asarray(np.minimum(gaps, length - gaps))


def _furthest_apart(along: Sequence[float], length: float) -> float:
    return max(after - before for before, after in pairwise([*along, along[0] + length]))


def tab_at(track: Track, along: float, part: str, cutter_mm: float, cutting: Cutting, stock: Stock) -> HoldingTab:
    """Return the tab with its middle at a distance along a track."""
    from shapely import LineString  # noqa: PLC0415

    half = cutting.tab_length_mm / 2
    line = LineString(flattened(track.between(along - half, along + half), SWEEP_FLATTENING_MM))
    x_mm, y_mm = track.at(np.array([along]))[0].tolist()
    ground = line.buffer(cutter_mm / 2, cap_style="flat")
    return HoldingTab(x_mm=x_mm, y_mm=y_mm, ground=ground, top_mm=cutting.tab_height_mm - stock.thickness_mm, part=part)
