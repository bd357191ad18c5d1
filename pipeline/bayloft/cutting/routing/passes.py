"""Passes: how deep the cutter is at each place of its way round, and the moves that take it there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import ceil, hypot, radians, tan

import numpy as np

from bayloft.cutting.routing.moves import Move
from bayloft.plane.track import Track, backwards
from bayloft.spec.shops.shop import Entry
from bayloft.tolerances import PECK_CLEAR_MM, PLUNGE_SHARE

Profile = tuple[tuple[float, float], ...]
"""Distance along the track in mm, on past its length where it is closed, and height in mm, 0 on top of the stock;
straight between them, back along the track where the next is less, and straight down or up where it is the same."""

Span = tuple[float, float]
"""From one distance along a closed track to another, which may lie past its length."""


def levels(depth_mm: float, pass_mm: float) -> tuple[float, ...]:
    """Return the heights of equal passes, none deeper than `pass_mm`, down to a depth; all below 0."""
    count = max(1, ceil(depth_mm / pass_mm - 1e-9))
    return tuple(-depth_mm * k / count for k in range(1, count + 1))


def profile(length_mm: float, depth_mm: float, pass_mm: float, entry: Entry, ramp_deg: float) -> Profile:
    """Return how a cutter goes down along a closed track to a depth and once round at it.

    By ramp: before each pass down along the track at the slope, then once round level. By helix: down all the way
    round, by one pass each turn or less where the slope would be steeper, and once round level at the end.
    """
    slope, heights = tan(radians(ramp_deg)), levels(depth_mm, pass_mm)
    places = [(0.0, 0.0)]
    if entry == "helix":
        drop = min(-heights[0], length_mm * slope)
        along = length_mm * depth_mm / drop
        places += [(along, -depth_mm), (along + length_mm, -depth_mm)]
        return tuple(places)
    for height in heights:
        along, above = places[-1]
        along += (above - height) / slope
        places += [(along, height), (along + length_mm, height)]
    return tuple(places)


def lifted(places: Profile, spans: Sequence[Span], length_mm: float, top_mm: float, ramp_deg: float) -> Profile:
    """Return a profile that nowhere in the spans of a closed track is below `top_mm`.

    Before a tab the cutter goes straight up. Behind it, it goes straight down only as far as the round before cleared
    the place, and from there to and fro between this tab and the next, no steeper than the ramp, until it stands at the
    tab's end as deep as it is asked to: no wood is left there, and the tab keeps its length.
    """
    along_mm, heights = np.array(places).T
    found = [places[0]]
    for along, height in _raised(places, spans, length_mm, top_mm):
        last_along, above = found[-1]
        if along == last_along and height < above:
            # A profile never rises: what it cleared here one round ago, it cleared all the way to the next tab.
            cleared = max(height, min(above, float(np.interp(along - length_mm, along_mm, heights, left=0.0))))
            room = min((low - along) % length_mm for low, _ in spans)
            found += [(along, cleared)] if cleared < above else []
            found += _to_and_fro(along, room, cleared, height, tan(radians(ramp_deg)))
        else:
            found.append((along, height))
    return tuple(found)


def _to_and_fro(
    along: float, room_mm: float, above: float, height: float, slope: float
) -> Iterator[tuple[float, float]]:
    """Yield how a cutter goes down at a place on a track, forth into the room ahead and back, until it is there."""
    turns = ceil((above - height) / slope / (2 * room_mm) - 1e-9)
    for turn in range(turns):
        drop = (above - height) / turns
        yield along + drop / slope / 2, above - (turn + 0.5) * drop
        yield along, above - (turn + 1) * drop


def _raised(places: Profile, spans: Sequence[Span], length_mm: float, top_mm: float) -> Iterator[tuple[float, float]]:
    """Yield the places of a profile after its first, raised in the spans of a closed track, straight up and down."""
    turns = range(-1, ceil(places[-1][0] / length_mm) + 1)
    unrolled = [(low + turn * length_mm, high + turn * length_mm) for turn in turns for low, high in spans]
    last = places[0]
    for (along, height), (next_along, next_height) in pairwise(places):
        low_enough = min(height, next_height) < top_mm
        breaks = {
            along,
            next_along,
            *(end for span in unrolled for end in span if low_enough and along < end < next_along),
        }
        if (height - top_mm) * (next_height - top_mm) < 0.0:
            breaks.add(along + (next_along - along) * (height - top_mm) / (height - next_height))
        slope = (next_height - height) / (next_along - along)
        for low, high in pairwise(sorted(breaks)):
            ends = [height + (end - along) * slope for end in (low, high)]
            if any(start <= (low + high) / 2 <= stop for start, stop in unrolled):
                ends = [max(end, top_mm) for end in ends]
            for place in ((low, ends[0]), (high, ends[1])):
                if place != last:
                    yield place
                last = place


def followed(track: Track, places: Profile, feed_mm_min: float) -> tuple[Move, ...]:
    """Return the moves along a track by a profile, from the place at its start; straight down and on steep ramps the
    cutter sinks no faster than `PLUNGE_SHARE` of the feed.
    """
    moves = []
    for (along, height), (next_along, next_height) in pairwise(places):
        if next_along == along:
            point = complex(*track.at(np.array([along]))[0])
            share = PLUNGE_SHARE if next_height < height else 1.0
            moves.append(Move(x_mm=point.real, y_mm=point.imag, z_mm=next_height, feed_mm_min=feed_mm_min * share))
            continue
        far = abs(next_along - along)
        slope = (next_height - height) / far
        sinking = max(-slope / hypot(1.0, slope), 1e-9)
        feed = min(feed_mm_min, PLUNGE_SHARE * feed_mm_min / sinking)
        done = 0.0
        for segment in (
            track.between(along, next_along) if next_along > along else backwards(track.between(next_along, along))
        ):
            done += segment.length
            moves.append(
                Move(
                    x_mm=segment.end.real,
                    y_mm=segment.end.imag,
                    z_mm=height + slope * min(done, far),
                    bulge=segment.bulge,
                    feed_mm_min=feed,
                )
            )
    return tuple(moves)


def pecks(point: complex, depth_mm: float, pass_mm: float, feed_mm_min: float) -> tuple[Move, ...]:
    """Return the moves that drill a hole in steps of a pass, out of the hole after each to bring out the chips; no
    move is rapid.
    """
    moves = []
    for height in levels(depth_mm, pass_mm):
        for z_mm, share in ((height, PLUNGE_SHARE), (PECK_CLEAR_MM, 1.0)):
            moves.append(Move(x_mm=point.real, y_mm=point.imag, z_mm=z_mm, feed_mm_min=feed_mm_min * share))
    return tuple(moves)
