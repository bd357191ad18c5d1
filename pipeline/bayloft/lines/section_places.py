"""Where on a half-section a parameter v lies: how far off the stringer, and how far inside the outline."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from bayloft.lines.section import CHINE_SHARES, SectionNumbers, limited, over, under
from bayloft.spec.boards.channel import Channel

Array = NDArray[np.float64]

CHINE, EDGE, APEX, DECK_CHINE = 0.2, 0.35, 0.55, 0.7
"""Parameters v of the section's joints: the chine of the bottom, its edge, the widest point, the chine of the deck. The
surface may turn at chines and edge; it has one curvature at the apex."""

CHANNEL_SHARES = (0.9, 0.98)
"""Share of the way from the stringer to edge or chine up to which channels lie where they were told, and which they
never reach."""

CROWDED = 0.06
"""Slope of the places of a stretch at the end where they are crowded, as a share of even ones."""
DECK_SLOPE = 0.4
"""Slope of the deck's places at the apex, as a share of even ones."""


def _half_angle(share: Array) -> Array:
    """Return tan(t / 2) for a share sin^2 t of the inset."""
    across = np.sqrt(1.0 - share)
    return np.sqrt((1.0 - across) / (1.0 + across))


def _crowding(share: Array) -> Array:
    """Return places of a stretch, 0 to 1, crowded at 0."""
    return np.asarray(share * (CROWDED + (1.0 - CROWDED) * share * share), dtype=np.float64)


def _deck_places(n: SectionNumbers, v: Array) -> Array:
    share = np.clip((v - APEX) / (1.0 - APEX), 0.0, 1.0)
    if not n.traits.deck_chined:
        return np.asarray(share * (DECK_SLOPE + (1.0 - DECK_SLOPE) * share), dtype=np.float64)
    knee = _half_angle(limited(n.deck_chine_width / n.inset, CHINE_SHARES))
    first = np.clip((v - APEX) / (DECK_CHINE - APEX), 0.0, 1.0)
    second = np.clip((v - DECK_CHINE) / (1.0 - DECK_CHINE), 0.0, 1.0)
    return knee * (1.0 - _crowding(1.0 - first)) + (1.0 - knee) * _crowding(second)


def channel_joints(channels: tuple[Channel, ...]) -> list[float]:
    """Return the v, ascending, at which channels begin and end across the bottom."""
    return [CHINE * (i + 1) / (2 * len(channels) + 1) for i in range(2 * len(channels))]


def _bottom_places(n: SectionNumbers, v: Array, edge: Array) -> Array:
    # Pieces from the stringer outwards: each begins at a joint and a place.
    joints, knees = [0.0], [np.ones_like(n.inset)]
    outer = _outer(n)
    if n.traits.channels:
        joints += channel_joints(n.traits.channels)
        knees += _channel_places(n, outer)
    joints, knees = ([*joints, CHINE], [*knees, outer]) if n.traits.chined else (joints, knees)
    joints, knees = [*joints, EDGE], [*knees, edge]
    found = np.broadcast_to(edge, np.broadcast_shapes(v.shape, edge.shape))
    last = len(joints) - 2
    for i in range(last, -1, -1):
        share = np.clip((joints[i + 1] - v) / (joints[i + 1] - joints[i]), 0.0, 1.0)
        if i == last and n.traits.chined:
            # From the edge to the chine's inner end, crowded at both.
            share = CROWDED * share + (1.0 - CROWDED) * share * share * (3.0 - 2.0 * share)
        elif i == last or (i == last - 1 and n.traits.chined):
            share = _crowding(share)
        found = np.where(v < joints[i + 1], knees[i + 1] + (knees[i] - knees[i + 1]) * share, found)
    return found


def _room(n: SectionNumbers, outer: Array) -> Array:
    """Return how far off the stringer, mm, the place `outer` of the bottom lies."""
    square = outer * outer
    return n.half_width * (1.0 - square) / (1.0 + square)


def _outer(n: SectionNumbers) -> Array:
    """Return the place where a chine of the bottom ends, or else its edge."""
    if n.traits.chined:
        return _half_angle(limited((n.tuck + n.chine_width) / n.inset, CHINE_SHARES))
    return _half_angle(n.edge_share)


def channel_room(n: SectionNumbers) -> Array:
    """Return how far off the stringer, mm, channels may reach at stations (any shape)."""
    return CHANNEL_SHARES[0] * _room(n, _outer(n))


def _channel_places(n: SectionNumbers, outer: Array) -> list[Array]:
    """Return the places at which channels begin and end across the bottom; near a tip, where the board is narrower than
    they are, they draw together.
    """
    sides = [off for each in n.traits.channels for off in (each.off_mm, each.off_mm + each.width_mm)]
    reach = sides[-1] / _room(n, outer)
    drawn = limited(reach, CHANNEL_SHARES) / reach
    across = [side * drawn / n.half_width for side in sides]
    return [np.sqrt((1.0 - share) / (1.0 + share)) for share in across]


def places(n: SectionNumbers, v: ArrayLike) -> tuple[Array, Array]:
    """Return distance off the stringer and inset, mm, of the places v of half-sections, 0 at the bottom's middle, EDGE
    at the bottom edge, APEX at the widest point, 1 at the deck's middle. Crowded towards edge and chines.
    """
    v = np.asarray(v, dtype=np.float64)
    edge = _half_angle(n.edge_share)
    rail = edge * (1.0 - _crowding(np.clip((v - EDGE) / (APEX - EDGE), 0.0, 1.0)))
    low = np.where(v <= EDGE, _bottom_places(n, v, edge), rail)
    t = np.where(v <= APEX, low, _deck_places(n, v))
    square = t * t
    across = (1.0 - square) / (1.0 + square)
    return np.where((v <= 0.0) | (v >= 1.0), 0.0, n.half_width * across), n.inset * (1.0 - across * across)


def rail_line_heights(n: SectionNumbers, v: ArrayLike) -> tuple[Array, Array]:
    """Return distance off the stringer, and height over the rail line, mm, of the places v of half-sections."""
    v = np.asarray(v, dtype=np.float64)
    across, inset = places(n, v)
    return across, np.where(v <= APEX, -under(n, inset), over(n, inset))
