"""What a board is measured by while it is shaped, at each of its stations, on the surface."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from bayloft.solid.draft import Draft
from bayloft.solid.measure import (
    bottom_hollow,
    bottom_rise,
    deck_drop,
    rocker,
    stringer_from_mm,
    thickness,
    width,
)

FLAT_MM = 0.4
"""mm under a straightedge below which a bottom is flat: 1/64 in, half the finest mark of a card."""

OFF_STRINGER_MM = 10.0
"""Least distance from the stringer at which the fall of a face is measured, mm (common practice, no source)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AcrossStation:
    """What is measured across a board at a station, mm: how far, at the same distance inside the widest point, the deck
    lies below the deck at the stringer, and the bottom above the bottom there (None where the board is too narrow); how
    far at most the bottom is hollow under a straightedge laid across it, 0 for one that is flat or round.
    """

    drop_mm: float | None
    rise_mm: float | None
    hollow_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchStation:
    """What is measured at a station, mm: full width (None aft of the corner of a cut-off tail), thickness and rocker at
    the stringer (None aft of a notch), and across, where there are stringer and rail.
    """

    x_mm: float
    width_mm: float | None
    thickness_mm: float | None
    rocker_mm: float | None
    across: AcrossStation | None


def bench_stations(draft: Draft, stations_mm: Sequence[float], inside_mm: float) -> tuple[BenchStation, ...]:
    """Return what is measured at stations inside a board; `inside_mm`: how far inside the widest point falls are."""
    body, wall = draft.body, draft.lines.wall
    corner, notch = 0.0 if wall is None else wall.corner_x_mm, stringer_from_mm(body)
    found = []
    for x in stations_mm:
        wide = float(width(body, [x])[0]) if x > corner else None
        on_stringer = x > notch
        across = None
        if wide is not None and on_stringer:
            reached = wide / 2.0 >= inside_mm + OFF_STRINGER_MM
            hollow = bottom_hollow(body, x)
            across = AcrossStation(
                drop_mm=float(deck_drop(body, [x], inside_mm)[0]) if reached else None,
                rise_mm=float(bottom_rise(body, [x], inside_mm)[0]) if reached else None,
                hollow_mm=hollow if hollow >= FLAT_MM else 0.0,
            )
        found.append(
            BenchStation(
                x_mm=x,
                width_mm=wide,
                thickness_mm=float(thickness(body, [x])[0]) if on_stringer else None,
                rocker_mm=float(rocker(body, [x])[0]) if on_stringer else None,
                across=across,
            )
        )
    return tuple(found)
